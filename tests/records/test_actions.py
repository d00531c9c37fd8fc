"""Every write is one transaction with its audit row, by someone who may."""

import inspect
from collections.abc import Callable
from datetime import date, timedelta
from importlib import import_module
from pkgutil import iter_modules

import pytest

import thenar.records.actions
from tests.conftest import NOW, TODAY, House
from tests.records.test_patch_tests import own_record_of
from thenar.errors import BadInput, Conflict, NotAllowed, ThenarError
from thenar.knowledge import Book
from thenar.records.actions.adjustments import agree_adjustment
from thenar.records.actions.cases import close_case, open_case
from thenar.records.actions.check_drafts import DraftOwner, kept_answers
from thenar.records.actions.checks import LinkNotUsable, make_check_link, record_sorting, submit_check
from thenar.records.actions.duties import keep_duty_search, keep_task_list
from thenar.records.actions.examinations import Circumstances, record_examination
from thenar.records.actions.letters import (
    AlreadyReplaced,
    AlreadyTaken,
    AnotherOnItsWay,
    draft_letter,
    state_of,
    take_letter_step,
)
from thenar.records.actions.plans import make_plan
from thenar.records.actions.reviews import finish_review, set_review
from thenar.records.audit import broken_rows
from thenar.records.letter_states import Step
from thenar.records.models import AccessRole, AuditRow, Case, Examination, Letter, Review, SkinCheck, User
from thenar.records.queries.links import usable_link
from thenar.records.rights import NotVisible
from thenar.skin.severity import AreaSigns, HandSigns


