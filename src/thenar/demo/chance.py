"""Chance from a seed: the same seed gives the same hospital, references included."""

import random
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import TypeVar

Thing = TypeVar("Thing")
_LETTERS = "23456789abcdefghjkmnpqrstvwxyz"  # those of thenar.records.refs


class Chance:
    """A stream of chance named by words, so that one worker's luck does not depend on another's.

    Examples
    --------
    >>> Chance(7, "refs").ref() == Chance(7, "refs").ref() != Chance(8, "refs").ref()
    True
    """

    def __init__(self, *words: object) -> None:
        self._random = random.Random("/".join(map(str, words)))  # noqa: S311  invented people need no secrecy

    def yes(self, share: float) -> bool:
        """True in this share of cases."""
        return self._random.random() < share

    def whole(self, least: int, most: int) -> int:
        """A whole number, both ends included."""
        return self._random.randint(least, most)

    def between(self, least: float, most: float) -> float:
        """A number between two others."""
        return self._random.uniform(least, most)

    def wait(self, mean: float) -> float:
        """A waiting time with this mean, exponential."""
        return self._random.expovariate(1 / mean)

    def spell(self, mean: float) -> float:
        """A length with this mean and a long tail, never close to nothing (gamma of shape 2)."""
        return self._random.gammavariate(2, mean / 2)

    def one_of(self, things: Sequence[Thing]) -> Thing:
        """Any of them."""
        return self._random.choice(things)

    def some_of(self, things: Sequence[Thing], count: int) -> list[Thing]:
        """`count` different ones, in their own order."""
        places = sorted(self._random.sample(range(len(things)), min(count, len(things))))
        return [things[place] for place in places]

    def weighed(self, weights: Mapping[Thing, float]) -> Thing:
        """One of them, by weight."""
        return self._random.choices(list(weights), list(weights.values()))[0]

    def day(self, first: date, last: date) -> date:
        """A day, both ends included."""
        return first + timedelta(days=self._random.randint(0, (last - first).days))

    def shuffled(self, things: Sequence[Thing]) -> list[Thing]:
        """All of them in another order."""
        mixed = list(things)
        self._random.shuffle(mixed)
        return mixed

    def ref(self) -> str:
        """A reference of the shape `new_ref` gives, but from the seed."""
        return "".join(self._random.choices(_LETTERS, k=12))
