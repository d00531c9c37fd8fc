"""Three years of one worker: yearly rounds, reports by themselves, what was made of each, and the cases."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from thenar.demo.chance import Chance
from thenar.demo.episodes import Episode, new_episode, run_episode
from thenar.demo.figures import ANSWERS_A_ROUND, CASE_AFTER, REPORTS_BY_ITSELF
from thenar.demo.past import Past
from thenar.demo.pen import moment, working
from thenar.demo.staff import Member
from thenar.demo.troubles import Trouble, answers, troubles
from thenar.records.models import SkinCheck, User

# Nothing new comes in by chance in the last days: what waits today is chosen with the stories.
QUIET = timedelta(days=9)
_ROUND_EVERY = timedelta(days=364)
_SORTED_WITHIN = {"emergency": 0, "same_day": 0, "prompt": 1, "routine": 4, "self_care": 6}


@dataclass(slots=True)
class Years:
    """One worker's three years as they are written."""

    past: Past
    chance: Chance
    member: Member
    turn: int
    troubles: list[Trouble] = field(default_factory=list)
    episodes: list[Episode] = field(default_factory=list)

    @property
    def start(self) -> date:
        """Three years before today."""
        return self.past.today - 3 * _ROUND_EVERY

    def write(self) -> list[Episode]:
        """Everything that happened, in its order; gives back the cases."""
        end = self.past.today - QUIET
        if self.member.prone:
            self.troubles = troubles(self.chance, self.start, end)
        for day, given_by in sorted([*self._rounds(), *self._reports()]):
            if self.start < day <= end and self.member.post_on(day) is not None:
                self._asked(day, given_by)
        return self.episodes

    def _rounds(self) -> list[tuple[date, str]]:
        """The days of the yearly rounds: each area has its own season, and asks by link or in person."""
        first = self.past.today - QUIET - timedelta(days=(self.turn * 71) % 350 + self.chance.whole(0, 12))
        asked = "checker" if self.turn % 4 == 1 else "worker"
        days = [working(first - year * _ROUND_EVERY) for year in range(3)]
        return [(day, asked) for day in days if self.chance.yes(ANSWERS_A_ROUND)]

    def _reports(self) -> list[tuple[date, str]]:
        """Days on which the worker reported sore hands without being asked."""
        days = []
        for trouble in self.troubles:
            waited = round(self.chance.wait(16)) + 2
            day = max(trouble.first, self.start + timedelta(days=1)) + timedelta(days=waited)
            if day <= trouble.last and self.chance.yes(REPORTS_BY_ITSELF):
                days.append((day, "itself"))
        return days

    def _asked(self, day: date, given_by: str) -> None:
        """One check, what it came to, and what the practitioner made of it."""
        running = self.episodes[-1] if self.episodes else None
        during = running is not None and (running.closed_on is None or running.closed_on >= day)
        if during and given_by == "itself":
            return
        trouble = next((one for one in self.troubles if one.on(day)), None)
        given = answers(
            self.chance,
            self.past.book,
            trouble,
            day,
            touches=self.member.touches,
            allergic=self.member.allergic,
        )
        check = self._submit(day, given_by, given)
        if not (during and running is not None):
            self._decide(check, trouble, day)
        elif not self._into(check, running, day):
            self._sort(check, "advice", day)

    def _submit(self, day: date, given_by: str, given: dict[str, str]) -> SkinCheck:
        worker, staff = self.member.worker, self.past.staff
        hour, minute = self.chance.whole(7, 8), self.chance.whole(0, 59)
        at = moment(day, hour, minute)
        if given_by == "checker":
            by = staff.accounts["saltmere-nurse"]
            return self.past.check(worker, given, at, given_by="checker", by=by)
        if worker.user is not None:
            return self.past.check(worker, given, at, given_by="worker", by=worker.user)
        days_before = 0 if given_by == "itself" else self.chance.whole(1, 9)
        invited = moment(day - timedelta(days=days_before), 6, minute)
        self.past.invite(worker, staff.accounts["demo-clerk"], invited, at)
        return self.past.check(worker, given, at, given_by="worker", by=None)

    def _into(self, check: SkinCheck, running: Episode, day: date) -> bool:
        """Put a check into the case that ran; False when the case closed before anyone read it."""
        at = max(moment(working(day), 9, 30), running.case.at + timedelta(minutes=5))
        if running.closed_on is not None and running.closed_on <= at.date():
            return False
        self.past.sort(check, "case", running.by, at, case=running.case)
        return True

    def _decide(self, check: SkinCheck, trouble: Trouble | None, day: date) -> None:
        share = CASE_AFTER[check.urgency]
        if trouble is None or not self.chance.yes(share):
            self._sort(check, "no_action" if check.urgency == "self_care" else "advice", day)
            return
        by = self._practitioner()
        at = moment(self._sorted_on(check, day), 9, self.chance.whole(0, 50))
        case = self.past.open_case(
            self.member.worker, self.episodes[-1].case if self.episodes else None, by, at
        )
        self.past.sort(check, "case", by, at, case=case)
        episode = new_episode(
            self.past, self.chance, self.member, case, grade=trouble.grade, contact=check.patient_contact
        )
        wait = {"prompt": 2, "routine": 7}.get(check.urgency, 0)
        first = working(at.date() + timedelta(days=self.chance.whole(wait // 2, wait)))
        self.episodes.append(run_episode(self.past, self.chance, episode, min(first, self.past.yesterday)))

    def _sort(self, check: SkinCheck, decision: str, day: date) -> None:
        at = moment(self._sorted_on(check, day), 9, self.chance.whole(0, 59))
        self.past.sort(check, decision, self._practitioner(), at)

    def _sorted_on(self, check: SkinCheck, day: date) -> date:
        within = self.chance.whole(0, _SORTED_WITHIN[check.urgency])
        return min(working(day + timedelta(days=within)), self.past.yesterday)

    def _practitioner(self) -> User:
        own = self.member.worker.user
        return self.chance.one_of([one for one in self.past.staff.practitioners if one is not own])
