"""The door to choosing gloves for a task, for one person or for nobody in particular."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.allergy.allergies import Allergies
from thenar.allergy.glove_terms import Contact, GloveChoice, GloveTask, Note, Passage, Tier
from thenar.allergy.gloves import choose_gloves
from thenar.allergy.names import Names
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer
from thenar.cli.doors import Cited, Door, not_after
from thenar.cli.doors.products_given import (
    CAUTION,
    STRICT,
    AllergiesGiven,
    Name,
    ProductGiven,
    ReasonAnswer,
    entries_of,
    explain_allergens,
    products_of,
    reasons_of,
    sources_of,
)
from thenar.knowledge import Book

Minutes = Annotated[Decimal | None, Field(gt=0, description="minutes at a time; null where nobody knows")]
Pairs = Annotated[int | None, Field(ge=1, description="pairs in a shift; null where nobody knows")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ContactGiven:
    """A chemical the gloves meet."""

    chemical: Name
    minutes: Minutes = None


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class TaskGiven:
    """What the gloves are wanted for. What is left out is not known, and never reassures."""

    tier: Tier
    contacts: tuple[ContactGiven, ...] = ()
    long_or_wet: bool | None = None
    pairs_per_shift: Pairs = None
    rub_before: bool | None = None

    def task(self) -> GloveTask:
        """The task as the computation takes it."""
        contacts = tuple(Contact(one.chemical, one.minutes) for one in self.contacts)
        return GloveTask(self.tier, contacts, self.long_or_wet, self.pairs_per_shift, self.rub_before)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class GlovesGiven:
    """A task and the gloves at hand. Without `allergies` there is no answer for a person."""

    task: TaskGiven
    gloves: tuple[ProductGiven, ...]
    allergies: AllergiesGiven | None = None
    on: date | None = None


@dataclass(frozen=True, slots=True)
class GloveAnswer:
    """One glove. `answer` is null where no allergies were given, `tier_met` where sterility is not known."""

    product: str
    name: str
    answer: Answer | None
    tier_met: bool | None
    passages: tuple[Passage, ...]
    notes: tuple[Note, ...]
    reasons: tuple[ReasonAnswer, ...]


@dataclass(frozen=True, slots=True)
class GlovesAnswer:
    """Every glove given, the best fit first: none is left out, a person chooses."""

    gloves: tuple[GloveAnswer, ...]
    emergency: str
    caution: str
    sources: tuple[Cited, ...]
    on: date
    edition: str


def _compute(given: GlovesGiven, book: Book, today: date) -> GlovesAnswer:
    on = not_after(given.on, today)
    allergies = given.allergies.allergies(book) if given.allergies else None
    gloves = products_of(given.gloves, "gloves", book)
    judge = Judge(book.allergens, Names(book.allergens))
    choices = choose_gloves(given.task.task(), gloves, allergies or Allergies(), judge, book, on=on)
    noted = [note.entry for one in choices for note in one.notes if note.entry]
    passing = [entry for one in choices for each in one.passages for entry in each.entries]
    return GlovesAnswer(
        gloves=tuple(_answer(one, judged=allergies is not None) for one in choices),
        emergency=choices[0].verdict.emergency,
        caution=CAUTION,
        sources=sources_of([*noted, *passing, *entries_of(one.verdict for one in choices)], book),
        on=on,
        edition=book.edition,
    )


def _answer(choice: GloveChoice, *, judged: bool) -> GloveAnswer:
    return GloveAnswer(
        product=choice.product.id,
        name=choice.product.name,
        answer=choice.verdict.answer if judged else None,
        tier_met=choice.tier_met,
        passages=choice.passages,
        notes=choice.notes,
        reasons=reasons_of(choice.verdict),
    )


DOOR = Door("gloves", GlovesGiven, GlovesAnswer, _compute, explain_allergens)
