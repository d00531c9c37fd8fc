"""Which days of leave stand in a list from the personnel system? They go into an extract only."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from thenar.errors import BadInput
from thenar.exchange.delimited import Row, open_delimited
from thenar.exchange.problems import Problem

COLUMNS = ("staff number", "from", "until")
_SHOWN = 5


@dataclass(frozen=True, slots=True)
class LeaveRow:
    """Days on which a worker does not work, first and last included; without a last day it still runs."""

    worker: int
    from_on: date
    until_on: date | None


class UnusableLeave(BadInput):
    """A list of leave with something to put right. Told by line, never by staff number."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        more = f" And {len(problems) - _SHOWN:,} more." if len(problems) > _SHOWN else ""
        super().__init__(
            what=" ".join(str(problem) for problem in problems[:_SHOWN]) + more,
            why="Leave passed over would count as time at risk; no extract was written.",
            todo="Put the list right: staff number, from and until, with dates like 2025-12-31.",
        )
        self.problems = tuple(problems)


def read_leave(raw: bytes, *, name: str, workers: Mapping[str, int]) -> tuple[LeaveRow, ...]:
    """Read a list of leave, all of it or none.

    Parameters
    ----------
    raw
        CSV with the columns `staff number`, `from` and `until`; an empty `until` is leave that still runs.
    name
        What the person calls the file, for messages.
    workers
        The record's number of each worker, by staff number.

    Raises
    ------
    UnusableLeave
        A column is missing, a worker is unknown, or a date is none or stands before the first day.

    Examples
    --------
    >>> text = b"staff number;from;until\\n12;2025-03-01;2025-03-31\\n"
    >>> read_leave(text, name="leave.csv", workers={"12": 7})
    (LeaveRow(worker=7, from_on=datetime.date(2025, 3, 1), until_on=datetime.date(2025, 3, 31)),)
    """
    rows = open_delimited(raw, name=name, kind="list of leave", recognise=_known_headers).rows()
    read = [_read(cells, line, workers) for line, cells in _named(rows)]
    if problems := [each for each in read if isinstance(each, Problem)]:
        raise UnusableLeave(problems)
    return tuple(each for each in read if isinstance(each, LeaveRow))


def _known_headers(cells: Sequence[str]) -> int:
    return sum(cell.strip().lower() in COLUMNS for cell in cells)


def _named(rows: Iterator[Row | Problem]) -> Iterator[tuple[int, dict[str, str]]]:
    """Each row's cells by column."""
    headers: list[str] | None = None
    for row in rows:
        if isinstance(row, Problem):
            raise UnusableLeave([row])
        cells = [cell.strip() for cell in row.cells]
        if headers is None:
            headers = [cell.lower() for cell in cells]
            _refuse_headers(headers)
        else:
            yield row.line, dict(zip(headers, cells, strict=False))


def _refuse_headers(headers: Sequence[str]) -> None:
    missing = [column for column in COLUMNS if headers.count(column) != 1]
    if missing:
        says = f"These columns must stand there once: {', '.join(missing)}."
        raise UnusableLeave([Problem(1, "", says, "Name them in the first row.", serious=True)])


def _read(cells: Mapping[str, str], line: int, workers: Mapping[str, int]) -> LeaveRow | Problem:
    worker = workers.get(cells.get("staff number", ""))
    if worker is None:
        todo = "Correct it or leave the row out."
        return Problem(line, "staff number", "No worker has it.", todo, serious=True)
    try:
        first = date.fromisoformat(cells.get("from", ""))
        last = date.fromisoformat(cells["until"]) if cells.get("until") else None
    except ValueError:
        return Problem(line, "", "A date can't be read.", "Write it like 2025-12-31.", serious=True)
    if last is not None and last < first:
        return Problem(line, "until", "It ends before it begins.", "Correct one of the days.", serious=True)
    return LeaveRow(worker, first, last)
