"""Which observed sessions stand in a CSV file, and what must be put right before they are taken over?"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from thenar.errors import BadInput
from thenar.exchange.cells import plain_text
from thenar.exchange.delimited import Row, open_delimited, tidy
from thenar.exchange.headers import Headers, fold
from thenar.exchange.problems import Problem, Problems
from thenar.exchange.staff_dates import WrittenDate, read_date_column
from thenar.exposure.alternations import EACH_WAY
from thenar.exposure.tally import Tally

MAX_ROWS = 20_000
MAX_CELL_CHARACTERS = 200

NEEDED = ("area", "role", "observer", "observed_on", "shift_part", "minutes_observed")
COUNTS = ("washes", "rubs", "gel_rubs", "wet_contacts", "pairs", "gloves_on_wet_skin")
CHANGES = ("wet_glove_alternations", "wash_glove_alternations")
MINUTES = ("wet_minutes", "glove_minutes", "longest_glove_wear_minutes")
NUMBERS = (*COUNTS, *CHANGES, "cream_uses", *MINUTES)
CALLED = {  # field: the header a file is best given
    "area": "area",
    "role": "role",
    "observer": "observer",
    "observed_on": "day",
    "shift_part": "shift part",
    "minutes_observed": "minutes",
    "washes": "washes",
    "rubs": "rubs",
    "gel_rubs": "gel rubs",
    "wet_contacts": "wet contacts",
    "wet_minutes": "wet minutes",
    "pairs": "pairs",
    "gloves_on_wet_skin": "pairs on wet skin",
    "glove_minutes": "glove minutes",
    "longest_glove_wear_minutes": "longest glove wear",
    "wet_glove_alternations": "wet glove changes",
    "wash_glove_alternations": "wash glove changes",
    "cream_uses": "cream",
    "whole_shift": "whole shift",
}
_ALSO = {
    "area": "ward unit department",
    "role": "job post",
    "observer": "by countedby",
    "observed_on": "date observedon on",
    "shift_part": "part shift",
    "minutes_observed": "minuteswatched minutesobserved",
    "washes": "handwashes",
    "rubs": "handrubs",
    "wet_contacts": "watercontacts",
    "wet_minutes": "waterminutes minuteswet minutesinwater",
    "pairs": "glovepairs pairsofgloves",
    "gloves_on_wet_skin": "glovesonwetskin onwetskin",
    "glove_minutes": "minutesingloves",
    "longest_glove_wear_minutes": "longestgloveminutes longestwear",
    "wet_glove_alternations": "waterglovechanges wetglovealternations",
    "wash_glove_alternations": "washglovealternations",
    "cream_uses": "creamuses",
}
HEADERS = Headers(CALLED, _ALSO)
_PARTS = {"early": "early", "late": "late", "night": "night", "day": "day", "morning": "early"}
_YES, _NO = frozenset({"yes", "y", "true", "1"}), frozenset({"", "no", "n", "false", "0"})
_WHOLE = re.compile(r"[0-9]{1,6}")
_AMOUNT = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,3})?")


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One session of the file, and its line. Area and role are as this site names them."""

    line: int
    area: str
    role: str
    observer: str
    observed_on: date
    shift_part: str
    counts: Tally


@dataclass(frozen=True, slots=True)
class ObservationFile:
    """What could be read of a file of sessions, and everything wrong with it.

    With a serious problem the rows are only for looking at. `columns` is our field → the header found.
    """

    rows: tuple[SessionRow, ...]
    problems: tuple[Problem, ...]
    encoding: str
    delimiter: str
    columns: Mapping[str, str]
    unused_headers: tuple[str, ...] = ()
    undecided_dates: bool = False


