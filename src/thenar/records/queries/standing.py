"""What became of an adjustment: whether the workplace was told, is about to be told, or never was."""

from collections.abc import Iterable, Mapping
from enum import StrEnum

from thenar.records.actions.letters import state_of
from thenar.records.letter_states import Step
from thenar.records.models import Letter


class Standing(StrEnum):
    """How a letter, or the adjustment it carries, stands now. What counts most comes first."""

    IN_FORCE = "in_force"  # the recipient has it, and no later wording has reached anyone
    ON_ITS_WAY = "on_its_way"
    REPLACED = "replaced"
    REFUSED = "refused"
    WITHDRAWN = "withdrawn"

    @property
    def stands(self) -> bool:
        """It changes the work, or is meant to."""
        return self in (Standing.IN_FORCE, Standing.ON_ITS_WAY)

    @property
    def was_not_sent(self) -> bool:
        """It ended before anyone at the workplace read it, and nothing took its place."""
        return self in (Standing.REFUSED, Standing.WITHDRAWN)


def letter_standings(letters: Iterable[Letter]) -> dict[int, Standing]:
    """How each letter stands, by its id. Wants every letter that may replace another, with its steps.

    A released letter stands until a later wording is released, however many wordings lie between: until then
    the recipient goes by the one they have.
    """
    letters = tuple(letters)
    newer = {one.replaces_id: one for one in letters}
    return {one.pk: _standing(one, newer) for one in letters}


def adjustment_standings(letters: Iterable[Letter]) -> dict[int, Standing]:
    """How each adjustment stands, by its id: as the best placed of its letters, or else as the newest."""
    letters = sorted(letters, key=lambda one: (one.at, one.pk))
    by_letter = letter_standings(letters)
    found: dict[int, Standing] = {}
    for one in letters:
        before, now = found.get(one.adjustment_id), by_letter[one.pk]
        if before is None or not before.stands or now is Standing.IN_FORCE:
            found[one.adjustment_id] = now
    return found


def _standing(letter: Letter, newer: Mapping[int | None, Letter]) -> Standing:
    state, after = state_of(letter), newer.get(letter.pk)
    if state.released:
        return Standing.REPLACED if _reached_anyone(after, newer) else Standing.IN_FORCE
    if after is not None:
        return Standing.REPLACED
    if Step.REFUSED in state.taken:
        return Standing.REFUSED
    return Standing.WITHDRAWN if state.ended else Standing.ON_ITS_WAY


def _reached_anyone(letter: Letter | None, newer: Mapping[int | None, Letter]) -> bool:
    """Whether this wording, or one that took its place, was released."""
    while letter is not None:
        if state_of(letter).released:
            return True
        letter = newer.get(letter.pk)
    return False
