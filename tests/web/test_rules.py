"""Any rule can be looked up with its value, its source, how it is known, and who sees it otherwise."""

from collections.abc import Callable
from datetime import date
from html import escape
from pathlib import Path

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House, make_user
from tests.web.clinic_house import text_of, words_of
from thenar.knowledge import Book, load
from thenar.records.models import AccessRole, User
from thenar.screens import clock

SignIn = Callable[[User], Client]
SITE = """
kind = "site"
title = "The words of this site"
why_it_matters = "Local policy decides."
reviewed = {{ by = "The committee", on = 2026-01-01, due = {due} }}
[sources.committee]
title = "Minutes of the committee"
by = "The committee"
[[rule]]
id = "severity.change.yuksel-2021"
says = "Change in the score that matters here."
unit = "points"
[[rule.value]]
from = 2021-08-01
source = "committee"
locator = "old minutes"
known_as = "published"
amount = 9
operator = ">="
[[rule.value]]
from = 2026-02-01
source = "committee"
locator = "new minutes"
known_as = "published"
amount = 10
operator = ">="
note = "Raised after a trial."
[[rule.value]]
from = 2026-04-01
source = "committee"
locator = "next minutes"
known_as = "published"
amount = 11
operator = ">="
"""


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.mark.parametrize("access", [access.value for access in AccessRole])
@pytest.mark.parametrize("page", ["/rules/", "/rules/severity.band.moderate/", "/rules/sources/"])
@pytest.mark.django_db
def test_everyone_who_can_sign_in_can_look_rules_up(page: str, access: str, signed_in: SignIn) -> None:
    assert signed_in(make_user("Someone", AccessRole(access))).get(page).status_code == 200


@pytest.mark.parametrize("page", ["/rules/", "/rules/severity.band.moderate/", "/rules/sources/"])
def test_signed_out_one_is_asked_to_sign_in(page: str, db: None) -> None:
    assert Client().get(page)["Location"].startswith("/sign-in/?next=%2Frules%2F")


@pytest.mark.parametrize("page", ["/rules/", "/rules/severity.band.moderate/", "/rules/sources/"])
def test_rules_take_no_form(page: str, house: House, signed_in: SignIn) -> None:
    assert signed_in(house.alice).post(page, {}).status_code == 405


def test_every_rule_line_and_decision_is_listed_and_has_its_page(
    house: House, signed_in: SignIn, book: Book
) -> None:
    client = signed_in(house.alice)
    page = text_of(client.get("/rules/"))
    left_out = [key for key in book.entries if f'href="/rules/{key}/"' not in page]
    assert {book.entry(key).kind for key in left_out} == {"allergen", "cross-reaction"}
    for key in left_out[::97]:  # some from all over: each search reads everything
        assert f'href="/rules/{key}/"' in text_of(client.get("/rules/", {"q": key}))
    for key, entry in book.entries.items():
        answer = client.get(f"/rules/{key}/")
        assert answer.status_code == 200, key
        assert escape(entry.says) in text_of(answer)
        assert entry.citation.known_as in text_of(answer)


def test_a_long_file_lists_a_hundred_says_how_many_more_there_are_and_stays_small(
    house: House, signed_in: SignIn, book: Book
) -> None:
    client = signed_in(house.alice)
    answer = client.get("/rules/")
    allergens = [entry for entry in book.entries.values() if entry.kind == "allergen"]
    assert f"{len(allergens) - 100} more: search for them by a word of theirs." in words_of(answer)
    assert f"Allergen {len(allergens)}" in words_of(answer)
    assert f"{len(book.entries)} in all" in words_of(answer)
    assert len(answer.content) < 300_000  # bytes, before packing
    assert "more: add a word to the search." in words_of(client.get("/rules/", {"q": "allergen"}))


def test_one_kind_can_be_shown_alone_and_an_unknown_one_shows_all(
    house: House, signed_in: SignIn, book: Book
) -> None:
    client = signed_in(house.alice)
    only = text_of(client.get("/rules/", {"kind": "decision"}))
    assert 'href="/rules/triage.airway/"' in only
    assert 'href="/rules/severity.band.moderate/"' not in only
    assert f"{len(book.entries)} in all" in words_of(client.get("/rules/", {"kind": "nose"}))


@pytest.mark.parametrize(
    ("key", "parts"),
    [
        ("allergen.mci_mi", True),
        ("patch-series.european-baseline-2019", True),
        ("severity.band.moderate", False),
    ],
)
def test_what_an_allergen_or_a_series_is_made_of_is_called_parts_and_no_history(
    key: str, parts: bool, house: House, signed_in: SignIn
) -> None:
    page = text_of(signed_in(house.alice).get(f"/rules/{key}/"))
    assert (">Parts</h2>" in page) == parts
    assert ("History" in page) != parts
    assert (" values</dd>" in page) is False


def test_a_rule_shows_value_source_standing_file_and_edition(
    house: House, signed_in: SignIn, book: Book
) -> None:
    words = words_of(signed_in(house.alice).get("/rules/severity.band.moderate/"))
    # Oosterhaven and Schuttelaar 2020: moderate from 17 points.
    assert "In force since" in words
    assert "≥ 17 points" in words
    assert "Oosterhaven and Schuttelaar, 2020" in words
    assert "British Journal of Dermatology 182, 932-939" in words
    assert "Known as: published" in words
    assert "skin/severity.toml" in words
    assert f"Edition {book.edition}" in words


