"""Which tasks does an area's task list hold, and what in it must be put right before it is kept?"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date, timedelta

from thenar.errors import BadInput
from thenar.exchange.delimited import Row, open_delimited, tidy, unseen_character
from thenar.exchange.problems import Problem, Problems
from thenar.exchange.task_columns import CALLED, COUNTS, FLAGS, OPTIONAL, count_known_headers, map_columns
from thenar.exchange.written_dates import read_date
from thenar.exposure.duty_terms import Part

DAYS = 14
MAX_ROWS = 3_000  # 14 days, three parts, seventy tasks in each
MAX_BYTES = 1_000_000
LONGEST_TASK = 60  # it stands in a line of a letter, beside two names and some days
MOST = {"washes": 100, "wet_minutes": 720, "glove_minutes": 720, "pairs": 100}  # in one task
MOST_PEOPLE = 20
FORM = 1
_YES = frozenset({"yes", "y", "1", "true", "x"})
_NO = frozenset({"no", "n", "0", "false"})
_PARTS = {"e": Part.EARLY, "l": Part.LATE, "n": Part.NIGHT, "morning": Part.EARLY}
_WHOLE = re.compile(r"[0-9]{1,6}")
_NUMBER = re.compile(r"[-−+]?[0-9]{1,6}([.,][0-9]{1,4})?")


@dataclass(frozen=True, slots=True)
class TaskRow:
    """One task in one part of one day, with what it does to the hands of each person who does it.

    `day` counts from the first day, which is 0. `roles` and `only` say who can do it, by role and by staff
    number; `now` who does it now, by staff number. [whole counts and minutes]
    """

    day: int
    part: str
    task: str
    washes: int
    wet_minutes: int
    glove_minutes: int
    pairs: int
    soap: bool
    latex: bool
    patient_contact: bool
    people: int
    roles: tuple[str, ...]
    only: tuple[str, ...] = ()
    now: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Team:
    """Who works in the area: the role of each staff number, and the staff numbers behind each name."""

    role_of: Mapping[str, str]
    numbers_of: Mapping[str, frozenset[str]]

    @classmethod
    def of(cls, people: Iterable[tuple[str, str, str]]) -> "Team":
        """A team from staff number, name and role of each person."""
        role_of: dict[str, str] = {}
        numbers_of: dict[str, frozenset[str]] = {}
        for number, name, role in people:
            role_of[number] = role
            for key in (number.casefold(), tidy(name).casefold()):
                numbers_of[key] = numbers_of.get(key, frozenset()) | {number}
        return cls(role_of, numbers_of)

    @property
    def roles(self) -> dict[str, str]:
        """Each role by its name in small letters."""
        return {role.casefold(): role for role in sorted(set(self.role_of.values()))}


@dataclass(frozen=True, slots=True)
class TaskList:
    """What could be read, and everything wrong with it. With a serious problem it can't be kept."""

    rows: tuple[TaskRow, ...]
    problems: tuple[Problem, ...]
    text: str

    @property
    def can_be_kept(self) -> bool:
        """Whether no serious problem stands against it."""
        return bool(self.rows) and not any(problem.serious for problem in self.problems)


def read_task_list(
    raw: bytes,
    *,
    name: str,
    first_day: date,
    team: Team,
    telling: Callable[[str], tuple[str, ...]] = lambda _: (),
) -> TaskList:
    """Read an area's tasks from a CSV file, or from the same text typed into the page.

    Parameters
    ----------
    raw
        The file [at most 1 MB]; text from the page in UTF-8.
    name
        What the person calls the file, for messages.
    first_day
        The first of the fourteen days; a day in the list is a date, or a number from 1 to 14.
    team
        Who works in the area.
    telling
        Words in a task's name that no manager's letter may hold.

    Raises
    ------
    BadInput
        When the file is no table of a reasonable size.

    Notes
    -----
    An empty load is a problem, never 0. No problem quotes a person.

    Examples
    --------
    >>> listed = read_task_list(
    ...     b"Day,Part,Task,Washes,Wet minutes,Glove minutes,Pairs,Soap,Latex,Patient contact,Who can\\n"
    ...     b"1,early,Bed baths,6,25,-3,6,yes,no,yes,Nurse\\n",
    ...     name="tasks.csv",
    ...     first_day=date(2026, 3, 2),
    ...     team=Team.of([("1001", "Alex Tern", "Nurse")]),
    ... )
    >>> print(listed.problems[0])
    Line 2, column 'Glove minutes': -3 is below 0. Enter a whole number from 0 to 720.
    """
    _refuse_unusable(raw)
    table = open_delimited(raw, name=name, kind="task list", recognise=count_known_headers)
    rows = table.rows()
    first = next(rows, None)
    if first is None or isinstance(first, Problem):
        return TaskList((), (first,) if first else (), table.text)
    heading = map_columns(first.cells, first.line)
    problems = Problems(heading.columns)
    for problem in heading.problems:
        problems.add(problem)
    if problems.any_serious:
        return TaskList((), tuple(problems.listed()), table.text)
    reader = _Reader(heading.places, first_day, team, telling, problems)
    read = tuple(reader.rows(rows))
    if not read and not problems.any_serious:
        problems.ask(first.line, "", "No task is listed below the headers.", "Add one row for each task.")
    return TaskList(read, tuple(problems.listed()), table.text)


