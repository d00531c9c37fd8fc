"""Names and CAS numbers of allergens against tables others made.

The outside tables ship with the open library `chemicals` (MIT), which took them from PubChem. They know
substances, not plants, polymers or mixtures, so they speak for part of the table only.
"""

import re
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import pytest

from thenar.knowledge import KnownAs, load
from thenar.knowledge.cas import is_cas

TABLE = load().allergens
TABLES = (
    "chemical identifiers pubchem large.tsv",
    "chemical identifiers pubchem small.tsv",
    "Inorganic db.tsv",
)
NUMBERS = {number for one in TABLE.allergens.values() for number in one.cas}
FIRST_NAME = 7
"""Column from which on an outside table gives names."""

# The number is right, but the outside table has only other kinds of names for it.
OTHER_NAMES = {
    "55965-84-9": "trade names only",
    "63449-41-2": "one chain length of the mixture",
    "6004-24-6": "the monohydrate",
    "14634-93-6": "N-ethyl-N-phenyl",
    "3030-80-6": "a systematic name",
    "3179-89-3": "a systematic name",
    "51333-22-3": "a systematic name",
    "97-54-1": "a systematic name",
    "101-85-9": "the prefix a- for alpha-",
    "4602-84-0": "its isomers",
    "127-51-5": "a systematic name",
    "43052-87-5": "a systematic name",
    "93-29-8": "a systematic name",
}
# The outside table calls one substance by a name that labels give to another.
LOOSELY_NAMED = {
    ("chlorhexidine", "chlorhexidinegluconate"),
    ("chlorhexidine", "chlorhexidineacetate"),
    ("cetyl_alcohol", "cetostearylalcohol"),
    ("lauramidopropyl_betaine", "cocamidopropylbetaine"),
    ("limonene", "citrussinensispeeloil"),
    ("limonene", "lemonoil"),
    ("limonene", "nerolioil"),
    ("carvone", "spearmintoil"),
    ("glutaral", "ptd"),
}


@cache
def outside() -> dict[str, set[str]]:
    """Names by CAS number, of the numbers our table has."""
    package = find_spec("chemicals")
    assert package is not None
    assert package.origin is not None
    folder = Path(package.origin).parent / "Identifiers"
    names: dict[str, set[str]] = {}
    for table in TABLES:
        with (folder / table).open(encoding="utf-8") as rows:
            for row in rows:
                number = row.split("\t", 2)[1]
                if number in NUMBERS:
                    called = row.rstrip("\n").split("\t")[FIRST_NAME:]
                    names.setdefault(number, set()).update(
                        plain(name) for cell in called for name in cell.split(";")
                    )
    return names


def plain(name: str) -> str:
    """Letters and digits, with f for the older ph of sulphur."""
    return re.sub(r"[^a-z0-9]", "", name.casefold().replace("sulph", "sulf"))


def ours(id_: str) -> set[str]:
    one = TABLE.allergens[id_]
    return {plain(name) for name in (one.name, *one.inci, *one.synonyms)}


HELD = [(one.id, number) for one in TABLE.allergens.values() for number in one.cas if number in outside()]


def test_the_outside_tables_speak_for_a_good_part_of_ours():
    assert len({id_ for id_, _ in HELD}) >= 170


def test_every_cas_number_has_the_right_check_digit():
    # The rule is CAS's own ("Check digit verification of CAS registry numbers"); 7732-18-5 is water.
    assert is_cas("107-07-3")
    assert is_cas("7732-18-5")
    assert all(is_cas(number) for number in NUMBERS)
    assert len(NUMBERS) > 300


@pytest.mark.parametrize(
    "number", ["107-07-4", "7732-18-6", "107-7-3", "0107-07-3", "107-07-3 ", "", "water"]
)
def test_a_slip_in_a_cas_number_is_seen(number):
    assert not is_cas(number)


def test_the_outside_numbers_pass_the_same_check():
    assert all(is_cas(number) for number in outside())


@pytest.mark.parametrize(("id_", "number"), HELD)
def test_a_number_and_a_name_belong_together_outside_too(id_, number):
    agrees = bool(ours(id_) & outside()[number])
    assert agrees is (number not in OTHER_NAMES), (id_, number)


def test_no_number_of_one_allergen_goes_by_the_name_of_another():
    for id_, number in HELD:
        for other in TABLE.allergens:
            if other != id_:
                common = (ours(other) - ours(id_)) & outside()[number]
                assert {(id_, name) for name in common} <= LOOSELY_NAMED, (id_, number, other)


def test_numbers_from_memory_are_not_called_published():
    for one in TABLE.allergens.values():
        if "from memory" in one.identity.locator:
            assert one.identity.known_as is KnownAs.FROM_MEMORY, one.id
