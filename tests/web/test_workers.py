"""Finding a worker, their page, and the two things that begin there: an invitation and a case."""

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House, make_user, make_worker
from tests.web.clinic_house import Clinic, a_clinic, key_of, problems_of, send, text_of, words_of
from tests.web.wanda import OFFERED, adjusted, letter, walk
from thenar.knowledge import Book
from thenar.records.actions.cases import open_case
from thenar.records.actions.checks import submit_check
from thenar.records.letter_states import Step
from thenar.records.models import AccessRole, AuditRow, Case, CheckLink, Post, User
from thenar.records.queries.links import usable_link
from thenar.screens import clock

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def clinic(house: House, book: Book) -> Clinic:
    return a_clinic(house, book)


def pages_of(house: House) -> dict[str, str]:
    worker = f"/workers/{house.wanda.ref}/"
    return {"search": "/workers/", "worker": worker, "invite": f"{worker}invite/", "case": f"{worker}case/"}


# ---- Who may --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("who", "open_pages"),
    [
        ("alice", {"search", "worker", "invite", "case"}),
        ("lead", {"search", "worker", "invite"}),
        ("clara", {"search", "worker", "invite"}),
        ("mona", set()),
        ("ada", set()),
        ("wanda", set()),
    ],
)
def test_each_page_opens_to_those_whose_work_it_is(
    who: str, open_pages: set[str], house: House, signed_in: SignIn
) -> None:
    someone = {"lead": make_user("Lea", AccessRole.LEAD), "wanda": house.wanda.user}.get(who) or getattr(
        house, who
    )
    client = signed_in(someone)
    for name, address in pages_of(house).items():
        response = client.get(address)
        assert response.status_code == (200 if name in open_pages else 403), name
        if name not in open_pages and who != "wanda":
            assert "Wanda" not in text_of(response)
    refused = AuditRow.objects.filter(event="refused", who=someone.username).count()
    assert refused == 4 - len(open_pages)


@pytest.mark.parametrize("name", ["search", "worker", "invite", "case"])
def test_signed_out_one_is_asked_to_sign_in(name: str, house: House) -> None:
    response = Client().get(pages_of(house)[name])
    assert response.status_code == 302
    assert response["Location"].startswith("/sign-in/?next=")


@pytest.mark.parametrize("page", ["", "invite/", "case/"])
def test_ones_own_record_and_no_record_read_the_same(page: str, house: House, signed_in: SignIn) -> None:
    house.wanda.user = house.alice
    house.wanda.save()
    client = signed_in(house.alice)
    own = client.get(f"/workers/{house.wanda.ref}/{page}")
    none = client.get(f"/workers/zzzzzzzzzzzz/{page}")
    assert own.status_code == none.status_code == 404
    assert words_of(own) == words_of(none)
    assert "Wanda" not in text_of(own)
    assert AuditRow.objects.filter(event="refused", who="alice").count() == 2


@pytest.mark.parametrize("page", ["invite/", "case/"])
def test_a_post_to_ones_own_record_makes_nothing(page: str, house: House, signed_in: SignIn) -> None:
    house.wanda.user = house.alice
    house.wanda.save()
    assert signed_in(house.alice).post(f"/workers/{house.wanda.ref}/{page}", {}).status_code == 404
    assert (Case.objects.count(), CheckLink.objects.count()) == (0, 0)


def test_the_worker_page_takes_no_form(house: House, signed_in: SignIn) -> None:
    assert signed_in(house.alice).post(pages_of(house)["worker"], {}).status_code == 405


# ---- Finding --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["wan", "WANDA ex", "1001", " exam  wan ", "wándà"])
def test_a_single_match_opens_at_once(typed: str, house: House, signed_in: SignIn) -> None:
    response = send(signed_in(house.alice), "/workers/", {"words": typed})
    assert response["Location"] == f"/workers/{house.wanda.ref}/"  # type: ignore[index]


def test_several_matches_make_a_list_with_two_identifiers_and_the_post(
    house: House, signed_in: SignIn
) -> None:
    client = signed_in(house.clara)
    response = send(client, "/workers/", {"words": "exam"})
    assert response["Location"] == "/workers/"  # type: ignore[index]
    words = words_of(client.get("/workers/"))
    assert "2 workers for “exam”" in words
    assert "Wanda Example 1001 17 May 1990 Nurse, Ward 1" in words
    assert "Yusuf Example 1002 17 May 1990 Nurse, Ward 2" in words


