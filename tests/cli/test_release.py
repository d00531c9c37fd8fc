"""What `thenar release audit FILE` and `thenar calc disclosure` promise."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

AREAS = [{"name": "Medicine"}, *({"name": f"Ward {nth}", "within": "Medicine"} for nth in (1, 2, 3))]
COUNTS = {"Medicine": (23, 105), "Ward 1": (12, 40), "Ward 2": (3, 30), "Ward 3": (8, 35)}
GIVEN = {
    "what": "hand eczema",
    "on": "2026-03-01",
    "areas": AREAS,
    "cells": [{"area": name, "count": count, "people": people} for name, (count, people) in COUNTS.items()],
}


def release(counts, on="2026-03-01", **shown):
    """A snapshot in which every cell shows as it is rounded, but for those named."""
    cells = [
        {
            "area": name,
            "count": count,
            "people": people,
            "shown": shown.get(name.replace(" ", "_"), round(count / 5) * 5),
        }
        for name, (count, people) in counts.items()
    ]
    return {"on": on, "cells": cells}


SAFE = release(COUNTS, Ward_2=None, Ward_3=None)


@pytest.fixture
def audited(tmp_path):
    def run(*releases, **more):
        file = tmp_path / "release.json"
        file.write_text(json.dumps({"what": "hand eczema", "areas": AREAS, "releases": releases, **more}))
        return CliRunner().invoke(main, ["release", "audit", str(file)])

    return run


def calc(**changes):
    return CliRunner().invoke(main, ["calc", "disclosure"], input=json.dumps({**GIVEN, **changes}))


def test_a_safe_release_passes_and_the_service_sees_what_an_attacker_would_know(audited):
    done = audited(SAFE)
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert told["passed"]
    assert told["refused"] == []
    # 23 is written 25 (23 to 27), 12 as 10 (8 to 12): 11 to 19 in both hidden wards, so 0 to 19 in each
    assert [(one["cell"], one["least"], one["most"]) for one in told["hidden"]] == [
        ("Ward 2", 0, 19),
        ("Ward 3", 0, 19),
    ]


def test_a_careless_release_leaves_with_3_and_names_the_cell(audited):
    done = audited(release(COUNTS))
    assert done.exit_code == 3
    assert json.loads(done.stdout)["passed"] is False
    assert "Not released: Ward 2 shows, but must be hidden" in done.stderr


def test_a_count_written_exactly_is_refused(audited):
    done = audited(release(COUNTS, Ward_1=12, Ward_2=None, Ward_3=None))
    assert done.exit_code == 3
    assert "Ward 1 is written 12; the rule writes 10" in done.stderr


def steady(counts, snapshots=2):
    return [
        {"places": [[name]] * snapshots, "people": people, "cases": [count] * snapshots, "changed": [0]}
        for name, (count, people) in counts.items()
        if name != "Medicine"
    ]


BEFORE = {"Medicine": (32, 140), "Ward 1": (7, 40), "Ward 2": (10, 40), "Ward 3": (15, 60)}
AFTER = {**BEFORE, "Medicine": (33, 141), "Ward 1": (8, 41)}
JOINER = {"places": [None, ["Ward 1"]], "people": 1, "cases": [0, 1], "changed": [0]}


def test_a_joiner_whom_subtraction_gives_away_is_noticed(audited):
    both = release(BEFORE), release(AFTER, "2026-04-01")
    done = audited(*both, tracks=[*steady(BEFORE), JOINER])
    assert done.exit_code == 3
    assert "Ward 1 on 2026-04-01 leaves no doubt about someone" in done.stderr
    assert audited(both[0]).exit_code == audited(both[1]).exit_code == 0


def test_an_earlier_release_that_should_never_have_left_is_named(audited):
    done = audited(release(COUNTS), release(AFTER, "2026-04-01"), tracks=[*steady(COUNTS)])
    assert done.exit_code == 3
    assert "Ward 2 shows" in done.stderr


def test_a_finding_among_those_who_answered_needs_their_table_to_pass(audited):
    asked = {"Medicine": (105, 130), "Ward 1": (40, 50), "Ward 2": (30, 38), "Ward 3": (35, 42)}
    participation = {"what": "answered", "areas": AREAS, "releases": [release(asked)]}
    assert audited(SAFE, participation=participation).exit_code == 0
    full = {**asked, "Ward 1": (40, 42), "Medicine": (105, 122)}  # all but two answered
    done = audited(SAFE, participation={**participation, "releases": [release(full)]})
    assert done.exit_code == 3
    assert "Ward 1 shows" in done.stderr


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        ({**COUNTS, "Ward 2": (-3, 30)}, "releases.0.cells.2.count"),
        ({**COUNTS, "Ward 2": (2.5, 30)}, "releases.0.cells.2.count"),
        ({**COUNTS, "Ward 2": (4, 30)}, "count of Medicine: is 23, but its parts"),
        ({**COUNTS, "Ward 2": (31, 30)}, "at most the whole, 30"),
        ({**COUNTS, "Ward 9": (9, 30)}, "there is no area 'Ward 9'"),
    ],
)
def test_counts_that_can_not_be_are_refused_by_name(audited, counts, says):
    done = audited(release(counts))
    assert done.exit_code == 2, done.output
    assert says in done.stderr
    assert done.stdout == ""
    assert "Traceback" not in done.stderr


def test_a_laxer_site_is_refused_and_a_stricter_one_is_used(audited):
    lax = audited(SAFE, site_rule={"least_with": 3})
    assert lax.exit_code == 2
    assert "least_with: is 3; it may not be below 5" in lax.stderr
    strict = audited(SAFE, site_rule={"least_with": 13})
    assert strict.exit_code == 3
    assert "Ward 1 shows" in strict.stderr


def test_what_is_no_file_of_releases_is_refused(audited, tmp_path):
    absent = CliRunner().invoke(main, ["release", "audit", str(tmp_path / "none.json")])
    assert absent.exit_code == 2
    assert "can't be read" in absent.stderr
    assert CliRunner().invoke(main, ["release", "audit"]).exit_code == 2
    empty = tmp_path / "empty.json"
    empty.write_text("")
    done = CliRunner().invoke(main, ["release", "audit", str(empty)])
    assert done.exit_code == 2
    assert "The file is empty." in done.stderr
    assert "thenar release audit --schema" in done.stderr
    assert audited().exit_code == 2
    assert "tracks: " in audited(SAFE, tracks=3).stderr


def test_the_schema_says_what_the_file_holds():
    done = CliRunner().invoke(main, ["release", "audit", "--schema"])
    assert done.exit_code == 0
    assert set(json.loads(done.stdout)) == {"input", "output"}


def test_calc_disclosure_prints_what_may_be_printed():
    done = calc()
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    assert [one["count"] for one in told["figures"]] == [25, 10, None, None]
    assert {source["known_as"] for source in told["sources"]} == {"our choice"}


def test_calc_disclosure_hides_where_too_few_did_not_answer():
    asked = {"Medicine": (105, 122), "Ward 1": (40, 42), "Ward 2": (30, 38), "Ward 3": (35, 42)}
    cells = [{"area": name, "count": count, "people": people} for name, (count, people) in asked.items()]
    told = json.loads(calc(participation=cells).stdout)
    assert {one["cell"]: one["count"] for one in told["figures"]}["Ward 1"] is None
    assert {one["cell"]: one["count"] for one in told["participation"]}["Ward 1"] is None


def test_calc_disclosure_refuses_totals_that_do_not_add_up():
    cells = [*GIVEN["cells"][1:], {"area": "Medicine", "count": 24, "people": 105}]
    done = calc(cells=cells)
    assert done.exit_code == 2
    assert "count of Medicine: is 24, but its parts" in done.stderr
