"""A worker's own pages: everything about them in plain words, letters that go nowhere without a yes."""

import ast
import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pypdfium2
import pytest
from django.test import Client

import thenar.exchange
import thenar.records
import thenar.screens
from tests.conftest import NOW, TODAY, House
from tests.web import wanda
from thenar.errors import Conflict
from thenar.knowledge import Book
from thenar.records.actions.checks import make_check_link
from thenar.records.actions.letters import state_of
from thenar.records.letter_states import Step
from thenar.records.models import AuditRow, Letter, LetterStep, Plan, SkinCheck, User
from thenar.records.queries.cases import case_story
from thenar.records.queries.workers import worker_story
from thenar.screens import clock
from thenar.screens.mine.letter_answers import answers_to
from thenar.screens.mine.sentences import SENTENCES

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def own(house: House, signed_in: SignIn) -> Client:
    """Wanda, signed in."""
    assert house.wanda.user is not None
    return signed_in(house.wanda.user)


@pytest.fixture
def offered(house: House) -> Letter:
    """A letter to Mona has been offered to Wanda."""
    kept = wanda.letter(house, wanda.adjusted(house, wanda.in_case(house)))
    wanda.walk(house, kept, *wanda.OFFERED)
    return kept


def words_of(response: object) -> str:
    bare = re.sub(r"<[^>]+>", " ", response.content.decode())  # type: ignore[attr-defined]
    return " ".join(bare.replace("&#x27;", "'").split())


def form_key(response: object) -> str:
    found = re.search(r'name="form_key" value="([^"]+)"', response.content.decode())  # type: ignore[attr-defined]
    assert found
    return found.group(1)


def answer(client: Client, kept: Letter, step: str, comment: str = "") -> object:
    path = f"/mine/letters/{kept.ref}/"
    body = {"form_key": form_key(client.get(path)), "step": step, "comment": comment}
    return client.post(path, body, follow=True)


def steps_of(kept: Letter) -> list[str]:
    return [step.kind for step in LetterStep.objects.filter(letter=kept)]


# ---- The record -------------------------------------------------------------------------------------------


def test_my_record_tells_everything_in_plain_words(house: House, own: Client, book: Book) -> None:
    wanda.everything(house, book)
    page = words_of(own.get("/mine/"))
    for part in (
        "Check my hands now",
        "Monday 16 March 2026",
        f"Use {wanda.MARKED} plan cream at breaks.",
        wanda.MEASURE,
        "8 of 360 points",
        "Backs of your hands",
        "Moderate cracks, mild flaking, mild redness or another change of colour, on a quarter to a half.",
        "Left back: wrist.",
        "See who looked",
        "Sent to Mona Example, with your yes.",
    ):
        assert part in page, part


def test_trade_words_stay_out_of_my_record(house: House, own: Client, book: Book) -> None:
    wanda.everything(house, book)
    page = words_of(own.get("/mine/")).lower()
    for word in ("erythema", "fissure", "vesicle", "induration", "oedema", "hecsi", "emollient"):
        assert word not in page


def test_an_empty_record_says_what_to_do(own: Client) -> None:
    page = words_of(own.get("/mine/"))
    assert "You have not sent a check yet." in page
    assert "Check my hands now" in page
    assert "You have no plan yet." in page


def test_a_letter_shows_only_once_it_is_offered(house: House, own: Client) -> None:
    kept = wanda.letter(house, wanda.adjusted(house, wanda.in_case(house)))
    wanda.walk(house, kept, Step.CONTENT_AGREED)
    assert "Mona" not in words_of(own.get("/mine/"))
    assert own.get(f"/mine/letters/{kept.ref}/").status_code == 404
    wanda.walk(house, kept, Step.OFFERED)
    assert "A letter waits for your answer" in words_of(own.get("/mine/"))


