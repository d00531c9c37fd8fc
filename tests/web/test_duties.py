"""From an area's tasks to duties a worker can do, in words a manager may read and a letter can hold."""

import io
from collections.abc import Callable
from datetime import date

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House, make_worker
from tests.web.clinic_house import key_of, problems_of, send, text_of, words_of
from tests.web.wanda import in_case
from thenar.documents.clinical_words import clinical_words_in
from thenar.exchange.task_list import Team, as_content, read_task_list
from thenar.exposure.duty_programme import OutOfTime
from thenar.knowledge import Book
from thenar.records.actions.cases import close_case, open_case
from thenar.records.actions.duties import keep_task_list
from thenar.records.models import (
    AccessRole,
    Adjustment,
    AuditRow,
    Case,
    DutySearch,
    Letter,
    Post,
    Role,
    TaskList,
    User,
    Worker,
)
from thenar.screens import clock
from thenar.screens.workplace import duties as page
from thenar.screens.workplace.duty_answer import words_of as duty_words
from thenar.screens.workplace.duty_ceilings import ceilings

pytestmark = pytest.mark.slow

SignIn = Callable[[User], Client]

HEAD = (
    "Day,Part,Task,Washes,Wet minutes,Glove minutes,Pairs,Soap,Latex,Patient contact,People,Who can,Done by\n"
)
# Wanda does the baths, Bo the charts. With at most 5 washes for Wanda, the one change there has to be is that
# Bo takes the baths: 6 washes, far below 20.
BATHS = HEAD + (
    "1,early,Bed baths,6,25,30,6,yes,no,yes,1,Nurse,1001\n"
    "1,early,Phones and charts,0,0,0,0,no,no,no,1,Nurse,1003\n"
)
# Now Bo washes 18 times as it is: the baths would make it 24, four over the 20 of 2-20-2. Leaving the baths
# with Wanda is one over her 5, which weighs 2 x 10 = 20 against 40 for Bo's four and 100 for one more person.
FULL = BATHS + "1,early,Toilet rounds,18,20,20,8,yes,no,yes,1,Nurse,1003\n"
ASKED = {"washes": "5", "ceiling": "wet-work.int-2-20-2", "first_day": "2 March 2026", "days": "1"}


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    settings.OH_TELEPHONE, settings.OH_EMAIL = "extension 4000", "oh@saltmere.example"


@pytest.fixture
def bo(house: House) -> Worker:
    return make_worker("Bo", "1003", house.ward_1, house.nurse, family="Berg")


@pytest.fixture
def case(house: House) -> Case:
    return in_case(house)


