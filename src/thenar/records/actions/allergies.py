"""Sets down what a worker reacts to, takes it back, and keeps where the practitioner overrules the rules."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from thenar.allergy.allergies import Allergies, Strength
from thenar.allergy.patch_reading import read_position
from thenar.allergy.patch_rules import reading_rules
from thenar.allergy.patch_test import Kind
from thenar.allergy.verdict_terms import Answer, Verdict
from thenar.errors import BadInput, Conflict
from thenar.knowledge import Book
from thenar.records.actions.concerns import BECAUSE_OF_ALLERGY, Scope, meetings, raise_concerns
from thenar.records.audit import note
from thenar.records.days import day_of, not_after_today
from thenar.records.in_force import in_force_during
from thenar.records.judging import Answers, after_overrulings, allergies_of
from thenar.records.models import (
    AllergyWithdrawal,
    GloveSize,
    ImmediateAllergy,
    Overruling,
    PatchTest,
    ProductDeclaration,
    Sensitisation,
    User,
    Worker,
)
from thenar.records.models.allergies import DELAYED_BASES, IMMEDIATE_BASES, STRENGTHS
from thenar.records.own_words import reason_given
from thenar.records.patch_tests import as_patch_test
from thenar.records.rights import Act, require, require_not_own
from thenar.records.turns import wait_turn

FROM_TEST = "patch_test"
LONGEST_SIZE = 6  # characters: "7.5", "M", "XXL"


class OnRecord(Conflict):
    """An allergy that already stands was set down again."""

    def __init__(self) -> None:
        super().__init__(
            what="This allergy is already on the worker's record.",
            why="Two entries of one allergy could contradict each other.",
            todo="If the earlier entry is wrong or out of date, withdraw it, then set it down anew.",
        )


class SomeoneCouldDie(Conflict):
    """An `avoid` that rests on a severe immediate allergy was to be overruled."""

    def __init__(self) -> None:
        super().__init__(
            what="This answer rests on an immediate allergy with a reaction of the whole body. "
            "It can't be overruled.",
            why="Someone could die of it.",
            todo="If the allergy record is wrong, withdraw it with its reason; the answer then follows.",
        )


@transaction.atomic
def set_down_sensitisation(
    *,
    worker: Worker,
    allergen: str,
    strength: str,
    confirmed: bool,
    basis: str,
    test: PatchTest | None,
    found_on: date,
    note_text: str,
    book: Book,
    by: User,
    now: datetime,
) -> Sensitisation:
    """Set down a delayed contact allergy: the clinician's own act, never done by a reading.

    Concerns are raised for the products to avoid that reach the worker where they work.

    Raises
    ------
    BadInput
        The allergen, the strength or the basis is none in use; the day can't be; the test is missing or
        another worker's. Or the note is missing where it is needed: for a doubtful reaction, and for an
        allergen that did not come out positive in the test named.
    Conflict
        It is on record and stands.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(worker, by)
    wait_turn(worker.pk)
    _refuse_unless_listed(strength, STRENGTHS, "strength of a reaction")
    _refuse_unless_listed(basis, DELAYED_BASES, "basis of a sensitisation")
    _refuse_unknown(allergen, book)
    not_after_today(found_on, now, field="Found on")
    _refuse_test(test, basis, worker, found_on)
    _refuse_without_note(note_text, strength=strength, shown=_is_shown(allergen, test, book))
    if Sensitisation.objects.filter(worker=worker, allergen=allergen, withdrawal__isnull=True).exists():
        raise OnRecord
    before = meetings(Scope(workers=frozenset({worker.pk})), book=book, on=day_of(now))
    kept = Sensitisation.objects.create(
        worker=worker,
        allergen=allergen,
        strength=strength,
        confirmed=confirmed,
        basis=basis,
        test=test,
        found_on=found_on,
        note=note_text.strip(),
        edition=book.edition,
        at=after_overrulings(worker.overrulings.all(), now),
        by=by,
    )
    note("sensitisation set down", by=by, now=now, target=kept.ref, worker_ref=worker.ref)
    raise_concerns(since=before, because=BECAUSE_OF_ALLERGY, book=book, by=by, now=now)
    return kept