def test_a_corrected_examination_is_marked_and_its_correction_says_why(
    house: House, own: Client, book: Book
) -> None:
    case = wanda.in_case(house)
    first = wanda.examined(house, book, case)
    wanda.record_examination(
        case=case,
        signs=wanda.SIGNS,
        marks=(),
        examined_on=TODAY,
        circumstances=wanda.Circumstances(),
        by=house.alice,
        now=NOW,
        book=book,
        corrects=first,
        correction_reason="Wrong wrist",
    )
    page = words_of(own.get("/mine/"))
    assert page.count("replaced by a later entry") == 1
    assert "This entry replaces an earlier one: Wrong wrist" in page


def test_my_check_shows_its_result_with_the_red_flags(house: House, own: Client, book: Book) -> None:
    check = wanda.checked(house, book)
    page = words_of(own.get(f"/mine/checks/{check.ref}/"))
    assert check.ref in page
    assert "When to get help at once" in page
    assert "This is not a diagnosis" in page
    assert "Are there cracks, cuts or raw places? Yes" in page
    assert "Is it hard to breathe, or do you wheeze? Not answered" in page


def test_my_plan_prints_in_normal_and_in_large_print(house: House, own: Client, book: Book) -> None:
    plan = wanda.planned(house, book, wanda.in_case(house))
    sizes = []
    for query in ("", "?print=large"):
        response = own.get(f"/mine/plans/{plan.ref}/plan.pdf{query}")
        assert response.headers["Content-Type"] == "application/pdf"
        text = pypdfium2.PdfDocument(response.content)[0].get_textpage()
        assert f"{wanda.MARKED} plan cream" in " ".join(text.get_text_bounded().split())
        sizes.append(pypdfium2.raw.FPDFText_GetFontSize(text.raw, text.get_text_bounded().index("Cream")))
    assert sizes[1] > sizes[0]


# ---- Letters: nothing is sent without a yes ---------------------------------------------------------------


def test_a_letter_is_read_then_agreed(house: House, own: Client, offered: Letter) -> None:
    page = words_of(own.get(f"/mine/letters/{offered.ref}/"))
    assert "Nothing is sent unless you say yes." in page
    assert wanda.MEASURE not in page  # not read yet: reading is a step, taken by asking to see it
    read = words_of(answer(own, offered, "seen"))
    assert wanda.MEASURE in read
    assert "Yes, send it to Mona Example" in read
    agreed = words_of(answer(own, offered, "consented"))
    assert "You said yes." in agreed
    assert steps_of(offered) == ["content_agreed", "offered", "seen", "consented"]


def test_a_letter_need_not_be_seen_before_the_yes(own: Client, offered: Letter) -> None:
    page = words_of(answer(own, offered, "see_declined"))
    assert "You did not need to see it." in page
    assert "Show the letter after all" in page
    answer(own, offered, "consented")
    assert steps_of(offered)[-2:] == ["see_declined", "consented"]


def test_a_no_ends_the_letter_and_can_be_said_before_reading(own: Client, offered: Letter) -> None:
    page = words_of(answer(own, offered, "refused"))
    assert "You said no. It was not sent, and Mona Example was told nothing." in page
    assert "Give my answer" not in page
    assert state_of(offered).ended


def test_a_comment_sends_nothing(own: Client, offered: Letter) -> None:
    answer(own, offered, "seen")
    page = words_of(answer(own, offered, "commented", "Please say April, not May."))
    assert "Nothing is sent unless you say yes." in page
    assert "You, 2 March 2026 Please say April, not May." in page
    assert LetterStep.objects.get(kind="commented").comment == "Please say April, not May."
    assert "consented" not in steps_of(offered)


def test_a_yes_can_be_taken_back_until_the_letter_is_sent(house: House, own: Client, offered: Letter) -> None:
    for step in ("seen", "consented"):
        answer(own, offered, step)
    page = words_of(answer(own, offered, "withdrawn"))
    assert "Stopped. It was not sent." in page
    with pytest.raises(Conflict):
        wanda.walk(house, offered, Step.RELEASED)


