"""What did a shift's acts require? Soap, rub or either, and which gloves: the floor no plan goes under."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from thenar.exposure.care_acts import (
    ACT,
    CareAct,
    Occasion,
    Pathogen,
    Tier,
    refuse_unusable_acts,
)
from thenar.knowledge import Book, Citation, KnowledgeError

ROUTINE = "hand-cleansing.with.routine"
SOILED = "hand-cleansing.with.visibly-soiled"
TOILET = "hand-cleansing.with.after-toilet"
WET = "obligations.with.wet-hands"
CONTAMINATED = "obligations.with.contaminated"
PRECAUTIONS = "gloves.with.contact-precautions"
FLUID = "gloves.with.fluid-expected"
PATHOGEN_RULES = {
    Pathogen.NOROVIRUS: "hand-cleansing.with.norovirus",
    Pathogen.C_DIFFICILE: "hand-cleansing.with.c-difficile",
    Pathogen.SPORE_FORMER: "obligations.with.spore-former",
    Pathogen.OTHER: ROUTINE,
}
ADDED_OCCASIONS = (Occasion.AFTER_GLOVES, Occasion.BEFORE_FOOD_OR_MEDICINE)


class Method(StrEnum):
    """What hands must be cleaned with, from least to most."""

    NOTHING = "nothing"
    RUB = "rub"
    SOAP = "soap and water"
    RUB_THEN_SOAP = "rub, then soap and water"

    @property
    def washes(self) -> int:
        """How many washes one act needs."""
        return int(self in (Method.SOAP, Method.RUB_THEN_SOAP))

    @property
    def cleansings(self) -> int:
        """How many rubs and washes together one act needs."""
        return {Method.NOTHING: 0, Method.RUB_THEN_SOAP: 2}.get(self, 1)


_METHODS = tuple(Method)
_TIERS = tuple(Tier)
_TIER_TEXTS = {"not indicated": Tier.NONE, "examination": Tier.EXAMINATION, "sterile": Tier.STERILE}
_NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Reason:
    """A rule that asked for something, in how many acts, with its source and those who see it otherwise.

    `held` when an answer was missing and the rule is held to apply until it is known.
    """

    rule_id: str
    says: str
    asks: str
    acts: int
    held: bool
    citation: Citation
    other_views: tuple[tuple[str, Citation], ...] = ()
    why_in_use: str = ""


@dataclass(frozen=True, slots=True)
class BothReasons:
    """Acts where skin protection and infection control point apart. Both are shown; a person chooses."""

    kind: str
    acts: int
    infection_control: str
    infection_control_citation: Citation
    skin: str
    skin_citation: Citation


@dataclass(frozen=True, slots=True)
class Obligations:
    """What a shift's acts required.

    `soap_acts` had to be washes; in `rub_or_wash_acts` a rub does as well. `held` counts the acts in which
    something was held as required because an answer was missing.
    """

    soap_acts: int
    rub_or_wash_acts: int
    gloves_sterile: int
    gloves_examination: int
    held: int
    both_reasons: tuple[BothReasons, ...]
    reasons: tuple[Reason, ...]
    edition: str

    @property
    def cleansings(self) -> int:
        """Rubs and washes together, at the least."""
        return self.soap_acts + self.rub_or_wash_acts

    @property
    def gloves(self) -> int:
        """Pairs of gloves, at the least."""
        return self.gloves_sterile + self.gloves_examination


@dataclass(frozen=True, slots=True)
class Needs:
    """What one act required, and why: rule, what it asks for, whether held for want of an answer."""

    method: Method
    gloves: Tier
    why: tuple[tuple[str, str, bool], ...]

    @property
    def held(self) -> bool:
        """Whether something is held as required for want of an answer."""
        return any(held for _, _, held in self.why)


def obligations(acts: Sequence[CareAct], book: Book, on: date) -> Obligations:
    """What the acts of a shift required, on the rules in force that day.

    Parameters
    ----------
    acts
        What was done, with one occasion for cleaning hands in each act. [1 act or more]
    book
        The knowledge, with the site's own policy over it if the site has one.
    on
        Day of the shift.

    Returns
    -------
    Obligations
        Least numbers of washes, of rubs and washes, and of gloves by tier, each with reasons and sources.

    Raises
    ------
    NothingLogged, UnknownAct, UnusableAnswer
        The log can't be read.
    KnowledgeError
        A site's policy names a method or a tier that nobody knows.

    Notes
    -----
    A missing answer is held to have asked for soap, or for gloves, until it is known. Which infections need
    soap is the site's policy; the bodies that differ stand beside the rule. The lists of acts and gloves are
    from memory: check them against local policy.

    References
    ----------
    .. [1] WHO Guidelines on Hand Hygiene in Health Care, 2009.
    .. [2] WHO Glove Use Information Leaflet, revised August 2009.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> clear = dict(visible_soil=False, after_toilet=False, hands_wet=False, contaminated=False,
    ...              pathogen=Pathogen.NONE, contact_precautions=False, fluid_expected=False)
    >>> required = obligations([
    ...     CareAct("observations", Occasion.BEFORE_PATIENT, **clear, times=8),
    ...     CareAct("own-needs", Occasion.NONE, **{**clear, "after_toilet": True}, times=2),
    ... ], load(), date(2026, 11, 25))
    >>> required.soap_acts, required.rub_or_wash_acts, required.gloves, required.held
    (2, 8, 0, 0)
    """
    refuse_unusable_acts(acts, book)
    needs = [needs_of(act, book, on) for act in acts]
    paired = list(zip(acts, needs, strict=True))
    soap = sum(act.times * need.method.washes for act, need in paired)
    return Obligations(
        soap_acts=soap,
        rub_or_wash_acts=sum(act.times * need.method.cleansings for act, need in paired) - soap,
        gloves_sterile=sum(act.times for act, need in paired if need.gloves is Tier.STERILE),
        gloves_examination=sum(act.times for act, need in paired if need.gloves is Tier.EXAMINATION),
        held=sum(act.times for act, need in paired if need.held),
        both_reasons=_both_reasons(acts, book, on),
        reasons=_reasons(paired, book, on),
        edition=book.edition,
    )


def needs_of(act: CareAct, book: Book, on: date) -> Needs:
    """What one act required: the most that any of its reasons asks for."""
    cleaning = [(rule, _method(rule, book, on), held) for rule, held in _cleaning_rules(act)]
    gloves = [_tier(rule, book, on, held) for rule, held in _glove_rules(act)]
    occasion = [] if act.occasion in (None, Occasion.NONE) else [_occasion_rule(act.occasion)]
    return Needs(
        method=max((method for _, method, _ in cleaning), key=_METHODS.index, default=Method.NOTHING),
        gloves=max((tier for _, tier, _ in gloves), key=rank_of),
        why=(
            *((rule, "clean hands", False) for rule in occasion),
            *((rule, method.value, held) for rule, method, held in cleaning),
            *((rule, f"gloves: {tier.value}", held) for rule, tier, held in gloves),
        ),
    )


def _cleaning_rules(act: CareAct) -> Iterator[tuple[str, bool]]:
    """Each rule that says with what to clean hands, and whether it is only held to apply."""
    if act.occasion is not Occasion.NONE:
        yield ROUTINE, act.occasion is None
    states = (
        (act.visible_soil, SOILED),
        (act.after_toilet, TOILET),
        (act.hands_wet, WET),
        (act.contaminated, CONTAMINATED),
    )
    yield from ((rule, answer is None) for answer, rule in states if answer is not False)
    if act.pathogen is None:
        yield from ((rule, True) for rule in PATHOGEN_RULES.values() if rule != ROUTINE)
    elif act.pathogen is not Pathogen.NONE:
        yield PATHOGEN_RULES[act.pathogen], False


def _glove_rules(act: CareAct) -> Iterator[tuple[str, bool]]:
    yield ACT + act.kind, False
    for answer, rule in ((act.contact_precautions, PRECAUTIONS), (act.fluid_expected, FLUID)):
        if answer is not False:
            yield rule, answer is None


def _method(rule_id: str, book: Book, on: date) -> Method:
    text = book.rule(rule_id).on(on).text
    if text not in _METHODS or text == Method.NOTHING:
        raise _unreadable(rule_id, text, "rub, soap and water, or rub, then soap and water")
    return Method(text)


def _tier(rule_id: str, book: Book, on: date, held: bool) -> tuple[str, Tier, bool]:
    text = book.rule(rule_id).on(on).text
    if text == _NOT_KNOWN:
        return rule_id, Tier.EXAMINATION, True
    if text not in _TIER_TEXTS:
        raise _unreadable(rule_id, text, "sterile, examination, not indicated or not known")
    return rule_id, _TIER_TEXTS[text], held


def _unreadable(rule_id: str, text: str | None, says: str) -> KnowledgeError:
    return KnowledgeError(
        what=f"{rule_id}: {text!r} is not {says}.",
        why="What a shift required would be guessed.",
        todo="Mend the text in the site file and run `thenar knowledge verify`.",
    )


def _occasion_rule(occasion: Occasion) -> str:
    return ("obligations.occasion." if occasion in ADDED_OCCASIONS else "hand-cleansing.moment.") + occasion


def _reasons(paired: list[tuple[CareAct, Needs]], book: Book, on: date) -> tuple[Reason, ...]:
    acts: dict[tuple[str, str, bool], int] = {}
    for act, need in paired:
        for why in need.why:
            acts[why] = acts.get(why, 0) + act.times
    return tuple(
        _reason(rule_id, asks, count, held=held, book=book, on=on)
        for (rule_id, asks, held), count in acts.items()
    )


def _reason(rule_id: str, asks: str, acts: int, *, held: bool, book: Book, on: date) -> Reason:
    rule = book.rule(rule_id)
    return Reason(
        rule_id=rule_id,
        says=rule.says,
        asks=asks,
        acts=acts,
        held=held,
        citation=book.cite(rule.on(on)),
        other_views=book.entry(rule_id).other_views,
        why_in_use=rule.why_in_use,
    )


def _both_reasons(acts: Sequence[CareAct], book: Book, on: date) -> tuple[BothReasons, ...]:
    """Kinds of act in which another source asks for gloves for the skin's sake."""
    counts: dict[str, int] = {}
    for act in acts:
        counts[act.kind] = counts.get(act.kind, 0) + act.times
    return tuple(
        BothReasons(
            kind=kind,
            acts=count,
            infection_control=f"{book.rule(ACT + kind).on(on).text}",
            infection_control_citation=book.cite(book.rule(ACT + kind).on(on)),
            skin=says,
            skin_citation=citation,
        )
        for kind, count in counts.items()
        for says, citation in book.entry(ACT + kind).other_views
    )


def rank_of(tier: Tier) -> int:
    """Place of a tier, from least to most."""
    return _TIERS.index(tier)
