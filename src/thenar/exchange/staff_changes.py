"""What would a staff list change: who joins, moves, leaves, or is written differently?"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from thenar.exchange.problems import Problem, Problems
from thenar.exchange.staff_list import StaffList
from thenar.exchange.staff_row import StaffRow

UNUSUAL_LEAVER_SHARE = Decimal("0.2")


@dataclass(frozen=True, slots=True)
class CurrentWorker:
    """A worker with the present post, as kept before the list is taken over."""

    staff_number: str
    given_name: str
    family_name: str
    born_on: date | None
    email: str
    area: str
    role: str
    hours_share: Decimal | None


@dataclass(frozen=True, slots=True)
class Move:
    """A worker whose area, role or share of hours becomes another."""

    row: StaffRow
    before: CurrentWorker


@dataclass(frozen=True, slots=True)
class Correction:
    """A worker whose name, date of birth or email becomes another."""

    row: StaffRow
    before: CurrentWorker


@dataclass(frozen=True, slots=True)
class StaffChanges:
    """What a staff list changes.

    Parameters
    ----------
    joiners, movers, corrected
        In the order of the list; somebody who moves and is corrected is in both.
    leavers
        Current workers who are not on the list, or whose post has ended.
    unchanged
        Current workers for whom the list says nothing new.
    undecided
        Current workers on rows that could not be read; neither changed nor leavers.
    new_areas, new_roles
        Names in the list that are not known yet.
    problems
        Those of the list, and rows of people who left before they were ever known.
    unusual
        What would do great harm if it weren't meant; a person confirms it before anything is taken over.
    """

    joiners: tuple[StaffRow, ...]
    movers: tuple[Move, ...]
    corrected: tuple[Correction, ...]
    leavers: tuple[CurrentWorker, ...]
    unchanged: int
    undecided: int
    new_areas: tuple[str, ...]
    new_roles: tuple[str, ...]
    problems: tuple[Problem, ...]
    unusual: tuple[str, ...]

    @property
    def can_be_taken_over(self) -> bool:
        """Whether no serious problem stands against it; what is unusual still asks to be confirmed."""
        return not any(problem.serious for problem in self.problems)


def compare_staff(
    current: Mapping[str, CurrentWorker],
    listed: StaffList,
    *,
    known_areas: Collection[str],
    known_roles: Collection[str],
    today: date,
) -> StaffChanges:
    """Find what a staff list changes in the staff as kept.

    Parameters
    ----------
    current
        Staff number → worker, all who work here now.
    listed
        The list as read.
    known_areas, known_roles
        Names in use; a name that differs only in capitals or spaces is the known one.
    today
        Whoever's post ended before this day has left.

    Notes
    -----
    An empty cell, like a column that isn't there, never erases what is known.

    Examples
    --------
    >>> listed = StaffList((), (), "UTF-8", ",", columns={})
    >>> bob = CurrentWorker("7", "Bob", "Tern", None, "", "Ward 7", "nurse", None)
    >>> changes = compare_staff({"7": bob}, listed, known_areas=["Ward 7"], known_roles=["nurse"],
    ...                         today=date(2025, 6, 2))
    >>> changes.leavers == (bob,), changes.unusual[0][:40]
    (True, '1 of 1 current workers is not on the lis')
    """
    areas = _known_spellings((row.area for row in listed.rows), known_areas)
    roles = _known_spellings((row.role for row in listed.rows), known_roles)
    rows = [_spelled(row, areas[row.area], roles[row.role]) for row in listed.rows]
    working = {row.staff_number: row for row in rows if not _has_left(row, today)}
    staying = [(row, current[number]) for number, row in working.items() if number in current]
    joiners = tuple(row for number, row in working.items() if number not in current)
    movers = tuple(Move(row, before) for row, before in staying if _moves(row, before))
    corrected = tuple(Correction(row, before) for row, before in staying if _is_corrected(row, before))
    absent = [worker for number, worker in current.items() if number not in working]
    leavers = tuple(worker for worker in absent if worker.staff_number not in listed.unread_numbers)
    changed = {move.row.staff_number for move in movers} | {each.row.staff_number for each in corrected}
    return StaffChanges(
        joiners=joiners,
        movers=movers,
        corrected=corrected,
        leavers=leavers,
        unchanged=len(staying) - len(changed),
        undecided=len(absent) - len(leavers),
        new_areas=_not_in(known_areas, (row.area for row in working.values())),
        new_roles=_not_in(known_roles, (row.role for row in working.values())),
        problems=(*listed.problems, *_left_unknown(rows, current, today, listed.columns)),
        unusual=(
            *_many_leavers(len(leavers), len(current)),
            *_lost_zeros(joiners, leavers),
            *_reused_numbers(corrected),
        ),
    )


def worker_after(row: StaffRow, before: CurrentWorker | None) -> CurrentWorker:
    """Give the worker as kept after a row is taken over.

    Parameters
    ----------
    row
        The row of a joiner, a move or a correction.
    before
        The worker as kept until then; None for a joiner.

    Examples
    --------
    >>> row = StaffRow(2, "7", "Bob", "Tern", None, "", "Ward 8", "nurse", None, None, None)
    >>> bob = CurrentWorker("7", "Bob", "Tern", date(1980, 2, 1), "", "Ward 7", "nurse", None)
    >>> worker_after(row, bob).born_on
    datetime.date(1980, 2, 1)
    """
    return CurrentWorker(
        staff_number=row.staff_number,
        given_name=row.given_name,
        family_name=row.family_name,
        born_on=row.born_on or (before.born_on if before else None),
        email=row.email or (before.email if before else ""),
        area=row.area,
        role=row.role,
        hours_share=row.hours_share if row.hours_share is not None or not before else before.hours_share,
    )


def staff_after(current: Mapping[str, CurrentWorker], changes: StaffChanges) -> dict[str, CurrentWorker]:
    """Give the staff as kept after all changes are taken over; `current` stays as it is.

    Examples
    --------
    >>> row = StaffRow(2, "7", "Bob", "Tern", None, "", "Ward 8", "nurse", None, None, None)
    >>> listed = StaffList((row,), (), "UTF-8", ",", columns={})
    >>> changes = compare_staff({}, listed, known_areas=[], known_roles=[], today=date(2025, 6, 2))
    >>> staff_after({}, changes)["7"].area, changes.new_areas
    ('Ward 8', ('Ward 8',))
    """
    after = dict(current)
    for worker in changes.leavers:
        del after[worker.staff_number]
    changed: tuple[Move | Correction, ...] = (*changes.movers, *changes.corrected)
    for change in changed:
        after[change.row.staff_number] = worker_after(change.row, change.before)
    for row in changes.joiners:
        after[row.staff_number] = worker_after(row, None)
    return after


def _has_left(row: StaffRow, today: date) -> bool:
    return row.ends_on is not None and row.ends_on < today


def _moves(row: StaffRow, before: CurrentWorker) -> bool:
    after = worker_after(row, before)
    return (after.area, after.role, after.hours_share) != (before.area, before.role, before.hours_share)


def _is_corrected(row: StaffRow, before: CurrentWorker) -> bool:
    after = worker_after(row, before)
    return (after.given_name, after.family_name, after.born_on, after.email) != (
        before.given_name,
        before.family_name,
        before.born_on,
        before.email,
    )


def _known_spellings(names: Iterable[str], known: Collection[str]) -> dict[str, str]:
    """Give each name the known one that it equals but for capitals and spaces, else its first spelling."""
    exact = frozenset(known)
    spelling = {_fold(name): name for name in sorted(exact, reverse=True)}
    return {name: name if name in exact else spelling.setdefault(_fold(name), name) for name in names}


def _spelled(row: StaffRow, area: str, role: str) -> StaffRow:
    return row if (row.area, row.role) == (area, role) else replace(row, area=area, role=role)


def _not_in(known: Collection[str], names: Iterable[str]) -> tuple[str, ...]:
    exact = frozenset(known)
    return tuple(name for name in dict.fromkeys(names) if name not in exact)


def _fold(name: str) -> str:
    return "".join(name.casefold().split())


def _left_unknown(
    rows: Iterable[StaffRow], current: Mapping[str, CurrentWorker], today: date, columns: Mapping[str, str]
) -> Iterable[Problem]:
    problems = Problems(columns)
    for row in rows:
        if _has_left(row, today) and row.staff_number not in current:
            says = f"The post ended on {row.ends_on}, and the person was not known here; nobody is added."
            problems.ask(row.line, "ends_on", says, "Nothing, if that is right.", serious=False)
    return problems.listed()


def _many_leavers(leavers: int, current: int) -> list[str]:
    if leavers <= UNUSUAL_LEAVER_SHARE * current:
        return []
    are = "is" if leavers == 1 else "are"
    return [
        f"{leavers:,} of {current:,} current workers {are} not on the list and would be recorded as leavers. "
        f"Is it a list of the whole hospital?"
    ]


def _lost_zeros(joiners: Iterable[StaffRow], leavers: Iterable[CurrentWorker]) -> list[str]:
    bare = {worker.staff_number.lstrip("0") for worker in leavers}
    lines = [row.line for row in joiners if row.staff_number.lstrip("0") in bare]
    if not lines:
        return []
    return [
        f"{_count_people(len(lines))} would join with the staff number of somebody who leaves, but for zeros "
        f"at its beginning ({_name_lines(lines)}). A spreadsheet may have dropped the zeros."
    ]


def _reused_numbers(corrected: Iterable[Correction]) -> list[str]:
    lines = [change.row.line for change in corrected if _is_another_person(change)]
    if not lines:
        return []
    return [
        f"{_count_people(len(lines))} would differ in two or all of given name, family name and birth "
        f"under the same staff number ({_name_lines(lines)}). If the number was given to somebody new, "
        f"a stranger would get the old record."
    ]


def _is_another_person(change: Correction) -> bool:
    row, before = change.row, change.before
    differences = (
        _fold(row.given_name) != _fold(before.given_name),
        _fold(row.family_name) != _fold(before.family_name),
        None not in (row.born_on, before.born_on) and row.born_on != before.born_on,
    )
    return sum(differences) >= 2


def _count_people(count: int) -> str:
    return "One person" if count == 1 else f"{count:,} people"


def _name_lines(lines: list[int]) -> str:
    named = ", ".join(str(line) for line in lines[:10])
    return f"line{'s' if len(lines) > 1 else ''} {named}{' and more' if len(lines) > 10 else ''}"
