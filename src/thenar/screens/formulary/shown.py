"""A proposal laid out for its page."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from thenar.allergy.formulary_answer import Chosen, Formulary, Lacking, Nearly, Sought
from thenar.allergy.formulary_terms import Goal
from thenar.knowledge import Book
from thenar.records.models import Worker
from thenar.records.models.products import CATEGORIES
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.formulary.alike import how_they_differ
from thenar.screens.formulary.kept import KeptAnswer, KeptGroup, KeptProduct
from thenar.screens.formulary.needs import ANY_SIZE, BY_ID
from thenar.screens.formulary.question import Asked
from thenar.screens.usable.shown import name_of

AS_GOOD_AS_PROVEN = 0.0001  # where a search may stop by itself
MOST_SHOWN = 3
ALTERNATIVE = "hand-cleansing.with.confirmed-reaction"
METHOD = (
    "Everyone uses the cheapest chosen product that serves them; a product used for two needs is paid for "
    "each. An integer programme chooses; its solver proves how good the choice is."
)
METHOD_CITED = "Huangfu and Hall, Math Program Comput 2018;10:119-142, doi 10.1007/s12532-017-0130-5"


@dataclass(frozen=True, slots=True)
class Instead:
    """What could take a product's place; without a product it could be left out. `adds` has its sign."""

    product: KeptProduct | None
    adds: str


@dataclass(frozen=True, slots=True)
class ShownChosen:
    """A chosen product with what it does and costs."""

    product: KeptProduct
    chosen: Chosen
    is_new: bool | None
    instead: tuple[Instead, ...]


@dataclass(frozen=True, slots=True)
class ShownShelf:
    """The chosen products of one category."""

    label: str
    products: tuple[ShownChosen, ...]


@dataclass(frozen=True, slots=True)
class ShownNearly:
    """A product that would serve without these allergens."""

    product: KeptProduct
    allergens: str


@dataclass(frozen=True, slots=True)
class ShownSought:
    """A need nothing serves: of whom, what to look for, whom to ask."""

    need: str
    group: KeptGroup | None
    reacts_to: str
    workers: tuple[Worker, ...]
    look_for: str
    nearest: tuple[ShownNearly, ...]
    ask_maker: tuple[ShownNearly, ...]
    banned: tuple[KeptProduct, ...]

    @property
    def none_offered(self) -> bool:
        """Whether there is no product of the kind at all: then nothing comes near."""
        return not (self.nearest or self.ask_maker or self.banned)


@dataclass(frozen=True, slots=True)
class PatternRow:
    """One group of workers, and what each need gets: a product, "nothing", or a dash if it is not theirs.

    `differs` tells it from other groups that react to the same.
    """

    group: KeptGroup
    reacts_to: str
    differs: str
    uses: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """Everything the page of a proposal says."""

    answer: KeptAnswer
    cost: Decimal | None
    cost_now: Decimal | None
    than_now: str
    how_good: str
    shelves: tuple[ShownShelf, ...]
    keep: tuple[KeptProduct, ...]
    add: tuple[KeptProduct, ...]
    drop: tuple[KeptProduct, ...]
    lacking_now: tuple[str, ...]
    sought: tuple[ShownSought, ...]
    needs: tuple[str, ...]
    patterns: tuple[PatternRow, ...]
    unpriced: tuple[KeptProduct, ...]
    no_size: tuple[KeptProduct, ...]
    uncounted: tuple[KeptProduct, ...]
    let_be: tuple[KeptProduct, ...]

    @property
    def workers(self) -> int:
        """How many the search was for."""
        return sum(group.workers for group in self.answer.groups)

    @property
    def with_allergies(self) -> int:
        """How many of them have an allergy on record."""
        return sum(group.workers for group in self.answer.groups if group.delayed or group.immediate)

    @property
    def size_not_known(self) -> int:
        """How many need gloves of their size, and nobody knows it."""
        if not any(need.endswith(ANY_SIZE) for need in self.needs):
            return 0
        return sum(group.workers for group in self.answer.groups if not group.size)


def shown(answer: KeptAnswer, workers: Mapping[str, Worker], book: Book) -> Shown:
    """A kept answer laid out. `workers` are those whose names may be shown, by reference."""
    formulary = answer.formulary
    by_code = {one.code: one for one in answer.products}
    against = formulary.against_present
    cost = formulary.cost.total if formulary.cost else None
    now = against.cost_now.total if against and against.cost_now else None

    def named(codes: Iterable[str]) -> tuple[KeptProduct, ...]:
        return tuple(sorted((by_code[code] for code in codes), key=lambda one: (one.category, one.name)))

    return Shown(
        answer=answer,
        cost=cost,
        cost_now=now,
        than_now="" if cost is None or now is None else _signed(cost - now),
        how_good=how_good(formulary),
        shelves=_shelves(formulary, by_code),
        keep=named(against.keep if against else ()),
        add=named(against.add if against else ()),
        drop=named(against.drop if against else ()),
        lacking_now=tuple(_lacks(one) for one in against.lacking_now) if against else (),
        sought=tuple(_sought(one, answer, by_code, workers, book) for one in answer.sought),
        needs=_needs(answer),
        patterns=_patterns(answer, by_code, book),
        unpriced=named(answer.unpriced),
        no_size=named(answer.no_size),
        uncounted=named(answer.uncounted),
        let_be=named(answer.let_be),
    )


