"""Do the cells of one row make a person who could work here?"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from thenar.exchange.problems import Problems
from thenar.exchange.staff_columns import CALLED, REQUIRED

MAX_CHARACTERS = {
    "staff_number": 32,
    "given_name": 120,
    "family_name": 120,
    "email": 254,  # RFC 5321, section 4.5.3.1.3: a path of 256 octets with its angle brackets
    "area": 120,
    "role": 120,
}
DATES = ("born_on", "starts_on", "ends_on")

_NO_END_FROM_YEAR = 2200  # 31/12/9999 and the like are how personnel systems write "no end"
_CHILD_YEARS = 13
_HUNDREDTH = Decimal("0.01")

_SHEET_ERROR = re.compile(r"#(?:N/A|REF!|VALUE!|NAME\?|DIV/0!|NULL!|NUM!|#{3,})")
_SHORTENED_NUMBER = re.compile(r"[0-9](?:[.,][0-9]+)?[eE]\+?[0-9]{1,3}")
_FORMULA = re.compile(r"[=@+\-].+")
_EMAIL = re.compile(r"[^\s@,;<>]{1,64}@[^\s@,;<>.]+(?:\.[^\s@,;<>.]+)+")
_SHARE = re.compile(r"([0-9]{1,3}(?:[.,][0-9]{1,4})?|[.,][0-9]{1,4}) ?(%?)")


@dataclass(frozen=True, slots=True)
class WrittenRow:
    """A row as written: the tidied text of each field, empty where there is none."""

    line: int
    text: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class StaffRow:
    """One person as the list has them. Empty text or None: the list says nothing about it.

    Parameters
    ----------
    line
        Where the row begins in the file.
    hours_share
        Share of full hours [over 0, at most 1], to two decimals.
    starts_on, ends_on
        First and last day of the present post.
    """

    line: int
    staff_number: str
    given_name: str
    family_name: str
    born_on: date | None
    email: str
    area: str
    role: str
    hours_share: Decimal | None
    starts_on: date | None
    ends_on: date | None


def read_person(
    row: WrittenRow, days: Mapping[str, Mapping[str, date]], *, today: date, problems: Problems
) -> StaffRow | None:
    """Make a person of a row, or ask why it can't be done.

    Parameters
    ----------
    row
        The row's texts.
    days
        For each date field, the days that its column's texts mean.
    today
        Nobody is born later.
    problems
        Takes what must be asked.

    Returns
    -------
    StaffRow or None
        None when a required cell is empty. An optional cell that can't be read is left out.

    Examples
    --------
    >>> text = dict.fromkeys(CALLED, "") | {"staff_number": "007", "family_name": "Tern", "given_name": "Bob"}
    >>> read_person(WrittenRow(2, text), {}, today=date(2025, 6, 2), problems=Problems({})) is None
    True
    """
    text = row.text
    missing = [field for field in REQUIRED if not text[field]]
    for field in missing:
        _ask_for_missing(row, field, problems)
    for field in MAX_CHARACTERS:
        _look_at_text(row, field, problems)
    born_on, starts_on, ends_on = (days.get(field, {}).get(text[field]) for field in DATES)
    person = StaffRow(
        line=row.line,
        staff_number=text["staff_number"],
        given_name=text["given_name"],
        family_name=text["family_name"],
        born_on=_plausible_birth(row, born_on, today, problems),
        email=_email(row, problems),
        area=text["area"],
        role=text["role"],
        hours_share=_hours_share(row, problems),
        starts_on=_plausible_start(row, starts_on, born_on, problems),
        ends_on=_plausible_end(row, starts_on, ends_on, problems),
    )
    return None if missing else person


def _ask_for_missing(row: WrittenRow, field: str, problems: Problems) -> None:
    todo = "Fill it in."
    if field == "given_name":
        todo = "Fill it in; for somebody with one name, write it in both columns."
    problems.ask(row.line, field, f"The {CALLED[field]} is missing.", todo)


def _look_at_text(row: WrittenRow, field: str, problems: Problems) -> None:
    text = row.text[field]
    if len(text) > MAX_CHARACTERS[field]:
        says = f"The {CALLED[field]} has {len(text)} characters; at most {MAX_CHARACTERS[field]} are kept."
        problems.ask(row.line, field, says, "Shorten it.")
    elif _SHEET_ERROR.fullmatch(text):
        says = "The cell holds a spreadsheet's error instead of a value."
        problems.ask(row.line, field, says, "Put the formula right and save again.")
    elif "\ufffd" in text:
        says = "A letter of this cell was lost when the file was saved."
        problems.ask(row.line, field, says, "Save the list as CSV (UTF-8) from where it comes.")
    elif field == "staff_number" and _SHORTENED_NUMBER.fullmatch(text):
        says = f"{text} is a number that a spreadsheet has shortened, so digits are lost."
        problems.ask(row.line, field, says, "Format the column as text in the spreadsheet and export again.")
    elif _FORMULA.fullmatch(text):
        says = f"The cell begins with '{text[0]}' as a formula does; it is kept as text."
        problems.ask(row.line, field, says, "Look whether that is meant.", serious=False)


def _plausible_birth(row: WrittenRow, born_on: date | None, today: date, problems: Problems) -> date | None:
    if born_on is None:
        return None
    written = row.text["born_on"]
    if born_on > today:
        says = f"{written} is in the future."
        problems.ask(row.line, "born_on", says, "Correct the date, or leave the cell empty.")
        return None
    if today.year - born_on.year <= _CHILD_YEARS:
        says = f"{written} would make a child of this person."
        problems.ask(row.line, "born_on", says, "Look whether it is the date of the post.", serious=False)
    return born_on


def _plausible_start(
    row: WrittenRow, starts_on: date | None, born_on: date | None, problems: Problems
) -> date | None:
    if starts_on and born_on and starts_on <= born_on:
        says = f"The start {row.text['starts_on']} is not after the date of birth {row.text['born_on']}."
        problems.ask(row.line, "starts_on", says, "Correct one of the two dates.")
        return None
    if starts_on and starts_on.year >= _NO_END_FROM_YEAR:
        problems.ask(row.line, "starts_on", f"{row.text['starts_on']} is too far off.", "Correct the year.")
        return None
    return starts_on


def _plausible_end(
    row: WrittenRow, starts_on: date | None, ends_on: date | None, problems: Problems
) -> date | None:
    if ends_on and starts_on and ends_on < starts_on:
        says = f"The end {row.text['ends_on']} is before the start {row.text['starts_on']}."
        problems.ask(row.line, "ends_on", says, "Correct one of the two dates.")
        return None
    return None if ends_on and ends_on.year >= _NO_END_FROM_YEAR else ends_on


def _email(row: WrittenRow, problems: Problems) -> str:
    email = row.text["email"]
    if not email or _EMAIL.fullmatch(email):
        return email
    problems.ask(row.line, "email", "This is not an email address.", "Correct it, or leave the cell empty.")
    return ""


def _hours_share(row: WrittenRow, problems: Problems) -> Decimal | None:
    text = row.text["hours_share"]
    if not text:
        return None
    todo = "Write a share of full hours up to 1, like 0.8 or 80 %, or leave the cell empty."
    found = _SHARE.fullmatch(text)
    if not found:
        problems.ask(row.line, "hours_share", "This is not a share of full hours.", todo)
        return None
    share = Decimal(found[1].replace(",", ".")) / (100 if found[2] else 1)
    if share > 1:
        problems.ask(row.line, "hours_share", f"{text} is more than full hours.", todo)
        return None
    share = share.quantize(_HUNDREDTH, ROUND_HALF_UP)
    if not share:
        says = f"{text} says nothing about the hours worked; it is taken as an empty cell."
        problems.ask(row.line, "hours_share", says, "Write the usual share, if there is one.", serious=False)
        return None
    return share
