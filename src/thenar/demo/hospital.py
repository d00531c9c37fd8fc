"""Reads what Saltmere is made of: places, roles, names, and the five people with a door of their own."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class Place:
    """An area: in which division, how many belong there, who works there, whom they touch."""

    name: str
    division: str
    staff: int
    roles: dict[str, float]
    touches: str


@dataclass(frozen=True, slots=True)
class Kind:
    """A role: how wet its work is, and whether it touches patients."""

    wet: float
    contact: bool


@dataclass(frozen=True, slots=True)
class Named:
    """Someone whose name, place and account are set, not drawn."""

    username: str
    access: str
    given: str
    family: str
    position: str
    area: str
    role: str


@dataclass(frozen=True, slots=True)
class NameGroup:
    """Names that go together."""

    share: float
    given: tuple[str, ...]
    family: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Saltmere:
    """Everything the hospital is made of, before chance."""

    organisation: str
    divisions: tuple[str, ...]
    places: tuple[Place, ...]
    roles: dict[str, Kind]
    people: tuple[Named, ...]
    names: tuple[NameGroup, ...]


@cache
def saltmere() -> Saltmere:
    """The hospital as its files describe it.

    Examples
    --------
    >>> len(saltmere().places), len(saltmere().people)
    (40, 7)
    """
    drawn = _read("saltmere.toml")
    names = _read("names.toml")["group"]
    return Saltmere(
        organisation=drawn["organisation"],
        divisions=tuple(division["name"] for division in drawn["division"]),
        places=tuple(
            Place(area["name"], division["name"], area["staff"], drawn["kind"][area["kind"]], area["touches"])
            for division in drawn["division"]
            for area in division["area"]
        ),
        roles={name: Kind(**role) for name, role in drawn["role"].items()},
        people=tuple(Named(**person) for person in drawn["person"]),
        names=tuple(
            NameGroup(group["share"], tuple(group["given"]), tuple(group["family"])) for group in names
        ),
    )


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))
