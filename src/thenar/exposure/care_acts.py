"""What did hands do in a shift, act by act: what called for cleaning, how it was done, which gloves?"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import StrEnum

from thenar.errors import BadInput
from thenar.knowledge import Book

ONCE_A_MINUTE_ALL_DAY = 24 * 60
ACT = "gloves.act."


class Occasion(StrEnum):
    """What calls for clean hands: one of the five moments, two more, or nothing."""

    BEFORE_PATIENT = "before-patient"
    BEFORE_CLEAN_TASK = "before-clean-task"
    AFTER_BODY_FLUID = "after-body-fluid"
    AFTER_PATIENT = "after-patient"
    AFTER_SURROUNDINGS = "after-surroundings"
    AFTER_GLOVES = "after-gloves"
    BEFORE_FOOD_OR_MEDICINE = "before-food-or-medicine"
    NONE = "none"


class Pathogen(StrEnum):
    """What the patient is known or thought to carry."""

    NOROVIRUS = "norovirus"
    C_DIFFICILE = "c-difficile"
    SPORE_FORMER = "spore-former"
    OTHER = "other"
    NONE = "none"


class Cleansed(StrEnum):
    """How hands were cleaned."""

    WASH = "wash"
    RUB = "rub"
    RUB_THEN_WASH = "rub, then wash"
    NOT = "not"


class Tier(StrEnum):
    """Which gloves, from least to most."""

    NONE = "none"
    EXAMINATION = "examination"
    STERILE = "sterile"


@dataclass(frozen=True, slots=True)
class CareAct:
    """An act with one occasion for cleaning hands, done `times` times.

    None means not known. What is not known is held to have asked for the more, never for the less.
    """

    kind: str
    occasion: Occasion | None = None
    visible_soil: bool | None = None
    after_toilet: bool | None = None
    hands_wet: bool | None = None
    contaminated: bool | None = None
    pathogen: Pathogen | None = None
    contact_precautions: bool | None = None
    fluid_expected: bool | None = None
    cleansed: Cleansed | None = None
    gloves: Tier | None = None
    times: int = 1


class NothingLogged(BadInput):
    """A log without acts."""

    def __init__(self) -> None:
        super().__init__(
            what="acts: is empty.",
            why="Without acts nothing would seem required, and a plan could drop everything.",
            todo="Log at least one act, or leave obligations out: then nothing is taken away.",
        )


class UnknownAct(BadInput):
    """A kind of act that no rule knows."""

    def __init__(self, place: int, kind: object, known: tuple[str, ...]) -> None:
        super().__init__(
            what=f"acts[{place}].kind: {kind!r} is not known.",
            why="Whether gloves were indicated depends on the kind of act.",
            todo=f"Use one of: {', '.join(known)}. `other` holds gloves as indicated.",
        )


class UnusableAnswer(BadInput):
    """A field of an act with something it can't hold."""

    def __init__(self, place: int, field: str, given: object, says: str) -> None:
        super().__init__(
            what=f"acts[{place}].{field}: is {given!r}; it must be {says}.",
            why="A wrong answer would move the floor under every plan.",
            todo=f"Correct {field}, or leave it out if it is not known.",
        )


def kinds_of_act(book: Book) -> tuple[str, ...]:
    """Every kind of act that a rule on gloves names."""
    return tuple(rule_id.removeprefix(ACT) for rule_id in book.rules if rule_id.startswith(ACT))


def refuse_unusable_acts(acts: Sequence[CareAct], book: Book) -> None:
    """Refuse a log of acts that can't be read, naming the field.

    Raises
    ------
    NothingLogged
        There are no acts.
    UnknownAct
        A kind of act is not known.
    UnusableAnswer
        An answer is of the wrong sort, or a count is absurd.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> refuse_unusable_acts([CareAct("observations", times=-1)], load())  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    thenar.exposure.care_acts.UnusableAnswer: acts[0].times: is -1; it must be a whole number from 1 to ...
    """
    if not acts:
        raise NothingLogged
    known = kinds_of_act(book)
    for place, act in enumerate(acts):
        if act.kind not in known:
            raise UnknownAct(place, act.kind, known)
        if type(act.times) is not int or not 1 <= act.times <= ONCE_A_MINUTE_ALL_DAY:
            raise UnusableAnswer(
                place, "times", act.times, f"a whole number from 1 to {ONCE_A_MINUTE_ALL_DAY}"
            )
        _refuse_wrong_sort(place, act)


_SORTS: dict[str, tuple[type, str]] = {
    "occasion": (Occasion, "an occasion"),
    "pathogen": (Pathogen, "a pathogen"),
    "cleansed": (Cleansed, "a way of cleaning hands"),
    "gloves": (Tier, "a tier of gloves"),
}


def _refuse_wrong_sort(place: int, act: CareAct) -> None:
    for field in fields(act):
        if field.name in ("kind", "times"):
            continue
        given = getattr(act, field.name)
        sort, says = _SORTS.get(field.name, (bool, "yes or no"))
        if given is not None and not isinstance(given, sort):
            raise UnusableAnswer(place, field.name, given, says)
