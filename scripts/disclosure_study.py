"""Whether anyone can be recognised in the figures of 1,000 invented hospitals over 24 months.

    python scripts/disclosure_study.py [FIRST] [LAST]
    python scripts/disclosure_study.py --read FILE...

Each hospital has 20 to 60 wards of 8 to 60 staff in departments; people join, leave and move; whether someone
has hand dermatitis does not change, which makes subtraction easiest. Every month a table is suppressed,
audited against all earlier ones and released. Then two attackers try: one who knows every roster, and one who
also knows all but two people of a ward. Prints one line for each hospital and a summary; passes or fails
nothing.
"""

import argparse
import json
import random
from dataclasses import asdict, dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from time import process_time

import numpy as np
from scipy.sparse import eye_array, hstack

from thenar.knowledge import load
from thenar.population.disclosure import audit, suppress
from thenar.population.disclosure_attack import Aims, Worlds, missed_aims, nobody_known
from thenar.population.disclosure_knowledge import Knowledge, of_tracks
from thenar.population.disclosure_release import PassedRelease
from thenar.population.disclosure_rule import rule_of
from thenar.population.disclosure_tables import Area, Cell, Key, Table
from thenar.population.disclosure_tracks import History, Track, tracks_of

MONTHS = 24
FIRST_DAY = date(2024, 1, 1)
LEAVES, MOVES = 0.012, 0.004  # a person's chance in a month; who leaves is replaced
PAIRS = 10  # tried by the second attacker in each hospital


@dataclass
class Person:
    places: list[Key | None]
    has: bool


@dataclass(frozen=True)
class Hospital:
    """Everyone who ever worked there, with their wards month by month."""

    areas: tuple[Area, ...]
    people: list[Person]

    def table(self, month: int) -> Table:
        within = {area.name: area.within for area in self.areas}
        counts: dict[str, list[int]] = {area.name: [0, 0] for area in self.areas}
        for person in self.people:
            at = person.places[month][0] if person.places[month] else None
            while at is not None:
                counts[at][0] += person.has
                counts[at][1] += 1
                at = within[at]
        cells = tuple(Cell(name, count, people) for name, (count, people) in counts.items())
        return Table("hand dermatitis", FIRST_DAY + timedelta(days=30 * month), self.areas, cells)

    def tracks(self, months: int, alone: tuple[Person, ...] = ()) -> tuple[Track, ...]:
        """Tracks up to a month; `alone` stand first, each as a track of their own."""
        others = [_history(one, months) for one in self.people if not any(one is each for each in alone)]
        seen = [one for one in others if any(one.places)]
        first = tuple(track for one in alone for track in tracks_of([_history(one, months)]))
        return first + tracks_of(seen)


def _history(person: Person, months: int) -> History:
    return History(tuple(person.places[:months]), tuple([person.has] * months))


