"""One case from its first examination to its closing, or to yesterday when it is still open."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from thenar.demo.chance import Chance
from thenar.demo.hands import Pattern, activity, pattern
from thenar.demo.past import Past
from thenar.demo.pen import moment, working
from thenar.demo.staff import Member
from thenar.demo.troubles import MODERATE, SEVERE
from thenar.records.letter_states import Step
from thenar.records.models import Case, Examination, Letter, Review, User

# Invented: how courses go, and what is agreed for whom.
_COURSES = {"slow": 0.4, "quick": 0.25, "flare": 0.2, "relapse": 0.15}
_PACE = {1: (3.0, 7.0), 2: (4.0, 9.0), 3: (6.0, 14.0)}  # weeks in which the activity falls to about a third
_ADJUSTED = {1: 0.2, 2: 0.6, 3: 0.9}
_COMMENT = "Please keep me on the early shifts if you can."
MEASURES = (
    "named-products-supplied",
    "glove-tasks-shared",
    "solutions-by-colleagues",
    "tasks-vary",
    "time-for-appointments",
    "no-extra-shifts",
)
PATIENT_MEASURES = ("no-washing-of-patients", *MEASURES)
FAR_MEASURES = ("no-patient-contact", "desk-or-teaching")
_NOTES = (
    "",
    "",
    "",
    "Uses the cream at work, forgets it at home.",
    "Asked about liners for longer glove tasks.",
    "Webs sore after the night shifts.",
    "Better after the week off.",
    "Washes with soap after each rub; talked it through.",
)
_LONGEST_LETTER = timedelta(days=14)
_MOST_LOOKS = 9


@dataclass(slots=True)
class Episode:
    """A case as it runs."""

    member: Member
    case: Case
    by: User
    grade: int
    contact: str
    pattern: Pattern
    course: str
    pace: float
    looks: list[Examination] = field(default_factory=list)
    plans: int = 0
    pending: Review | None = None
    letter: Letter | None = None
    closed_on: date | None = None

    @property
    def open(self) -> bool:
        """Whether it still runs."""
        return self.closed_on is None

    @property
    def first_look(self) -> date:
        """The day of the first examination."""
        return self.looks[0].examined_on


def run_episode(past: Past, chance: Chance, episode: Episode, first_look: date) -> Episode:
    """Write everything from the first look on."""
    look = first_look
    while episode.open:
        at = moment(look, chance.whole(10, 15), chance.whole(0, 50))
        if _has_left(episode.member, look):
            _close(past, episode, "left", at)
        elif episode.pending is not None and len(episode.looks) and chance.yes(0.1):
            look = _put_off(past, chance, episode, at)
            if look > past.yesterday:
                break
        else:
            _look(past, chance, episode, at)
            if episode.open:
                look = _next_look(past, chance, episode, at)
                if look > past.yesterday:
                    break
    return episode


def new_episode(
    past: Past, chance: Chance, member: Member, case: Case, *, grade: int, contact: str
) -> Episode:
    """A case whose hands are drawn, before anyone has looked."""
    return Episode(
        member=member,
        case=case,
        by=case.by,
        grade=grade,
        contact=contact,
        pattern=pattern(chance, grade, past.book, case.opened_on),
        course=chance.weighed(_COURSES),
        pace=chance.between(*_PACE[grade]),
    )


def _has_left(member: Member, day: date) -> bool:
    return member.worker.left_on is not None and member.worker.left_on < day


def _look(past: Past, chance: Chance, episode: Episode, at: datetime) -> None:
    """Examine; then finish the review that brought the worker, and close or go on."""
    weeks = (at.date() - episode.first_look).days / 7 if episode.looks else 0.0
    seen = past.examine(
        episode.case,
        episode.pattern,
        activity(episode.course, weeks, episode.pace),
        episode.by,
        at,
        wet_shift=chance.whole(0, 5),
        treated=chance.weighed({"no": 0.6, "yes": 0.15 * episode.grade, "unknown": 0.1}),
        hard_to_judge=chance.yes(0.06),
        note=chance.one_of(_NOTES),
    )
    episode.looks.append(seen)
    if episode.pending is not None:
        past.finish(episode.pending, "done", episode.by, at + timedelta(minutes=4))
        episode.pending = None
    outcome = _ending(chance, episode)
    if outcome:
        _close(past, episode, outcome, at + timedelta(minutes=9))


def _ending(chance: Chance, episode: Episode) -> str:
    """How the case ends with this look; nothing while it goes on."""
    total, looks = episode.looks[-1].total, len(episode.looks)
    if looks == 1:
        return "not_skin" if episode.grade == 1 and chance.yes(0.02) else ""
    if total == 0 and chance.yes(0.75):
        return "clear"
    if total <= 4 and looks >= 4 and chance.yes(0.6):
        return "controlled"
    if looks >= _MOST_LOOKS:
        return "moved_on" if episode.grade == SEVERE else "controlled"
    return ""


def _next_look(past: Past, chance: Chance, episode: Episode, at: datetime) -> date:
    """Set the next review; with it a plan and perhaps an adjustment."""
    total = episode.looks[-1].total
    days = 10 if total >= 38 else 18 if total >= 17 else 30 if total >= 5 else 45
    due = working(at.date() + timedelta(days=days + chance.whole(-3, 8)))
    if due == past.today:
        due = working(due + timedelta(days=1))  # who is due today is chosen with the stories
    episode.pending = past.set_review(episode.case, due, episode.by, at + timedelta(minutes=6))
    if len(episode.looks) == 1 or chance.yes(0.15):
        episode.plans += 1
        broken = any(area["fissures"] or area["vesicles"] for area in episode.looks[-1].signs.values())
        written = at + timedelta(minutes=8)
        past.plan(episode.case, episode.by, written, next_look_on=due, broken=broken, number=episode.plans)
    if len(episode.looks) == 1 and chance.yes(_ADJUSTED[episode.grade]):
        agreed = at + timedelta(minutes=11)
        if agreed.date() + _LONGEST_LETTER < past.today:
            adjust(past, chance, episode, due, agreed)
    return due


def adjust(past: Past, chance: Chance, episode: Episode, due: date, at: datetime) -> None:
    """Agree an adjustment and walk its letter to the end."""
    letter = draft(past, chance, episode, due, at, end_on=at.date() + timedelta(weeks=chance.whole(4, 10)))
    if letter is None:
        return
    told = moment(working(at.date() + timedelta(days=chance.whole(1, 5))), 10, chance.whole(0, 55))
    how = chance.one_of(("By telephone", "In the room", "In writing"))
    seen = Step.SEE_DECLINED if chance.yes(0.15) else Step.SEEN
    past.step(letter, seen, episode.by, told, how=how)
    if chance.yes(0.07):
        past.step(letter, Step.REFUSED, episode.by, told + timedelta(minutes=3), how=how)
        return
    if chance.yes(0.12):
        past.step(letter, Step.COMMENTED, episode.by, told + timedelta(minutes=2), how=how, comment=_COMMENT)
    past.step(letter, Step.CONSENTED, episode.by, told + timedelta(minutes=5), how=how)
    past.step(letter, Step.RELEASED, episode.by, told + timedelta(minutes=20))


def draft(
    past: Past, chance: Chance, episode: Episode, due: date, at: datetime, *, end_on: date | None
) -> Letter | None:
    """Agree an adjustment and draft its letter, agreed in wording and offered, in the room."""
    touches = episode.member.role.contact
    if episode.contact == "stop" and touches and episode.grade >= MODERATE:
        chosen = list(FAR_MEASURES)
    else:
        chosen = chance.some_of(PATIENT_MEASURES if touches else MEASURES, chance.whole(2, 3))
    adjustment = past.adjust(episode.case, chosen, episode.by, at, end_on=end_on, review_on=due)
    letter = past.letter(adjustment, episode.by, at + timedelta(minutes=1))
    if letter is not None:
        past.step(letter, Step.CONTENT_AGREED, episode.by, at + timedelta(minutes=2))
        past.step(letter, Step.OFFERED, episode.by, at + timedelta(minutes=3))
        episode.letter = letter
    return letter


def _put_off(past: Past, chance: Chance, episode: Episode, at: datetime) -> date:
    """The review does not happen; the next one is set."""
    assert episode.pending is not None
    outcome = chance.one_of(("moved", "missed"))
    past.finish(episode.pending, outcome, episode.by, at)
    due = working(at.date() + timedelta(days=chance.whole(6, 14)))
    if due == past.today:
        due = working(due + timedelta(days=1))
    episode.pending = past.set_review(episode.case, due, episode.by, at)
    return due


def _close(past: Past, episode: Episode, outcome: str, at: datetime) -> None:
    if episode.pending is not None:
        past.finish(episode.pending, "not_needed", episode.by, at, note="Case closed")
        episode.pending = None
    past.close(episode.case, outcome, episode.by, at)
    episode.closed_on = at.date()
