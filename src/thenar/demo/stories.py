"""What is told by hand, so that the first walk through the demo finds something to do in every place."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from thenar.demo.chance import Chance
from thenar.demo.episodes import Episode, draft, new_episode
from thenar.demo.hands import Pattern
from thenar.demo.past import Past
from thenar.demo.pen import moment, working
from thenar.demo.staff import Member
from thenar.demo.troubles import MODERATE, plain_answers
from thenar.records.letter_states import Step
from thenar.records.models import Letter, SkinCheck
from thenar.skin.severity import Area, Sign

DUE_TODAY, LATE, RUNNING_FOR_MANAGER = 3, (9, 3), 3
_SORE = ("dryness", "flaking", "itch", "soreness", "colour_change")

# The demo worker's hands at two looks, by hand: 5 x 2 + 4 x 2 + 4 x 2 = 26, then 2 x 1 + 3 x 2 + 2 x 2 = 12.
_MARKS = (
    "right-back-hand",
    "left-back-hand",
    "right-back-web-index-middle",
    "right-back-index-finger",
    "left-back-index-finger",
    "right-palm-thumb-tip",
    "right-palm-index-tip",
)
_AT_FIRST = Pattern(
    extent={Area.BACKS: 2, Area.FINGERS: 2, Area.FINGERTIPS: 2},
    signs={
        Area.BACKS: {Sign.ERYTHEMA: 2, Sign.SCALING: 1, Sign.FISSURES: 1, Sign.INDURATION: 1},
        Area.FINGERS: {Sign.ERYTHEMA: 1, Sign.SCALING: 2, Sign.FISSURES: 1},
        Area.FINGERTIPS: {Sign.ERYTHEMA: 1, Sign.SCALING: 2, Sign.FISSURES: 1},
    },
    marks=_MARKS,
)
_LATER = Pattern(
    extent={Area.BACKS: 1, Area.FINGERS: 2, Area.FINGERTIPS: 2},
    signs={
        Area.BACKS: {Sign.ERYTHEMA: 1, Sign.SCALING: 1},
        Area.FINGERS: {Sign.ERYTHEMA: 1, Sign.SCALING: 1, Sign.FISSURES: 1},
        Area.FINGERTIPS: {Sign.SCALING: 1, Sign.FISSURES: 1},
    },
    marks=(_MARKS[0], *_MARKS[2:]),
)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A check that waits on Today: from where, how many days old, at what time, with which answers."""

    area: str
    days_ago: int
    at: tuple[int, int]
    yes: tuple[str, ...]
    how_long: str = "weeks"


# The first came in the small hours of today, from a night shift: it is never later than the build.
_WAITING = (
    Waiting("Emergency department", 0, (0, 4), (*_SORE, "cracks", "weeping", "straw_crust"), "under_week"),
    Waiting("Main theatres", 1, (17, 12), (*_SORE, "cracks", "work_affected")),
    Waiting("Kitchen", 1, (15, 40), ("itch", "wheals_within_minutes"), "under_week"),
    Waiting("Neonatal unit", 2, (7, 55), (*_SORE, "cracks")),
    Waiting("Plover Ward, older people", 1, (13, 5), ("dryness", "itch", "cracks")),
    Waiting("Laboratory", 2, (16, 20), ("dryness", "flaking", "itch"), "over_3_months"),
    Waiting("Cleaning team", 3, (6, 45), ("dryness", "soreness"), "under_week"),
    Waiting("Day surgery", 4, (12, 30), ("dryness", "known_allergy"), "weeks"),
    Waiting("Outpatients", 2, (9, 15), ("dryness",), "under_week"),
    Waiting("Offices and records", 3, (11, 0), (), "no_trouble"),
)


def tell_stories(past: Past, seed: int, episodes: list[Episode]) -> None:
    """The demo worker, the manager's team, and everything that waits today."""
    chance = Chance(seed, "stories")
    demo_worker(past)
    free = _free_members(past, episodes)
    team(past, chance, episodes, free)
    for waiting in _WAITING:
        member = free(waiting.area)
        day = past.today - timedelta(days=waiting.days_ago)
        _self_report(past, member, moment(day, *waiting.at), waiting.yes, waiting.how_long)
    reviews(past, chance, episodes, free)
    letters(past, chance, free)


