"""A stop on a letter's road, as the worker's and the practitioner's pages draw it."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop. `state` is `done`, `current` or `todo`."""

    label: str
    state: str
    on: date | None = None
