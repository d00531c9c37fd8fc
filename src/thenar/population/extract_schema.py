"""What stands in an extract: which tables, with which columns, in which version of the schema?"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from thenar.errors import BadInput

if TYPE_CHECKING:
    import ibis
    import pyarrow as pa
    from ibis.backends import BaseBackend

VERSION = 1
VERSION_KEY = b"thenar.extract.schema"
DAY_KEY = b"thenar.extract.day"


class Holds(StrEnum):
    """What a column holds, as the reference page calls it."""

    KEY = "key"
    CODE = "code"
    DAY = "day"
    COUNT = "count"
    AMOUNT = "amount"
    YES_NO = "yes or no"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table. Where it may be empty, empty means not known or none, never 0."""

    name: str
    holds: Holds
    may_be_empty: bool = False


def _columns(**holds: str) -> tuple[Column, ...]:
    """Columns from `name="day"`, or `name="day?"` where the column may be empty."""
    return tuple(
        Column(name, Holds(what.removesuffix("?")), may_be_empty=what.endswith("?"))
        for name, what in holds.items()
    )


TABLES: Mapping[str, tuple[Column, ...]] = {
    "areas": _columns(area="key", parent="key?"),
    "posts": _columns(
        post="key",
        worker="key",
        area="key",
        role="key",
        from_on="day",
        until_on="day?",
        hours_percent="count",
        age_band="code",
    ),
    "leave": _columns(worker="key", from_on="day", until_on="day?"),
    "checks": _columns(
        check="key",
        worker="key",
        given_on="day",
        given_by="code",
        urgency="code",
        patient_contact="code",
        sorted_as="code?",
        case="key?",
        age_band="code",
    ),
    "answers": _columns(check="key", question="code", answer="code"),
    "cases": _columns(
        case="key",
        worker="key",
        opened_on="day",
        closed_on="day?",
        outcome="code?",
        earlier="key?",
        age_band="code",
    ),
    "examinations": _columns(
        examination="key",
        case="key",
        worker="key",
        examined_on="day",
        total="count",
        band="code",
        hard_to_judge="yes or no",
        under_treatment="code",
        superseded="yes or no",
    ),
    "exposures": _columns(
        session="key",
        area="key",
        role="key",
        observed_on="day",
        shift_part="code",
        minutes_observed="amount",
        whole_shift="yes or no",
        washes="count?",
        rubs="count?",
        gel_rubs="count?",
        wet_contacts="count?",
        wet_minutes="amount?",
        pairs="count?",
        glove_minutes="amount?",
        longest_glove_wear_minutes="amount?",
        gloves_on_wet_skin="count?",
        wet_glove_alternations="count?",
        wash_glove_alternations="count?",
        cream_uses="count?",
    ),
    "stock": _columns(product="key", category="code", area="key", from_on="day", until_on="day?"),
    "controls": _columns(
        control="key",
        area="key",
        role="key?",
        kind="code?",
        hierarchy="code",
        start_on="day",
        review_on="day",
    ),
}


class NotAnExtract(BadInput):
    """A folder, or a file in it, that is no extract."""

    def __init__(self, says: str) -> None:
        super().__init__(
            what=says,
            why="Figures from half an extract would look whole.",
            todo="Name a folder written by `thenar extract`, with all its files as they were written.",
        )


class OtherSchema(BadInput):
    """An extract of another version of the schema."""

    def __init__(self, file: str, found: str) -> None:
        older = not found.isdigit() or int(found) < VERSION
        super().__init__(
            what=f"{file}: has schema {found}; this version of Thenar reads schema {VERSION}.",
            why="A column that has changed its meaning would be counted as if it had not.",
            todo="Write the extract again with `thenar extract`."
            if older
            else "Read it with the newer version of Thenar that wrote it.",
        )


def arrow_schema(table: str, written_on: date) -> "pa.Schema":
    """The schema of a table's file, with its version and the day up to which the records tell."""
    import pyarrow as pa

    types = {
        Holds.KEY: pa.int64(),
        Holds.CODE: pa.string(),
        Holds.DAY: pa.date32(),
        Holds.COUNT: pa.int32(),
        Holds.AMOUNT: pa.float64(),
        Holds.YES_NO: pa.bool_(),
    }
    fields = [pa.field(one.name, types[one.holds], nullable=one.may_be_empty) for one in TABLES[table]]
    says = {VERSION_KEY: str(VERSION).encode(), DAY_KEY: written_on.isoformat().encode()}
    return pa.schema(fields, metadata=says)


@dataclass(frozen=True, slots=True)
class Extract:
    """One extract, or several pooled, whose files have been looked at and can be read.

    `written_on` is the day up to which the records of all of them tell.
    """

    folders: tuple[Path, ...]
    written_on: date

    def files(self, table: str) -> list[str]:
        """The files that hold a table."""
        return [str(folder / f"{table}.parquet") for folder in self.folders]

    def table(self, name: str, engine: "BaseBackend") -> "ibis.Table":
        """A table of the extract on an engine. Nothing is read yet."""
        from ibis import union

        parts = [engine.read_parquet(file) for file in self.files(name)]
        whole = union(*parts) if len(parts) > 1 else parts[0]
        # Some engines know that a column is never empty, others forget it; they must not differ in types.
        return whole.cast({column: kind(nullable=True) for column, kind in whole.schema().items()})


def open_extract(*folders: Path) -> Extract:
    """Look at every file of one or more extracts; read none yet.

    Parameters
    ----------
    folders
        Folders written by `thenar extract`. Several are pooled: keys are fresh in each, so a worker of two
        hospitals counts as two.

    Raises
    ------
    NotAnExtract
        A file is missing, is not Parquet, or has other columns than its version says.
    OtherSchema
        A file was written with an older or newer schema.
    """
    if not folders:
        raise NotAnExtract("No folder was named.")
    days = [_look_at(folder / f"{table}.parquet", table) for folder in folders for table in TABLES]
    return Extract(folders, min(days))


def _look_at(file: Path, table: str) -> date:
    """The day of a file whose version and columns are right."""
    found = _schema_of(file)
    says = found.metadata or {}
    version = says.get(VERSION_KEY)
    if version is None or DAY_KEY not in says:
        raise NotAnExtract(f"{file.name}: does not say which schema it has.")
    if version != str(VERSION).encode():
        raise OtherSchema(file.name, version.decode("ascii", "replace"))
    written_on = date.fromisoformat(says[DAY_KEY].decode())
    if not found.equals(arrow_schema(table, written_on)):
        raise NotAnExtract(f"{file.name}: has other columns than schema {VERSION}.")
    return written_on


def _schema_of(file: Path) -> "pa.Schema":
    from pyarrow import ArrowException, parquet

    try:
        return parquet.read_schema(file)
    except FileNotFoundError:
        raise NotAnExtract(f"{file.name}: is not there.") from None
    except (ArrowException, OSError):
        raise NotAnExtract(f"{file.name}: can't be read as Parquet.") from None
