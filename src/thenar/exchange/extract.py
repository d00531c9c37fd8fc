"""Writes the pseudonymised extract of the records: one Parquet file for each table, all or none."""

import csv
import io
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from django.db import transaction

from thenar.errors import BadInput, Conflict
from thenar.exchange.extract_keys import Keys
from thenar.exchange.extract_leave import read_leave
from thenar.exchange.extract_rows import ExtractRow, rows_of
from thenar.population.extract_schema import TABLES, arrow_schema
from thenar.records.days import day_of
from thenar.records.models import User
from thenar.records.queries.extract import ExtractReading, read_for_extract

if TYPE_CHECKING:
    import pyarrow as pa

_AT_ONCE = 50_000


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: rows by table, and the names of areas, roles and products as CSV."""

    rows: Mapping[str, int]
    names: bytes


@dataclass(frozen=True, slots=True)
class LeaveList:
    """A file of leave as it came."""

    raw: bytes
    name: str


@transaction.atomic
def write_extract(
    folder: Path, *, secret: bytes, by: User, now: datetime, leave: LeaveList | None = None
) -> Written:
    """Write an extract of all records into a new folder that only this account can open.

    Parameters
    ----------
    folder
        Where to; it must not be there yet, or be empty.
    secret
        Makes the keys. Drawn by chance for each extract, and kept apart from it or nowhere.
    by, now
        Who looks at the records, and when; noted in the audit.
    leave
        A list of leave from elsewhere, for the table that the records can't fill.

    Raises
    ------
    NotAllowed
        This person may not see clinical records.
    Conflict
        Something is in the folder already.
    BadInput
        The folder can't be written, or something in the list of leave must be put right.
    """
    keys = Keys(secret)
    records = read_for_extract(by=by, now=now)
    refuse_used(folder)
    away = read_leave(leave.raw, name=leave.name, workers=records.workers_by_number()) if leave else ()
    tables = {table: rows_of(table, records, keys, away) for table in TABLES}
    try:
        rows = _write_whole(folder, tables, now)
    except OSError as problem:
        raise _unwritable(folder, problem) from None
    return Written(rows, _names(records, keys))


def refuse_used(folder: Path) -> None:
    """Refuse a folder in which something is, so that no two extracts are mixed."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Conflict(
            what=f"{str(folder)!r} is there already, and not empty.",
            why="Two extracts in one folder would be read as one.",
            todo="Name a new folder.",
        )


def _unwritable(folder: Path, problem: OSError) -> BadInput:
    return BadInput(
        what=f"{str(folder)!r} can't be written: {problem.strerror or problem}.",
        why="Nothing was kept of the extract.",
        todo="Check the path, the room on the disk, and that this account may write there.",
    )


def _write_whole(folder: Path, tables: Mapping[str, Iterator[ExtractRow]], now: datetime) -> dict[str, int]:
    """Write beside the folder, and move there at the end: a reader never sees half an extract."""
    beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.absolute().parent))
    try:
        written = {table: _write_table(beside, table, rows, now) for table, rows in tables.items()}
        os.replace(beside, folder)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise
    return written


def _write_table(folder: Path, table: str, rows: Iterator[ExtractRow], now: datetime) -> int:
    from pyarrow import parquet

    schema, written = arrow_schema(table, day_of(now)), 0
    with parquet.ParquetWriter(folder / f"{table}.parquet", schema, compression="zstd") as file:
        while batch := list(islice(rows, _AT_ONCE)):
            file.write_batch(_columnar(batch, schema))
            written += len(batch)
    return written


def _columnar(rows: Iterable[ExtractRow], schema: "pa.Schema") -> "pa.RecordBatch":
    import pyarrow as pa

    columns = zip(*rows, strict=True)
    arrays = [pa.array(values, kind) for values, kind in zip(columns, schema.types, strict=True)]
    return pa.record_batch(arrays, schema=schema)


def _names(records: ExtractReading, keys: Keys) -> bytes:
    text = io.StringIO()
    sheet = csv.writer(text)
    sheet.writerow(("kind", "key", "name"))
    sheet.writerows((kind, keys.of(kind, pk), name) for kind, pk, name in records.place_names())
    return text.getvalue().encode()