def as_content(rows: Iterable[TaskRow]) -> dict[str, object]:
    """The tasks as plain JSON, to be kept and read again with `from_content`."""
    return {"form": FORM, "tasks": [asdict(row) for row in rows]}


def from_content(content: Mapping[str, object]) -> tuple[TaskRow, ...]:
    """The tasks that `as_content` gave, whether or not they went through a database.

    Examples
    --------
    >>> row = TaskRow(0, "early", "Bed baths", 6, 25, 30, 6, True, False, True, 1, ("Nurse",))
    >>> from_content(as_content([row])) == (row,)
    True
    """
    if content.get("form") != FORM:
        raise BadInput(
            what=f"The kept task list has form {content.get('form')!r}; form {FORM} can be read.",
            why="Loads read wrongly would give duties that only look right.",
            todo="Read the list in again.",
        )
    tasks: list[dict[str, object]] = content["tasks"]  # type: ignore[assignment]
    return tuple(TaskRow(**{field: _tupled(value) for field, value in one.items()}) for one in tasks)  # type: ignore[arg-type]


def _tupled(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value


def _refuse_unusable(raw: bytes) -> None:
    if len(raw) > MAX_BYTES:
        raise BadInput(
            what=f"The list has {len(raw) / 1_000_000:.1f} MB; at most 1 MB is read.",
            why="A fortnight of one area's tasks is a fraction of that, so something else is in it.",
            todo="Export only the tasks of this area.",
        )
    if not raw.strip():
        raise BadInput(
            what="The list is empty.",
            why="No task can be read from it.",
            todo="Choose a file, or type the rows into the box.",
        )


class _Reader:
    """Reads row by row, and asks about each cell where its sender sees it."""

    def __init__(
        self,
        places: Mapping[str, int],
        first_day: date,
        team: Team,
        telling: Callable[[str], tuple[str, ...]],
        problems: Problems,
    ) -> None:
        self.places, self.first_day, self.team = places, first_day, team
        self.telling, self.problems = telling, problems
        self.line = 0
        self.seen: dict[tuple[object, ...], int] = {}

    def rows(self, rows: Iterable[Row | Problem]) -> Iterator[TaskRow]:
        """Every row that can be read."""
        for count, row in enumerate(rows, 1):
            if isinstance(row, Problem):
                self.problems.add(row)
                return
            if count > MAX_ROWS:
                self.problems.ask(row.line, "", f"The list has more than {MAX_ROWS:,} rows.", "Shorten it.")
                return
            self.line = row.line
            read = self._row(row)
            if read is not None:
                yield read

    def _row(self, row: Row) -> TaskRow | None:
        cells = {field: self._text(row, field) for field in self.places}
        day, part, task = self._day(cells["day"]), self._part(cells["part"]), self._task(cells["task"])
        counts = {field: self._count(field, cells[field], 0, MOST[field]) for field in COUNTS}
        flags = {field: self._flag(field, cells[field]) for field in FLAGS}
        people = self._count("people", cells.get("people") or "1", 1, MOST_PEOPLE)
        roles, only = self._who_can(cells["who_can"])
        now = self._now(cells.get("now", ""), roles, only)
        whole = [day, part, task, people, now, *counts.values(), *flags.values()]
        if None in whole or not (roles or only) or not self._once(day, part, task):
            return None
        return TaskRow(day, part, task, **counts, **flags, people=people, roles=roles, only=only, now=now)  # type: ignore[arg-type]

    def _text(self, row: Row, field: str) -> str:
        cell = row.cells[self.places[field]] if self.places[field] < len(row.cells) else ""
        if unseen := unseen_character(cell):
            self._ask(field, f"The cell holds a character that can't be seen ({unseen}).", "Type it again.")
            return ""
        text = tidy(cell)[:1_000]
        if not text and field not in OPTIONAL:
            zero = ", or 0 if there is none" if field in COUNTS else ""
            self._ask(field, "This cell is empty.", f"Fill it in{zero}.")
        return text

    def _day(self, text: str) -> int | None:
        last = self.first_day + timedelta(days=DAYS - 1)
        todo = f"Write a day from {self.first_day} to {last}, or a number from 1 to {DAYS}."
        if not text:
            return None
        if _WHOLE.fullmatch(text) and len(text) <= 2:
            day = int(text) - 1
        else:
            meant = read_date(text)
            if meant.is_ambiguous:
                self._ask("day", "This could be two days.", "Write the month as a word, or 2026-03-02.")
                return None
            found = meant.day_first or meant.month_first
            if found is None:
                self._ask("day", "This is not a day.", todo)
                return None
            day = (found - self.first_day).days
        if not 0 <= day < DAYS:
            self._ask("day", f"{text} is not in the fortnight.", todo)
            return None
        return day

    def _part(self, text: str) -> str | None:
        if not text:
            return None
        word = text.casefold()
        if word in set(Part):
            return word
        if word in _PARTS:
            return _PARTS[word].value
        self._ask("part", "This is no part of a day.", "Write early, late or night.")
        return None

    def _task(self, text: str) -> str | None:
        if len(text) > LONGEST_TASK:
            says = f"The task has {len(text)} characters; {LONGEST_TASK} is the most."
            self._ask("task", says, "Say it in fewer words.")
        elif told := self.telling(text):
            shown = ", ".join(f"“{word}”" for word in told)
            self._ask("task", f"{shown} could tell a manager why.", "Name the task in other words.")
        elif text:
            return text
        return None

    def _count(self, field: str, text: str, least: int, most: int) -> int | None:
        todo = f"Enter a whole number from {least} to {most}."
        if not text:
            return None
        if not _NUMBER.fullmatch(text):
            self._ask(field, "This is not a number.", todo)
        elif not _WHOLE.fullmatch(text):
            negative = text[0] in "-−"
            self._ask(field, f"{text} is below 0." if negative else f"{text} is not whole.", todo)
        elif not least <= int(text) <= most:
            self._ask(field, f"{text} is too {'few' if int(text) < least else 'much for one task'}.", todo)
        else:
            return int(text)
        return None

    def _flag(self, field: str, text: str) -> bool | None:
        word = text.casefold()
        if word in _YES or word in _NO:
            return word in _YES
        if text:
            self._ask(field, "This is neither yes nor no.", "Write yes or no.")
        return None

    def _who_can(self, text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
        roles, only = [], []
        for entry in _entries(text):
            if entry in self.team.roles:
                roles.append(self.team.roles[entry])
            elif number := self._number("who_can", entry):
                only.append(number)
        return tuple(dict.fromkeys(roles)), tuple(dict.fromkeys(only))

    def _now(self, text: str, roles: tuple[str, ...], only: tuple[str, ...]) -> tuple[str, ...] | None:
        numbers = [self._number("now", entry) for entry in _entries(text)]
        if None in numbers:
            return None
        known = tuple(dict.fromkeys(number for number in numbers if number))
        if any(number not in only and self.team.role_of[number] not in roles for number in known):
            says = "Someone named here is not among those who can do the task."
            self._ask("now", says, f"Add their role to “{CALLED['who_can']}”, or name someone else.")
            return None
        return known

    def _number(self, field: str, entry: str) -> str | None:
        """The staff number of a name or number; asks where it is nobody's, or more than one person's."""
        found = self.team.numbers_of.get(entry, frozenset())
        if len(found) == 1:
            return next(iter(found))
        if found:
            self._ask(field, "Two people have this name.", "Write the staff number instead.")
        elif field == "now":
            says = "Someone named here has no post in this area today."
            self._ask(field, says, "Write a name or staff number of the team.")
        else:
            roles = ", ".join(self.team.roles.values()) or "none"
            says = "This names a role, or a person, that is not in the team."
            self._ask(field, says, f"Use one of the roles: {roles}. Put semicolons between several.")
        return None

    def _once(self, day: int | None, part: str | None, task: str | None) -> bool:
        first = self.seen.setdefault((day, part, (task or "").casefold()), self.line)
        if first != self.line:
            says = f"The same task stands in the same shift on line {first}."
            self._ask("task", says, "Keep one row and say how many people do it.")
        return first == self.line

    def _ask(self, field: str, says: str, todo: str) -> None:
        self.problems.ask(self.line, field, says, todo)


def _entries(text: str) -> list[str]:
    """What stands between semicolons or bars, in small letters."""
    return [entry for part in re.split(r"[;|]", text) if (entry := tidy(part).casefold())]