def test_a_rule_shows_who_sees_it_otherwise_and_why_the_one_in_use(
    house: House, signed_in: SignIn, book: Book
) -> None:
    entry = book.entry("severity.band.moderate")
    says, citation = entry.other_views[0]
    words = words_of(signed_in(house.alice).get("/rules/severity.band.moderate/"))
    assert "Seen otherwise" in words
    assert says in words
    assert citation.source.label in words
    assert entry.why_in_use in words


def test_a_decision_shows_what_it_asks_for(house: House, signed_in: SignIn) -> None:
    words = words_of(signed_in(house.alice).get("/rules/triage.airway/"))
    assert "Emergency" in words
    assert "Stop patient contact" in words


@pytest.mark.parametrize(
    ("key", "kind"),
    [
        ("severity.band.moderate", "Value, in points"),
        ("adjustment.no-cleaning-tasks", "Advice, in words"),
        ("triage.airway", "Decision of the triage table"),
        ("wet-work.au-nhews-2008.wet-hours", "Part of a wet-work rule set"),
        ("risk-ratio.washes-15-20", "Ratio of risks, from studies"),
    ],
)
def test_each_kind_of_entry_is_called_what_it_is(
    key: str, kind: str, house: House, signed_in: SignIn
) -> None:
    assert f"Kind {kind} Reviewed" in words_of(signed_in(house.alice).get(f"/rules/{key}/"))


def test_a_value_from_memory_says_so(house: House, signed_in: SignIn, book: Book) -> None:
    remembered = next(e for e in book.entries.values() if e.citation.known_as == "from memory")
    assert "Known as: from memory" in words_of(signed_in(house.alice).get(f"/rules/{remembered.id}/"))


@pytest.mark.parametrize("words", ["hecsi severity", "MODERATE", "oosterhaven", "severity.band"])
def test_the_search_narrows_by_words_of_rule_name_or_source(
    words: str, house: House, signed_in: SignIn
) -> None:
    page = text_of(signed_in(house.alice).get("/rules/", {"q": words}))
    if words != "hecsi severity":
        assert 'href="/rules/severity.band.moderate/"' in page
    assert 'href="/rules/care.cream.pump/"' not in page


def test_a_search_that_finds_nothing_says_what_to_do(house: House, signed_in: SignIn) -> None:
    words = text_of(signed_in(house.alice).get("/rules/", {"q": "<zzz>"}))
    assert "No rule holds “&lt;zzz&gt;”." in words
    assert "show all" in words


@pytest.mark.parametrize(
    "key", ["none.such", "a/b/c.d", "severity", "severity.band.moderate/extra", "%00", "..x"]
)
def test_an_unknown_rule_is_a_page_that_helps(key: str, house: House, signed_in: SignIn) -> None:
    response = signed_in(house.alice).get(f"/rules/{key}/")
    assert response.status_code == 404
    assert "There is no rule" in text_of(response)


def with_site_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, due: date = date(2027, 1, 1)) -> Book:
    file = tmp_path / "site.toml"
    file.write_text(SITE.format(due=due), encoding="utf-8")
    ours = load(file)
    monkeypatch.setattr("thenar.screens.settings.rules.book", lambda: ours)
    return ours


def test_history_shows_every_value_and_the_one_in_force_today(
    house: House, signed_in: SignIn, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_site_file(tmp_path, monkeypatch)
    words = words_of(signed_in(house.alice).get("/rules/severity.change.yuksel-2021/"))
    assert (
        "In force since 1 February 2026 ≥ 10 points Raised after a trial." in words
    )  # today is 2 March 2026
    history = words.split("History", 1)[1]
    assert history.index("1 Apr 2026") < history.index("1 Feb 2026") < history.index("1 Aug 2021")


def test_a_value_that_has_not_come_yet_is_not_called_in_force(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "today", lambda: date(2001, 1, 1))
    words = words_of(signed_in(house.alice).get("/rules/severity.change.yuksel-2021/"))
    assert "Not yet in force" in words
    assert "From 1 August 2021." in words


def test_a_file_whose_review_is_overdue_is_pointed_out(
    house: House, signed_in: SignIn, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    due = book.entry("severity.band.moderate").review_due
    client = signed_in(house.alice)
    monkeypatch.setattr(clock, "today", lambda: due)
    assert "overdue" not in words_of(client.get("/rules/severity.band.moderate/")).lower()
    monkeypatch.setattr(clock, "today", lambda: date(due.year + 1, due.month, due.day))
    assert "Review overdue" in words_of(client.get("/rules/severity.band.moderate/"))
    assert "Review overdue" in words_of(client.get("/rules/"))


def test_the_sources_name_each_work_and_what_is_taken_from_it(
    house: House, signed_in: SignIn, book: Book
) -> None:
    page = text_of(signed_in(house.alice).get("/rules/sources/"))
    for key, source in book.sources.items():
        assert f'id="{key}"' in page
        assert escape(source.title) in page
    row = page.split('id="oosterhaven-2020"')[1].split("</tr>")[0]
    assert 'href="https://doi.org/10.1111/bjd.18295"' in row
    assert 'href="/rules/severity.band.moderate/"' in row
