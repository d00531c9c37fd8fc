"""References people and pages use instead of row numbers: short, random, readable aloud."""

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_LETTERS = "23456789abcdefghjkmnpqrstvwxyz"  # no 0/o, 1/l/i, u: read over a telephone without doubt

_choose: ContextVar[Callable[[str], str]] = ContextVar("choose", default=secrets.choice)


def new_ref() -> str:
    """A fresh reference of 12 letters and figures (59 bits): it names, it does not protect."""
    choose = _choose.get()
    return "".join(choose(_LETTERS) for _ in range(12))


@contextmanager
def refs_chosen_by(choose: Callable[[str], str]) -> Iterator[None]:
    """New references by another chance while it lasts: the demo's come from its seed. Tokens never do."""
    before = _choose.set(choose)
    try:
        yield
    finally:
        _choose.reset(before)


def new_token() -> str:
    """A secret for a link (192 bits). Only its hash is ever stored."""
    return secrets.token_urlsafe(24)