def test_after_it_was_sent_there_is_nothing_left_to_answer(house: House, own: Client, book: Book) -> None:
    kept = wanda.everything(house, book)
    page = words_of(own.get(f"/mine/letters/{kept.ref}/"))
    assert "Sent to Mona Example, with your yes." in page
    assert "Give my answer" not in page


def test_what_can_be_answered_is_what_the_letter_may_become(house: House, offered: Letter) -> None:
    """No answer leads into a refusal, and at each point there is a way to say no or stop."""
    walked: list[Step] = []
    for step in (None, Step.SEEN, Step.COMMENTED, Step.CONSENTED):
        if step:
            wanda.walk(house, offered, step)
            walked.append(step)
        state = state_of(Letter.objects.get(pk=offered.pk))
        steps = {one.step for one in answers_to(offered, state)}
        assert steps <= state.may, walked
        assert steps & {Step.REFUSED, Step.WITHDRAWN}, walked
        assert all(one.follows for one in answers_to(offered, state))


def test_an_answer_sent_twice_is_taken_once(own: Client, offered: Letter) -> None:
    answer(own, offered, "seen")
    path = f"/mine/letters/{offered.ref}/"
    body = {"form_key": form_key(own.get(path)), "step": "consented", "comment": ""}
    first, second = own.post(path, body), own.post(path, body)
    assert first.headers["Location"] == second.headers["Location"] == path
    assert steps_of(offered).count("consented") == 1


def test_the_paper_of_a_letter_waits_until_the_worker_chose_to_read_it(own: Client, offered: Letter) -> None:
    pdf = f"/mine/letters/{offered.ref}/letter.pdf"
    assert own.get(pdf).headers["Location"] == f"/mine/letters/{offered.ref}/"
    answer(own, offered, "seen")
    assert own.get(pdf).headers["Content-Type"] == "application/pdf"


# ---- Bad input --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("step", "comment", "says"),
    [
        ("", "", "Choose one. Nothing is sent unless you say yes."),
        ("sent_to_everyone", "", "Choose one of the answers."),
        ("commented", "   ", "Write your question or comment."),
        ("commented", "x" * 2001, "at most 2000 characters"),
        ("withdrawn_", "", "Choose one of the answers."),
        ("released", "", "This step is not for workers to take."),
        ("seen", "", "Already seen on 2 March 2026."),
    ],
)
def test_an_answer_that_does_not_fit_is_explained_and_changes_nothing(
    own: Client, offered: Letter, step: str, comment: str, says: str
) -> None:
    answer(own, offered, "seen")
    before = steps_of(offered)
    response = answer(own, offered, step, comment)
    assert response.status_code == 200  # type: ignore[attr-defined]
    assert "<title>Error: " in response.content.decode()  # type: ignore[attr-defined]
    assert says.replace("’", "'") in words_of(response).replace("’", "'")
    assert steps_of(offered) == before


def test_a_form_without_its_key_changes_nothing(own: Client, offered: Letter) -> None:
    response = own.post(f"/mine/letters/{offered.ref}/", {"step": "seen"})
    assert "This form has lost its key." in words_of(response)
    assert "seen" not in steps_of(offered)


def test_an_answer_to_a_letter_that_was_withdrawn_meanwhile_is_explained(
    house: House, own: Client, offered: Letter
) -> None:
    answer(own, offered, "seen")
    path = f"/mine/letters/{offered.ref}/"
    key = form_key(own.get(path))
    wanda.walk(house, offered, Step.WITHDRAWN)
    page = words_of(own.post(path, {"form_key": key, "step": "consented"}))
    assert "There is a problem" in page
    assert "Stopped. It was not sent." in page


def test_a_session_that_ends_in_mid_answer_loses_nothing(
    house: House, own: Client, offered: Letter, signed_in: SignIn
) -> None:
    answer(own, offered, "seen")
    path = f"/mine/letters/{offered.ref}/"
    key = form_key(own.get(path))
    own.logout()
    response = own.post(path, {"form_key": key, "step": "commented", "comment": "Two words"})
    kept = re.search(r"kept%3D([^&]+)", response.headers["Location"])
    assert kept
    assert house.wanda.user is not None
    page = signed_in(house.wanda.user).get(f"{path}?kept={kept.group(1)}").content.decode()
    assert "Two words</textarea>" in page
    assert re.search(r'value="commented"[^>]* checked', page)


