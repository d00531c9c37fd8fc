"""What is wrong in a file, and where does its sender see it?"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

MAX_LISTED = 500  # of either kind; beyond that a person needs the pattern, not the list


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in a file that its sender should put right, at the place where they see it.

    Parameters
    ----------
    line
        Line of the file as a text editor counts, from 1; for a row over several lines, its first.
    column
        The column's header as it stands in the file; empty when the whole row is meant.
    says
        What is wrong. Never a name or an identifier; a cell only if it is a date or a number.
    todo
        What to do about it.
    serious
        Whether the file can't be taken over until this is put right.

    Examples
    --------
    >>> print(Problem(14, "Start date", "31/02/2025 is not in the calendar.", "Correct the date.", True))
    Line 14, column 'Start date': 31/02/2025 is not in the calendar. Correct the date.
    """

    line: int
    column: str
    says: str
    todo: str
    serious: bool

    def __str__(self) -> str:
        place = f"Line {self.line}, column '{self.column}'" if self.column else f"Line {self.line}"
        return f"{place}: {self.says} {self.todo}"


class Problems:
    """Collects the problems of one file; keeps the first few hundred of either kind and counts the rest.

    Parameters
    ----------
    columns
        Our field → the header found, so that a problem names the column as its sender does.
    """

    def __init__(self, columns: Mapping[str, str]) -> None:
        self._columns = columns
        self._kept: dict[bool, list[Problem]] = {True: [], False: []}
        self._beyond = {True: 0, False: 0}
        self._last_line = 1
        self._asked: set[tuple[int, str]] = set()

    def add(self, problem: Problem) -> None:
        """Note a problem."""
        self._last_line = max(self._last_line, problem.line)
        self._asked.add((problem.line, problem.column))
        if len(self._kept[problem.serious]) < MAX_LISTED:
            self._kept[problem.serious].append(problem)
        else:
            self._beyond[problem.serious] += 1

    def ask(self, line: int, field: str, says: str, todo: str, *, serious: bool = True) -> None:
        """Note a problem with one of our fields; an empty field means the whole row."""
        self.add(Problem(line, self._columns.get(field, ""), says, todo, serious))

    def is_asked_about(self, line: int, field: str) -> bool:
        """Whether a problem of that very cell was noted."""
        return field in self._columns and (line, self._columns[field]) in self._asked

    @property
    def any_serious(self) -> bool:
        """Whether one of them stands against taking the file over."""
        return bool(self._kept[True])

    def listed(self) -> Iterator[Problem]:
        """Give those kept in the order of their lines, then how many more there are."""
        yield from sorted(chain(*self._kept.values()), key=lambda problem: problem.line)
        for serious, count in self._beyond.items():
            if count:
                kind = "serious problems" if serious else "things to look at"
                says = f"{count:,} more {kind} are not listed."
                yield Problem(self._last_line, "", says, "Put the listed ones right first.", serious)
