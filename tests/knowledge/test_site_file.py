"""A site may change amounts, reword lines and state its test series; it may not add or redefine rules."""

from pathlib import Path

import pytest

from thenar.knowledge import KnowledgeError, load

HEAD = """
kind = "site"
title = "Saltmere: local policy"
why_it_matters = "Our infection control team decides what needs soap."
reviewed = { by = "A. Example, infection control", on = 2026-11-01, due = 2027-11-01 }

[sources.saltmere-policy]
title = "Hand hygiene policy"
by = "Saltmere infection control"
year = 2026
"""
LINE = """
[[line]]
id = "care.washing.diarrhoea"
topic = "washing"
says = "At Saltmere, wash with soap after caring for anyone with loose stools."
from = 2026-11-01
source = "saltmere-policy"
locator = "page 2"
known_as = "published"
"""
RULE = """
[[rule]]
id = "hand-cleansing.with.c-difficile"
says = "How hands are cleaned after caring for a patient with C. difficile."
unit = "text"
[[rule.value]]
from = 2026-11-01
text = "rub, then soap and water"
source = "saltmere-policy"
locator = "page 3"
known_as = "published"
"""


@pytest.fixture
def site(tmp_path):
    def write(text: str) -> Path:
        path = tmp_path / "saltmere.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_a_site_rewords_a_line_under_its_own_source(site):
    book = load(site(HEAD + LINE))
    assert book.lines["care.washing.diarrhoea"].says.startswith("At Saltmere")
    assert book.entry("care.washing.diarrhoea").citation.source.by == "Saltmere infection control"
    assert "care.washing.diarrhoea" in [line.id for line in book.lines_about("washing")]


def test_a_site_changes_a_value_and_the_shipped_book_stays_as_it_was(site):
    book = load(site(HEAD + RULE))
    assert book.rule("hand-cleansing.with.c-difficile").value[-1].text == "rub, then soap and water"
    assert load().rule("hand-cleansing.with.c-difficile").value[-1].text == "soap and water"


def test_the_edition_says_that_a_site_file_stands_over_it_and_which(site):
    shipped = load().edition
    first = load.__wrapped__(site(HEAD + LINE)).edition
    second = load.__wrapped__(site(HEAD + LINE + RULE)).edition
    assert first.startswith(f"{shipped}+site-")
    assert second.startswith(f"{shipped}+site-")
    assert len({shipped, first, second}) == 3


NEW_ID = 'id = "care.washing.with-milk"'

REFUSED = {
    "a new line": (
        LINE.replace('id = "care.washing.diarrhoea"', NEW_ID),
        "care.washing.with-milk is not a shipped line",
    ),
    "a new rule": (RULE.replace("c-difficile", "plague"), "hand-cleansing.with.plague is not a shipped rule"),
    "a line where a rule stands": (
        LINE.replace("care.washing.diarrhoea", "hand-cleansing.with.c-difficile"),
        "hand-cleansing.with.c-difficile is not a shipped line",
    ),
    "another unit": (
        RULE.replace('unit = "text"', 'unit = "hours"'),
        "hand-cleansing.with.c-difficile.unit is not 'text'",
    ),
    "another topic": (
        LINE.replace('topic = "washing"', 'topic = "attic"'),
        "care.washing.diarrhoea.topic is not",
    ),
    "an unknown source": (LINE.replace("saltmere-policy", "hearsay"), "cites 'hearsay'"),
    "an unknown key": (LINE + 'colour = "red"\n', "line[care.washing.diarrhoea].colour"),
}


@pytest.mark.parametrize(("text", "says"), REFUSED.values(), ids=REFUSED)
def test_a_site_file_is_refused_with(site, text, says):
    with pytest.raises(KnowledgeError) as refusal:
        load(site(HEAD + text))
    assert says in refusal.value.what


def test_a_file_of_another_kind_can_not_stand_over_the_rules(site):
    with pytest.raises(KnowledgeError, match=r'saltmere\.toml: kind is not "site"'):
        load(site(HEAD.split("[sources", maxsplit=1)[0].replace('"site"', '"advice"') + LINE))


def test_a_missing_site_file_is_refused_with_the_setting_that_names_it(tmp_path):
    with pytest.raises(KnowledgeError, match="THENAR_SITE_KNOWLEDGE"):
        load(tmp_path / "gone.toml")


SERIES = """
[[series]]
id = "{id}"
name = "Saltmere baseline"
in_force_from = 2026-01-01
standing = "As bought by our clinic."
cited = {{ source = "saltmere-policy", locator = "page 9", known_as = "published" }}
[[series.items]]
allergen = "{allergen}"
[series.items.preparation]
concentration = "2.5 %"
vehicle = "pet"
cited = {{ source = "saltmere-policy", locator = "page 9", known_as = "published" }}
"""


def test_a_site_adds_its_own_patch_series(site):
    book = load(site(HEAD + SERIES.format(id="saltmere", allergen="nickel_sulfate")))
    assert book.allergens.series["saltmere"].items[0].preparation.concentration == "2.5 %"
    assert "european-baseline-2019" in book.allergens.series
    entry = book.entry("patch-series.saltmere")
    assert entry.file == "saltmere.toml"
    assert entry.citation.source.by == "Saltmere infection control"


def test_a_site_states_the_series_it_uses_under_a_shipped_id(site):
    text = SERIES.format(id="european-baseline-2019", allergen="nickel_sulfate")
    book = load(site(HEAD + text))
    assert len(book.allergens.series["european-baseline-2019"].items) == 1
    assert book.entry("patch-series.european-baseline-2019").says == "Saltmere baseline"


def test_a_series_of_a_site_names_only_known_allergens(site):
    text = SERIES.format(id="saltmere", allergen="moonstone")
    with pytest.raises(KnowledgeError, match=r"saltmere\.toml: saltmere names the allergen 'moonstone'"):
        load(site(HEAD + text))


def test_a_series_of_a_site_is_not_empty(site):
    empty = SERIES.format(id="saltmere", allergen="").split("[[series.items]]")[0] + "items = []\n"
    with pytest.raises(KnowledgeError, match=r"saltmere\.toml: saltmere has no items"):
        load(site(HEAD + empty))
