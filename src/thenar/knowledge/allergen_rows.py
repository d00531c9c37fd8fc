"""Reads allergens.csv: one row per allergen, each part with its own source."""

import csv
from pathlib import Path
from typing import Any, Literal

from pydantic import TypeAdapter
from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.allergens import Allergen, Cited, Preparation
from thenar.knowledge.cas import is_cas
from thenar.knowledge.entries import STRICT, KnownAs
from thenar.knowledge.files import validated, wrong

SEVERAL = ("inci", "cas", "synonyms", "found_in", "components", "releases")
"""Columns that hold several values, with | between them."""


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class Row:
    """One row as it stands in the file. A part that is left out has an empty source, place and standing."""

    id: str
    name: str
    group: str
    inci: tuple[str, ...]
    cas: tuple[str, ...]
    synonyms: tuple[str, ...]
    found_in: tuple[str, ...]
    identity_source: str
    identity_locator: str
    identity_known_as: KnownAs
    components: tuple[str, ...]
    components_source: str
    components_locator: str
    components_known_as: KnownAs | Literal[""]
    releases: tuple[str, ...]
    releases_source: str
    releases_locator: str
    releases_known_as: KnownAs | Literal[""]
    concentration: str
    vehicle: str
    preparation_source: str
    preparation_locator: str
    preparation_known_as: KnownAs | Literal[""]
    irritant_source: str
    irritant_locator: str
    irritant_known_as: KnownAs | Literal[""]
    immediate: Literal["yes", ""]
    excludes_material: str
    note: str


_ROWS: TypeAdapter[tuple[Row, ...]] = TypeAdapter(tuple[Row, ...])


def read_allergens(path: Path, name: str) -> dict[str, Allergen]:
    """Every allergen of the file by its id; a fault names file, row and column."""
    rows: tuple[Row, ...] = validated(_ROWS, _raw(path, name), name)
    allergens: dict[str, Allergen] = {}
    for row in rows:
        if row.id in allergens:
            raise wrong(name, row.id, "stands twice", "An id must mean one allergen.")
        allergens[row.id] = _allergen(row, name)
    return allergens


def _raw(path: Path, name: str) -> list[dict[str, Any]]:
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file, restkey="cells too many", strict=True))
    except (OSError, UnicodeDecodeError, csv.Error) as problem:
        raise wrong(name, "the file", f"cannot be read: {problem}", "No allergen would be known.") from None
    return [{column: _cell(column, cell) for column, cell in row.items()} for row in rows]


def _cell(column: str, cell: Any) -> Any:
    if column not in SEVERAL or not isinstance(cell, str):
        return cell
    return tuple(cell.split("|")) if cell else ()


def _allergen(row: Row, name: str) -> Allergen:
    for number in row.cas:
        if not is_cas(number):
            raise wrong(name, f"{row.id}.cas", f"has {number}, whose check digit is wrong", "It is a slip.")
    if any(not text.strip() for text in (row.id, row.name, *row.inci, *row.synonyms, *row.found_in)):
        raise wrong(name, row.id, "has an empty name between two |", "It would match nothing, or anything.")
    components_cited = _part(row, name, "components", row.components)
    releases_cited = _part(row, name, "releases", row.releases)
    prepared = _part(row, name, "preparation", row.concentration)
    return Allergen(
        id=row.id,
        name=row.name,
        inci=row.inci,
        cas=row.cas,
        synonyms=row.synonyms,
        group=row.group,
        components=row.components,
        releases=row.releases,
        found_in=row.found_in,
        identity=Cited(row.identity_source, row.identity_locator, row.identity_known_as),
        components_cited=components_cited,
        releases_cited=releases_cited,
        preparation=Preparation(row.concentration, row.vehicle, prepared) if prepared else None,
        irritant_preparation=_part(row, name, "irritant", row.irritant_source),
        immediate=row.immediate == "yes",
        excludes_material=row.excludes_material,
        note=row.note,
    )


def _part(row: Row, name: str, part: str, content: object) -> Cited | None:
    """The citation of one part: there exactly where the part is."""
    source: str = getattr(row, f"{part}_source")
    known_as: KnownAs | Literal[""] = getattr(row, f"{part}_known_as")
    if bool(source) != bool(content) or bool(known_as) != bool(content):
        raise wrong(
            name,
            f"{row.id}.{part}_source",
            f"does not go with its {part}",
            "A figure without a source is a rumour, and a source without a figure says nothing.",
        )
    return Cited(source, getattr(row, f"{part}_locator"), known_as) if known_as else None