def how_good(formulary: Formulary) -> str:
    """How near to the best the choice is, in words.

    Notes
    -----
    The search may stop within a ten-thousandth of the best by itself; more than that means that its time
    ran out.
    """
    better = "costs less" if formulary.goal is Goal.CHEAPEST else "has fewer products"
    if formulary.gap == 0:
        found = f"Proven: no choice {better}."
    elif formulary.gap <= AS_GOOD_AS_PROVEN:
        found = f"Proven to within {_share(formulary.gap)}: no choice {better} than that allows."
    else:
        found = (
            f"Time ran out before the best was proven. This choice may be {_share(formulary.gap)} above it; "
            f"the least possible is {formulary.at_least:,}."
        )
    if formulary.goal is Goal.FEWEST and formulary.cost and formulary.cost_gap > AS_GOOD_AS_PROVEN:
        found += f" Among as many products, its cost may be {_share(formulary.cost_gap)} above the least."
    return found


def rule_in_full(entry: str, book: Book, on: date) -> Reason:
    """A rule with what it asks for, which is a text."""
    rule = book.rule(entry)
    return reason_for(entry, book, says=f"{rule.says.rstrip('.')}: {rule.on(on).text}.")


def reasons_for(asked: Asked, book: Book, edition: str, on: date) -> tuple[Reason, ...]:
    """What the proposal rests on: why workers get alternatives, what must be held, and how it is searched."""
    entries = [entry for kind in (*asked.everyone, *asked.held) for entry in BY_ID[kind].entries[:1]]
    return (
        *(rule_in_full(entry, book, on) for entry in dict.fromkeys([ALTERNATIVE, *entries])),
        Reason(says=METHOD, rule_id=METHOD_CITED, source_label="", edition=edition),
    )


def _share(gap: float) -> str:
    percent = gap * 100
    return "less than 0.01 %" if percent < 0.01 else f"up to {percent:.2g} %"


def _shelves(formulary: Formulary, by_code: Mapping[str, KeptProduct]) -> tuple[ShownShelf, ...]:
    against = formulary.against_present
    rows: dict[str, list[ShownChosen]] = {}
    for one in formulary.chosen:
        product = by_code[one.product]
        is_new = None if against is None else one.product in against.add
        rows.setdefault(product.category, []).append(
            ShownChosen(product, one, is_new, tuple(_instead(one, by_code)))
        )
    return tuple(ShownShelf(label, tuple(rows[key])) for key, label in CATEGORIES if key in rows)


def _instead(chosen: Chosen, by_code: Mapping[str, KeptProduct]) -> Iterable[Instead]:
    for one in chosen.alternatives:
        yield Instead(by_code[one.product] if one.product else None, _signed(one.adds))


def _signed(adds: Decimal | None) -> str:
    """An amount with its sign; empty where it is not known.

    Examples
    --------
    >>> _signed(Decimal("1250.5")), _signed(Decimal("-3")), _signed(Decimal(0)), _signed(None)
    ('1,250.50 more', '3.00 less', 'at the same cost', '')
    """
    if adds is None:
        return ""
    if adds == 0:
        return "at the same cost"
    return f"{abs(adds):,.2f} {'more' if adds > 0 else 'less'}"


def _sought(
    sought: Sought,
    answer: KeptAnswer,
    by_code: Mapping[str, KeptProduct],
    workers: Mapping[str, Worker],
    book: Book,
) -> ShownSought:
    group = next((one for one in answer.groups if one.pattern == sought.lacking.pattern), None)
    return ShownSought(
        need=sought.lacking.need,
        group=group,
        reacts_to=_reacts_to(group, book) if group else "",
        workers=tuple(workers[ref] for ref in (group.members if group else ()) if ref in workers),
        look_for=", ".join(name_of(one, book) for one in sought.without),
        nearest=_nearly(sought.nearest[:MOST_SHOWN], by_code, book),
        ask_maker=_nearly(sought.ask_maker[:MOST_SHOWN], by_code, book),
        banned=tuple(by_code[code] for code in sought.banned),
    )


def _nearly(
    found: Iterable[Nearly], by_code: Mapping[str, KeptProduct], book: Book
) -> tuple[ShownNearly, ...]:
    return tuple(
        ShownNearly(
            by_code[one.product],
            ", ".join(sorted(name_of(allergen, book) for allergen in one.allergens)),
        )
        for one in found
    )


def _reacts_to(group: KeptGroup, book: Book) -> str:
    at_once = [f"{name_of(one, book)} (immediate)" for one in group.immediate]
    return ", ".join([*at_once, *(name_of(one, book) for one in group.delayed)])


def _needs(answer: KeptAnswer) -> tuple[str, ...]:
    """Every need of workers, in order of name, whether served or not."""
    lacking = (one.lacking.need for one in answer.sought if one.lacking.pattern is not None)
    return tuple(sorted({*(use.need for use in answer.formulary.uses), *lacking}))


def _patterns(answer: KeptAnswer, by_code: Mapping[str, KeptProduct], book: Book) -> tuple[PatternRow, ...]:
    differ = how_they_differ(answer.groups, book)
    return tuple(
        PatternRow(group, _reacts_to(group, book), differ[group.pattern], _uses(group, answer, by_code))
        for group in answer.groups
    )


def _uses(
    group: KeptGroup, answer: KeptAnswer, by_code: Mapping[str, KeptProduct]
) -> tuple[tuple[str, str], ...]:
    uses = {
        use.need: by_code[use.product].name for use in answer.formulary.uses if use.pattern == group.pattern
    }
    uses |= {one.lacking.need: "nothing" for one in answer.sought if one.lacking.pattern == group.pattern}
    return tuple((need, uses.get(need, "–")) for need in _needs(answer))


def _lacks(lacking: Lacking) -> str:
    if lacking.pattern is None:
        return f"{lacking.need}, in stock in any case"
    return f"{lacking.need}: {lacking.pattern}, {lacking.workers} worker{'' if lacking.workers == 1 else 's'}"