# ---- Wrong role, not yours --------------------------------------------------------------------------------

PATHS = (
    "/mine/checks/{check}/",
    "/mine/plans/{plan}/plan.pdf",
    "/mine/letters/{letter}/",
    "/mine/letters/{letter}/letter.pdf",
)


@pytest.fixture
def refs(house: House, book: Book) -> dict[str, str]:
    letter = wanda.everything(house, book)
    return {
        "letter": letter.ref,
        "plan": Plan.objects.get().ref,
        "check": SkinCheck.objects.get().ref,
    }


@pytest.mark.parametrize("who", ["yusuf", "mona", "alice", "clara", "ada"])
@pytest.mark.parametrize("path", PATHS)
def test_someone_elses_record_reads_like_one_that_never_was(
    house: House, signed_in: SignIn, refs: dict[str, str], who: str, path: str
) -> None:
    person = getattr(house, who)
    client = signed_in(person if isinstance(person, User) else person.user)
    hidden = client.get(path.format(**refs))
    absent = client.get(path.format(check="zzzz", plan="zzzz", letter="zzzz"))
    assert hidden.status_code == absent.status_code == 404
    assert words_of(hidden) == words_of(absent)
    assert AuditRow.objects.filter(event="refused").count() == 2


def test_nobody_answers_someone_elses_letter(house: House, signed_in: SignIn, offered: Letter) -> None:
    assert house.yusuf.user is not None
    response = signed_in(house.yusuf.user).post(f"/mine/letters/{offered.ref}/", {"step": "consented"})
    assert response.status_code == 404
    assert steps_of(offered) == ["content_agreed", "offered"]


@pytest.mark.parametrize("who", ["mona", "alice", "clara", "ada"])
@pytest.mark.parametrize("path", ["/mine/", "/mine/looked/"])
def test_an_account_without_a_worker_has_no_record(
    house: House, signed_in: SignIn, who: str, path: str
) -> None:
    assert signed_in(getattr(house, who)).get(path).status_code == 404


@pytest.mark.parametrize("path", ["/mine/", "/mine/looked/", *PATHS])
def test_someone_signed_out_signs_in_first(house: House, refs: dict[str, str], path: str) -> None:
    response = Client().get(path.format(**refs))
    assert response.status_code == 302
    assert response.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("path", ["/mine/", "/mine/looked/", "/mine/checks/abc/", "/mine/plans/abc/plan.pdf"])
def test_nothing_can_be_sent_to_pages_that_only_show(own: Client, path: str) -> None:
    assert own.post(path).status_code == 405


# ---- Who looked -------------------------------------------------------------------------------------------


def test_every_look_and_act_is_told_with_name_role_day_and_reason(
    house: House, own: Client, book: Book, signed_in: SignIn
) -> None:
    kept = wanda.everything(house, book)
    case_story(ref=kept.adjustment.case.ref, by=house.bob, now=NOW + timedelta(minutes=4))
    worker_story(ref=house.wanda.ref, by=house.clara, now=NOW)
    make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    signed_in(house.mona).get(f"/team/letters/{kept.ref}/")
    page = words_of(own.get("/mine/looked/"))
    for part in (
        "2 Mar 2026, 09:34 Bob Example Practitioner Opened your case. To look after your hands",
        "Clara Example Clerk Looked at your name and post. Nothing about your health.",
        "Clara Example Clerk Made a personal link to a skin check for you. To arrange checks and visits",
        "Mona Example Ward manager Read the letter that you had agreed to. To arrange your work",
        "Alice Example Practitioner Wrote down what your hands looked like.",
        "You Sent a skin check. Your own record",
        "Your own looks (1)",
    ):
        assert part in page, part


