"""Who stood in which cell at each snapshot, as far as a colleague who reads every roster knows?"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from thenar.population.counts import check_count, check_part
from thenar.population.disclosure_tables import Key, Table, UnusableTable, finest


@dataclass(frozen=True, slots=True)
class Track:
    """People who were in the same cells at every snapshot.

    Parameters
    ----------
    places
        For each snapshot, oldest first, the key of the finest cell they were in; None: not there.
    people
        How many they are. [1 or more]
    cases
        For each snapshot how many of them had the finding; 0 where they were not there.
    changed
        For each step from one snapshot to the next, in how many of them the finding came or went.
    """

    places: tuple[Key | None, ...]
    people: int
    cases: tuple[int, ...]
    changed: tuple[int, ...]

    def __post_init__(self) -> None:
        name = " > ".join("-" if place is None else place[0] for place in self.places)
        check_count(f"people of {name}", self.people)
        if len(self.cases) != len(self.places) or len(self.changed) != max(0, len(self.places) - 1):
            raise UnusableTable(
                f"{name}: {len(self.places)} places, {len(self.cases)} cases, {len(self.changed)} changes.",
                "Give a place and a count of cases for each snapshot, and a change for each step between.",
            )
        for count in (*self.cases, *self.changed):
            check_part(f"cases of {name}", count, self.people)
        for at, changed in enumerate(self.changed):
            before, after = self.cases[at], self.cases[at + 1]
            if self.stays_at(at) and abs(after - before) > changed:
                raise UnusableTable(
                    f"{name}: cases go from {before} to {after}, but {changed} changed.",
                    "Count in how many people the finding came or went.",
                )

    def stays_at(self, step: int) -> bool:
        """Whether they were there both before and after that step."""
        return self.places[step] is not None and self.places[step + 1] is not None


@dataclass(frozen=True, slots=True)
class History:
    """One person, without a name: where they were at each snapshot, and whether they had the finding then."""

    places: tuple[Key | None, ...]
    had: tuple[bool, ...]


def tracks_of(histories: Iterable[History]) -> tuple[Track, ...]:
    """Histories put together by places.

    Examples
    --------
    Two stay on a ward and one of them falls ill; one joins.

    >>> ward = ("Ward 1",)
    >>> stay, ill = History((ward, ward), (False, False)), History((ward, ward), (False, True))
    >>> for track in tracks_of([stay, ill, History((None, ward), (False, True))]):
    ...     print(track.people, track.cases, track.changed)
    2 (0, 1) (1,)
    1 (0, 1) (0,)
    """
    together: dict[tuple[Key | None, ...], list[tuple[bool, ...]]] = {}
    for history in histories:
        together.setdefault(history.places, []).append(history.had)
    return tuple(_track(places, had) for places, had in together.items())


def _track(places: tuple[Key | None, ...], had: list[tuple[bool, ...]]) -> Track:
    there = [place is not None for place in places]
    cases = tuple(
        sum(column) if here else 0 for column, here in zip(zip(*had, strict=True), there, strict=True)
    )
    changed = tuple(
        sum(one[at] != one[at + 1] for one in had) if there[at] and there[at + 1] else 0
        for at in range(len(places) - 1)
    )
    return Track(places, len(had), cases, changed)


def check_tracks(tracks: Sequence[Track], tables: Sequence[Table]) -> None:
    """Refuse tracks that do not add up to the tables they are said to be behind."""
    for nth, table in enumerate(tables):
        cells = {table.cells[at].key: table.cells[at] for at in finest(table)}
        counts, people = dict.fromkeys(cells, 0), dict.fromkeys(cells, 0)
        for track in tracks:
            place = _place(track, nth, len(tables), cells)
            if place is not None:
                counts[place] += track.cases[nth]
                people[place] += track.people
        for key, cell in cells.items():
            if (counts[key], people[key]) != (cell.count, cell.people):
                raise UnusableTable(
                    f"{cell.name} on {table.on}: the table has {cell.count} of {cell.people}, "
                    f"the rosters {counts[key]} of {people[key]}.",
                    "Freeze the table and the rosters from the same records.",
                )


def _place(track: Track, nth: int, snapshots: int, cells: Mapping[Key, object]) -> Key | None:
    if len(track.places) != snapshots:
        raise UnusableTable(
            f"A track has {len(track.places)} places for {snapshots} snapshots.",
            "Give one for each snapshot, null where they were not there.",
        )
    place = track.places[nth]
    if place is not None and place not in cells:
        raise UnusableTable(f"A track stands in {place!r}, which is no finest cell.", "Name the finest cell.")
    return place
