"""Puts what is known of an area into the content of an assessment."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from thenar.documents.assessment import (
    AssessmentContent,
    LoadLine,
    MeasureLine,
    RoleFinding,
    VerdictLine,
)
from thenar.documents.letters import Contact
from thenar.knowledge import Book
from thenar.records.models import RecordedControl, User
from thenar.records.models.workplace import HIERARCHY
from thenar.screens.workplace.exposure_of import PartExposure, PostExposure, asked_of
from thenar.screens.workplace.figures import figures_of
from thenar.screens.workplace.how_sure import NO_TARGET, caution_in_words, how_sure
from thenar.screens.workplace.limits_here import WORDS_OF_POLICY
from thenar.screens.workplace.looking import Look, governing_id
from thenar.screens.workplace.matrix import RuleSetRow, rule_rows, trust_in
from thenar.screens.workplace.wording import exact, percent, percents

CAUTIONS = (
    "Readings of published limits and of what was watched; not rulings of law, and no measure of anyone’s"
    " diligence.",
    "Infection control comes first: no required wash, rub or glove is ever dropped. Local policy, the law and"
    " your own judgement decide.",
    "Not known never means that all is well.",
)
_RANK = {kind: rank for rank, (kind, _) in enumerate(HIERARCHY)}
_WORDS = dict(HIERARCHY)
ALL_ROLES = "All roles"


@dataclass(frozen=True, slots=True)
class Action:
    """An action agreed: what, at which place in the hierarchy, who, and by when."""

    kind: str
    words: str
    owner: str
    due_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessor:
    """Who assessed, for whom to answer questions, and on which day."""

    name: str
    position: str
    contact: Contact
    on: date


def assessor(by: User, contact: Contact, on: date) -> Assessor:
    """The person at work, on a day."""
    return Assessor(name=by.called, position=by.position or by.get_access_display(), contact=contact, on=on)


def assessment_content(
    look: Look,
    *,
    area: str,
    controls: Iterable[RecordedControl],
    actions: Sequence[Action],
    own_words: str,
    number: int | None,
    review_on: date | None,
    made_by: Assessor,
    book: Book,
    jurisdiction: str,
) -> AssessmentContent:
    """An area as it stands: findings of every role, what is done, and what was agreed.

    Parameters
    ----------
    look
        What is known, and the limits it was weighed by.
    area
        Its name.
    controls, actions
        Measures recorded, and those agreed now; both are put in the order of the hierarchy.
    own_words
        What the assessor wrote; each line becomes a paragraph.
    number, review_on
        None for a report that is not kept as an assessment.
    made_by
        Who answers for it.
    book, jurisdiction
        The knowledge, and where the site is.

    Raises
    ------
    BadInput
        Something in it can't be printed.
    """
    return AssessmentContent(
        area=area,
        number=number,
        assessed_on=made_by.on,
        review_on=review_on,
        assessed_by=made_by.name,
        position=made_by.position,
        contact=made_by.contact,
        rules_say=look.limits.says,
        rubs_say=WORDS_OF_POLICY[look.limits.policy],
        own_words=tuple(line.strip() for line in own_words.splitlines() if line.strip()),
        roles=tuple(_role(one, look, book, made_by.on, jurisdiction) for one in look.known),
        never_watched=tuple(f"{one.role}: {one.not_known}" for one in look.unknown),
        in_place=_in_place(controls),
        actions=_agreed(actions),
        cautions=(*CAUTIONS, *_how_sure(look.known, book, made_by.on)),
        sources=_sources(look, book),
        edition=book.edition,
    )


def _role(exposure: PostExposure, look: Look, book: Book, on: date, jurisdiction: str) -> RoleFinding:
    part = exposure.likeliest or exposure.parts[0]
    trust = trust_in(part.usual, book, on, jurisdiction, look.limits.policy)
    rows = rule_rows(part.usual, book, on, look.limits.policy, governing_id(look.limits))
    return RoleFinding(
        role=exposure.role,
        standing=_standing(exposure, part),
        loads=_loads(exposure, look),
        shift=part.name,
        verdicts=tuple(_verdict(row) for row in rows if row.in_force),
        trust=trust.says if part.watched else f"Nobody has watched this shift. {trust.says}",
        cautions=(),  # each once, at the end
        asked=_asked(exposure, book, on),
        both_reasons=_both(exposure, book, on),
    )


def _standing(exposure: PostExposure, part: PartExposure) -> str:
    assumed = " (assumed)" if exposure.hours_assumed else ""
    people = f"{exposure.post.people} {'person' if exposure.post.people == 1 else 'people'}"
    number = len(exposure.post.sessions)
    sessions = f"{number} {'session' if number == 1 else 'sessions'}"
    watched = (
        f"Watched for {exact(exposure.watched_hours)} h in {sessions}."
        if exposure.watched_hours
        else "Never watched: a published rate only."
    )
    said = f"{people}, shifts of {exposure.hours:g} h{assumed}. {watched}"
    if part.chance is None:
        return said
    least = "At least " if part.chance.not_weighed else ""
    chance = percent(part.chance.chance)
    could = percents(part.chance.lower, part.chance.upper)
    sentence = f"{least}{chance} of {part.name.lower()} shifts pass a limit (could be {could})."
    return f"{said} {sentence[:1].upper()}{sentence[1:]}"


def _loads(exposure: PostExposure, look: Look) -> tuple[LoadLine, ...]:
    return tuple(
        LoadLine(
            what=f"{figure.label}{',' + figure.unit if figure.unit else ''}",
            shift=row.part,
            expected=row.expected,
            between=row.between,
            chances=row.chances,
        )
        for figure in figures_of(exposure, look.limits.drawn, [exposure])
        for row in figure.rows
    )


def _verdict(row: RuleSetRow) -> VerdictLine:
    governs = " (governs here)" if row.governing else ""
    return VerdictLine(f"{row.name}{governs}", row.verdict, row.tier, row.nearest)


def _how_sure(known: Sequence[PostExposure], book: Book, on: date) -> tuple[str, ...]:
    """What to be careful of, each once; with the roles it is said of, where that is not all of them."""
    said: dict[str, list[str]] = {}
    for one in known:
        for line in how_sure(one, book, on).brief:
            said.setdefault(line, []).append(one.role)
    widest_first = sorted(said.items(), key=lambda one: -len(one[1]))
    told = [
        line if len(roles) == len(known) else f"{', '.join(roles)}: {line}" for line, roles in widest_first
    ]
    return (*told, caution_in_words(NO_TARGET, book, on)) if known else ()


def _asked(exposure: PostExposure, book: Book, on: date) -> tuple[str, ...]:
    asked = asked_of(exposure.post.described, book, on)
    if asked is None:
        return ("Nobody has logged the acts of a shift, so what was required is not known.",)
    need, done = asked.required, asked.done
    missed = (
        f"Missed: {done.soap_missed} with soap, {done.cleansings_missed} rubs or washes,"
        f" {done.gloves_missed} gloves."
    )
    return (
        f"Washes in a described shift: {need.soap_acts} needed soap, {done.washes} were done;"
        f" {done.washes_not_required} of these could be rubs.",
        f"Gloves: {need.gloves} pairs were indicated, {done.pairs} were worn;"
        f" {done.pairs_not_indicated} of these could stay off.",
        *([missed] if done.soap_missed or done.cleansings_missed or done.gloves_missed else ()),
        *(
            [f"In {need.held} acts an answer is missing, and the more is held to be required."]
            if need.held
            else ()
        ),
    )


def _both(exposure: PostExposure, book: Book, on: date) -> tuple[str, ...]:
    asked = asked_of(exposure.post.described, book, on)
    if asked is None:
        return ()
    return tuple(
        f"{book.rule(f'gloves.act.{one.kind}').says} Infection control: gloves {one.infection_control}"
        f" ({one.infection_control_citation.label}). The skin: {one.skin} ({one.skin_citation.label})"
        for one in asked.required.both_reasons
    )


def _in_place(controls: Iterable[RecordedControl]) -> tuple[MeasureLine, ...]:
    ordered = sorted(controls, key=lambda one: (_RANK[one.hierarchy], one.start_on))
    return tuple(
        MeasureLine(
            kind=_WORDS[one.hierarchy],
            words=one.words,
            role=one.role.name if one.role else ALL_ROLES,
            owner=one.owner,
            day=one.start_on,
            review_on=one.review_on,
        )
        for one in ordered
    )


def _agreed(actions: Sequence[Action]) -> tuple[MeasureLine, ...]:
    ordered = sorted(actions, key=lambda one: (_RANK[one.kind], one.due_on))
    return tuple(
        MeasureLine(_WORDS[one.kind], one.words, ALL_ROLES, one.owner, one.due_on, None) for one in ordered
    )


def _sources(look: Look, book: Book) -> tuple[str, ...]:
    """Where the limits drawn and the published starts come from, each once."""
    limits = [f"{ready.criterion.says} {ready.citation.label}" for ready in look.limits.drawn.criteria]
    starts = [
        f"{book.rule(key).says} {citation.label}"
        for one in look.known
        if one.start
        for key, citation in one.start.citations
    ]
    return tuple(dict.fromkeys((*limits, *starts)))