def a_hospital(seed: int) -> Hospital:
    draw = random.Random(seed)
    number = draw.randint(20, 60)
    wards = [f"Ward {nth}" for nth in range(number)]
    departments = max(2, number // draw.randint(4, 9))
    areas = [Area("Hospital"), *(Area(f"Department {nth}", "Hospital") for nth in range(departments))]
    areas += [Area(ward, f"Department {nth % departments}") for nth, ward in enumerate(wards)]
    risk = {ward: draw.betavariate(2, 6) for ward in wards}  # one in four on average
    people = [
        Person([(ward,)], draw.random() < risk[ward]) for ward in wards for _ in range(draw.randint(8, 60))
    ]
    here = list(people)
    for _ in range(1, MONTHS):
        stay: list[Person] = []
        for person in here:
            chance = draw.random()
            ward = person.places[-1]
            if chance < LEAVES:
                person.places.append(None)
                joiner = Person([None] * (len(person.places) - 1) + [ward], draw.random() < risk[ward[0]])
                people.append(joiner)
                stay.append(joiner)
            else:
                person.places.append((draw.choice(wards),) if chance < LEAVES + MOVES else ward)
                stay.append(person)
        here = stay
        months = max(len(person.places) for person in people)
        for person in people:
            person.places += [None] * (months - len(person.places))
    return Hospital(tuple(areas), people)


@dataclass(frozen=True)
class Outcome:
    """What came of one hospital."""

    seed: int
    people: int
    wards: int
    wards_shown: float
    refused_at_first: int
    determined: int
    insider_asked: int
    insider_determined: int
    seconds: float


def try_hospital(seed: int, *, months: int = MONTHS, pairs: int = PAIRS) -> Outcome:
    """Release every month, then attack everything released."""
    started = process_time()
    rule = rule_of(load(), FIRST_DAY)
    hospital = a_hospital(seed)
    passed: list[PassedRelease] = []
    shown = refused = 0
    for month in range(months):
        table, tracks = hospital.table(month), hospital.tracks(month + 1)
        alone = suppress(table, rule)
        release = suppress(table, rule, earlier=passed, tracks=tracks)
        refused += alone.hidden != release.hidden
        passed.append(audit(release, passed, tracks, with_limits=False).passed_release())
        shown += sum(cell.key not in release.hidden for cell in table.cells if cell.area.startswith("Ward"))
    wards = sum(area.name.startswith("Ward") for area in hospital.areas)
    asked, found = by_insider(hospital, passed, random.Random(seed), pairs)
    return Outcome(
        seed,
        len(hospital.people),
        wards,
        shown / wards / months,
        refused,
        determined(hospital, passed),
        asked,
        found,
        process_time() - started,
    )


def determined(hospital: Hospital, passed: list[PassedRelease]) -> int:
    """People whose finding is certain to someone with all rosters and all tables."""
    tracks = hospital.tracks(len(passed))
    known = _everything(passed, tracks)
    aims = nobody_known(known)
    last = np.array([cell.key in passed[-1].release.hidden for cell in passed[-1].release.table.cells])
    groups = {
        int(aims.targets[[target]].indices[0]) for target, _, _ in missed_aims(Worlds(known), aims, last)
    }
    return int(sum(known.people[group] for group in groups))


def by_insider(
    hospital: Hospital, passed: list[PassedRelease], draw: random.Random, pairs: int
) -> tuple[int, int]:
    """Of people paired at random on a ward: how many were asked about, and how many were certain."""
    asked = found = 0
    for _ in range(pairs):
        month = draw.randrange(len(passed))
        ward = draw.choice([area.name for area in hospital.areas if area.name.startswith("Ward")])
        on_ward = [one for one in hospital.people if one.places[month] == (ward,)]
        if len(on_ward) < 2:
            continue
        pair = tuple(draw.sample(on_ward, 2))
        asked += 2
        found += _certain(hospital, passed, pair, on_ward)
    return asked, found


def _certain(
    hospital: Hospital, passed: list[PassedRelease], pair: tuple[Person, ...], on_ward: list[Person]
) -> int:
    others = tuple(one for one in on_ward if not any(one is each for each in pair))
    tracks = hospital.tracks(len(passed), alone=pair + others)
    known = _everything(passed, tracks)
    inside = slice(2, 2 + len(others))
    # what is known of the others is taken off everything they are counted in
    ties, cells = known.ties[:, 2 + len(others) :], known.cells[:, 2 + len(others) :]
    off_ties, off_cells = (
        known.ties[:, inside] @ known.truth[inside],
        known.cells[:, inside] @ known.truth[inside],
    )
    keep = np.r_[0:2, 2 + len(others) : len(known.people)]
    told = replace(
        known,
        ties=hstack([known.ties[:, :2], ties], format="csr"),
        cells=hstack([known.cells[:, :2], cells], format="csr"),
        tie_least=known.tie_least - off_ties,
        tie_most=known.tie_most - off_ties,
        least=known.least - off_cells,
        most=known.most - off_cells,
        people=known.people[keep],
        truth=known.truth[keep],
    )
    of_pair = Aims(eye_array(len(keep), format="csr")[:2], np.zeros(2), np.ones(2), single=True)
    last = np.array([cell.key in passed[-1].release.hidden for cell in passed[-1].release.table.cells])
    return len({target for target, _, _ in missed_aims(Worlds(told), of_pair, last)})


def _everything(passed: list[PassedRelease], tracks: tuple[Track, ...]) -> Knowledge:
    last = passed[-1].release
    return of_tracks(last.table, last.rule, tracks, [each.release.published for each in passed[:-1]])


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parse.add_argument("first", type=int, nargs="?", default=0)
    parse.add_argument("last", type=int, nargs="?", default=1000)
    parse.add_argument(
        "--read", type=Path, nargs="+", help="sum up what earlier runs printed, and try nothing"
    )
    asked = parse.parse_args()
    if asked.read:
        lines = [
            line for path in asked.read for line in path.read_text().splitlines() if line.startswith("{")
        ]
        outcomes = [Outcome(**json.loads(line)) for line in lines]
    else:
        outcomes = [_told(try_hospital(seed)) for seed in range(asked.first, asked.last)]
    print(summary(outcomes))


def _told(outcome: Outcome) -> Outcome:
    print(json.dumps(asdict(outcome)), flush=True)
    return outcome


def summary(outcomes: list[Outcome]) -> str:
    """The table of docs/explanation/disclosure.md."""
    people = sum(one.people for one in outcomes)
    asked = sum(one.insider_asked for one in outcomes)
    found = sum(one.insider_determined for one in outcomes)
    months = len(outcomes) * MONTHS
    changed = sum(one.refused_at_first for one in outcomes)
    shown = sum(one.wards_shown * one.wards for one in outcomes) / sum(one.wards for one in outcomes)
    rows = (
        ("hospitals", f"{len(outcomes):,}"),
        ("monthly releases", f"{months:,}"),
        ("people who ever worked there", f"{people:,}"),
        ("ward figures that show", f"{shown:.1%}"),
        ("releases in which earlier ones made more cells hidden", f"{changed:,} ({changed / months:.1%})"),
        (
            "people determined by someone who knows every roster",
            f"{sum(one.determined for one in outcomes):,}",
        ),
        ("people asked about who knows all but two on the ward", f"{asked:,}"),
        ("of these determined", f"{found:,} ({found / max(asked, 1):.1%})"),
        ("median seconds a hospital", f"{np.median([one.seconds for one in outcomes]):.1f}"),
    )
    return "\n".join(
        ["| what | figure |", "| --- | --- |", *(f"| {name} | {value} |" for name, value in rows)]
    )


if __name__ == "__main__":
    main()