@pytest.fixture
def alice(house: House, bo: Worker, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


def listed(house: House, text: str = BATHS, first_day: date = TODAY) -> TaskList:
    people = Post.objects.filter(area=house.ward_1).select_related("worker", "role")
    team = Team.of((one.worker.staff_number, one.worker.called, one.role.name) for one in people)
    read = read_task_list(text.encode(), name="", first_day=first_day, team=team)
    assert read.can_be_kept, [str(problem) for problem in read.problems]
    content = as_content(read.rows)
    return keep_task_list(area=house.ward_1, first_day=first_day, content=content, by=house.alice, now=NOW)


def address(case: Case) -> str:
    return f"/cases/{case.ref}/duties/"


def searched(alice: Client, case: Case, **changed: str) -> DutySearch:
    response = send(alice, address(case), {**ASKED, **changed})
    assert response.status_code == 302, problems_of(response)  # type: ignore[attr-defined]
    return DutySearch.objects.latest("pk")


# ---- an area's tasks


def tasks_of(house: House) -> str:
    return f"/areas/{house.ward_1.ref}/tasks/"


def test_a_list_is_looked_over_first_and_kept_only_when_that_is_said(house: House, alice: Client) -> None:
    looked = send(alice, tasks_of(house), {"first_day": "2 March 2026", "text": BATHS, "do": "look"})
    assert "Nothing is kept yet" in words_of(looked)
    assert "2 tasks on 1 day 2 people named" in words_of(looked)
    assert not TaskList.objects.exists()
    send(alice, tasks_of(house), {"first_day": "2 March 2026", "text": BATHS, "do": "keep"})
    kept = TaskList.objects.get()
    assert (kept.area, kept.first_day, len(kept.content["tasks"])) == (house.ward_1, TODAY, 2)
    shown = words_of(alice.get(tasks_of(house)))
    assert "In force From 2 March 2026" in shown
    assert "Monday 2 March 2026 Early 2 people at work" in shown


def test_a_file_is_read_into_the_box_and_not_kept_before_it_was_looked_over(
    house: House, alice: Client
) -> None:
    file = SimpleUploadedFile("tasks.csv", BATHS.encode())
    looked = send(
        alice, tasks_of(house), {"first_day": "2 March 2026", "file": file, "text": "", "do": "keep"}
    )
    assert "1,early,Bed baths,6,25,30,6" in text_of(looked)
    assert not TaskList.objects.exists()


def test_a_list_sent_twice_is_kept_once(house: House, alice: Client) -> None:
    body = {
        "form_key": key_of(alice, tasks_of(house)),
        "first_day": "2 March 2026",
        "text": BATHS,
        "do": "keep",
    }
    first, second = alice.post(tasks_of(house), body), alice.post(tasks_of(house), body)
    assert first["Location"] == second["Location"] == tasks_of(house)
    assert TaskList.objects.count() == 1


def test_problems_are_shown_by_row_and_column_and_nothing_is_kept(house: House, alice: Client) -> None:
    text = HEAD + "1,early,Skin care,-6,25,,6,yes,no,yes,1,Wizard,\n"
    response = send(alice, tasks_of(house), {"first_day": "2 March 2026", "text": text, "do": "keep"})
    shown = words_of(response)
    assert "2 Washes -6 is below 0." in shown
    assert "2 Glove minutes This cell is empty." in shown
    assert "2 Task “Skin” could tell a manager why." in shown
    assert "2 Who can This names a role, or a person, that is not in the team." in shown
    assert "Keep this list" not in shown
    assert "1,early,Skin care,-6" in text_of(response)  # nothing typed is lost
    assert not TaskList.objects.exists()


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"first_day": "", "text": BATHS}, "First day of the fortnight: Enter the day"),
        ({"first_day": "2 March 2026", "text": " "}, "File: Choose a file, or type the rows into the box."),
        ({"first_day": "2 March 2026", "text": "%PDF-1.7"}, "is a PDF, not a CSV file"),
    ],
)
def test_a_form_without_a_day_or_a_table_is_asked_back(
    fields: dict[str, str], says: str, house: House, alice: Client
) -> None:
    response = send(alice, tasks_of(house), {**fields, "do": "look"})
    assert says in problems_of(response)
    assert "<title>Error: " in text_of(response)


def test_an_area_without_a_team_takes_no_list(house: House, alice: Client) -> None:
    Post.objects.filter(area=house.ward_1).update(until_on=date(2026, 3, 1))
    response = send(alice, tasks_of(house), {"first_day": "2 March 2026", "text": BATHS, "do": "keep"})
    assert "Nobody has a running post in Ward 1 today." in problems_of(response)
    assert not TaskList.objects.exists()


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_who_may_not_see_the_workplace_sees_no_tasks(who: str, house: House, signed_in: SignIn) -> None:
    someone = house.wanda.user if who == "wanda" else getattr(house, who)
    assert signed_in(someone).get(tasks_of(house)).status_code == 403


def test_infection_prevention_reads_the_tasks_and_sends_none(
    house: House, alice: Client, signed_in: SignIn
) -> None:
    listed(house)
    house.bob.access = AccessRole.INFECTION_PREVENTION
    house.bob.save()
    client = signed_in(house.bob)
    assert "Bed baths" in words_of(client.get(tasks_of(house)))
    assert "Wanda" not in words_of(client.get(tasks_of(house)))
    assert client.post(tasks_of(house), {"text": BATHS, "do": "keep"}).status_code == 403


