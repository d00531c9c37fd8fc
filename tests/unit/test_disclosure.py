"""What may leave the service: one situation each, worked by hand."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from thenar.errors import BadInput
from thenar.knowledge import load
from thenar.population.disclosure import Audit, audit, suppress
from thenar.population.disclosure_attack import limits_of
from thenar.population.disclosure_knowledge import of_table
from thenar.population.disclosure_release import Among, NotAudited, PassedRelease, Release, ReleaseRefused
from thenar.population.disclosure_rule import LaxerThanShipped, Why, rule_of
from thenar.population.disclosure_tables import ALL, Area, Cell, Table, UnusableTable
from thenar.population.disclosure_tracks import History, Track, tracks_of

ON = date(2026, 3, 1)
NEXT = date(2026, 4, 1)
RULE = rule_of(load(), ON)


def wards(*counts, on=ON, what="hand eczema"):
    """One department; each ward as (cases, people)."""
    cells = [Cell(f"Ward {nth}", cases, people) for nth, (cases, people) in enumerate(counts, start=1)]
    whole = Cell("Medicine", sum(cell.count for cell in cells), sum(cell.people for cell in cells))
    areas = (Area("Medicine"), *(Area(cell.area, "Medicine") for cell in cells))
    return Table(what, on, areas, (whole, *cells))


def hiding(table, *names, rule=RULE):
    return Release(table, frozenset((name,) for name in names), rule)


def names(release):
    return {key[0] for key in release.hidden}


@pytest.mark.parametrize(
    ("count", "people", "why"),
    [
        (5, 10, None),
        (4, 30, Why.FEW_WITH),
        (0, 30, Why.FEW_WITH),
        (1, 5, Why.FEW_PEOPLE),
        (5, 9, Why.FEW_PEOPLE),
        (30, 30, Why.FEW_WITHOUT),
        (26, 30, Why.FEW_WITHOUT),
        (25, 30, None),
    ],
)
def test_a_cell_shows_only_with_enough_on_either_side(count, people, why):
    assert RULE.hides(count, people) is why


def test_the_written_count_stands_for_five_counts_and_no_hidden_one():
    assert [RULE.rounded(count) for count in (7, 8, 12, 13)] == [5, 10, 10, 15]
    assert RULE.window(12, 40) == (8, 12)
    assert RULE.window(6, 40) == (5, 7)  # 3 and 4 would be hidden
    assert RULE.window(9, 14) == (8, 9)  # and so would 10 of 14
    # even multiples: halves go up, so a written 10 stands for 5 to 14
    tens = replace(RULE, rounded_to=10)
    assert [tens.rounded(count) for count in (4, 5, 14, 15)] == [0, 10, 10, 20]
    assert tens.window(10, 40) == (5, 14)


@pytest.mark.parametrize(
    "field", ["least_people", "least_with", "least_without", "rounded_to", "margin", "days_between"]
)
def test_a_site_may_be_stricter_and_never_laxer(field):
    table = wards((12, 40), (9, 30))
    stricter = replace(RULE, **{field: getattr(RULE, field) + 1})
    assert audit(suppress(table, stricter)).passed
    with pytest.raises(LaxerThanShipped, match=field):
        audit(Release(table, frozenset(), replace(RULE, **{field: getattr(RULE, field) - 1})))


def test_a_site_file_may_not_make_it_laxer(tmp_path):
    site = tmp_path / "site.toml"
    said = (
        'kind = "site"\ntitle = "Own"\nwhy_it_matters = "Own"\n'
        'reviewed = { by = "A", on = 2026-11-01, due = 2027-11-01 }\n'
        '[sources.own]\ntitle = "Own"\nby = "A"\n'
        '[[rule]]\nid = "population.disclosure.least-with"\nsays = "x"\nunit = "count"\n'
        '[[rule.value]]\nfrom = 2000-01-01\namount = {amount}\noperator = ">="\n'
        'source = "own"\nlocator = "p. 1"\nknown_as = "our choice"\n'
    )
    site.write_text(said.replace("{amount}", "7"))
    assert rule_of(load(site), ON).least_with == 7
    lax = tmp_path / "lax.toml"
    lax.write_text(said.replace("{amount}", "3"))
    with pytest.raises(LaxerThanShipped, match="least_with: is 3"):
        rule_of(load(lax), ON)


def test_a_table_without_small_cells_shows_whole():
    release = suppress(wards((12, 40), (9, 30), (10, 35)), RULE)
    assert names(release) == set()
    assert audit(release).passed


def test_one_cell_is_never_hidden_alone():
    release = suppress(wards((12, 40), (3, 30), (8, 35)), RULE)
    assert names(release) == {"Ward 2", "Ward 3"}
    lone = audit(hiding(wards((12, 40), (3, 30), (8, 35)), "Ward 2"))
    assert not lone.passed
    assert "Ward 2" in lone.failures[0].cell


def test_two_small_wards_that_give_each_other_away_need_a_third():
    # Unrounded, 1 + 2 hidden cases are known to be 3 in all: neither ward can have the 5 or 6 that the
    # margin of 4 asks for, so a third goes.
    table = wards((1, 30), (2, 30), (12, 40), (14, 60))
    assert names(suppress(table, replace(RULE, rounded_to=1))) == {"Ward 1", "Ward 2", "Ward 3"}
    # Rounded, each shown figure leaves room for 2 more or fewer: 29 is written 30 (28 to 32), 12 as 10 (8 to
    # 12), 14 as 15 (13 to 17), so the two wards have up to 32 - 8 - 13 = 11 cases.
    assert names(suppress(table, RULE)) == {"Ward 1", "Ward 2"}


def test_the_attackers_limits_are_those_worked_by_hand():
    table = wards((1, 30), (2, 30), (12, 40), (14, 60))
    checked = audit(suppress(table, RULE))
    # at least 28 - 12 - 17 < 0; at most 11, as above
    assert [(one.cell, one.least, one.most) for one in checked.limits] == [
        ("Ward 1", 0, 11),
        ("Ward 2", 0, 11),
    ]
    assert {one.why for one in checked.limits} == {Why.FEW_WITH}


def test_nobody_learns_that_a_whole_ward_has_it_or_nobody_on_it():
    for count in (0, 20):
        table = wards((count, 20), (12, 40), (14, 60))
        assert "Ward 1" in names(suppress(table, RULE))
        shown = audit(hiding(table))
        assert not shown.passed
        assert shown.failures[0].cell == "Ward 1"


def test_a_release_that_shows_a_small_cell_is_refused_with_the_cell_named():
    careless = audit(hiding(wards((12, 40), (3, 30), (8, 35))))
    with pytest.raises(ReleaseRefused, match="Ward 2 shows, but must be hidden"):
        careless.passed_release()


def test_a_hidden_cell_that_subtraction_narrows_is_refused():
    # Two hidden in one department, but the other figures leave too little room: with one rule stricter on
    # margin than the table can give without hiding more.
    table = wards((1, 30), (2, 30), (12, 40))
    strict = replace(RULE, margin=12)
    failed = audit(hiding(table, "Ward 1", "Ward 2", rule=strict))
    assert [failure.cell for failure in failed.failures] == ["Ward 1", "Ward 2"]
    assert "up to 13 must stay possible" in failed.failures[0].says
    assert audit(suppress(table, strict)).passed


def test_only_a_passed_audit_makes_what_may_be_published():
    with pytest.raises(NotAudited):
        PassedRelease()
    release = suppress(wards((12, 40), (9, 30)), RULE)
    with pytest.raises(NotAudited):
        Audit(release, (), (), 0.0).passed_release()
    assert audit(release).passed_release().release == release


def test_figures_are_rounded_and_percentages_are_of_the_rounded():
    passed = audit(suppress(wards((12, 41), (9, 33)), RULE)).passed_release()
    # 21 of 74: 20 of 75, 26.7 %. 12 of 41: 10 of 40. 9 of 33: 10 of 35, 28.6 %.
    assert [(one.count, one.people, one.percent) for one in passed.figures] == [
        (20, 75, 27),
        (10, 40, 25),
        (10, 35, 29),
    ]


def test_what_someone_knows_who_knows_all_but_two():
    # Ward 1: 12 written 10, the most it stands for; two of the 28 without: 28*27/(40*39). Ward 2: 9 is inside
    # 8 to 12. Medicine, 21 written 20 (18 to 22), narrows neither: 22 - 12 = 10 > 9.
    # But ward 1 can have 12 only if ward 2 has at most 10, and it has.
    checked = audit(suppress(wards((12, 40), (9, 30)), RULE))
    assert checked.known_to_insider == pytest.approx((40 * (28 * 27) / (40 * 39)) / 70)


def stay(ward, has, snapshots=2):
    return History(((ward,),) * snapshots, (has,) * snapshots)


def a_month_later(counts, joins):
    """The rosters of wards that stay as they are, and what joins them: (ward, has)."""
    histories = [
        stay(f"Ward {nth}", number < cases)
        for nth, (cases, people) in enumerate(counts, start=1)
        for number in range(people)
    ]
    histories += [History((None, (ward,)), (False, has)) for ward, has in joins]
    return tracks_of(histories)


def test_a_joiner_is_not_given_away_by_subtraction():
    # Ward 1 goes from 7 of 40 (written 5: 5 to 7) to 8 of 41 (written 10: 8 to 12). Nobody else changed:
    # the one who joined has it.
    before = ((7, 40), (10, 40), (15, 60))
    first = audit(hiding(wards(*before))).passed_release()
    later = wards((8, 41), *before[1:], on=NEXT)
    tracks = a_month_later(before, [("Ward 1", True)])
    careless = audit(hiding(later), [first], tracks)
    assert not careless.passed
    assert careless.failures[0].cell == "Ward 1"
    with pytest.raises(ReleaseRefused, match="Ward 1 on 2026-04-01 leaves no doubt"):
        careless.passed_release()
    assert audit(hiding(later)).passed  # by itself nothing is wrong with it
    careful = suppress(later, RULE, earlier=[first], tracks=tracks)
    assert "Ward 1" in names(careful)
    assert audit(careful, [first], tracks).passed


def test_one_who_left_is_not_given_away_either():
    before, after = ((8, 41), (10, 40), (15, 60)), ((7, 40), (10, 40), (15, 60))
    first = audit(hiding(wards(*before))).passed_release()
    histories = [
        stay(f"Ward {nth}", number < cases)
        for nth, (cases, people) in enumerate(after, start=1)
        for number in range(people)
    ]
    tracks = tracks_of([*histories, History((("Ward 1",), None), (True, False))])
    careless = audit(hiding(wards(*after, on=NEXT)), [first], tracks)
    assert not careless.passed
    assert "2026-03-01" in careless.failures[0].says


def test_where_someone_else_changed_subtraction_tells_nothing():
    before = ((7, 40), (10, 40), (15, 60))
    first = audit(hiding(wards(*before))).passed_release()
    tracks = [*a_month_later(before, []), *tracks_of([History((None, ("Ward 1",)), (False, False))])]
    turned = [
        replace(one, cases=(7, 8), changed=(1,)) if one.places == (("Ward 1",),) * 2 else one
        for one in tracks
    ]
    assert audit(hiding(wards((8, 41), *before[1:], on=NEXT)), [first], turned).passed


def test_earlier_releases_need_rosters_that_add_up():
    before = ((7, 40), (10, 40))
    first = audit(hiding(wards(*before))).passed_release()
    later = hiding(wards((8, 41), (10, 40), on=NEXT))
    with pytest.raises(UnusableTable, match="no rosters"):
        audit(later, [first])
    with pytest.raises(
        UnusableTable, match=r"Ward 1 on 2026-04-01: the table has 8 of 41, the rosters 7 of 40"
    ):
        audit(later, [first], a_month_later(before, []))


def test_snapshots_are_a_month_apart_and_of_one_finding():
    before = ((7, 40), (10, 40))
    first = audit(hiding(wards(*before))).passed_release()
    tracks = a_month_later(before, [])
    with pytest.raises(UnusableTable, match="less than 28 days"):
        audit(hiding(wards(*before, on=date(2026, 3, 28))), [first], tracks)
    with pytest.raises(UnusableTable, match="not sick leave"):
        audit(hiding(wards(*before, on=NEXT, what="sick leave")), [first], tracks)


def test_who_did_not_answer_is_personal_too():
    asked = wards((28, 30), (25, 40), (33, 50), what="answered")  # 2 of ward 1 did not answer
    participation = audit(suppress(asked, RULE)).passed_release()
    table = wards((9, 28), (10, 25), (12, 33))
    bare = audit(Release(table, frozenset(), RULE, Among.ANSWERED))
    with pytest.raises(ReleaseRefused, match="whose table is missing"):
        bare.passed_release()
    release = suppress(table, RULE, among=Among.ANSWERED, participation=participation)
    checked = audit(release)
    assert checked.passed
    assert {one.cell: one.why for one in checked.limits}["Ward 1"] is Why.LINKED
    shown = audit(Release(table, frozenset(), RULE, Among.ANSWERED, participation))
    assert "Ward 1" in {failure.cell for failure in shown.failures}


def test_a_finding_counts_among_exactly_those_who_answered():
    participation = audit(suppress(wards((20, 30), (25, 40), what="answered"), RULE)).passed_release()
    with pytest.raises(UnusableTable, match="counts among 57, but 45 answered"):
        suppress(wards((9, 30), (10, 27)), RULE, among=Among.ANSWERED, participation=participation)


def by_role(cells):
    areas = (Area("Medicine"), Area("Ward 1", "Medicine"), Area("Ward 2", "Medicine"))
    return Table("hand eczema", ON, areas, tuple(Cell(a, n, d, (of,)) for a, of, n, d in cells), ("role",))


CROSSED = [
    ("Ward 1", "nurse", 8, 30),
    ("Ward 1", "other", 2, 20),
    ("Ward 2", "nurse", 9, 30),
    ("Ward 2", "other", 7, 20),
    ("Ward 1", ALL, 10, 50),
    ("Ward 2", ALL, 16, 50),
    ("Medicine", "nurse", 17, 60),
    ("Medicine", "other", 9, 40),
    ("Medicine", ALL, 26, 100),
]


def test_a_table_by_area_and_role_hides_along_both():
    release = suppress(by_role(CROSSED), RULE)
    assert ("Ward 1", "other") in release.hidden
    # never alone in its ward, nor in its role: three more at least, for each of them stands in two sums
    assert len(release.hidden) == 4
    assert audit(release).passed


def test_wards_and_roles_published_apart_are_attacked_together():
    # Wards and roles of one department, without the cells in which they cross.
    apart = [cell for cell in CROSSED if cell[1] == ALL or cell[0] == "Medicine"]
    table = by_role(apart)
    known = of_table(table, RULE)
    hidden = np.array([cell.key == ("Medicine", "other") for cell in table.cells])
    at = table.places["Medicine", "other"]
    # 26 is written 25 (23 to 27), 17 as 15 (13 to 17): from 23 - 17 = 6 to 27 - 13 = 14 others
    assert limits_of(known, hidden, known.cells[[at]]).tolist() == [[6, 14]]


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: wards((-1, 30), (9, 30)), "count of Ward 1: is -1"),
        (lambda: wards((2.5, 30), (9, 30)), "is 11.5; it must be a whole number"),
        (lambda: wards((31, 30), (9, 30)), "at most the whole, 30"),
        (lambda: wards((3, -4), (9, 30)), "people of Ward 1: is -4"),
        (lambda: Table("x", ON, (Area("A"),), ()), "no cells"),
        (lambda: Table("x", ON, (Area("A"),), (Cell("B", 1, 2),)), "there is no area 'B'"),
        (lambda: Table("x", ON, (Area("A", "B"),), (Cell("A", 1, 2),)), "within 'B'"),
        (lambda: Table("x", ON, (Area("A", "B"), Area("B", "A")), (Cell("A", 1, 2),)), "within itself"),
        (lambda: Table("x", ON, (Area("A"), Area("A")), (Cell("A", 1, 2),)), "area A stands 2 times"),
        (lambda: Table("x", ON, (Area("A"),), (Cell("A", 1, 2),) * 2), "cell A stands 2 times"),
        (lambda: Table("x", ON, (Area("A"),), (Cell("A", 1, 2, ("nurse",)),)), "1 values for 0 dimensions"),
        (
            lambda: by_role([*CROSSED[:-1], ("Medicine", ALL, 27, 100)]),
            "count of Medicine: is 27, but its parts",
        ),
        (lambda: by_role([*CROSSED[:-1], ("Medicine", ALL, 26, 99)]), "people of Medicine: is 99"),
        (lambda: hiding(wards((9, 30), (9, 30)), "Ward 7"), "Ward 7: is hidden, but no cell"),
        (lambda: Track((("A",), None), 3, (1,), (0,)), "2 places, 1 cases, 1 changes"),
        (lambda: Track((("A",), ("A",)), 3, (1, 3), (1,)), "cases go from 1 to 3, but 1 changed"),
        (lambda: Track((("A",),), 3, (4,), ()), "cases of A"),
        (lambda: replace(RULE, rounded_to=0), "rounded_to: is 0"),
        (lambda: replace(RULE, margin=-1), "margin"),
    ],
)
def test_what_can_not_be_a_table_is_refused(make, says):
    with pytest.raises(BadInput, match=says):
        make()


def test_rosters_of_another_length_or_place_are_refused():
    before = ((7, 40), (10, 40))
    first = audit(hiding(wards(*before))).passed_release()
    later = hiding(wards(*before, on=NEXT))
    with pytest.raises(UnusableTable, match="1 places for 2 snapshots"):
        audit(later, [first], tracks_of([History((("Ward 1",),), (True,))]))
    with pytest.raises(UnusableTable, match="no finest cell"):
        audit(later, [first], tracks_of([History((("Medicine",),) * 2, (True, True))]))


def test_an_area_without_people_stops_nothing():
    table = wards((0, 0), (12, 40), (11, 40), (3, 30))
    assert audit(suppress(table, RULE)).passed