def demo_worker(past: Past) -> None:
    """An intensive-care nurse with an open case: two looks, a plan, and a letter that waits for her."""
    member = past.staff.member("demo-worker")
    worker, by = member.worker, past.staff.accounts["demo-practitioner"]
    for days, year in ((760, 0), (396, 1)):
        yes = ("dryness",) if year else ()
        given = plain_answers(
            past.book, touches=member.touches, how_long="under_week" if year else "no_trouble", yes=yes
        )
        day = _back(past.today, days)
        earlier = past.check(worker, given, moment(day, 8, 10), given_by="worker", by=worker.user)
        past.sort(earlier, "advice" if year else "no_action", by, moment(day, 14, 5))
    day = _back(past.today, 25)
    given = plain_answers(
        past.book, touches=member.touches, how_long="weeks", yes=(*_SORE, "cracks", "work_affected")
    )
    check = past.check(worker, given, moment(day, 7, 40), given_by="worker", by=worker.user)
    opened = moment(_forward(day, 1), 9, 20)
    case = past.open_case(worker, None, by, opened)
    past.sort(check, "case", by, opened, case=case)

    first = moment(_forward(day, 3), 10, 30)
    past.examine(
        case, _AT_FIRST, 1, by, first, wet_shift=1, treated="no", note="Sore after two weeks of nights."
    )
    second_day = _back(past.today, 6)
    review = past.set_review(case, second_day, by, first + timedelta(minutes=9))
    past.plan(case, by, first + timedelta(minutes=12), next_look_on=second_day, broken=True, number=1)

    second = moment(second_day, 11, 0)
    past.examine(
        case, _LATER, 1, by, second, wet_shift=2, treated="no", note="Uses the cream at every break."
    )
    past.finish(review, "done", by, second + timedelta(minutes=6))
    due = working(past.today + timedelta(days=15))
    past.set_review(case, due, by, second + timedelta(minutes=7))
    adjustment = past.adjust(
        case,
        ["no-washing-of-patients", "glove-tasks-shared", "named-products-supplied"],
        by,
        second + timedelta(minutes=12),
        end_on=past.today + timedelta(days=36),
        review_on=due,
    )
    letter = past.letter(adjustment, by, second + timedelta(minutes=14))
    assert letter is not None
    past.step(letter, Step.CONTENT_AGREED, by, second + timedelta(minutes=16))
    past.step(letter, Step.OFFERED, by, second + timedelta(minutes=17))


def team(past: Past, chance: Chance, episodes: list[Episode], free: Callable[[str], Member]) -> None:
    """Adjustments that run today on the demo manager's team, up to three."""
    manager = past.staff.accounts["demo-manager"]
    running = sum(1 for episode in episodes if _runs_for(episode, manager.username, past.today))
    for turn in range(RUNNING_FOR_MANAGER - running):
        due = working(past.today + timedelta(days=8 + 6 * turn))
        episode = case_by_hand(past, chance, free("Intensive care unit"), 33 + 14 * turn, due)
        at = episode.looks[0].at + timedelta(minutes=10)
        letter = draft(past, chance, episode, due, at, end_on=past.today + timedelta(days=20 + 7 * turn))
        assert letter is not None
        _agreed(past, letter, episode, at + timedelta(minutes=10), how="In the room")
        past.step(letter, Step.RELEASED, episode.by, at + timedelta(minutes=22))


def reviews(past: Past, chance: Chance, episodes: list[Episode], free: Callable[[str], Member]) -> None:
    """Three reviews fall due today, two are late: of cases that run anyway, else of one made for it."""
    running = chance.shuffled([one for one in episodes if one.open and len(one.looks) > 1])
    for turn in range(DUE_TODAY + len(LATE)):
        late = LATE[turn - DUE_TODAY] if turn >= DUE_TODAY else 0
        due = _back(past.today, late) if late else past.today
        found = (one for one in running if one.pending and one.pending.set_on <= due - timedelta(days=7))
        episode = next(found, None)
        if episode is None:
            case_by_hand(past, chance, free("Acute medical unit"), 40 + turn, due)
        else:
            running.remove(episode)
            assert episode.pending is not None
            episode.pending.due_on = due