def test_an_area_that_is_not_there_is_not_found_and_other_methods_are_refused(
    house: House, alice: Client
) -> None:
    assert alice.get(f"/areas/{'a' * 12}/tasks/").status_code == 404
    assert alice.put(tasks_of(house)).status_code == 405


# ---- the search


def test_duties_are_found_and_said_in_words_for_the_ward_manager(
    house: House, alice: Client, case: Case
) -> None:
    listed(house)
    assert "Find duties" in words_of(alice.get(f"/cases/{case.ref}/"))
    kept = searched(alice, case)
    words = duty_words(kept.words)
    assert kept.found
    assert words.says == ("Monday early, Bed baths: Bo Berg instead of Wanda Example.",)
    assert words.letter == (
        "In one shift for Wanda Example: at most 5 washes.",
        "Bed baths (early): Bo Berg instead of Wanda Example on 2 March.",
    )
    assert (words.changes, words.at_least, words.gap) == (1, 1, 0)
    shown = words_of(alice.get(f"/duties/{kept.ref}/"))
    assert "1 change fewer are not possible" in shown
    assert "nothing left: agree other work" in shown  # the baths were all that Wanda did
    assert "Bo Berg 1 now 0 then 6 now 0 then 25 now 0 then 30 now 0 then 6" in shown
    row = AuditRow.objects.get(event="duties searched")
    assert (row.worker_ref, row.data_class) == (house.wanda.ref, "C2")


def test_where_nothing_fits_the_smallest_ways_out_are_named(house: House, alice: Client, case: Case) -> None:
    listed(house, FULL)
    kept = searched(alice, case)
    words = duty_words(kept.words)
    assert not kept.found
    assert words.ways == (
        "One wash over the limit on Monday early for Wanda Example.",
        "One more person on Monday early.",
    )
    shown = words_of(alice.get(f"/duties/{kept.ref}/"))
    assert "The tasks can't be shared out within everyone's limits: Monday early." in shown
    assert "Use in the adjustment letter" not in shown
    assert "One more person" not in text_of(alice.get(f"/cases/{case.ref}/adjustment/?duties={kept.ref}"))


def test_a_list_without_names_counts_everyone_as_at_work_and_says_so(
    house: House, alice: Client, case: Case
) -> None:
    listed(house, BATHS.replace("1001", "").replace("1003", ""))
    assert "The list names nobody" in words_of(alice.get(address(case)))
    kept = searched(alice, case)
    assert "Every task is covered. Nothing was allocated before" in kept.words["says"][0]
    shown = words_of(alice.get(f"/duties/{kept.ref}/"))
    assert "everyone in every shift, which is seldom true" in shown


def test_sent_twice_it_is_one_search(house: House, alice: Client, case: Case) -> None:
    listed(house)
    body = {"form_key": key_of(alice, address(case)), **ASKED}
    first, second = alice.post(address(case), body), alice.post(address(case), body)
    assert first["Location"] == second["Location"]
    assert DutySearch.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"washes": ""}, "Washes with soap and water: Set at least one limit"),
        ({"washes": "-1"}, "Washes with soap and water: Enter a whole number from 0"),
        ({"washes": "2000"}, "Washes with soap and water: Enter a whole number from 0"),
        ({"washes": "few"}, "Washes with soap and water: Enter a whole number from 0"),
        ({"ceiling": "wet-work.gb-hse"}, "Nobody goes over: Choose one of these."),
        ({"ceiling": ""}, "Nobody goes over: Choose whose numbers count."),
        ({"first_day": "1 March 2026"}, "First day: The task list runs from 2 March 2026 to 15 March 2026."),
        ({"first_day": "15 March 2026", "days": "2"}, "How many days: The task list ends on 15 March 2026."),
        ({"days": "0"}, "How many days: Enter a whole number from 1 to 14."),
        ({"first_day": "9 March 2026"}, "The task list has no task on those days."),
    ],
)
def test_a_search_that_can_not_be_made_is_asked_back(
    changed: dict[str, str], says: str, house: House, alice: Client, case: Case
) -> None:
    listed(house)
    response = send(alice, address(case), {**ASKED, **changed})
    assert says in problems_of(response)
    assert not DutySearch.objects.exists()


