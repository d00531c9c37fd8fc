"""What has a positive reaction to do with the worker's life? The clinician judges; the tool only words it."""

from dataclasses import dataclass
from enum import StrEnum

from thenar.errors import BadInput
from thenar.knowledge.entries import KnownAs

_RULE = "patch-test.relevance."


class Relevance(StrEnum):
    """What a reaction explains. `letter` gives the sign in use for it, `says` the plain words."""

    CURRENT = "current"
    PAST = "past"
    SENSITISED_BY_TEST = "sensitised_by_test"
    UNKNOWN = "unknown"
    EXPOSED = "exposed"
    CROSS_REACTION = "cross_reaction"

    @property
    def letter(self) -> str:
        """The letter of the COADEX index."""
        return _LETTERS[self]

    @property
    def says(self) -> str:
        """In plain words."""
        return _SAYS[self]


_LETTERS = {
    Relevance.CURRENT: "C",
    Relevance.PAST: "O",
    Relevance.SENSITISED_BY_TEST: "A",
    Relevance.UNKNOWN: "D",
    Relevance.EXPOSED: "EX",
    Relevance.CROSS_REACTION: "X",
}
_SAYS = {
    Relevance.CURRENT: "It explains the trouble now.",
    Relevance.PAST: "It explains earlier trouble, not this one.",
    Relevance.SENSITISED_BY_TEST: "The test itself may have sensitised.",
    Relevance.UNKNOWN: "Nobody knows yet what it has to do with.",
    Relevance.EXPOSED: "The person meets it, without skin trouble from it.",
    Relevance.CROSS_REACTION: "It may be a reaction to something like it.",
}


class Certainty(StrEnum):
    """How sure it is that a reaction explains the trouble now."""

    DEFINITE = "definite"
    PROBABLE = "probable"
    POSSIBLE = "possible"


_CERTAINTY_SAYS = {
    Certainty.DEFINITE: "The product in use was tested or holds it, and using it brings the trouble.",
    Certainty.PROBABLE: "The product in use is known to hold the allergen.",
    Certainty.POSSIBLE: "What is used may hold the allergen.",
}


@dataclass(frozen=True, slots=True)
class Judgement:
    """The clinician's judgement of one reaction. Only what is current has a certainty.

    Raises
    ------
    BadInput
        A certainty is given for what is not current.

    Notes
    -----
    Letters: COADEX index, altmeyers.org, dermatology, "COADEX index". Definite, probable and possible as the
    North American group uses them; how they are worded here is from memory.

    Examples
    --------
    >>> print(Judgement(Relevance.CURRENT, Certainty.POSSIBLE))
    C, possible: It explains the trouble now. What is used may hold the allergen.
    """

    relevance: Relevance
    certainty: Certainty | None = None

    def __post_init__(self) -> None:
        if self.certainty is not None and self.relevance is not Relevance.CURRENT:
            raise BadInput(
                what=f"A relevance of {self.relevance.value!r} is given as {self.certainty.value}.",
                why="Definite, probable and possible say how surely a reaction explains the trouble now.",
                todo="Leave the certainty out, or make the relevance current.",
            )

    @property
    def rules(self) -> tuple[str, ...]:
        """The rules that name its letter and its certainty; X has none of its own."""
        letter = self.relevance.letter.lower()
        of_letter = () if self.relevance is Relevance.CROSS_REACTION else (f"{_RULE}coadex.{letter}",)
        return (*of_letter, *((f"{_RULE}grade.{self.certainty}",) if self.certainty else ()))

    @property
    def known_as(self) -> KnownAs:
        """How letter and words are known: X and the words of the certainties were never seen in a source."""
        remembered = self.certainty is not None or self.relevance is Relevance.CROSS_REACTION
        return KnownAs.FROM_MEMORY if remembered else KnownAs.PUBLISHED

    def __str__(self) -> str:
        if self.certainty is None:
            return f"{self.relevance.letter}: {self.relevance.says}"
        return (
            f"{self.relevance.letter}, {self.certainty.value}: {self.relevance.says} "
            f"{_CERTAINTY_SAYS[self.certainty]}"
        )
