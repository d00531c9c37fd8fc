"""Is this a CAS registry number, by its own check digit?"""

import re

_FORM = re.compile(r"[1-9]\d{1,6}-\d\d-\d", re.ASCII)


def is_cas(text: str) -> bool:
    """Whether `text` has the form of a CAS number and its last digit is the check digit of the others.

    The digits before the last, counted from right to left, are each multiplied by their position; the last
    digit of the sum is the check digit (CAS, "Check digit verification of CAS registry numbers").

    Examples
    --------
    >>> is_cas("7732-18-5"), is_cas("7732-18-4"), is_cas("water")
    (True, False, False)
    """
    if not _FORM.fullmatch(text):
        return False
    *digits, check = (int(digit) for digit in text.replace("-", ""))
    return sum(place * digit for place, digit in enumerate(reversed(digits), start=1)) % 10 == check