def test_looking_who_looked_is_itself_noted(own: Client) -> None:
    own.get("/mine/looked/")
    page = words_of(own.get("/mine/looked/"))
    assert "Your own looks (2)" in page
    assert "You Looked at this list." in page


def test_every_event_has_its_sentence() -> None:
    """Each event that is noted anywhere, read from the source: a new one without words fails here."""
    events = set(events_in_source())
    assert len(events) >= 25
    assert not events - SENTENCES.keys()


def events_in_source() -> Iterator[str]:
    for room in (thenar.records, thenar.exchange, thenar.screens):
        for path in Path(room.__path__[0]).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.Call) and _name(node.func) in {"note", "Noted"}:
                    yield from _event(node)


def _name(called: ast.expr) -> str:
    return called.id if isinstance(called, ast.Name) else ""


def _event(call: ast.Call) -> list[str]:
    given = [keyword.value for keyword in call.keywords if keyword.arg == "event"]
    first = (given or call.args[(3 if _name(call.func) == "Noted" else 0) :])[0]
    if isinstance(first, ast.Constant):
        return [str(first.value)]
    if isinstance(first, ast.Name | ast.Attribute):  # passed on, as the audit chain does itself
        return []
    text = ast.unparse(first)
    if "step.value" in text:
        return [f"letter {step.value.replace('_', ' ')}" for step in Step]
    assert text == "f'own {what} looked at'", text
    return [f"own {what} looked at" for what in ("check", "plan", "letter")]


def test_sentences_are_short_and_whole() -> None:
    for sentence in SENTENCES.values():
        assert sentence.endswith(".")
        assert all(len(part.split()) <= 20 for part in sentence.split(". "))


# ---- Changes to my work: only what stands ------------------------------------------------------------------


def my_work(own: Client) -> str:
    page = own.get("/mine/").content.decode()
    return page[page.index('<h2 id="work">') : page.index('<h2 id="seen">')]


def test_a_change_on_its_way_says_that_it_was_not_sent_yet(
    house: House, own: Client, offered: Letter
) -> None:
    assert "Not sent yet." in my_work(own)
    wanda.walk(house, offered, Step.SEEN, Step.CONSENTED, Step.RELEASED)
    work = my_work(own)
    assert wanda.MEASURE in work
    assert "Not sent yet." not in work
    assert "was not sent" not in work.lower()


@pytest.mark.parametrize(("last", "says"), [(Step.REFUSED, "You said no."), (Step.WITHDRAWN, "taken back")])
def test_a_change_that_was_not_sent_is_not_in_force(
    last: Step, says: str, house: House, own: Client, offered: Letter
) -> None:
    wanda.walk(house, offered, Step.SEEN, last)
    work = my_work(own)
    in_force, not_sent = work.split("Changes that were not sent (1)")
    assert "No change to your work is agreed at present." in in_force
    assert wanda.MEASURE not in in_force
    assert "Was not sent." in not_sent
    assert says in not_sent
    assert f"<s>{wanda.MEASURE}</s>" in not_sent


def test_a_replaced_change_gives_way_to_the_newer_one(house: House, own: Client, offered: Letter) -> None:
    newer = wanda.letter(house, wanda.adjusted(house, offered.adjustment.case), replaces=offered)
    assert my_work(own).count(wanda.MEASURE) == 1
    wanda.walk(house, newer, *wanda.RELEASED)
    work = my_work(own)
    assert work.count(wanda.MEASURE) == 1
    assert "Changes that were not sent" not in work


def test_after_my_comment_the_letter_waits_for_nobody_but_occupational_health(
    house: House, own: Client, offered: Letter
) -> None:
    assert "A letter waits for your answer" in words_of(own.get("/mine/"))
    wanda.walk(house, offered, Step.SEEN, Step.COMMENTED)
    page = words_of(own.get("/mine/"))
    assert "A letter waits for your answer" not in page
    assert "Occupational health has your comment." in page
    assert "Yes, send it to Mona Example" in words_of(own.get(f"/mine/letters/{offered.ref}/"))
