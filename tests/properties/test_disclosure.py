"""Suppression and attack against brute force, and what holds for every release.

The brute force shares no code with either: it writes down every way in which a small table could have come
about, keeps those that fit what is published, and tries every set of cells to hide.
"""

import random
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thenar.knowledge import load
from thenar.population.disclosure import audit, suppress
from thenar.population.disclosure_attack import limits_of
from thenar.population.disclosure_knowledge import of_table
from thenar.population.disclosure_release import Release
from thenar.population.disclosure_rule import DisclosureRule, rule_of
from thenar.population.disclosure_tables import ALL, Area, Cell, Table
from thenar.population.disclosure_tracks import History, tracks_of
from thenar.population.disclosure_tree import limits_in_tree

INSTANCES = 300
BATCHES = 10
ON = date(2026, 3, 1)
RULE = rule_of(load(), ON)


def small_table(seed):
    """Up to four finest cells of 2 to 9 people: a tree of three levels, one level, or wards by roles."""
    draw = random.Random(seed)
    shape = draw.choice(("tree", "flat", "crossed"))
    if shape == "crossed":
        areas = (Area("A"), Area("W0", "A"), Area("W1", "A"))
        inner = [(f"W{ward}", f"r{role}") for ward in (0, 1) for role in (0, 1)]
        above = {
            key: [(a, r) for a in (key[0], "A") for r in (key[1], ALL) if (a, r) != key] for key in inner
        }
    elif shape == "flat":
        inner = [(f"W{ward}",) for ward in range(draw.choice((3, 4)))]
        areas = (Area("A"), *(Area(key[0], "A") for key in inner))
        above = {key: [("A",)] for key in inner}
    else:
        inner = [("W0",), ("W1",), ("W2",), ("W3",)]
        areas = (
            Area("A"),
            Area("D0", "A"),
            Area("D1", "A"),
            *(Area(f"W{n}", f"D{n // 2}") for n in range(4)),
        )
        above = {key: [(f"D{nth // 2}",), ("A",)] for nth, key in enumerate(inner)}
    counts = {}
    for key in inner:
        people = draw.randint(2, 9)
        cases = draw.randint(0, people)
        for each in (key, *above[key]):
            before = counts.get(each, (0, 0))
            counts[each] = before[0] + cases, before[1] + people
    cells = tuple(Cell(key[0], cases, people, key[1:]) for key, (cases, people) in counts.items())
    table = Table("x", ON, areas, cells, ("role",) if shape == "crossed" else ())
    rule = DisclosureRule(
        least_people=draw.choice((3, 5)),
        least_with=draw.choice((1, 2)),
        least_without=draw.choice((1, 2)),
        rounded_to=draw.choice((1, 1, 3)),
        margin=draw.choice((1, 2, 3)),
        days_between=28,
    )
    members = [[nth for nth, key in enumerate(inner) if each in (key, *above[key])] for each in counts]
    return table, rule, members, sums_by_hand(shape, list(counts), inner)


def sums_by_hand(shape, keys, inner):
    """Places of the cells of each sum, written out."""
    at = {key: nth for nth, key in enumerate(keys)}
    if shape == "flat":
        return [[at["A",], *(at[key] for key in inner)]]
    if shape == "tree":
        return [[at["A",], at["D0",], at["D1",]]] + [
            [at[f"D{d}",], at[f"W{2 * d}",], at[f"W{2 * d + 1}",]] for d in (0, 1)
        ]
    rows = [[at[a, ALL], at[a, "r0"], at[a, "r1"]] for a in ("A", "W0", "W1")]
    return rows + [[at["A", r], at["W0", r], at["W1", r]] for r in ("r0", "r1", ALL)]


def written(count, to):
    """The nearest multiple, worked another way."""
    return min(range(0, count + 2 * to, to), key=lambda multiple: (abs(multiple - count), -multiple))


def shows_alone(count, people, rule):
    return people >= rule.least_people and count >= rule.least_with and people - count >= rule.least_without


def worlds_of(table, rule, members):
    """Values of all cells in every world, and for each cell the worlds in which it is published as it is."""
    inner = max(max(each) for each in members) + 1
    people = [
        next(table.cells[at].people for at, each in enumerate(members) if each == [nth])
        for nth in range(inner)
    ]
    finest = np.array(list(product(*(range(n + 1) for n in people))))
    values = np.stack([finest[:, each].sum(axis=1) for each in members], axis=1)
    same = []
    for at, cell in enumerate(table.cells):
        fits = np.array(
            [
                written(count, rule.rounded_to) == written(cell.count, rule.rounded_to)
                and (shows_alone(count, cell.people, rule) or not shows_alone(cell.count, cell.people, rule))
                for count in range(cell.people + 1)
            ]
        )
        same.append(fits[values[:, at]])
    return values, same