@transaction.atomic
def set_down_immediate(
    *,
    worker: Worker,
    allergen: str,
    severe: bool,
    basis: str,
    found_on: date,
    note_text: str,
    book: Book,
    by: User,
    now: datetime,
) -> ImmediateAllergy:
    """Set down an immediate allergy. `severe`: a reaction of the whole body is on record.

    It is a record of its own beside any sensitisation to the same allergen, and raises concerns as that does.

    Raises
    ------
    BadInput
        The allergen or the basis is none in use, or the day is to come.
    Conflict
        It is on record and stands.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(worker, by)
    wait_turn(worker.pk)
    _refuse_unless_listed(basis, IMMEDIATE_BASES, "basis of an immediate allergy")
    _refuse_unknown(allergen, book)
    not_after_today(found_on, now, field="Found on")
    if ImmediateAllergy.objects.filter(worker=worker, allergen=allergen, withdrawal__isnull=True).exists():
        raise OnRecord
    before = meetings(Scope(workers=frozenset({worker.pk})), book=book, on=day_of(now))
    kept = ImmediateAllergy.objects.create(
        worker=worker,
        allergen=allergen,
        severe=severe,
        basis=basis,
        found_on=found_on,
        note=note_text.strip(),
        edition=book.edition,
        at=after_overrulings(worker.overrulings.all(), now),
        by=by,
    )
    note("immediate allergy set down", by=by, now=now, target=kept.ref, worker_ref=worker.ref)
    raise_concerns(since=before, because=BECAUSE_OF_ALLERGY, book=book, by=by, now=now)
    return kept


@transaction.atomic
def withdraw_allergy(
    *, allergy: Sensitisation | ImmediateAllergy, reason: str, by: User, now: datetime
) -> AllergyWithdrawal:
    """Say that an allergy no longer stands, and why. The entry stays.

    Raises
    ------
    BadInput
        There is no reason, or it is too long.
    Conflict
        It was withdrawn before.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(allergy.worker, by)
    wait_turn(allergy.worker_id)
    why = "Products that were to be avoided will no longer be: whoever reads this later must know why."
    given = reason_given(reason, most=300, of="The withdrawal", why=why)
    field = "sensitisation" if isinstance(allergy, Sensitisation) else "immediate"
    if AllergyWithdrawal.objects.filter(**{field: allergy}).exists():
        raise Conflict(
            what="This allergy was already withdrawn.",
            why="One withdrawal tells what there is to tell.",
            todo="If the allergy stands after all, set it down anew.",
        )
    kept = AllergyWithdrawal.objects.create(**{field: allergy}, reason=given, at=now, by=by)
    note("allergy withdrawn", by=by, now=now, target=allergy.ref, worker_ref=allergy.worker.ref)
    return kept


