"""References people and pages use instead of row numbers: short, random, readable aloud."""

import secrets

_LETTERS = "23456789abcdefghjkmnpqrstvwxyz"  # no 0/o, 1/l/i, u: read over a telephone without doubt


def new_ref() -> str:
    """A fresh reference of 12 letters and figures (59 bits): it names, it does not protect."""
    return "".join(secrets.choice(_LETTERS) for _ in range(12))


def new_token() -> str:
    """A secret for a link (192 bits). Only its hash is ever stored."""
    return secrets.token_urlsafe(24)