def test_without_a_task_list_there_is_nothing_to_search(house: House, alice: Client, case: Case) -> None:
    shown = words_of(alice.get(address(case)))
    assert "No task list for Ward 1." in shown
    assert "Search" not in shown
    assert alice.post(address(case), ASKED).status_code == 200
    assert not DutySearch.objects.exists()


def test_without_a_post_there_is_no_team(house: House, alice: Client, case: Case) -> None:
    listed(house)
    Post.objects.filter(worker=house.wanda).update(until_on=date(2026, 3, 1))
    assert "No post today" in words_of(alice.get(address(case)))


def test_a_worker_whom_the_list_does_not_name_on_those_days_is_not_at_work(
    house: House, alice: Client, case: Case
) -> None:
    listed(house, BATHS.replace("1001", "1003"))
    response = send(alice, address(case), ASKED)
    assert "The list names this worker on none of those days." in problems_of(response)


def test_a_task_whose_role_has_left_the_team_is_named(house: House, alice: Client, case: Case) -> None:
    doctor = Role.objects.create(name="Doctor")
    gone = make_worker("Dora", "1009", house.ward_1, doctor, family="Dale")
    listed(house, BATHS + "1,early,Prescribing round,0,0,0,0,no,no,yes,1,Doctor,1009\n")
    Post.objects.filter(worker=gone).update(until_on=date(2026, 3, 1))
    response = send(alice, address(case), ASKED)
    assert "Nobody in the team can do “Prescribing round” (2026-03-02, early)." in problems_of(response)


def test_someone_who_has_left_is_left_out_and_the_page_says_so(
    house: House, alice: Client, case: Case
) -> None:
    cy = make_worker("Cy", "1004", house.ward_1, house.nurse, family="Vale")
    listed(house, BATHS + "1,early,Stock,0,0,0,0,no,no,no,1,Nurse,1004\n")
    Post.objects.filter(worker=cy).update(until_on=date(2026, 3, 1))
    kept = searched(alice, case)
    assert "Cy Vale" not in str(kept.words)
    assert "1 of those named has no running post here now" in words_of(alice.get(f"/duties/{kept.ref}/"))