def read_observations(
    raw: bytes,
    *,
    name: str,
    today: date,
    areas: Iterable[str],
    roles: Iterable[str],
    day_first: bool | None = None,
) -> ObservationFile:
    """Read sessions from a CSV file, and say what is wrong on which line and in which column.

    Parameters
    ----------
    raw
        The file: comma, semicolon, tab or bar; UTF-8, UTF-16 with its mark, or Windows-1252.
    name
        What the person calls the file, for messages.
    today
        The day on which it is read; nothing was observed later.
    areas, roles
        The names known here. An unknown one is a serious problem: nothing is added from such a file.
    day_first
        Whether 03/04/2026 is 3 April. Without it the column's other dates decide, or a problem asks.

    Raises
    ------
    BadInput
        The file is no table of a reasonable size.

    Notes
    -----
    An empty cell is "not known" and never 0. Changes are taken as counted each way.

    Examples
    --------
    >>> read = read_observations(
    ...     b"ward,role,observer,day,shift part,minutes,washes,rubs\\n"
    ...     b"Ward 1,nurse,AB,2026-03-02,early,40,3,\\n",
    ...     name="sessions.csv", today=date(2026, 3, 2), areas=["Ward 1"], roles=["Nurse"])
    >>> read.rows[0].role, read.rows[0].counts.washes, read.rows[0].counts.rubs
    ('Nurse', 3, None)
    """
    table = open_delimited(raw, name=name, kind="list of sessions", recognise=count_known_headers)
    rows = table.rows()
    first = next(rows, None)
    if not isinstance(first, Row):
        stopped = (first,) if first else ()
        return ObservationFile((), stopped, table.encoding, table.delimiter, {})
    headers = [tidy(cell) for cell in first.cells]
    places, faults = _places(headers, first.line)
    columns = {field: headers[place] for field, place in places.items()}
    problems = Problems(columns)
    for fault in faults:
        problems.add(fault)
    unused = tuple(header for place, header in enumerate(headers) if header and place not in places.values())
    if problems.any_serious:
        return ObservationFile((), tuple(problems.listed()), table.encoding, table.delimiter, columns, unused)
    reading = _Reading(places, problems, today, _by_word(areas), _by_word(roles))
    sessions, undecided = reading.sessions(_taken(rows, len(headers), problems), day_first)
    return ObservationFile(
        sessions, tuple(problems.listed()), table.encoding, table.delimiter, columns, unused, undecided
    )


def count_known_headers(cells: Sequence[str]) -> int:
    """Count the cells of a first row that name a column of sessions.

    Examples
    --------
    >>> count_known_headers(["Ward", "Washes", "Moon"])
    2
    """
    return HEADERS.count_known(cells)


