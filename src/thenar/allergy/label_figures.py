"""Which figures stand in a piece of a label: CAS and registry numbers, amounts, hazard classes?"""

import re
from dataclasses import dataclass
from decimal import Decimal

from thenar.allergy.label_words import AMOUNT, CAS, HAZARD, NUMBER

_DIGIT = re.compile(r"\d")


@dataclass(frozen=True, slots=True)
class Figures:
    """A piece with its figures set apart. `bare` is as long as the piece, blank where figures stood.

    `cas` are CAS numbers whose check digit fits, with their places; `misprinted` are places of those whose
    check digit doesn't. `shares` are amounts with their places: a percentage, or None for any other amount.
    """

    bare: str
    cas: tuple[tuple[int, str], ...]
    misprinted: tuple[tuple[int, int], ...]
    shares: tuple[tuple[int, int, Decimal | None], ...]


def set_apart(piece: str, *, rows: bool) -> Figures:
    """Find the figures of a piece. With `rows`, hazard classes at its end are figures too.

    Examples
    --------
    >>> figures = set_apart("Methylisothiazolinone (CAS 2682-20-4) 0.01 %", rows=False)
    >>> figures.cas, figures.shares
    (((27, '2682-20-4'),), ((38, 44, Decimal('0.01')),))
    """
    text = HAZARD.sub(_blank, piece) if rows else piece
    if not _DIGIT.search(text):
        return Figures(text, (), (), ())
    cas: list[tuple[int, str]] = []
    misprinted: list[tuple[int, int]] = []
    for number in NUMBER.finditer(text):
        for match in CAS.finditer(number[0]):
            place = number.start() + match.start()
            if check_digit_fits(match[1]):
                cas.append((place, _in_plain_digits(match[1])))
            else:
                misprinted.append((place, place + len(match[1])))
    text = NUMBER.sub(_blank, text)
    shares = tuple((match.start(), match.end(), _share(match)) for match in AMOUNT.finditer(text))
    return Figures(AMOUNT.sub(_blank, text), tuple(cas), tuple(misprinted), shares)


def check_digit_fits(cas: str) -> bool:
    """Whether a CAS number's last digit is the sum over the others, from the right, of place x digit, mod 10.

    Examples
    --------
    >>> check_digit_fits("2682-20-4"), check_digit_fits("2682-20-5")
    (True, False)
    """
    *digits, check = (int(digit) for digit in cas if digit != "-")
    return sum(place * digit for place, digit in enumerate(reversed(digits), 1)) % 10 == check


def _in_plain_digits(number: str) -> str:
    """Digits of other scripts as 0 to 9."""
    return "".join(str(int(each)) if each.isdecimal() else each for each in number)


def _share(amount: re.Match[str]) -> Decimal | None:
    if amount["about"].strip() or amount["range"] or not {"%", "％"} & set(amount["unit"]):
        return None
    return Decimal(amount["figure"].replace(",", "."))


def _blank(match: re.Match[str]) -> str:
    return " " * len(match[0])
