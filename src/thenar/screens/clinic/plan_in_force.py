"""What a new plan takes over from the plan in force, and what it can't."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from thenar.documents.letters import PlanContent
from thenar.knowledge import Book
from thenar.screens.clinic.plan_choices import OWN, PRODUCT_WORDS, USED, lines_to_choose


@dataclass(frozen=True, slots=True)
class TakenOver:
    """A kept plan as the first values of the form for the next.

    Parameters
    ----------
    made_on
        When the plan in force was made.
    products
        Field of the form → the product named.
    lines
        Ids of the lines to tick.
    own_words
        The practitioner's own lines.
    left_out
        Lines that the rules word otherwise now, or no longer have: shown, so that nothing goes unseen.
    """

    made_on: date
    products: Mapping[str, str] = field(default_factory=dict)
    lines: tuple[str, ...] = ()
    own_words: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


def taken_over(plan: PlanContent, book: Book) -> TakenOver:
    """Read a kept plan back into choices, as the book words its lines now."""
    ids = {line.says: line.id for line in lines_to_choose(book)}
    texts = {section.heading: [line.text for line in section.lines] for section in plan.sections}
    own = texts.pop(OWN, [])
    used = {line: _product(line) for line in texts.pop(USED, [])}
    advice = [text for section in texts.values() for text in section]
    return TakenOver(
        made_on=plan.made_on,
        products=dict(named for named in used.values() if named),
        lines=tuple(ids[text] for text in advice if text in ids),
        own_words=tuple(own),
        left_out=(
            *(line for line, named in used.items() if not named),
            *(text for text in advice if text not in ids),
        ),
    )


def _product(line: str) -> tuple[str, str] | None:
    """The form's field and the product, from a line such as "Cream: plain cream"."""
    label, _, product = line.partition(": ")
    name = next((name for name, word in PRODUCT_WORDS.items() if word == label), "")
    return (name, product) if name and product else None