class _Reading:
    """Turns rows of text into sessions; whatever can't be read is asked about."""

    def __init__(
        self,
        places: Mapping[str, int],
        problems: Problems,
        today: date,
        areas: Mapping[str, str],
        roles: Mapping[str, str],
    ) -> None:
        self.places, self.problems, self.today = places, problems, today
        self.known = {"area": areas, "role": roles}

    def sessions(self, rows: Sequence[Row], day_first: bool | None) -> tuple[tuple[SessionRow, ...], bool]:
        """The sessions, and whether someone has to say how the dates are written."""
        if not rows and not self.problems.any_serious:
            self.problems.ask(1, "", "No session is listed below the headers.", "Check the export.")
        written = [WrittenDate(row.line, text) for row in rows if (text := self._text(row, "observed_on"))]
        column = read_date_column("observed_on", written, day_first=day_first, problems=self.problems)
        read = (self._session(row, column.days) for row in rows)
        return tuple(one for one in read if one is not None), column.is_undecided

    def _session(self, row: Row, days: Mapping[str, date]) -> SessionRow | None:
        text = {field: self._text(row, field) for field in CALLED}
        for field in NEEDED:
            if not text[field]:
                self.problems.ask(row.line, field, f"The cell for {CALLED[field]} is empty.", "Fill it in.")
        area, role = (self._name(row, field, text[field]) for field in ("area", "role"))
        part, day = self._part(row, text["shift_part"]), days.get(text["observed_on"])
        if day and day > self.today:
            self.problems.ask(
                row.line, "observed_on", f"{day:%d %B %Y} is still to come.", "Correct the day."
            )
        counts = self._counts(row, text)
        if not (area and role and part and day and counts and text["observer"]):
            return None
        return SessionRow(row.line, area, role, text["observer"], day, part, counts)

    def _counts(self, row: Row, text: Mapping[str, str]) -> Tally | None:
        numbers = {field: self._number(row, field, text[field]) for field in NUMBERS}
        minutes = self._number(row, "minutes_observed", text["minutes_observed"])
        whole = text["whole_shift"].casefold()
        if whole not in _YES | _NO:
            says = "Whether the whole shift was watched is neither yes nor no."
            self.problems.ask(row.line, "whole_shift", says, "Write yes or no.")
        if all(text[field] == "" for field in NUMBERS):
            says = "Nothing was counted in this session."
            self.problems.ask(row.line, "", says, "Fill in at least one count, or remove the row.")
        if minutes == 0:
            says = "The session has 0 minutes."
            self.problems.ask(row.line, "minutes_observed", says, "Give the minutes watched.")
        if not minutes:
            return None
        changes = any(numbers[field] is not None for field in CHANGES)
        return Tally(
            minutes_observed=minutes,
            whole_shift=whole in _YES,
            convention=EACH_WAY.says if changes else None,
            **numbers,  # type: ignore[arg-type]  # whole numbers where _number reads whole numbers
        )

    def _number(self, row: Row, field: str, text: str) -> float | None:
        """A count or minutes; None for an empty cell, and for one that is asked about."""
        is_time = field.endswith("minutes") or field == "minutes_observed"
        if not text:
            return None
        if (_AMOUNT if is_time else _WHOLE).fullmatch(text):
            return float(text.replace(",", ".")) if is_time else int(text)
        kind = "minutes" if is_time else "a whole number"
        shown = f"{text} is" if re.fullmatch(r"[-+0-9.,eE ]{1,20}", text) else "This is"
        todo = f"Write {kind} from 0 up, or leave the cell empty if nobody counted."
        self.problems.ask(row.line, field, f"{shown} not {kind} from 0 up.", todo)
        return None

    def _part(self, row: Row, text: str) -> str:
        part = _PARTS.get(text.casefold().removesuffix(" shift"), "")
        if text and not part:
            says = "This is no part of a shift that is known."
            self.problems.ask(row.line, "shift_part", says, "Write early, late, night or day.")
        return part

    def _name(self, row: Row, field: str, text: str) -> str:
        found = self.known[field].get(fold(text), "")
        if text and not found:
            says = f"No {field} of that name is known here."
            self.problems.ask(row.line, field, says, "Write it as in the staff list, or add it there first.")
        return found

    def _text(self, row: Row, field: str) -> str:
        text = plain_text(row, field, self.places, self.problems, longest=MAX_CELL_CHARACTERS)
        if field == "observer" and len(text) > 120:
            self.problems.ask(row.line, field, "The observer's name is over 120 characters.", "Shorten it.")
            return ""
        return text


def _taken(rows: Iterator[Row | Problem], width: int, problems: Problems) -> list[Row]:
    taken: list[Row] = []
    count = 0
    for row in rows:
        if isinstance(row, Problem):
            problems.add(row)
            break
        if (count := count + 1) > MAX_ROWS:
            raise BadInput(
                what=f"The file has more than {MAX_ROWS:,} sessions.",
                why="No one has watched so much, so this is probably another file.",
                todo="Export one row for each session.",
            )
        if any(cell.strip() for cell in row.cells[width:]):
            says = f"The row has {len(row.cells)} cells under {width} headers."
            problems.ask(row.line, "", says, "Put a cell that holds the delimiter in quotation marks.")
            continue  # its cells have moved: what they seem to say would be asked about for nothing
        taken.append(row)
    return taken


def _places(headers: Sequence[str], line: int) -> tuple[dict[str, int], tuple[Problem, ...]]:
    """Our field → its column, and what is wrong with the first row."""
    found, problems = HEADERS.find(headers, line, NEEDED)
    if not any(field in found for field in NUMBERS):
        says, todo = "No column holds counts.", f"Add at least one of: {', '.join(map(CALLED.get, NUMBERS))}."  # type: ignore[arg-type]
        return found, (*problems, Problem(line, "", says, todo, serious=True))
    return found, problems


def _by_word(names: Iterable[str]) -> dict[str, str]:
    return {fold(name): name for name in names}
