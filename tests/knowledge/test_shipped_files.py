"""What holds for the knowledge as it is shipped."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from thenar.knowledge import Book, KnownAs, book, load
from thenar.knowledge.book import shipped_digest, shipped_files

BOOK = load()
CITED = [
    (entry.id, citation)
    for entry in BOOK.entries.values()
    for citation in (
        *(step.citation for step in entry.history),
        *(citation for _, citation in entry.other_views),
    )
]


def test_every_shipped_file_is_read():
    on_disk = {path.name for path in book.FOLDER.rglob("*.toml") if path.parent != book.FOLDER}
    assert {Path(named.name).name for named in BOOK.files} == on_disk
    assert {"severity.toml", "care.toml", "triage.toml", "hand_cleansing.toml"} <= on_disk
    assert len(shipped_files()) == len(on_disk)


def test_every_source_is_cited_by_something():
    assert set(BOOK.sources) == {citation.source_id for _, citation in CITED}


def test_every_value_says_where_it_comes_from():
    for entry_id, citation in CITED:
        assert citation.source.title, entry_id
        assert citation.source.by, entry_id


def test_what_is_called_published_has_a_place_in_a_work_that_can_be_found():
    for entry_id, citation in CITED:
        if citation.known_as in (KnownAs.PUBLISHED, KnownAs.SECONDARY):
            assert citation.source_id not in {"trade", "thenar"}, entry_id
        if citation.known_as is KnownAs.PUBLISHED:
            assert citation.locator, entry_id
            found_by = (
                citation.source.doi or citation.source.link or citation.source.where or citation.source.year
            )
            assert found_by, entry_id


def test_our_own_choices_and_memories_say_so_beside_the_result():
    for entry_id, citation in CITED:
        if citation.known_as in (KnownAs.FROM_MEMORY, KnownAs.OUR_CHOICE, KnownAs.COMMON_PRACTICE):
            assert citation.label.endswith(f"({citation.known_as})"), entry_id


def test_every_file_was_reviewed_and_is_due_again_within_a_year():
    for named in BOOK.files:
        reviewed = named.content.reviewed
        assert reviewed.on < reviewed.due <= reviewed.on + timedelta(days=366), named.name
        assert named.content.why_it_matters.strip(), named.name


def test_where_sources_disagree_the_entry_says_why_one_is_in_use():
    for entry in BOOK.entries.values():
        if entry.other_views:
            assert entry.why_in_use, entry.id


def test_no_address_of_a_copy_stands_in_for_the_original():
    for source_id, source in BOOK.sources.items():
        assert not source.link or source.link.startswith(("https://", "http://")), source_id
        assert not source.doi or source.doi.startswith("10."), source_id
        assert "proxy" not in source.link, source_id


def test_the_newest_edition_fits_the_files():
    assert BOOK.editions[-1].digest == shipped_digest(), (
        "The knowledge has changed: add an edition to editions.toml and tell it in EDITIONS.md."
    )


def test_every_edition_is_told_in_words():
    told = (book.FOLDER / "EDITIONS.md").read_text(encoding="utf-8")
    for edition in BOOK.editions:
        assert f"## {edition.number}" in told


def test_the_shipped_knowledge_verifies_on_the_day_of_its_edition():
    BOOK.verify(BOOK.editions[-1].on)


@pytest.mark.parametrize("days_early", [0, 1])
def test_a_review_may_be_done_up_to_its_day(days_early):
    first_due = min(named.content.reviewed.due for named in BOOK.files)
    assert BOOK.overdue_on(first_due - timedelta(days=days_early)) == ()


def test_a_missed_review_is_named_but_the_book_still_opens():
    first_due = min(named.content.reviewed.due for named in BOOK.files)
    late = BOOK.overdue_on(first_due + timedelta(days=1))
    assert late
    assert isinstance(load(), Book)


def test_a_value_is_taken_from_the_day_it_came_into_force():
    rule = BOOK.rule("severity.change.yuksel-2021")
    assert rule.on(date(2021, 8, 1)).amount == rule.on(date(2030, 1, 1)).amount