@transaction.atomic
def overrule(
    *,
    worker: Worker,
    declaration: ProductDeclaration,
    answer: Answer,
    reason: str,
    book: Book,
    by: User,
    now: datetime,
) -> Overruling:
    """Put the practitioner's answer for one worker and one declaration beside what the rules say.

    The newest holds; it lapses when the product declares something else. It is taken back by one that gives
    the answer of the rules.

    Raises
    ------
    BadInput
        There is no reason, or nothing to overrule: the rules say the same.
    Conflict
        The declaration is past; or the rules say avoid for a severe immediate allergy.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(worker, by)
    wait_turn(worker.pk)
    why = "The reason stays beside the answer, for whoever relies on it."
    given = reason_given(reason, most=400, of="The overruling", why=why)
    _refuse_past(declaration, day_of(now))
    allergies = allergies_of([worker.pk], book)
    judged = Answers(allergies, [declaration], book).of(worker.pk, declaration)
    if answer is not Answer.AVOID and _could_kill(judged.verdict, allergies[worker.pk]):
        raise SomeoneCouldDie
    if judged.overruling is None and answer is judged.verdict.answer:
        raise BadInput(
            what=f"The rules already say {answer.value}.",
            why="There is nothing to overrule.",
            todo="Choose another answer, or leave it as it is.",
        )
    kept = Overruling.objects.create(
        worker=worker,
        declaration=declaration,
        rules_say=judged.verdict.answer.value,
        answer=answer.value,
        reason=given,
        edition=book.edition,
        at=now,
        by=by,
    )
    note("answer overruled", by=by, now=now, target=kept.ref, worker_ref=worker.ref)
    return kept


@transaction.atomic
def set_glove_size(*, worker: Worker, size: str, by: User, now: datetime) -> GloveSize:
    """Keep the glove size a worker wears. The newest holds."""
    require(by, Act.WRITE_CLINICAL)
    require_not_own(worker, by)
    wait_turn(worker.pk)
    given = size.strip()
    if not given or len(given) > LONGEST_SIZE:
        raise BadInput(
            what=f"{size!r} is no glove size.",
            why="Gloves that do not fit are not worn, or tear.",
            todo="Give the size as on the box: 7.5, or M.",
        )
    kept = GloveSize.objects.create(worker=worker, size=given, at=now, by=by)
    note("glove size set", by=by, now=now, worker_ref=worker.ref)
    return kept


def _refuse_unless_listed(code: str, listed: Sequence[tuple[str, str]], what: str) -> None:
    if code not in dict(listed):
        raise _unusable(f"{code!r} is no {what}.", f"Name one of: {', '.join(dict(listed))}.")


def _refuse_unknown(allergen: str, book: Book) -> None:
    if allergen not in book.allergens.allergens:
        raise _unusable(
            f"{allergen!r} is no allergen of this edition.", "Choose it from the list of allergens."
        )


def _refuse_test(test: PatchTest | None, basis: str, worker: Worker, found_on: date) -> None:
    if (basis == FROM_TEST) != (test is not None):
        raise _unusable(
            "A sensitisation found by a patch test here names the test, and no other does.",
            "Choose the test, or another basis.",
        )
    if test is None:
        return
    if test.worker_id != worker.pk:
        raise _unusable("The patch test is another worker's.", "Choose a test of this worker.")
    if found_on < test.applied_on:
        raise _unusable(
            f"Found on {found_on}: the test was put on only on {test.applied_on}.", "Correct the day."
        )


def _is_shown(allergen: str, test: PatchTest | None, book: Book) -> bool:
    """Whether the allergen came out positive in the test; without a test there is nothing to ask."""
    if test is None:
        return True
    read, rules = as_patch_test(test), reading_rules(book, test.applied_on)
    return any(
        read_position(read, position.number, rules).is_positive
        for position in read.of_kind(Kind.ALLERGEN)
        if position.hapten == allergen
    )


def _refuse_without_note(note_text: str, *, strength: str, shown: bool) -> None:
    if note_text.strip():
        return
    if strength == Strength.DOUBTFUL.value:
        raise _unusable(
            "A doubtful reaction is set down without a note.",
            "Say in the note why it counts: a repeated test, an open test, the story.",
        )
    if not shown:
        raise _unusable(
            "In the test named, this allergen shows no positive reaction on a day that counts.",
            "Say in the note why it is set down all the same, or choose another basis.",
        )


def _refuse_past(declaration: ProductDeclaration, today: date) -> None:
    rows = ProductDeclaration.objects.filter(product=declaration.product_id)
    if declaration not in in_force_during(rows, today, None):
        raise Conflict(
            what="The product declares something else by now.",
            why="An answer for what it declared before would help nobody.",
            todo="Look at the declaration in force, and judge that.",
        )


def _could_kill(verdict: Verdict, allergies: Allergies) -> bool:
    """Whether an `avoid` rests on an immediate allergy with a reaction of the whole body on record."""
    severe = {one.allergen for one in allergies.immediate if one.severe}
    return any(
        reason.answer is Answer.AVOID and reason.immediate and reason.allergen in severe
        for reason in verdict.reasons
    )


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(
        what=what, why="An allergy on record decides for years what a worker may touch.", todo=todo
    )
