"""Which products may one person use, as far as labels tell? Avoid, cannot exclude, or no match found."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from operator import itemgetter

from thenar.allergy.allergies import Allergies
from thenar.allergy.excluded import Exclusion, Exclusions, RuledOut
from thenar.allergy.excluded_links import Links
from thenar.allergy.excluded_signs import Sign
from thenar.allergy.names import Names
from thenar.allergy.product import Product
from thenar.allergy.verdict_signs import ON_THE_WHOLE, Sight, Sighting, Sightings
from thenar.allergy.verdict_terms import RANK, Answer, Reason, Verdict
from thenar.knowledge.allergens import AllergenTable

_EMERGENCY = (
    "Immediate allergy on record: a reaction of the whole body (anaphylaxis) is possible. The local "
    "emergency plan and the treating clinician come before anything said here."
)
_EMERGENCY_SEVERE = (
    "Immediate allergy with a reaction of the whole body (anaphylaxis) on record: it can happen again. The "
    "local emergency plan and the treating clinician come before anything said here."
)
_LAST = 10**6

# Sorts reasons, strongest first: answer, immediate before delayed, place on the label, length of the chain.
_Order = tuple[int, bool, int, int, str, Sign]
_Ordered = tuple[_Order, Reason]
_Made = dict[Exclusion, tuple[_Ordered, ...]]


class Judge:
    """Judges products by one table of allergens and its names. Made once, asked often.

    Parameters
    ----------
    table
        What is known of allergens.
    names
        What label names mean, by the same table.

    Notes
    -----
    Only exact, normalised and known other names decide. No answer calls a product safe: a label can leave
    out what a product holds. A cross-reaction's grade is a frequency among patients, not a forecast for one
    person. The practitioner decides.
    """

    def __init__(self, table: AllergenTable, names: Names) -> None:
        self.table = table
        links = Links(table)
        self._ruled_out = RuledOut(links)
        self._sight = Sight(links, names)
        self._of_the_whole: _Made = {}

    def judge(self, product: Product, allergies: Allergies) -> Verdict:
        """The answer for one product and one person, with every reason.

        Parameters
        ----------
        product
            The product with its declaration of the day.
        allergies
            Everything the person reacts to.

        Returns
        -------
        Verdict
            The strongest answer any sign asks for, and the reasons, strongest first. A reason that answers
            `no match found` is a caution and changes nothing.

        Raises
        ------
        UnknownAllergen
            If an allergy names an allergen the table does not hold.

        Examples
        --------
        >>> from thenar.allergy.allergies import Delayed
        >>> from thenar.allergy.declarations import read_declaration
        >>> from thenar.allergy.product import Category
        >>> from thenar.knowledge import load
        >>> judge = Judge(load().allergens, Names(load().allergens))
        >>> soap = Product("S1", "A soap", Category.SOAP, read_declaration("Aqua, Quaternium-15"))
        >>> verdict = judge.judge(soap, Allergies(frozenset({Delayed("formaldehyde")})))
        >>> verdict.answer.value
        'avoid'
        >>> [step.link.value for step in verdict.reasons[0].steps]
        ['declared', 'goes by this name', 'releases', 'cross-reacts']
        """
        return self._case(product).verdict(self._ruled_out.by(allergies), _emergency(allergies))

    def judge_all(
        self, products: Sequence[Product], people: Iterable[Allergies]
    ) -> Mapping[Allergies, tuple[Verdict, ...]]:
        """The verdicts for many products and people. People with the same allergies share theirs.

        Parameters
        ----------
        products
            Any number of products.
        people
            The allergies of each person.

        Returns
        -------
        Mapping
            For each distinct pattern of allergies, one verdict for each product, in the products' order.

        Raises
        ------
        UnknownAllergen
            If an allergy names an allergen the table does not hold.
        """
        patterns = {each: (self._ruled_out.by(each), _emergency(each)) for each in dict.fromkeys(people)}
        verdicts: dict[Allergies, list[Verdict]] = {each: [] for each in patterns}
        for product in products:
            case = self._case(product)
            for pattern, (excluded, emergency) in patterns.items():
                verdicts[pattern].append(case.verdict(excluded, emergency))
        return {pattern: tuple(each) for pattern, each in verdicts.items()}

    def _case(self, product: Product) -> "_Case":
        return _Case(product, self._sight.of(product), self._of_the_whole)


@dataclass(slots=True)
class _Case:
    """One product and the reasons made for it so far; those of the product as such are shared."""

    product: Product
    sightings: Sightings
    of_the_whole: _Made
    by_place: _Made = field(default_factory=dict)

    def verdict(self, excluded: tuple[Exclusions, ...], emergency: str) -> Verdict:
        """The signs the product shows, met with those a person's allergies rule out."""
        ordered: list[_Ordered] = []
        for exclusions in excluded:
            for sign, seen in self.sightings.items():
                if sign in exclusions:
                    exclusion = exclusions[sign]
                    made = self.of_the_whole if seen is ON_THE_WHOLE else self.by_place
                    if exclusion not in made:
                        made[exclusion] = tuple([_reason(exclusion, sign, each) for each in seen])
                    ordered += made[exclusion]
        if not ordered:
            return Verdict(self.product.id, Answer.NO_MATCH_FOUND, (), emergency)
        ordered.sort(key=itemgetter(0))
        reasons = tuple([reason for _, reason in ordered])
        return Verdict(self.product.id, reasons[0].answer, reasons, emergency)


def _reason(exclusion: Exclusion, sign: Sign, sighting: Sighting) -> _Ordered:
    """The reason one place on a product gives, with its order."""
    maybe = sighting.maybe and exclusion.answer is Answer.AVOID
    answer = Answer.CANNOT_EXCLUDE if maybe else exclusion.answer
    steps = (*sighting.steps, *exclusion.steps)
    place = sighting.ingredient.position if sighting.ingredient else _LAST
    order = (RANK[answer], not exclusion.immediate, place, len(steps), exclusion.allergen, sign)
    reason = Reason(
        answer, exclusion.allergen, steps, sighting.ingredient, exclusion.immediate, exclusion.confirm
    )
    return order, reason


def _emergency(allergies: Allergies) -> str:
    if not allergies.immediate:
        return ""
    return _EMERGENCY_SEVERE if any(each.severe for each in allergies.immediate) else _EMERGENCY
