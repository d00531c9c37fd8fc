"""Who at Saltmere reacts to what: patch tests, letters of other clinics, immediate allergies. Invented."""

import tomllib
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from thenar.allergy.patch_test import Kind, OwnProduct, PatchGrade, Position
from thenar.allergy.product import Category
from thenar.allergy.verdict_terms import Answer
from thenar.demo.casting import Casting
from thenar.demo.chance import Chance
from thenar.demo.pen import moment, working
from thenar.demo.products import Shelves
from thenar.demo.staff import Member, Staff
from thenar.knowledge.allergens import Preparation
from thenar.records.actions.allergies import (
    overrule,
    set_down_immediate,
    set_down_sensitisation,
    set_glove_size,
)
from thenar.records.actions.concerns import deal_with_concern
from thenar.records.actions.patch_tests import (
    apply_patch_test,
    end_patch_test,
    read_patch_test,
    say_relevance,
)
from thenar.records.models import Case, PatchTest, ProductConcern, User

READ_ON = (2, 4, 7)  # days after application
BASELINE = "european-baseline-2019"
_FAINT = 0.02  # of what stays negative is faintly red when the patches come off
_LATEST = 9  # days ago at the latest: by now read for the last time
_FILE = Path(__file__).parent / "patch_tests.toml"
_GRADES = ("-", "?+", "+", "++", "+++")  # weakest first


def seed_allergies(shelves: Shelves, staff: Staff, seed: int) -> None:
    """Everyone's allergies, and what was done about the products they met. Yesterday's still waits."""
    pen, casting = shelves.pen, Casting(shelves.pen, staff, shelves.today)
    for turn, drawn in enumerate(tomllib.loads(_FILE.read_text(encoding="utf-8"))["worker"]):
        chance = Chance(seed, "allergies", turn)
        _Story(shelves, *casting.cast(drawn, chance)).tell(drawn, chance)
    yesterday = shelves.today - timedelta(days=1)
    for day in sorted({deed.at.date() for deed in pen.deeds if deed.at.date() < yesterday}):
        pen.act(moment(day, 16), partial(_settle, shelves.by))


class _Story:
    """One worker's allergies, through the actions."""

    def __init__(self, shelves: Shelves, member: Member, case: Case | None) -> None:
        self.shelves, self.worker, self.case = shelves, member.worker, case
        self.pen, self.by, self.book, self.today = shelves.pen, shelves.by, shelves.book, shelves.today

    def tell(self, drawn: dict[str, Any], chance: Chance) -> None:
        """Everything that is told of this worker."""
        if "test" in drawn:
            _Tested(self, drawn["test"], chance).tell()
        for one in drawn.get("delayed", ()):
            self._act(one["days"], partial(self._delayed, one))
        for one in drawn.get("immediate", ()):
            self._act(one["days"], partial(self._immediate, one))
        if "glove_size" in drawn:
            self._act(50, partial(self._size, drawn["glove_size"]))
        if "overruled" in drawn:
            self._act(drawn["overruled"]["days"], partial(self._overrule, drawn["overruled"]))

    def _act(self, days: int, do: Callable[[datetime], object]) -> None:
        self.pen.act(moment(working(self.today - timedelta(days=days)), 11, 40), do)

    def _delayed(self, one: dict[str, Any], now: datetime) -> None:
        set_down_sensitisation(
            worker=self.worker,
            allergen=one["allergen"],
            strength=one["strength"],
            confirmed=one.get("confirmed", False),
            basis=one.get("basis", "letter"),
            test=None,
            found_on=now.date() - timedelta(days=14),
            note_text=one["note"],
            book=self.book,
            by=self.by,
            now=now,
        )

    def _immediate(self, one: dict[str, Any], now: datetime) -> None:
        set_down_immediate(
            worker=self.worker,
            allergen=one["allergen"],
            severe=one["severe"],
            basis=one["basis"],
            found_on=now.date() - timedelta(days=10),
            note_text=one["note"],
            book=self.book,
            by=self.by,
            now=now,
        )

    def _size(self, size: str, now: datetime) -> None:
        set_glove_size(worker=self.worker, size=size, by=self.by, now=now)

    def _overrule(self, one: dict[str, Any], now: datetime) -> None:
        overrule(
            worker=self.worker,
            declaration=self.shelves.products[one["product"]].declarations.get(),
            answer=Answer(one["answer"]),
            reason=one["reason"],
            book=self.book,
            by=self.by,
            now=now,
        )