def test_a_search_that_runs_out_of_time_keeps_nothing_and_says_what_to_do(
    house: House, alice: Client, case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    listed(house)

    def slow(*args: object, **kwargs: object) -> None:
        raise OutOfTime(8.0)

    monkeypatch.setattr(page, "find_plan", slow)
    assert "fewer days" in problems_of(send(alice, address(case), ASKED))
    assert not DutySearch.objects.exists()


def test_a_closed_case_is_searched_no_more(house: House, alice: Client, case: Case) -> None:
    listed(house)
    kept = searched(alice, case)
    close_case(case=case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)
    assert "This case is closed" in words_of(alice.get(address(case)))
    alice.post(address(case), ASKED)
    assert DutySearch.objects.count() == 1
    assert "Use in the adjustment letter" not in words_of(alice.get(f"/duties/{kept.ref}/"))


# ---- who may


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_but_the_practitioner_searches_or_reads_a_search(
    who: str, house: House, alice: Client, case: Case, signed_in: SignIn
) -> None:
    listed(house)
    kept = searched(alice, case)
    someone = house.wanda.user if who == "wanda" else getattr(house, who)
    client = signed_in(someone)
    for url in (address(case), f"/duties/{kept.ref}/"):
        response = client.get(url)
        assert response.status_code == 403
        assert "Bed baths" not in words_of(response)


def test_a_lead_reads_a_search_and_makes_none(
    house: House, alice: Client, case: Case, signed_in: SignIn
) -> None:
    listed(house)
    kept = searched(alice, case)
    house.bob.access = AccessRole.LEAD
    house.bob.save()
    client = signed_in(house.bob)
    assert "Use in the adjustment letter" not in words_of(client.get(f"/duties/{kept.ref}/"))
    assert client.get(address(case)).status_code == 403


def test_ones_own_search_reads_like_one_that_is_not_there(
    house: House, alice: Client, case: Case, signed_in: SignIn
) -> None:
    listed(house)
    kept = searched(alice, case)
    own = User.objects.get(pk=house.wanda.user_id)
    own.access = AccessRole.PRACTITIONER
    own.save()
    client = signed_in(own)
    for url in (f"/duties/{kept.ref}/", address(case)):
        hidden = client.get(url)
        absent = client.get(url.replace(kept.ref, "a" * 12).replace(case.ref, "a" * 12))
        assert (hidden.status_code, absent.status_code) == (404, 404)
        assert words_of(hidden) == words_of(absent)


def test_signed_out_in_mid_form_nothing_typed_is_lost(
    house: House, alice: Client, case: Case, signed_in: SignIn
) -> None:
    listed(house)
    body = {"form_key": key_of(alice, address(case)), **ASKED, "washes": "3"}
    sent = Client().post(address(case), body)
    assert sent["Location"].startswith("/sign-in/?next=")
    kept = sent["Location"].split("kept%3D")[1]
    again = text_of(signed_in(house.alice).get(f"{address(case)}?kept={kept}"))
    assert 'name="washes" value="3"' in again
    assert not DutySearch.objects.exists()


def test_other_methods_and_forms_without_their_key_record_nothing(
    house: House, alice: Client, case: Case
) -> None:
    listed(house)
    kept = searched(alice, case)
    assert alice.put(address(case)).status_code == 405
    assert alice.post(f"/duties/{kept.ref}/").status_code == 405
    assert "lost its key" in problems_of(alice.post(address(case), ASKED))
    assert DutySearch.objects.count() == 1


# ---- into the letter


def letter_from(alice: Client, house: House, case: Case, kept: DutySearch) -> Letter:
    """Take the words as they stand in the form, and draft."""
    url = f"/cases/{case.ref}/adjustment/?duties={kept.ref}"
    own = (
        text_of(alice.get(url)).split('name="own_words"')[1].split(">", 1)[1].split("</textarea>")[0].strip()
    )
    fields = {
        "own_words": own,
        "start_on": "2 March 2026",
        "review_on": "30 March 2026",
        "recipient": str(house.mona.pk),
    }
    response = send(alice, url, fields)
    assert response.status_code == 302, problems_of(response)  # type: ignore[attr-defined]
    return Letter.objects.latest("pk")


def test_the_words_found_stand_in_the_letter(house: House, alice: Client, case: Case) -> None:
    listed(house)
    made = letter_from(alice, house, case, searched(alice, case))
    assert made.adjustment.measures == [
        "In one shift for Wanda Example: at most 5 washes.",
        "Bed baths (early): Bo Berg instead of Wanda Example on 2 March.",
    ]


def test_the_search_of_another_case_is_not_put_into_a_letter(house: House, alice: Client, case: Case) -> None:
    listed(house)
    kept = searched(alice, case)
    other = open_case(worker=house.yusuf, by=house.alice, now=NOW)
    assert "Bed baths" not in text_of(alice.get(f"/cases/{other.ref}/adjustment/?duties={kept.ref}"))
    assert alice.get(f"/cases/{case.ref}/adjustment/?duties={'a' * 12}").status_code == 404
    assert not Adjustment.objects.exists()


def many(tasks: int, days: int) -> str:
    """Wanda does everything, Bo and Cy nothing wet: as many changes as there are tasks and days."""
    rows = [
        f"{day},early,Task of a rather long name on this ward number {task},2,5,5,1,yes,no,yes,1,Nurse,1001"
        for day in range(1, days + 1)
        for task in range(tasks)
    ]
    desks = [
        f"{day},early,Desk {number},0,0,0,0,no,no,no,1,Nurse,{number}"
        for day in range(1, days + 1)
        for number in (1003, 1004)
    ]
    return HEAD + "\n".join([*rows, *desks]) + "\n"


@pytest.mark.parametrize(("tasks", "days"), [(1, 1), (3, 3), (6, 14), (10, 14)])
def test_however_much_changes_the_letter_stays_one_page_without_a_clinical_word(
    tasks: int, days: int, house: House, alice: Client, case: Case
) -> None:
    make_worker("Cy", "1004", house.ward_1, house.nurse, family="Vale")
    listed(house, many(tasks, days))
    kept = searched(alice, case, washes="0", days=str(days), no_soap="on", no_latex="on")
    words = duty_words(kept.words)
    assert words.changes == tasks * days
    assert len(words.letter) <= 7
    assert max(map(len, words.letter)) <= 240
    assert clinical_words_in("\n".join((*words.says, *words.letter))) == ()
    if tasks != 6:  # six lines may or may not fit, by how many colleagues share a task
        assert words.letter_names_all == (tasks < 6)
    made = letter_from(alice, house, case, kept)
    pdf = pypdf.PdfReader(io.BytesIO(alice.get(f"/letters/{made.ref}/letter.pdf").content))
    assert len(pdf.pages) == 1
    assert "Task of a rather long name" in pdf.pages[0].extract_text()
    assert clinical_words_in("\n".join(made.adjustment.measures)) == ()


def test_a_colleague_whose_name_is_also_a_clinical_word_goes_by_staff_number(
    house: House, alice: Client, case: Case
) -> None:
    make_worker("Ann", "1004", house.ward_1, house.nurse, family="Palm")
    listed(house, BATHS.replace("1003", "1004"))
    words = duty_words(searched(alice, case).words)
    assert words.says == ("Monday early, Bed baths: staff number 1004 instead of Wanda Example.",)


def test_two_of_one_name_are_told_apart(house: House, alice: Client, case: Case) -> None:
    make_worker("Bea", "1005", house.ward_1, house.nurse, family="Twin")
    Worker.objects.filter(staff_number__in=["1003", "1005"]).update(given_name="Bo", family_name="Berg")
    listed(house, BATHS + "1,early,Stock,0,0,0,0,no,no,no,1,Nurse,1005\n")
    words = duty_words(searched(alice, case).words)
    assert "Bo Berg (100" in words.says[0]


# ---- the ceiling


@pytest.mark.parametrize(
    ("rule_set", "mosts"),
    [  # washes, wet minutes, glove minutes, wet and glove minutes added up
        ("wet-work.int-2-20-2", (20, 120, 120, None)),  # more than 2 h, 20 washes, 2 h: may be reached
        ("wet-work.de-trgs-401-2022", (14, 120, None, None)),  # from 15 washes on, or more than 2 h wet
        ("wet-work.dk-lund-2020", (19, 119, 119, None)),  # from 2 h, 20 washes, 2 h on: must stay below
        ("wet-work.gb-nhs-grampian", (20, 119, None, 119)),  # more than 20; from 2 h on, also with gloves
    ],
)
def test_a_limit_that_is_reached_and_one_that_is_passed_differ(
    rule_set: str, mosts: tuple[int | None, ...], book: Book
) -> None:
    chosen = ceilings("GB", book, TODAY).chosen(rule_set)
    assert chosen is not None
    of = chosen.ceiling
    bounds = (of.washes, of.wet_minutes, of.glove_minutes, of.wet_and_glove_minutes)
    assert tuple(bound.most if bound else None for bound in bounds) == mosts


def test_the_governing_rule_set_comes_first_and_one_without_numbers_is_named(book: Book) -> None:
    assert ceilings("DE", book, TODAY).choices[0].rule_set.id == "wet-work.de-trgs-401-2022"
    britain = ceilings("GB", book, TODAY)
    assert "UK regulator (HSE) governs here and gives no number" in britain.says
    assert britain.chosen("wet-work.gb-hse") is None
    assert "not known" in ceilings("FR", book, TODAY).says
    assert ceilings("GB", book, date(2030, 1, 1)).chosen("wet-work.de-trgs-401-2008") is None  # ended 2022


def test_a_rule_set_that_adds_up_minutes_is_kept_to_whole_and_one_on_alternations_is_not(book: Book) -> None:
    offered = ceilings("GB", book, TODAY)
    grampian = offered.chosen("wet-work.gb-nhs-grampian")
    trgs = offered.chosen("wet-work.de-trgs-401-2022")
    stockholm = offered.chosen("wet-work.se-stockholm")
    assert grampian is not None
    assert trgs is not None
    assert stockholm is not None
    assert offered.choices[0] == grampian  # the regulator gives no number, and this one is British
    assert (grampian.kept_whole, trgs.kept_whole, stockholm.kept_whole) == (True, False, False)
    assert [one.adds for one in trgs.not_checked] == [
        ("wet_glove_alternations",),
        ("wash_glove_alternations",),
    ]
    assert [one.adds for one in stockholm.not_checked] == [("washes", "wet_contacts")]


# Bo has 70 minutes in gloves. With the baths' 25 + 30 it is 125 of wet work and gloves: under two hours of
# either, but over them together. Cy, at the desk, comes to 55.
GLOVED = (
    BATHS + "1,early,Sluice,0,0,70,3,no,no,no,1,Nurse,1003\n" + "1,early,Desk,0,0,0,0,no,no,no,1,Nurse,1004\n"
)
GRAMPIAN = {"ceiling": "wet-work.gb-nhs-grampian"}


def test_nobody_is_pushed_over_a_limit_on_wet_and_glove_minutes_added_up(
    house: House, alice: Client, case: Case
) -> None:
    make_worker("Cy", "1004", house.ward_1, house.nurse, family="Vale")
    listed(house, GLOVED)
    kept = searched(alice, case, **GRAMPIAN)
    words = duty_words(kept.words)
    assert words.says == ("Monday early, Bed baths: Cy Vale instead of Wanda Example.",)
    shown = words_of(alice.get(f"/duties/{kept.ref}/"))
    assert "Pairs Wet + glove min" in shown
    assert "Gloves worn for 2 hours or more within 24 hours, wet time added." in shown
    other = searched(alice, case)
    assert "Wet + glove min" not in words_of(alice.get(f"/duties/{other.ref}/"))


def test_a_limit_on_the_sum_that_would_have_to_give_is_named(house: House, alice: Client, case: Case) -> None:
    # Without Cy: Bo 25 + 30 + 70 = 125, six over the 119 below two hours; the sluice can't be Wanda's.
    listed(house, GLOVED.rsplit("1,early,Desk", 1)[0])
    words = duty_words(searched(alice, case, **GRAMPIAN, glove_minutes="0").words)
    assert words.ways[0] == (
        "Six minutes of wet work and gloves together over UK health service (NHS Grampian) on Monday early "
        "for Bo Berg."
    )


def test_it_is_said_where_the_answer_stands_that_alternations_are_not_looked_at(
    house: House, alice: Client, case: Case, book: Book
) -> None:
    listed(house)
    kept = searched(alice, case, ceiling="wet-work.de-trgs-401-2022")
    shown = words_of(alice.get(f"/duties/{kept.ref}/"))
    assert "Not looked at The tasks give no number for these limits of TRGS 401 (2022)" in shown
    assert "a shift found here may still pass them" in shown
    trgs = ceilings("GB", book, TODAY).chosen("wet-work.de-trgs-401-2022")
    assert trgs is not None
    assert all(criterion.says in shown for criterion in trgs.not_checked)
    plain = searched(alice, case)
    assert "Not looked at" not in words_of(alice.get(f"/duties/{plain.ref}/"))