def least_by_brute_force(table, rule, members, sums):
    values, same = worlds_of(table, rule, members)
    must = [at for at, cell in enumerate(table.cells) if not shows_alone(cell.count, cell.people, rule)]
    free = [at for at in range(len(table.cells)) if at not in must]
    best = None
    for number in range(len(free) + 1):
        for more in combinations(free, number):
            hidden = {*must, *more}
            lost = sum(table.cells[at].people for at in hidden)
            if best is not None and lost >= best:
                continue
            if any(len(hidden.intersection(each)) == 1 for each in sums):
                continue
            fits = np.ones(len(values), dtype=bool)
            for at in free:
                if at not in hidden:
                    fits &= same[at]
            seen = values[fits]
            if all(
                seen[:, at].min() <= max(0, table.cells[at].count - rule.margin)
                and seen[:, at].max() >= min(table.cells[at].people, table.cells[at].count + rule.margin)
                for at in must
            ):
                best = lost
    return best


@pytest.mark.parametrize("batch", range(BATCHES))
def test_no_fewer_people_could_be_hidden(batch):
    for seed in range(batch, INSTANCES, BATCHES):
        table, rule, members, sums = small_table(seed)
        release = suppress(table, rule)
        lost = sum(cell.people for cell in table.cells if cell.key in release.hidden)
        assert lost == least_by_brute_force(table, rule, members, sums), seed


def test_the_tables_tried_need_every_kind_of_hiding():
    kinds = []
    for seed in range(INSTANCES):
        table, rule, _, _ = small_table(seed)
        must = {cell.key for cell in table.cells if not shows_alone(cell.count, cell.people, rule)}
        more = suppress(table, rule).hidden - must
        kinds.append("none" if not must else "more" if more else "only these")
    assert kinds.count("none") >= 5
    assert min(kinds.count(kind) for kind in ("more", "only these")) >= 50


@pytest.mark.parametrize("batch", range(BATCHES))
def test_the_attackers_limits_are_exact(batch):
    draw = random.Random(batch)
    for seed in range(batch, INSTANCES, BATCHES):
        table, rule, members, _ = small_table(seed)
        values, same = worlds_of(table, rule, members)
        hidden = np.array([draw.random() < 0.5 for _ in table.cells])
        fits = np.ones(len(values), dtype=bool)
        for at in np.flatnonzero(~hidden):
            fits &= same[at]
        known = of_table(table, rule)
        found = limits_of(known, hidden, known.cells)
        assert found[:, 0].tolist() == values[fits].min(axis=0).tolist(), seed
        assert found[:, 1].tolist() == values[fits].max(axis=0).tolist(), seed


@pytest.mark.parametrize("batch", range(BATCHES))
def test_limits_in_a_tree_need_no_solver(batch):
    draw = random.Random(batch)
    for seed in range(batch, INSTANCES, BATCHES):
        table, rule, members, _ = small_table(seed)
        if table.dimensions:
            continue
        values, same = worlds_of(table, rule, members)
        hidden = np.array([draw.random() < 0.5 for _ in table.cells])
        fits = np.ones(len(values), dtype=bool)
        for at in np.flatnonzero(~hidden):
            fits &= same[at]
        found = limits_in_tree(table, rule, hidden)
        assert found[:, 0].tolist() == values[fits].min(axis=0).tolist(), seed
        assert found[:, 1].tolist() == values[fits].max(axis=0).tolist(), seed


def three_months(seed):
    """Two wards of 12 to 16 people, in each one or two who come or go; nobody's finding changes."""
    draw = random.Random(seed)
    histories = []
    for ward in ("W0", "W1"):
        cases = draw.choice((6, 7, 7, 8))
        stay = [((ward,),) * 3] * (cases + draw.randint(6, 7))
        come = [draw.choice(((1, 2), (2, 2), (0, 0), (0, 1))) for _ in range(draw.randint(1, 2))]
        moves = [tuple((ward,) if first <= at <= last else None for at in range(3)) for first, last in come]
        has = [nth < cases for nth in range(len(stay))] + [draw.random() < 0.6 for _ in moves]
        for places, ill in zip(stay + moves, has, strict=True):
            histories.append(History(places, tuple(ill and place is not None for place in places)))
    return histories