class _Tested:
    """One patch test from application to what was set down from it."""

    def __init__(self, story: _Story, drawn: dict[str, Any], chance: Chance) -> None:
        self.story, self.drawn, self.chance = story, drawn, chance
        self.series = drawn.get("series", [BASELINE])
        self.reactions = {**drawn.get("reactions", {})}
        self.test: PatchTest | None = None
        self.positions = tuple(Position(number, *one) for number, one in enumerate(self._put_on(), start=1))

    def tell(self) -> None:
        """Each visit at its day."""
        day, reads = self._day(), self.drawn.get("reads", len(READ_ON))
        self.story.pen.act(moment(day, 9, 20), self._apply)
        for number, after in enumerate(READ_ON[:reads]):
            self.story.pen.act(moment(day + timedelta(days=after), 10, 15), partial(self._read, number))
        if self.drawn.get("open") or not reads:
            return
        last = moment(day + timedelta(days=READ_ON[reads - 1]), 10, 30)
        if reads == len(READ_ON):
            self.story.pen.act(last, partial(self._end, "complete"))
        else:
            self.story.pen.act(
                moment(day + timedelta(days=READ_ON[-1] + 7), 9), partial(self._end, "not_back")
            )
        for allergen in self.drawn["found"]:
            self.story.pen.act(last, partial(self._set_down, allergen))

    def _day(self) -> date:
        """The very day it was put on, or else the Monday before the day drawn."""
        if "put_on" in self.drawn:
            return self.story.today - timedelta(days=self.drawn["put_on"])
        near = self.story.today - timedelta(days=self.drawn.get("days", _LATEST))
        return near - timedelta(days=near.weekday())

    def _put_on(self) -> Iterator[tuple[Any, ...]]:
        table, met = self.story.book.allergens, set[str]()
        for series in self.series:
            for item in table.series[series].items:
                if item.allergen not in met:
                    met.add(item.allergen)
                    yield _prepared(item.allergen, item.preparation, series)
        for allergen in self.drawn.get("extra", ()):
            preparation = table.allergens[allergen].preparation
            assert preparation is not None
            yield _prepared(allergen, preparation, "")
        if own := self.drawn.get("own"):
            brought = OwnProduct(Category(own["category"]), own["dilution"])
            self.reactions[own["product"]] = own["reaction"]
            yield own["product"], "", "", "", Kind.OWN_PRODUCT, brought

    def _apply(self, now: datetime) -> None:
        self.test = apply_patch_test(
            worker=self.story.worker,
            case=self.story.case,
            applied_on=now.date(),
            series=self.series,
            positions=self.positions,
            note_text=self.drawn.get("note", ""),
            book=self.story.book,
            by=self.story.by,
            now=now,
        )

    def _read(self, number: int, now: datetime) -> None:
        assert self.test is not None
        read_patch_test(
            test=self.test,
            read_on=now.date(),
            grades={one.number: self._grade(one.hapten, number) for one in self.positions},
            note_text="",
            book=self.story.book,
            by=self.story.by,
            now=now,
        )

    def _grade(self, hapten: str, number: int) -> PatchGrade:
        if hapten in self.reactions:
            return PatchGrade(self.reactions[hapten][number])
        faint = number == 0 and self.chance.yes(_FAINT)
        return PatchGrade.DOUBTFUL if faint else PatchGrade.NEGATIVE

    def _end(self, how: str, now: datetime) -> None:
        assert self.test is not None
        end_patch_test(test=self.test, how=how, ended_on=now.date(), note_text="", by=self.story.by, now=now)
        for position in self.positions:
            if position.hapten in self.drawn.get("past", ()):
                self._relevance(position, "past", now)

    def _set_down(self, allergen: str, now: datetime) -> None:
        self._relevance(next(one for one in self.positions if one.hapten == allergen), "current", now)
        set_down_sensitisation(
            worker=self.story.worker,
            allergen=allergen,
            strength=max(self.reactions[allergen], key=_GRADES.index),
            confirmed=False,
            basis="patch_test",
            test=self.test,
            found_on=now.date(),
            note_text=self.drawn.get("note_for", {}).get(allergen, ""),
            book=self.story.book,
            by=self.story.by,
            now=now,
        )

    def _relevance(self, position: Position, relevance: str, now: datetime) -> None:
        assert self.test is not None
        say_relevance(
            test=self.test,
            position=position.number,
            relevance=relevance,
            note_text="",
            by=self.story.by,
            now=now,
        )


def _prepared(allergen: str, preparation: Preparation, series: str) -> tuple[Any, ...]:
    return allergen, preparation.concentration, preparation.vehicle, series, Kind.ALLERGEN, None


def _settle(by: User, now: datetime) -> None:
    """What waits is dealt with at the end of the day."""
    for concern in ProductConcern.objects.filter(outcome__isnull=True).order_by("pk"):
        outcome = "told" if concern.answer == Answer.AVOID.value else "not_used"
        deal_with_concern(concern=concern, outcome=outcome, note_text="", by=by, now=now)
