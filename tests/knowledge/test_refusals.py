"""A fault in a knowledge file is refused with the file and the key."""

from dataclasses import replace
from datetime import date

import pytest

from thenar.knowledge import KnowledgeError, load

SEVERITY = "skin/severity.toml"
MODERATE = 'id = "severity.band.moderate"'

FAULTS = {
    "an unknown key": (SEVERITY, MODERATE, f"{MODERATE}\nunits = 3", "rule[severity.band.moderate].units"),
    "a misspelt key": (SEVERITY, 'unit = "points"', 'unnit = "points"', "].unnit"),
    "an unknown unit": (SEVERITY, 'unit = "points"', 'unit = "furlongs"', "].unit: "),
    "an unknown operator": (SEVERITY, 'operator = ">="', 'operator = "~"', "].operator"),
    "an unknown standing": (SEVERITY, 'known_as = "secondary"', 'known_as = "rumour"', "].known_as"),
    "an unknown source": (SEVERITY, 'source = "held-2005"', 'source = "nobody"', "cites 'nobody'"),
    "an unknown kind": (SEVERITY, 'kind = "values"', 'kind = "poem"', "kind = 'poem'"),
    "a file without review": (SEVERITY, "reviewed = ", "# reviewed = ", "reviewed: "),
    "a broken file": (SEVERITY, 'kind = "values"', 'kind = "values', "not valid TOML"),
    "a key given twice": (SEVERITY, MODERATE, f"{MODERATE}\n{MODERATE}", "not valid TOML"),
    "a date that is none": (SEVERITY, "from = 2005-02-01", 'from = "spring"', "].from: "),
    "an id used twice": (
        SEVERITY,
        MODERATE,
        'id = "severity.band.severe"',
        "severity.band.severe also stands in",
    ),
    "a value without amount": (
        SEVERITY,
        "amount = 17",
        'note = "none"',
        "severity.band.moderate needs an amount",
    ),
    "an amount that is none": (SEVERITY, "amount = 17", 'amount = "many"', ".amount: "),
    "a bibliography with an unknown key": ("sources.toml", "by = ", 'publisher = "x"\nby = ', "publisher"),
    "advice from an unknown source": (
        "skin/care.toml",
        'source = "trade"',
        'source = "them"',
        "cites 'them'",
    ),
}


@pytest.mark.parametrize(("name", "old", "new", "key"), FAULTS.values(), ids=FAULTS)
def test_it_refuses(shipped_copy, name, old, new, key):
    shipped_copy.change(name, old, new)
    with pytest.raises(KnowledgeError) as refusal:
        shipped_copy.load()
    assert name in refusal.value.what
    assert key in refusal.value.what


def test_it_refuses_values_out_of_date_order(shipped_copy):
    shipped_copy.append(
        SEVERITY,
        '[[rule.value]]\nfrom = 1990-01-01\namount = 1\noperator = ">="\nsource = "trade"\nlocator = ""\n'
        'known_as = "from memory"\n',
    )
    with pytest.raises(KnowledgeError, match=r"severity\.change\.yuksel-2021 has values out of date order"):
        shipped_copy.load()


def test_it_refuses_a_source_that_only_another_view_cites(shipped_copy):
    shipped_copy.change(SEVERITY, 'source = "hald-2009"', 'source = "hald"')
    with pytest.raises(KnowledgeError, match=r"severity\.band\.almost-clear cites 'hald'"):
        shipped_copy.load()


def test_verify_refuses_an_overdue_review_by_file_and_key(shipped_copy):
    shipped_copy.change(SEVERITY, "due = 2027-11-25", "due = 2026-12-01")
    with pytest.raises(KnowledgeError) as refusal:
        shipped_copy.load().verify(date(2026, 12, 2))
    assert "skin/severity.toml: reviewed.due is 2026-12-01" in refusal.value.what


def test_verify_refuses_content_that_differs_from_its_edition(shipped_copy):
    before = shipped_copy.load()
    shipped_copy.change(SEVERITY, "amount = 17", "amount = 18")
    after = shipped_copy.load()
    assert after.digest != before.digest
    frozen = replace(after, editions=(replace(after.editions[-1], digest=before.digest),))
    with pytest.raises(KnowledgeError, match=f'differ from edition.*digest = "{after.digest}"'):
        frozen.verify(date(2026, 11, 25))


def test_an_unknown_key_asked_for_is_refused_with_the_way_to_find_it():
    with pytest.raises(KnowledgeError, match=r"no rule 'nose'.*thenar knowledge list"):
        load().entry("nose")
    with pytest.raises(KnowledgeError, match="no rule 'nose'"):
        load().rule("nose")


def test_a_value_without_operator_is_never_compared():
    areas = load().rule("severity.structure.areas").value[0]
    with pytest.raises(KnowledgeError, match="nothing to compare 3 with"):
        areas.met_by(3)