def all_actions() -> list[tuple[str, object]]:
    found = []
    for module_info in iter_modules(thenar.records.actions.__path__):
        module = import_module(f"thenar.records.actions.{module_info.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and hasattr(function, "__wrapped__"):
                found.append((name, function))
    return found


def test_there_are_actions_to_look_at() -> None:
    assert len(all_actions()) >= 9


@pytest.mark.parametrize(("name", "action"), all_actions())
def test_every_action_takes_only_named_facts_by_whom_and_when(name: str, action: object) -> None:
    parameters = inspect.signature(action).parameters  # type: ignore[arg-type]
    assert {"by", "now"} <= set(parameters)
    assert all(parameter.kind is inspect.Parameter.KEYWORD_ONLY for parameter in parameters.values())


# What notes by itself: each is tested beside the actions that lean on it.
NOTING = ("note(", "begin_case(", "_write_step(", "keep_declaration(", "keep_stock(")


@pytest.mark.parametrize(("name", "action"), all_actions())
def test_every_action_notes_itself(name: str, action: object) -> None:
    source = inspect.getsource(inspect.unwrap(action))  # type: ignore[arg-type]
    assert any(call in source for call in NOTING), name


def test_a_case_is_opened_with_its_audit_row(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    row = AuditRow.objects.get(event="case opened")
    assert (row.who, row.target, row.worker_ref) == ("alice", case.ref, house.wanda.ref)
    assert list(broken_rows()) == []


def test_when_the_audit_row_fails_nothing_is_written(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: object, **kwargs: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("thenar.records.actions.cases.note", broken)
    with pytest.raises(OSError, match="disk full"):
        open_case(worker=house.wanda, by=house.alice, now=NOW)
    assert not Case.objects.exists()


@pytest.mark.parametrize("who", ["clara", "mona", "ada"])
def test_only_a_practitioner_opens_a_case(house: House, who: str) -> None:
    with pytest.raises(NotAllowed):
        open_case(worker=house.wanda, by=getattr(house, who), now=NOW)
    assert not Case.objects.exists()


def test_a_worker_has_one_open_case_and_the_next_points_back(house: House) -> None:
    first = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(Conflict):
        open_case(worker=house.wanda, by=house.bob, now=NOW)
    close_case(case=first, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)
    assert open_case(worker=house.wanda, by=house.alice, now=NOW).earlier == first


def test_a_closed_case_takes_nothing_more(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    close_case(case=case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)
    with pytest.raises(Conflict):
        set_review(case=case, due_on=TODAY, purpose="look again", by=house.alice, now=NOW)


def test_a_case_cannot_close_in_the_future(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(BadInput, match="future"):
        close_case(case=case, outcome="clear", closed_on=TODAY + timedelta(days=1), by=house.alice, now=NOW)


def test_a_case_cannot_close_before_it_was_opened(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(BadInput, match="before the case was opened"):
        close_case(case=case, outcome="clear", closed_on=TODAY - timedelta(days=1), by=house.alice, now=NOW)


def test_closing_a_case_ends_its_reviews(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    set_review(case=case, due_on=TODAY + timedelta(days=14), purpose="look", by=house.alice, now=NOW)
    close_case(case=case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)
    assert not Review.objects.filter(outcome__isnull=True).exists()


def an_examination(case: Case, house: House, book: Book, **rest: object) -> Examination:
    clear = AreaSigns(0, 0, 0, 0, 0, 0, 0)
    given: dict[str, object] = {"examined_on": TODAY, "by": house.alice, **rest}
    return record_examination(
        case=case,
        signs=HandSigns(clear, clear, clear, clear, clear),
        marks=(),
        circumstances=Circumstances(),
        now=NOW,
        book=book,
        **given,  # type: ignore[arg-type]
    )


def test_hands_are_not_examined_on_a_day_to_come(house: House, book: Book) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(BadInput, match="future"):
        an_examination(case, house, book, examined_on=TODAY + timedelta(days=1))


def test_a_correction_stays_within_its_case(house: House, book: Book) -> None:
    of_wanda = an_examination(open_case(worker=house.wanda, by=house.alice, now=NOW), house, book)
    case = open_case(worker=house.yusuf, by=house.alice, now=NOW)
    with pytest.raises(BadInput, match="same case"):
        an_examination(case, house, book, corrects=of_wanda, correction_reason="Wrong hands.")


def test_a_missed_review_needs_a_new_day(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    review = set_review(case=case, due_on=TODAY, purpose="look", by=house.alice, now=NOW)
    with pytest.raises(BadInput, match="no new day"):
        finish_review(review=review, outcome="missed", by=house.alice, now=NOW)
    finish_review(
        review=review, outcome="missed", next_due_on=TODAY + timedelta(days=7), by=house.alice, now=NOW
    )
    assert Review.objects.get(outcome__isnull=True).due_on == date(2026, 3, 9)


def test_a_check_is_sorted_and_names_its_edition(house: House, book: Book) -> None:
    check = submit_check(
        worker=house.wanda, answers={}, given_by="worker", by=house.wanda.user, now=NOW, book=book
    )
    assert check.edition == book.edition
    assert check.urgency != "self_care"  # nothing answered must not reassure


def test_a_check_is_dealt_with_once(house: House, book: Book) -> None:
    check = submit_check(
        worker=house.wanda, answers={}, given_by="worker", by=house.wanda.user, now=NOW, book=book
    )
    sorting = record_sorting(check=check, decision="case", by=house.alice, now=NOW)
    assert sorting.case is not None
    with pytest.raises(Conflict):
        record_sorting(check=check, decision="no_action", by=house.bob, now=NOW)


def test_a_check_goes_into_no_case_that_closed_meanwhile(house: House, book: Book) -> None:
    check = submit_check(
        worker=house.wanda, answers={}, given_by="worker", by=house.wanda.user, now=NOW, book=book
    )
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    close_case(case=case, outcome="clear", closed_on=TODAY, by=house.bob, now=NOW)
    with pytest.raises(Conflict, match="closed"):
        record_sorting(check=check, decision="case", into=case, by=house.alice, now=NOW)


def test_a_check_goes_into_nobody_elses_case(house: House, book: Book) -> None:
    check = submit_check(
        worker=house.wanda, answers={}, given_by="worker", by=house.wanda.user, now=NOW, book=book
    )
    case = open_case(worker=house.yusuf, by=house.alice, now=NOW)
    with pytest.raises(Conflict, match="another worker"):
        record_sorting(check=check, decision="case", into=case, by=house.alice, now=NOW)


def test_a_link_works_once(house: House, book: Book) -> None:
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    link = usable_link(token=token, now=NOW)
    usable_link(token=token, now=NOW)  # looking does not spend it
    facts = {"worker": house.wanda, "answers": {}, "given_by": "worker", "by": None, "now": NOW, "book": book}
    submit_check(link=link, **facts)  # type: ignore[arg-type]
    with pytest.raises(LinkNotUsable):
        submit_check(link=link, **facts)  # type: ignore[arg-type]
    assert SkinCheck.objects.count() == 1


def test_nobody_gives_a_check_for_somebody_else(house: House, book: Book) -> None:
    facts = {"worker": house.wanda, "answers": {}, "given_by": "worker", "now": NOW, "book": book}
    link = usable_link(token=make_check_link(worker=house.yusuf, by=house.clara, now=NOW), now=NOW)
    for by, through in ((house.yusuf.user, None), (None, None), (None, link), (house.mona, None)):
        with pytest.raises(NotAllowed):
            submit_check(by=by, link=through, **facts)  # type: ignore[arg-type]
    assert not SkinCheck.objects.exists()
    submit_check(by=house.alice, **{**facts, "given_by": "practitioner"})  # type: ignore[arg-type]


def test_a_link_expires_after_its_fortnight(house: House) -> None:
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    usable_link(token=token, now=NOW + timedelta(days=13, hours=23))
    with pytest.raises(LinkNotUsable):
        usable_link(token=token, now=NOW + timedelta(days=14))


def test_a_link_opens_nobody_elses_answers(house: House) -> None:
    link = usable_link(token=make_check_link(worker=house.wanda, by=house.clara, now=NOW), now=NOW)
    with pytest.raises(NotAllowed):
        kept_answers(owner=DraftOwner(worker=house.yusuf, link=link), now=NOW)
    with pytest.raises(NotAllowed):
        kept_answers(owner=DraftOwner(worker=house.yusuf, by=house.wanda.user), now=NOW)


def test_a_guessed_link_is_answered_like_a_used_one(db: None) -> None:
    with pytest.raises(LinkNotUsable):
        usable_link(token="guessed", now=NOW)


def letter_for(house: House) -> Letter:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    adjustment = agree_adjustment(
        case=case,
        measures=("No dishwashing.",),
        start_on=TODAY,
        end_on=None,
        review_on=TODAY + timedelta(days=28),
        by=house.alice,
        now=NOW,
    )
    return draft_letter(
        adjustment=adjustment,
        recipient=house.mona,
        content={"measures": ["No dishwashing."]},
        by=house.alice,
        now=NOW,
    )


def walk(letter: Letter, house: House, *steps: Step) -> None:
    for step in steps:
        own = {Step.SEEN, Step.SEE_DECLINED, Step.CONSENTED, Step.REFUSED, Step.COMMENTED, Step.WITHDRAWN}
        by = house.wanda.user if step in own else house.alice
        assert by is not None
        take_letter_step(letter=letter, step=step, by=by, now=NOW)


def test_a_letter_walks_to_release(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED, Step.RELEASED)
    assert state_of(letter).released


def test_a_letter_is_not_released_without_consent(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN)
    with pytest.raises(Conflict):
        take_letter_step(letter=letter, step=Step.RELEASED, by=house.alice, now=NOW)


def test_consent_is_the_workers_unless_the_practitioner_says_how_it_was_given(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN)
    with pytest.raises(NotAllowed):
        take_letter_step(letter=letter, step=Step.CONSENTED, by=house.alice, now=NOW)
    take_letter_step(letter=letter, step=Step.CONSENTED, by=house.alice, now=NOW, how="By telephone")
    assert state_of(letter).label == "Agreed, ready to release"


def test_a_letter_stopped_since_the_page_was_opened_is_not_released(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    on_the_page = Letter.objects.prefetch_related("steps").get(pk=letter.pk)
    walk(letter, house, Step.WITHDRAWN)
    with pytest.raises(Conflict):
        take_letter_step(letter=on_the_page, step=Step.RELEASED, by=house.alice, now=NOW)


@pytest.mark.parametrize("who", ["mona", "nils", "clara", "ada"])
def test_nobody_else_moves_a_letter(house: House, who: str) -> None:
    letter = letter_for(house)
    with pytest.raises(NotAllowed):
        take_letter_step(letter=letter, step=Step.CONTENT_AGREED, by=getattr(house, who), now=NOW, how="x")


def test_a_worker_cannot_release_their_own_letter(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    assert house.wanda.user is not None
    with pytest.raises(NotAllowed):
        take_letter_step(letter=letter, step=Step.RELEASED, by=house.wanda.user, now=NOW)


def test_a_practitioner_cannot_release_a_letter_about_themselves(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    assert house.wanda.user is not None
    house.wanda.user.access = AccessRole.PRACTITIONER
    house.wanda.user.save()
    with pytest.raises(NotAllowed):
        take_letter_step(letter=letter, step=Step.RELEASED, by=house.wanda.user, now=NOW)


def test_a_letter_whose_content_is_not_what_was_agreed_is_not_released(house: House) -> None:
    agreed = letter_for(house)
    swapped = Letter.objects.create(
        worker=agreed.worker,
        adjustment=agreed.adjustment,
        recipient=agreed.recipient,
        content={"measures": ["Something else."]},
        content_hash=agreed.content_hash,
        at=NOW,
        by=house.alice,
    )
    walk(swapped, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    with pytest.raises(Conflict, match="not what was agreed"):
        take_letter_step(letter=swapped, step=Step.RELEASED, by=house.alice, now=NOW)


def test_a_new_wording_withdraws_the_old_letter(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED)
    newer = draft_letter(
        adjustment=letter.adjustment,
        recipient=house.mona,
        content={"measures": ["Other words."]},
        by=house.alice,
        now=NOW,
        replaces=letter,
    )
    assert state_of(letter).label == "Withdrawn"
    assert state_of(newer).label == "Draft"
    with pytest.raises(AlreadyReplaced):
        draft_letter(
            adjustment=letter.adjustment,
            recipient=house.mona,
            content={"measures": ["Third words."]},
            by=house.bob,
            now=NOW,
            replaces=letter,
        )


def test_a_letter_released_since_the_page_was_opened_is_replaced_but_not_withdrawn(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    on_the_page = Letter.objects.prefetch_related("steps").get(pk=letter.pk)
    walk(letter, house, Step.RELEASED)
    draft_letter(
        adjustment=letter.adjustment,
        recipient=house.mona,
        content={"measures": ["Other words."]},
        by=house.alice,
        now=NOW,
        replaces=on_the_page,
    )
    assert not letter.steps.filter(kind="withdrawn").exists()


def test_an_adjustment_cannot_end_before_it_starts(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(ThenarError, match="before the start"):
        agree_adjustment(
            case=case,
            measures=("x",),
            start_on=TODAY,
            end_on=TODAY - timedelta(days=1),
            review_on=TODAY,
            by=house.alice,
            now=NOW,
        )


def test_a_review_does_not_come_after_the_end(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(BadInput, match="9 March 2026 comes after the end on 8 March 2026"):
        agree_adjustment(
            case=case,
            measures=("x",),
            start_on=TODAY,
            end_on=date(2026, 3, 8),
            review_on=date(2026, 3, 9),
            by=house.alice,
            now=NOW,
        )


# ---- Nobody is their own patient

OWN_RECORD_REFUSED_ELSEWHERE = {  # each in the tests of its own room
    *("apply_patch_test", "read_patch_test", "say_relevance", "end_patch_test"),
    *("set_down_sensitisation", "set_down_immediate", "withdraw_allergy", "overrule", "set_glove_size"),
    *("issue_list", "deal_with_concern"),
}
OWN_RECORD_REFUSED_HERE = (
    *("open_case", "close_case", "record_examination", "set_review", "finish_review", "make_plan"),
    *("agree_adjustment", "draft_letter", "keep_duty_search", "record_sorting"),
)


def clinical_writes_about_wanda(house: House, book: Book, own: User) -> dict[str, Callable[[], object]]:
    """Each older clinical write, ready to be done in Wanda's record by `own`."""
    check = submit_check(
        worker=house.wanda, answers={}, given_by="worker", by=house.wanda.user, now=NOW, book=book
    )
    adjustment = letter_for(house).adjustment
    case = adjustment.case
    review = set_review(case=case, due_on=TODAY, purpose="look", by=house.alice, now=NOW)
    content = {"form": 1, "tasks": [{"task": "Bed baths"}]}
    tasks = keep_task_list(area=house.ward_1, first_day=TODAY, content=content, by=house.alice, now=NOW)
    who = {"by": own, "now": NOW}
    days = {"start_on": TODAY, "end_on": None, "review_on": TODAY}
    return {
        "open_case": lambda: open_case(worker=house.wanda, **who),
        "close_case": lambda: close_case(case=case, outcome="moved", closed_on=TODAY, **who),
        "record_examination": lambda: an_examination(case, house, book, by=own),
        "set_review": lambda: set_review(case=case, due_on=TODAY, purpose="look", **who),
        "finish_review": lambda: finish_review(review=review, outcome="missed", next_due_on=TODAY, **who),
        "make_plan": lambda: make_plan(case=case, content={"lines": ["x"]}, edition="a test", **who),
        "agree_adjustment": lambda: agree_adjustment(case=case, measures=("x",), **days, **who),
        "draft_letter": lambda: draft_letter(
            adjustment=adjustment, recipient=house.nils, content={"measures": ["x"]}, **who
        ),
        "keep_duty_search": lambda: keep_duty_search(
            case=case,
            task_list=tasks,
            limits={},
            found=True,
            words={"says": ["Nothing has to change."]},
            edition="a test",
            **who,
        ),
        "record_sorting": lambda: record_sorting(check=check, decision="no_action", **who),
    }


@pytest.mark.parametrize("name", OWN_RECORD_REFUSED_HERE)
def test_no_practitioner_writes_in_their_own_record(house: House, book: Book, name: str) -> None:
    write = clinical_writes_about_wanda(house, book, own_record_of(house.wanda))[name]
    before = AuditRow.objects.count()
    with pytest.raises(NotVisible):
        write()
    assert AuditRow.objects.count() == before


def test_every_clinical_write_is_tried_in_ones_own_record() -> None:
    sources = {name: inspect.getsource(inspect.unwrap(action)) for name, action in all_actions()}  # type: ignore[arg-type]
    clinical = {name for name, source in sources.items() if "require(by, Act.WRITE_CLINICAL)" in source}
    assert clinical == OWN_RECORD_REFUSED_ELSEWHERE | set(OWN_RECORD_REFUSED_HERE)


# ---- what may not be lost on the way


def test_closing_a_case_withdraws_its_letters_and_says_why(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED)
    close_case(case=letter.adjustment.case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)
    step = letter.steps.get(kind="withdrawn")
    assert (step.how, step.by) == ("The case was closed", house.alice)
    assert AuditRow.objects.filter(event="letter withdrawn", target=letter.ref).exists()


def test_a_case_is_not_closed_over_a_letter_the_worker_has_agreed_to(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    case = letter.adjustment.case
    with pytest.raises(Conflict, match="has the worker's yes and was not released"):
        close_case(case=case, outcome="controlled", closed_on=TODAY, by=house.alice, now=NOW)
    assert not hasattr(Case.objects.get(pk=case.pk), "closing")
    walk(letter, house, Step.RELEASED)
    close_case(case=case, outcome="controlled", closed_on=TODAY, by=house.alice, now=NOW)
    assert not letter.steps.filter(kind="withdrawn").exists()


SORE = HandSigns(*[AreaSigns(0, 0, 0, 0, 0, 0, 0)] * 4, AreaSigns(1, 0, 0, 0, 0, 0, 1))  # 1 point


def test_clear_skin_against_the_last_score_needs_its_reason(house: House, book: Book) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    record_examination(
        case=case,
        signs=SORE,
        marks=(),
        examined_on=TODAY,
        circumstances=Circumstances(),
        by=house.alice,
        now=NOW,
        book=book,
    )
    facts = {"case": case, "outcome": "clear", "closed_on": TODAY, "by": house.alice, "now": NOW}
    for said in (
        {},
        {"note_text": "Well."},
        {"all_the_same": True},
        {"all_the_same": True, "note_text": " "},
    ):
        with pytest.raises(BadInput, match="not in the band clear"):
            close_case(**facts, **said)  # type: ignore[arg-type]
    close_case(**facts, all_the_same=True, note_text="A scar, no sign.")  # type: ignore[arg-type]


def test_clear_skin_goes_by_the_last_score_that_stands(house: House, book: Book) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    mistaken = record_examination(
        case=case,
        signs=SORE,
        marks=(),
        examined_on=TODAY,
        circumstances=Circumstances(),
        by=house.alice,
        now=NOW,
        book=book,
    )
    an_examination(case, house, book, corrects=mistaken, correction_reason="Another's hands.")
    close_case(case=case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)


def test_a_review_that_is_done_leaves_a_next_one_or_a_reason(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    review = set_review(case=case, due_on=TODAY, purpose="look", by=house.alice, now=NOW)
    facts = {"review": review, "outcome": "done", "by": house.alice, "now": NOW}
    for said in ({}, {"no_next": True}, {"note_text": "Well."}):
        with pytest.raises(BadInput, match="no next one was set"):
            finish_review(**facts, **said)  # type: ignore[arg-type]
    finish_review(**facts, no_next=True, note_text="To be closed.")  # type: ignore[arg-type]


def test_a_review_that_is_done_asks_for_nothing_where_another_is_to_come(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    review = set_review(case=case, due_on=TODAY, purpose="look", by=house.alice, now=NOW)
    set_review(case=case, due_on=TODAY + timedelta(days=7), purpose="look", by=house.alice, now=NOW)
    finish_review(review=review, outcome="done", by=house.alice, now=NOW)
    assert Review.objects.filter(outcome__isnull=True).count() == 1


def test_a_step_taken_before_says_when(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED, Step.RELEASED)
    later = NOW + timedelta(days=3)
    with pytest.raises(AlreadyTaken, match="Already released on 2 March 2026"):
        take_letter_step(letter=letter, step=Step.RELEASED, by=house.alice, now=later)
    assert letter.steps.filter(kind="released").count() == 1


def test_a_second_letter_to_one_manager_is_meant_or_not_written(house: House) -> None:
    first = letter_for(house)
    facts = {"adjustment": first.adjustment, "content": {"measures": ["x"]}, "by": house.alice, "now": NOW}
    with pytest.raises(AnotherOnItsWay):
        draft_letter(recipient=house.mona, **facts)  # type: ignore[arg-type]
    assert Letter.objects.count() == 1
    draft_letter(recipient=house.nils, **facts)  # type: ignore[arg-type]
    draft_letter(recipient=house.mona, besides=True, **facts)  # type: ignore[arg-type]
    assert Letter.objects.count() == 3


def test_a_letter_that_has_ended_stands_in_no_other_s_way(house: House) -> None:
    first = letter_for(house)
    walk(first, house, Step.CONTENT_AGREED, Step.OFFERED, Step.REFUSED)
    draft_letter(
        adjustment=first.adjustment, recipient=house.mona, content={"x": ["y"]}, by=house.alice, now=NOW
    )
    assert Letter.objects.count() == 2


def three_checks(house: House, book: Book) -> list[SkinCheck]:
    return [
        submit_check(
            worker=house.wanda,
            answers={},
            given_by="worker",
            by=house.wanda.user,
            now=NOW - timedelta(hours=hours),
            book=book,
        )
        for hours in (3, 2, 1)
    ]


def test_one_decision_is_recorded_for_each_check_taken_along(house: House, book: Book) -> None:
    oldest, older, newest = three_checks(house, book)
    sorting = record_sorting(check=newest, decision="case", along=[oldest, older], by=house.alice, now=NOW)
    assert sorting.check_report == newest
    assert Case.objects.get().checks.count() == 3
    rows = AuditRow.objects.filter(event="check dealt with")
    assert {row.target for row in rows} == {oldest.ref, older.ref, newest.ref}


def test_a_check_taken_along_that_was_dealt_with_stops_the_whole_decision(house: House, book: Book) -> None:
    oldest, _, newest = three_checks(house, book)
    record_sorting(check=oldest, decision="advice", by=house.bob, now=NOW)
    with pytest.raises(Conflict, match="taken along with it"):
        record_sorting(check=newest, decision="case", along=[oldest], by=house.alice, now=NOW)
    assert not Case.objects.exists()


def test_nobody_else_s_check_is_taken_along(house: House, book: Book) -> None:
    newest = three_checks(house, book)[-1]
    other = submit_check(
        worker=house.yusuf, answers={}, given_by="worker", by=house.yusuf.user, now=NOW, book=book
    )
    with pytest.raises(Conflict, match="another worker"):
        record_sorting(check=newest, decision="advice", along=[other], by=house.alice, now=NOW)
