"""How soon may a chemical pass a glove material, as far as published? Unknown is said to be unknown."""

from decimal import Decimal

from thenar.allergy.glove_terms import Contact, Passage, Passing
from thenar.allergy.normal_form import normal_form
from thenar.knowledge.allergens import AllergenTable, Breakthrough

_ONE_GLOVE = "Measured on some gloves only: thickness and make matter, and the maker's figures come first."


def passage(contact: Contact, material: str, table: AllergenTable) -> Passage:
    """What is published of one chemical passing one glove material, beside the minutes of contact.

    Parameters
    ----------
    contact
        The chemical by any name the table gives it, and the minutes of one contact.
    material
        Id of a glove material of the table; empty: not known.
    table
        What is known of allergens and gloves.

    Notes
    -----
    Where several times are published, the shortest decides. A time published only as an upper bound counts
    from the first minute. Test times are no wearing times: heat, stretch and wear shorten them.
    """
    made_of = table.materials.get(material)
    if made_of is None:
        return _not_known(
            contact, "What the glove is made of is not known, so its breakthrough is not either."
        )
    published = tuple(
        each
        for each in table.breakthroughs
        if each.material == material and normal_form(contact.chemical) in _names(each)
    )
    if not published:
        says = f"No published time is known here for {contact.chemical} through {made_of.name}."
        return _not_known(contact, says)
    return _published(contact, published)


def _names(breakthrough: Breakthrough) -> set[str]:
    return {normal_form(name) for name in (breakthrough.chemical, *breakthrough.other_names)}


def _not_known(contact: Contact, says: str) -> Passage:
    return Passage(contact, Passing.NOT_KNOWN, None, None, says)


def _published(contact: Contact, published: tuple[Breakthrough, ...]) -> Passage:
    timed = [each for each in published if (each.least_minutes, each.most_minutes) != (None, None)]
    least = _least(timed)
    most = None if any(each.most_minutes is None for each in timed) else _longest(timed)
    if not timed or contact.minutes is None:
        passing = Passing.NOT_KNOWN
    else:
        passing = (
            Passing.SHORTER if least is not None and contact.minutes < least else Passing.MAY_COME_THROUGH
        )
    says = " ".join((*(f"{each.says} ({each.cited.known_as})" for each in published), _ONE_GLOVE))
    return Passage(contact, passing, least, most, says, tuple(each.id for each in published))


def _least(timed: list[Breakthrough]) -> Decimal | None:
    """The shortest time published; None where one of them is only known to be under some bound."""
    leasts = [each.least_minutes for each in timed]
    known = [each for each in leasts if each is not None]
    return min(known) if known and len(known) == len(leasts) else None


def _longest(timed: list[Breakthrough]) -> Decimal | None:
    return max((each.most_minutes for each in timed if each.most_minutes is not None), default=None)
