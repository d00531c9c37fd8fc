"""Which allergens does an ingredient name? Exact and normalised names, synonyms and CAS numbers decide."""

import re
from collections.abc import Iterable, Iterator

from thenar.allergy.declared import Ingredient
from thenar.allergy.normal_form import normal_form
from thenar.knowledge.allergens import Allergen, AllergenTable

Ids = tuple[str, ...]

# Names that ran together are told apart only from this length on, so that "MI" is never found in a word.
_SHORTEST_RUN_TOGETHER = 4
# Label names from this length on are looked for at the ends of unknown names.
_LONG = 8
# A name that goes on like this is one chemical made of another: "Propylene Glycol Dicaprylate".
_DERIVED = re.compile(r"(?:ates?|ites?|ides?|ethers?|esters?|polymer|resin|free)$")
_MOST_BESIDE = 2  # words beside a name: a number, an article
_MOST_REMEMBERED = 100_000


class Names:
    """Every name of one table of allergens, made ready once and asked often.

    A label (INCI) name comes first, then a synonym, then a CAS number: where an ingredient bears a label
    name, its CAS number adds nothing, because one CAS number may belong to many label names. Nothing here is
    fuzzy: salts, word order and other spellings count only where the table lists them.

    Parameters
    ----------
    table
        The allergens, umbrella names and same names of one edition.

    Attributes
    ----------
    spellings
        Every name that means an allergen, in normal form.

    Examples
    --------
    >>> from thenar.allergy.declarations import read_declaration
    >>> from thenar.knowledge import load
    >>> names = Names(load().allergens)
    >>> [names.ingredient_matches(each) for each in read_declaration("Eau, MIT, DMDM hydantoïn").ingredients]
    [(), ('methylisothiazolinone',), ('dmdm_hydantoin',)]
    """

    def __init__(self, table: AllergenTable) -> None:
        self._label: dict[str, Ids] = {}
        self._other: dict[str, Ids] = {}
        self._cas: dict[str, Ids] = {}
        for allergen in table.allergens.values():
            _add(self._label, allergen.inci, allergen.id)
            _add(self._other, (allergen.name, *allergen.synonyms), allergen.id)
            _add(self._cas, allergen.cas, allergen.id)
        for allergen in table.allergens.values():
            if len(allergen.inci) == 1:
                self._as_label_name(allergen)
        self._same = _same_names(table)
        for name, others in self._same.items():
            self._share(name, others)
        umbrellas = {normal_form(name) for umbrella in table.umbrellas for name in umbrella.names}
        self._known = frozenset({*self._label, *self._other, *self._same, *umbrellas})
        self._starts = _by_start(self._known)
        self._long_lengths = sorted({len(name) for name in self._label if len(name) >= _LONG}, reverse=True)
        self._written = _as_written(table)
        self.spellings = tuple(self._written)
        self._remembered: dict[Ids, tuple[Ids, Ids]] = {}

    def allergens_named(self, name: str) -> Ids:
        """Ids of the allergens that go by a name or CAS number in normal form."""
        return self._label.get(name) or self._other.get(name) or self._cas.get(name, ())

    def ingredient_matches(self, ingredient: Ingredient) -> Ids:
        """Ids of the allergens an ingredient names, by any of its names."""
        found = self._remembered.get(ingredient.names)
        return found[1] if found is not None else self._look_up(ingredient.names)[1]

    def run_together(self, ingredient: Ingredient) -> Ids:
        """Ids of allergens whose label name begins or ends an unknown name: perhaps two names, a comma lost.

        This decides nothing by itself: "Glycerin Propylparaben" is two names, "Linalool Oxide" is one.
        """
        if not ingredient.names or self._look_up(ingredient.names)[0]:
            return ()
        name = ingredient.names[0]
        lengths = [each for each in self._long_lengths if each <= len(name) - _SHORTEST_RUN_TOGETHER]
        last = next((name[-each:] for each in lengths if name[-each:] in self._label), "")
        first = next((name[:each] for each in lengths if name[:each] in self._label), "")
        last = last or self._long_name(_fewer_words(ingredient.written, from_the_start=True))
        first = first or self._long_name(_fewer_words(ingredient.written, from_the_start=False))
        if _DERIVED.search(name):
            first = ""
        return tuple(dict.fromkeys((*self._label.get(first, ()), *self._label.get(last, ()))))

    def _long_name(self, candidates: Iterable[str]) -> str:
        """The first long label name among some; empty if there is none."""
        return next((each for each in candidates if len(each) >= _LONG and each in self._label), "")

    def known_names(self, ingredient: Ingredient) -> Ids:
        """Names in normal form by which the table knows an ingredient, same names included, no CAS."""
        return self._look_up(ingredient.names)[0]

    def alias(self, name: str) -> Ids:
        """Other names of the same ingredient: those of ``aqua`` are ``water`` and ``eau``."""
        return self._same.get(name, ())

    def written(self, name: str) -> str:
        """A name that means an allergen, as the table writes it. Raises KeyError for any other."""
        return self._written[name]

    def _look_up(self, names: Ids) -> tuple[Ids, Ids]:
        if names not in self._remembered:
            if len(self._remembered) >= _MOST_REMEMBERED:
                self._remembered.clear()
            self._remembered[names] = self._find(names)
        return self._remembered[names]

    def _find(self, names: Ids) -> tuple[Ids, Ids]:
        known = tuple(dict.fromkeys(name for each in self._decisive(names) for name in self._apart(each)))
        ids = [id_ for name in known for id_ in self._label.get(name) or self._other.get(name, ())]
        if not any(name in self._label for name in known):
            ids += [id_ for name in names for id_ in self._cas.get(name, ())]
        same = [other for name in known for other in self._same.get(name, ())]
        return tuple(dict.fromkeys((*known, *same))), tuple(dict.fromkeys(ids))

    def _decisive(self, names: Ids) -> Ids:
        """The names to look up: the whole alone where it is known, for then its parts mean nothing."""
        return names[:1] if names and names[0] in self._known else names

    def _apart(self, name: str) -> Ids:
        """The name if known; the known names it is wholly made of, where separators were lost; or nothing."""
        if name in self._known:
            return (name,)
        reached: dict[int, Ids] = {0: ()}
        for start in range(len(name)):
            if start in reached:
                for candidate in self._starts.get(name[start : start + _SHORTEST_RUN_TOGETHER], ()):
                    if name.startswith(candidate, start):
                        reached[start + len(candidate)] = (*reached[start], candidate)
        return reached.get(len(name), ())

    def _as_label_name(self, allergen: Allergen) -> None:
        """A synonym of what has one label name stands for all that this label name stands for."""
        ids = self._label[normal_form(allergen.inci[0])]
        for synonym in allergen.synonyms:
            for id_ in ids:
                _add(self._other, (synonym,), id_)

    def _share(self, name: str, others: Ids) -> None:
        """Same names stand for the same allergens."""
        for book in (self._label, self._other):
            ids = tuple(dict.fromkeys(id_ for each in (name, *others) for id_ in book.get(each, ())))
            if ids:
                book[name] = ids


