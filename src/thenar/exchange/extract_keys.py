"""Under which key does something stand in an extract? Fresh in each: without the secret nobody can tell."""

import hashlib
import hmac
from dataclasses import dataclass, field

from thenar.errors import BadInput

SHORTEST_SECRET = 16


@dataclass(frozen=True, slots=True)
class Keys:
    """Pseudonyms made with a secret that stands nowhere in the extract.

    A key is the first 63 bits of an HMAC-SHA256. Among 10 million workers two share one with a chance of
    about 5 in a million.

    Examples
    --------
    >>> keys, others = Keys(b"a secret of this extract"), Keys(b"and one of another extract")
    >>> keys.of("worker", 12) == keys.of("worker", 12)
    True
    >>> keys.of("worker", 12) in (keys.of("case", 12), keys.of("worker", 13), others.of("worker", 12))
    False
    """

    secret: bytes = field(repr=False)

    def __post_init__(self) -> None:
        if len(self.secret) < SHORTEST_SECRET:
            raise BadInput(
                what=f"The secret has {len(self.secret)} bytes.",
                why="A short one can be guessed, and every key turned back into a record.",
                todo=f"Draw at least {SHORTEST_SECRET} bytes by chance.",
            )

    def of(self, kind: str, pk: int) -> int:
        """The key of one record of a kind. [0 to 2^63 - 1]"""
        made = hmac.digest(self.secret, f"{kind}:{pk}".encode(), hashlib.sha256)
        return int.from_bytes(made[:8], "big") >> 1

    def of_any(self, kind: str, pk: int | None) -> int | None:
        """The key, or nothing where there is no record."""
        return None if pk is None else self.of(kind, pk)