def letters(past: Past, chance: Chance, free: Callable[[str], Member]) -> None:
    """Two letters on their way beside the demo worker's: one offered, one agreed and ready to release."""
    for turn, area in enumerate(("Sterile services", "Heron Ward, lungs")):
        due = working(past.today + timedelta(days=16 + turn))
        episode = case_by_hand(past, chance, free(area), 8 + turn, due)
        at = episode.looks[0].at + timedelta(minutes=10)
        letter = draft(past, chance, episode, due, at, end_on=past.today + timedelta(days=30))
        assert letter is not None
        if turn:
            _agreed(past, letter, episode, moment(past.yesterday, 9, 25), how="By telephone")


def case_by_hand(past: Past, chance: Chance, member: Member, days_ago: int, due: date) -> Episode:
    """A case of middling hands, opened so many days ago, looked at once, with its next look on `due`."""
    day = _back(past.today, days_ago)
    check = _self_report(past, member, moment(day, 7, 20), (*_SORE, "cracks", "work_affected"), "weeks")
    by = past.staff.accounts["demo-practitioner"]
    opened = moment(_forward(day, 1), 9, 45)
    case = past.open_case(member.worker, None, by, opened)
    past.sort(check, "case", by, opened, case=case)
    episode = new_episode(past, chance, member, case, grade=MODERATE, contact=check.patient_contact)
    look = moment(_forward(day, 2), 14, 0)
    episode.looks.append(past.examine(case, episode.pattern, 1, by, look, wet_shift=1, treated="no"))
    episode.pending = past.set_review(case, due, by, look + timedelta(minutes=5))
    past.plan(case, by, look + timedelta(minutes=8), next_look_on=due, broken=True, number=1)
    return episode


def _agreed(past: Past, letter: Letter, episode: Episode, at: datetime, how: str) -> None:
    past.step(letter, Step.SEEN, episode.by, at, how=how)
    past.step(letter, Step.CONSENTED, episode.by, at + timedelta(minutes=4), how=how)


def _runs_for(episode: Episode, username: str, today: date) -> bool:
    letter = episode.letter
    return (
        letter is not None
        and episode.open
        and letter.recipient.username == username
        and letter.adjustment.end_on is not None
        and letter.adjustment.end_on >= today
    )


def _free_members(past: Past, episodes: list[Episode]) -> Callable[[str], Member]:
    """Hands out members of an area who are at work today, have no account and never had a case."""
    taken = {id(episode.member) for episode in episodes}
    long_ago = past.today - timedelta(days=60)

    def fits(member: Member, area: str) -> bool:
        post = member.post_on(past.today)
        settled = post is not None and post.area.name == area and post.from_on < long_ago
        return settled and member.worker.user is None and id(member) not in taken

    def free(area: str) -> Member:
        member = max((one for one in past.staff.members if fits(one, area)), key=lambda one: one.role.wet)
        taken.add(id(member))
        return member

    return free


def _self_report(past: Past, member: Member, at: datetime, yes: tuple[str, ...], how_long: str) -> SkinCheck:
    """A check by a personal link that the clerk made on the working day before."""
    clerk = past.staff.accounts["demo-clerk"]
    past.invite(member.worker, clerk, moment(_back(at.date(), 1), 15, 5), at)
    given = plain_answers(past.book, touches=member.touches, how_long=how_long, yes=yes)
    return past.check(member.worker, given, at, given_by="worker", by=None)


def _back(day: date, days: int) -> date:
    """So many days before, or the Friday before a weekend."""
    found = day - timedelta(days=days)
    return found - timedelta(days=max(0, found.weekday() - 4))


def _forward(day: date, days: int) -> date:
    """So many days later, or the Monday after a weekend."""
    return working(day + timedelta(days=days))