def _fewer_words(written: str, *, from_the_start: bool) -> Iterator[str]:
    """A name without its first words, or without its last: "No. 3 Sorbic Acid" may be sorbic acid."""
    words = written.split()
    for count in range(1, min(len(words), _MOST_BESIDE + 1)):
        yield normal_form(" ".join(words[count:] if from_the_start else words[:-count]))


def _add(book: dict[str, Ids], names: Iterable[str], id_: str) -> None:
    for name in dict.fromkeys(normal_form(name) for name in names):
        if name and id_ not in book.get(name, ()):
            book[name] = (*book.get(name, ()), id_)


def _as_written(table: AllergenTable) -> dict[str, str]:
    written: dict[str, str] = {}
    for allergen in table.allergens.values():
        for name in (*allergen.inci, allergen.name, *allergen.synonyms):
            written.setdefault(normal_form(name), name)
    return written


def _same_names(table: AllergenTable) -> dict[str, Ids]:
    same: dict[str, Ids] = {}
    for entry in table.same_names:
        group = tuple(dict.fromkeys(normal_form(name) for name in entry.names))
        for name in group:
            same[name] = tuple(
                dict.fromkeys((*same.get(name, ()), *(each for each in group if each != name)))
            )
    return same


def _by_start(names: Iterable[str]) -> dict[str, Ids]:
    starts: dict[str, Ids] = {}
    for name in sorted(names):
        if len(name) >= _SHORTEST_RUN_TOGETHER:
            start = name[:_SHORTEST_RUN_TOGETHER]
            starts[start] = (*starts.get(start, ()), name)
    return starts
