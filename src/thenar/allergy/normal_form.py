"""Which spelling stands for all spellings of one ingredient name?"""

import re
import unicodedata

# Marks that stand beside a name and are no part of it; compatibility folding would turn them into letters.
_MARKS = "¹²³⁰⁴⁵⁶⁷⁸⁹ªº™®©℠°"
INVISIBLE = "\u00ad\u034f\u061c\u180e\ufeff" + "".join(
    chr(code)
    for first, last in (
        (0x200B, 0x200F),
        (0x202A, 0x202E),
        (0x2060, 0x2064),
        (0x2066, 0x206F),
        (0xFE00, 0xFE0F),
    )
    for code in range(first, last + 1)
)
_DROPPED = dict.fromkeys(map(ord, _MARKS + INVISIBLE))
_LETTERS = str.maketrans(
    {
        "æ": "ae",
        "œ": "oe",
        "ø": "o",
        "ł": "l",
        "đ": "d",
        "ı": "i",
        "α": "alpha",
        "β": "beta",
        "γ": "gamma",
        "δ": "delta",
        "ω": "omega",
        "⁄": "/",
        "∕": "/",
    }
)
_BETWEEN_DIGITS = re.compile(r"(?<=\d)[^\w/]+(?=\d)")
_BESIDE_LETTERS = re.compile(r"(?<!\d)[^\w/]+|[^\w/]+(?!\d)")


def normal_form(name: str) -> str:
    """The one spelling under which a name is looked up, whatever the label's case, spacing and accents.

    In order: footnote marks, trade marks and invisible characters go; compatibility forms, accents and case
    are folded; ligatures and Greek letters are written out; what stands between two digits becomes one hyphen
    (``1,2-`` and ``1.2-`` are one locant); every other space, hyphen, bracket, quote and stop goes, and only
    ``/`` stays; ``sulph`` becomes ``sulf``. Names that differ only by a prime (N,N- and N,N'-) fall together,
    on the side of caution.

    Parameters
    ----------
    name
        A name, a synonym or a CAS number, in any spelling.

    Returns
    -------
    str
        The normal form. Applying the function again changes nothing. Empty if there is no letter or digit.

    Notes
    -----
    The steps are our choice. They compare names; nothing is ever shown in this form.

    Examples
    --------
    >>> normal_form("2-BROMO-2-NITROPROPANE-1,3-DIOL*")
    '2bromo2nitropropane1-3diol'
    >>> normal_form("Méthyl isothiazo\\u00adlinone") == normal_form("METHYLISOTHIAZOLINONE")
    True
    >>> normal_form("C.I. 42090"), normal_form("2682-20-4"), normal_form("Caprylyl / Capryl Glucoside")
    ('ci42090', '2682-20-4', 'caprylyl/caprylglucoside')
    """
    folded = name.lower() if name.isascii() else _folded(name)
    joined = _BETWEEN_DIGITS.sub("-", folded.replace("\\", "/").replace("_", " "))
    return _BESIDE_LETTERS.sub("", joined).strip("/").replace("sulph", "sulf")


def _folded(name: str) -> str:
    folded = unicodedata.normalize("NFKD", name.translate(_DROPPED)).casefold().translate(_LETTERS)
    # Folding case can bring forth accents, and folding accents letters that have a case.
    return unicodedata.normalize("NFKD", folded).casefold().translate(_LETTERS)