def test_what_was_searched_for_never_stands_in_an_address(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    assert "?" not in send(client, "/workers/", {"words": "exam"})["Location"]  # type: ignore[index]
    assert "2 workers" not in words_of(client.get("/workers/?words=exam&q=exam")).replace(
        "2 workers for “exam”", ""
    )


def test_the_list_is_still_there_when_one_comes_back(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    send(client, "/workers/", {"words": "exam"})
    client.get(f"/workers/{house.yusuf.ref}/")
    assert "2 workers for “exam”" in words_of(client.get("/workers/"))
    client.post("/sign-out/")
    client.force_login(house.bob)
    assert "exam" not in words_of(client.get("/workers/")).replace("Example", "")


@pytest.mark.parametrize(
    "typed",
    [
        "dsouza",
        "d'souza",
        "D’SOUZA",
        "d souza",
        "souza",
        "haque dsouza",
        "haque-dsouza",
        "Haque-D´Souza",
        "ana haq",
    ],
)
def test_a_name_with_an_apostrophe_is_found_however_it_is_typed(
    typed: str, house: House, signed_in: SignIn
) -> None:
    ana = make_worker("Ana", "1003", house.ward_1, house.nurse, family="Haque-D'Souza")
    response = signed_in(house.alice).post("/workers/", {"words": typed})
    assert response["Location"] == f"/workers/{ana.ref}/"


def test_an_apostrophe_typed_into_a_name_that_has_none_does_not_hide_it(
    house: House, signed_in: SignIn
) -> None:
    obi = make_worker("Obi", "1003", house.ward_1, house.nurse, family="OBrien")
    response = signed_in(house.alice).post("/workers/", {"words": "o'brien"})
    assert response["Location"] == f"/workers/{obi.ref}/"


@pytest.mark.parametrize("typed", ["openshw", "opneshaw", "Oppenshaw", "carla openshw", "carl opensaw"])
def test_a_misspelt_name_is_asked_about_and_never_opened_by_itself(
    typed: str, house: House, signed_in: SignIn
) -> None:
    make_worker("Carla", "1003", house.ward_1, house.nurse, family="Openshaw")
    client = signed_in(house.alice)
    assert client.post("/workers/", {"words": typed})["Location"] == "/workers/"
    page = words_of(client.get("/workers/"))
    assert f"Nobody found for “{typed}”." in page
    assert "Did you mean" in page
    assert "Carla Openshaw 1003 17 May 1990" in page.split("Did you mean")[1]
    assert "Wanda" not in page


@pytest.mark.parametrize("typed", ["opqrst", "zzz", "oz", "openshw xylo"])
def test_a_name_that_is_not_near_is_not_suggested(typed: str, house: House, signed_in: SignIn) -> None:
    make_worker("Carla", "1003", house.ward_1, house.nurse, family="Openshaw")
    client = signed_in(house.alice)
    client.post("/workers/", {"words": typed})
    assert "Did you mean" not in words_of(client.get("/workers/"))


def test_a_near_name_is_shown_only_to_those_who_may_see_that_worker(house: House, signed_in: SignIn) -> None:
    house.wanda.user = house.alice
    house.wanda.save()
    client = signed_in(house.alice)
    client.post("/workers/", {"words": "wanada"})
    assert "Did you mean" not in words_of(client.get("/workers/"))
    client = signed_in(house.bob)
    client.post("/workers/", {"words": "wanada"})
    assert "Wanda Example" in words_of(client.get("/workers/"))


def test_nobody_found_says_what_to_try(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    send(client, "/workers/", {"words": "<script>x"})
    page = text_of(client.get("/workers/"))
    assert "Nobody found for “&lt;script&gt;x”" in page
    assert "Try fewer letters, or the staff number." in page


@pytest.mark.parametrize("typed", ["", "   "])
def test_an_empty_search_is_a_message_on_the_form(typed: str, house: House, signed_in: SignIn) -> None:
    response = send(signed_in(house.alice), "/workers/", {"words": typed})
    assert "Type the start of a name, or a staff number." in problems_of(response)
    assert "<title>Error:" in text_of(response)


@pytest.mark.parametrize("typed", ["%", "_", "%%an", "’", "x" * 120, "\x00"])
def test_odd_searches_find_nobody_and_break_nothing(typed: str, house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    response = send(client, "/workers/", {"words": typed})
    assert response.status_code in (200, 302)  # type: ignore[attr-defined]
    assert "/workers/" in response.headers.get("Location", "/workers/")  # type: ignore[attr-defined]
    assert "Wanda" not in text_of(client.get("/workers/"))


def test_more_than_thirty_are_cut_and_it_says_so(house: House, signed_in: SignIn) -> None:
    for number in range(31):
        make_worker(f"Zoe{number}", f"3{number:03}", house.ward_1, house.nurse)
    client = signed_in(house.alice)
    send(client, "/workers/", {"words": "zoe"})
    assert "The first 30 for “zoe” There are more." in words_of(client.get("/workers/"))


def test_searching_is_noted_without_the_words(house: House, signed_in: SignIn) -> None:
    send(signed_in(house.clara), "/workers/", {"words": "wanda"})
    row = AuditRow.objects.get(event="workers searched")
    assert (row.who, row.data_class, row.why) == ("clara", "C4", "1 found")


# ---- One worker -----------------------------------------------------------------------------------------


def test_the_page_names_the_worker_by_two_identifiers_and_tells_the_story(
    clinic: Clinic, signed_in: SignIn
) -> None:
    response = signed_in(clinic.house.alice).get(f"/workers/{clinic.house.wanda.ref}/")
    page, words = text_of(response), words_of(response)
    assert "Staff number 1001, born 17 May 1990" in words
    assert "Nurse, Ward 1 since 1 January 2020" in words
    for link in (
        f"/cases/{clinic.case.ref}/",
        f"/checks/{clinic.check.ref}/",
        f"/examinations/{clinic.examination.ref}/",
        f"/plans/{clinic.plan.ref}/",
        f"/letters/{clinic.letter.ref}/",
        f"/reviews/{clinic.review.ref}/",
    ):
        assert f'href="{link}"' in page
    assert "HECSI 8, almost clear." in words  # 8 is worked out in tests/web/wanda.py; almost clear is 1 to 16


def test_the_timeline_runs_from_newest_to_oldest(clinic: Clinic, signed_in: SignIn) -> None:
    page = text_of(signed_in(clinic.house.alice).get(f"/workers/{clinic.house.wanda.ref}/"))
    days = re.findall(r'<li[^>]*><time datetime="(\d{4}-\d\d-\d\d)"', page.split('class="timeline"')[1])
    assert len(days) >= 6
    assert days == sorted(days, reverse=True)


def test_a_check_that_waits_asks_for_attention(clinic: Clinic, signed_in: SignIn) -> None:
    words = words_of(signed_in(clinic.house.alice).get(f"/workers/{clinic.house.yusuf.ref}/"))
    assert "1 check waits to be dealt with" in words


def test_a_corrected_examination_says_so(clinic: Clinic, signed_in: SignIn, book: Book) -> None:
    from tests.web.wanda import SIGNS
    from thenar.records.actions.examinations import Circumstances, record_examination

    record_examination(
        case=clinic.case,
        signs=SIGNS,
        marks=(),
        examined_on=TODAY,
        circumstances=Circumstances(),
        by=clinic.house.alice,
        now=NOW,
        book=book,
        corrects=clinic.examination,
        correction_reason="Other hand",
    )
    words = words_of(signed_in(clinic.house.alice).get(f"/workers/{clinic.house.wanda.ref}/"))
    assert words.count("Corrected later. It said: HECSI 8") == 1


def test_a_look_is_noted_with_whose_it_was_and_says_so(clinic: Clinic, signed_in: SignIn) -> None:
    words = words_of(signed_in(clinic.house.bob).get(f"/workers/{clinic.house.wanda.ref}/"))
    row = AuditRow.objects.get(event="record looked at", who="bob")
    assert (row.worker_ref, row.why, row.data_class) == (clinic.house.wanda.ref, "worker page", "C1")
    assert "Wanda Example can see who looked" in words


def test_a_clerk_sees_who_and_where_and_nothing_clinical(clinic: Clinic, signed_in: SignIn) -> None:
    response = signed_in(clinic.house.clara).get(f"/workers/{clinic.house.wanda.ref}/")
    words, page = words_of(response), text_of(response)
    assert "Staff number 1001, born 17 May 1990" in words
    assert "Nurse, Ward 1" in words
    assert "Invite to a skin check" in words
    for clinical in ("HECSI", "What happened", "Case ", "Plan ", "Letter", "Review", "Open a case"):
        assert clinical not in words.replace("Anything about their skin is for the practitioner", "")
    for link in ("/cases/", "/checks/", "/examinations/", "/plans/", "/letters/", "/reviews/"):
        assert link not in page
    assert AuditRow.objects.get(who="clara", event="worker looked at").data_class == "C4"


def test_someone_who_left_is_shown_with_the_day_and_is_not_invited(house: House, signed_in: SignIn) -> None:
    Post.objects.filter(worker=house.wanda).update(until_on=date(2026, 1, 31))
    house.wanda.left_on = date(2026, 1, 31)
    house.wanda.save()
    words = words_of(signed_in(house.alice).get(f"/workers/{house.wanda.ref}/"))
    assert "Left on 31 January 2026" in words
    assert "None now" in words
    assert "Nurse, Ward 1 1 Jan 2020 to 31 Jan 2026" in words
    assert "Invite" not in words


def test_looking_changes_nothing_but_the_audit_rows(clinic: Clinic, signed_in: SignIn) -> None:
    from django.apps import apps

    def counts() -> dict[str, int]:
        return {
            model.__name__: model._default_manager.count()
            for model in apps.get_app_config("records").get_models()
            if model.__name__ not in ("AuditRow", "AuditHead")
        }

    client = signed_in(clinic.house.alice)
    before = counts()
    for address in (*pages_of(clinic.house).values(), "/today/", "/rules/", "/rules/sources/"):
        assert client.get(address).status_code == 200
    assert counts() == before


# ---- An invitation --------------------------------------------------------------------------------------


def test_an_invitation_is_a_link_shown_once_that_opens_that_workers_check(
    house: House, signed_in: SignIn
) -> None:
    client, address = signed_in(house.clara), f"/workers/{house.wanda.ref}/invite/"
    key = key_of(client, address)
    response = client.post(address, {"form_key": key})
    found = re.search(r"http://testserver/check/link/([\w-]+)/", text_of(response))
    assert found
    assert usable_link(token=found.group(1), now=NOW).worker == house.wanda
    assert "until 16 March 2026" in words_of(response)  # 2 March and fourteen days
    assert found.group(1) not in str(list(CheckLink.objects.values()))
    again = client.post(address, {"form_key": key})
    assert "This link was already shown" in words_of(again)
    assert found.group(1) not in text_of(again)
    assert CheckLink.objects.count() == 1


def test_an_invitation_without_its_form_key_makes_no_link(house: House, signed_in: SignIn) -> None:
    response = signed_in(house.clara).post(f"/workers/{house.wanda.ref}/invite/", {})
    assert "This form has lost its key." in problems_of(response)
    assert CheckLink.objects.count() == 0


@pytest.mark.parametrize("page", ["invite/", "case/"])
def test_signed_out_before_sending_one_comes_back_to_the_form(
    page: str, house: House, signed_in: SignIn
) -> None:
    address = f"/workers/{house.wanda.ref}/{page}"
    key = key_of(signed_in(house.alice), address)
    response = Client().post(address, {"form_key": key})
    assert response["Location"].startswith("/sign-in/?next=%2Fworkers%2F")
    assert (Case.objects.count(), CheckLink.objects.count()) == (0, 0)


# ---- A case ---------------------------------------------------------------------------------------------


def test_a_case_is_opened_once_and_leads_to_its_page(house: House, signed_in: SignIn) -> None:
    client, address = signed_in(house.alice), f"/workers/{house.wanda.ref}/case/"
    key = key_of(client, address)
    first = client.post(address, {"form_key": key})
    second = client.post(address, {"form_key": key})
    case = Case.objects.get()
    assert first["Location"] == second["Location"] == f"/cases/{case.ref}/"
    assert (case.worker, case.opened_on, case.by) == (house.wanda, TODAY, house.alice)


def test_a_form_of_one_worker_is_not_taken_for_anothers(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    key = key_of(client, f"/workers/{house.wanda.ref}/case/")
    client.post(f"/workers/{house.wanda.ref}/case/", {"form_key": key})
    response = client.post(f"/workers/{house.yusuf.ref}/case/", {"form_key": key})
    assert "already sent" in problems_of(response)
    assert Case.objects.get().worker == house.wanda


def test_a_second_open_case_is_refused_on_the_page(house: House, signed_in: SignIn) -> None:
    client, address = signed_in(house.alice), f"/workers/{house.wanda.ref}/case/"
    key = key_of(client, address)
    other = open_case(worker=house.wanda, by=house.bob, now=NOW)
    response = client.post(address, {"form_key": key})
    assert "This worker already has an open case." in problems_of(response)
    assert f'href="/cases/{other.ref}/"' in text_of(response)
    assert Case.objects.count() == 1


def test_a_waiting_check_is_pointed_out_before_a_case_is_opened_beside_it(
    house: House, signed_in: SignIn, book: Book
) -> None:
    check = submit_check(
        worker=house.wanda,
        answers={"soreness": "yes"},
        given_by="worker",
        by=house.wanda.user,
        now=NOW - timedelta(days=1),
        book=book,
    )
    page = text_of(signed_in(house.alice).get(f"/workers/{house.wanda.ref}/case/"))
    assert "A check waits" in page
    assert f"/checks/{check.ref}/" in page


# ---- What stands, whose turn it is, and how to reach someone ----------------------------------------------


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ((*OFFERED, Step.REFUSED), "Was not sent: the worker did not agree."),
        ((Step.WITHDRAWN,), "Was not sent: withdrawn."),
    ],
)
def test_in_the_story_an_adjustment_that_was_not_sent_is_struck(
    steps: tuple[Step, ...], says: str, clinic: Clinic, signed_in: SignIn
) -> None:
    client, address = signed_in(clinic.house.alice), f"/workers/{clinic.house.wanda.ref}/"
    assert "1 measure from 2 March 2026." in words_of(client.get(address))
    assert "<s>1 measure" not in text_of(client.get(address))
    walk(clinic.house, clinic.letter, *steps)
    page = client.get(address)
    assert "<s>1 measure from 2 March 2026.</s>" in text_of(page)
    assert f"1 measure from 2 March 2026. {says}" in words_of(page)


def test_a_replaced_adjustment_says_so_in_the_story(clinic: Clinic, signed_in: SignIn) -> None:
    letter(clinic.house, adjusted(clinic.house, clinic.case), replaces=clinic.letter)
    page = signed_in(clinic.house.alice).get(f"/workers/{clinic.house.wanda.ref}/")
    assert text_of(page).count("<s>1 measure") == 1
    assert "Replaced by a newer wording." in words_of(page)


def test_a_letter_on_its_way_says_whose_turn_it_is(clinic: Clinic, signed_in: SignIn) -> None:
    client, address = signed_in(clinic.house.alice), f"/workers/{clinic.house.wanda.ref}/"
    walk(clinic.house, clinic.letter, *OFFERED, Step.SEEN)
    assert "waiting for the worker's yes. The worker’s turn" in words_of(client.get(address))
    walk(clinic.house, clinic.letter, Step.COMMENTED)
    assert "worker has commented. Your turn: they commented" in words_of(client.get(address))


def test_the_page_says_how_the_worker_can_be_reached_to_those_who_look_after_them(
    clinic: Clinic, signed_in: SignIn
) -> None:
    yusuf, address = clinic.house.yusuf, f"/workers/{clinic.house.yusuf.ref}/"
    yusuf.email = "yusuf@saltmere.example"
    yusuf.save()
    page = signed_in(clinic.house.alice).get(address)
    assert "Make sure the worker reached someone." in words_of(page)
    assert 'href="mailto:yusuf@saltmere.example"' in text_of(page)
    assert "Manager Nils Example" in words_of(page)
    assert "reached someone" not in words_of(signed_in(clinic.house.clara).get(address))