def month_of(histories, month):
    here = [(one.places[month][0], one.had[month]) for one in histories if one.places[month]]
    counts = {ward: [has for place, has in here if place == ward] for ward in ("W0", "W1")}
    cells = [Cell(ward, sum(had), len(had)) for ward, had in counts.items()]
    cells.append(Cell("A", sum(cell.count for cell in cells), len(here)))
    on = ON + timedelta(days=31 * month)
    return Table("x", on, (Area("A"), Area("W0", "A"), Area("W1", "A")), tuple(cells))


def certain_by_brute_force(histories, releases):
    """Groups of people of whom all fitting worlds say the same, by all releases together."""
    groups = {}
    for one in histories:
        groups.setdefault(one.places, []).append(any(one.had))
    keys = list(groups)
    worlds = np.array(list(product(*(range(len(groups[key]) + 1) for key in keys))), dtype=np.int16)
    fits = np.ones(len(worlds), dtype=bool)
    for month, release in enumerate(releases):
        for cell in release.table.cells:
            if cell.key in release.hidden:
                continue
            counted = [
                nth for nth, key in enumerate(keys) if key[month] and cell.area in (key[month][0], "A")
            ]
            values = worlds[:, counted].sum(axis=1)
            fits &= np.array(
                [
                    written(count, 5) == written(cell.count, 5) and shows_alone(count, cell.people, RULE)
                    for count in range(cell.people + 1)
                ]
            )[values]
    seen = worlds[fits]
    return {
        key
        for nth, key in enumerate(keys)
        if seen[:, nth].max() == 0 or seen[:, nth].min() == len(groups[key])
    }


def test_nobody_is_certain_from_three_releases_and_carelessness_is_found():
    kinds = {"safe": 0, "given away": 0}
    for seed in range(40):
        histories = three_months(seed)
        passed, careless = [], []
        for month in range(3):
            table = month_of(histories, month)
            past = [
                replace(one, places=one.places[: month + 1], had=one.had[: month + 1]) for one in histories
            ]
            tracks = tracks_of(one for one in past if any(one.places))
            release = suppress(table, RULE, earlier=passed, tracks=tracks)
            passed.append(audit(release, passed, tracks).passed_release())
            careless.append(audit(suppress(table, RULE)).passed_release())
        assert not certain_by_brute_force(histories, [one.release for one in passed]), seed
        away = certain_by_brute_force(histories, [one.release for one in careless])
        found = audit(careless[-1].release, careless[:-1], tracks_of(histories))
        assert found.passed == (not away), seed
        kinds["given away" if away else "safe"] += 1
    assert min(kinds.values()) >= 5, kinds


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_what_is_suppressed_passes_its_audit_and_the_truth_fits(seed):
    table, _, _, _ = small_table(seed)
    checked = audit(suppress(table, RULE))
    assert checked.passed
    for one in checked.limits:
        cell = next(cell for cell in table.cells if cell.name == one.cell)
        assert one.least <= cell.count <= one.most


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 4))
def test_a_stricter_rule_never_loses_less(seed, more):
    table, rule, _, _ = small_table(seed)
    stricter = replace(rule, margin=rule.margin + more)

    def lost(rule):
        hidden = suppress(table, rule).hidden
        return sum(cell.people for cell in table.cells if cell.key in hidden)

    assert lost(stricter) >= lost(rule)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.randoms(use_true_random=False))
def test_hiding_more_never_tells_more(seed, draw):
    table, rule, _, _ = small_table(seed)
    known = of_table(table, rule)
    some = np.array([draw.random() < 0.4 for _ in table.cells])
    more = some | np.array([draw.random() < 0.4 for _ in table.cells])
    before, after = (limits_of(known, hidden, known.cells) for hidden in (some, more))
    assert (after[:, 0] <= before[:, 0]).all()
    assert (after[:, 1] >= before[:, 1]).all()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_any_cell_the_rule_hides_if_shown_is_named(seed):
    table, _, _, _ = small_table(seed)
    must = [cell for cell in table.cells if not shows_alone(cell.count, cell.people, RULE)]
    for cell in must[:2]:
        release = suppress(table, RULE)
        failed = audit(Release(table, release.hidden - {cell.key}, RULE))
        assert not failed.passed
        assert cell.name in {failure.cell for failure in failed.failures}
