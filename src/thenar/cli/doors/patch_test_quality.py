"""The door to patch-test quality: indices of preparations, use of the control, and the clinic's profile."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Literal

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.allergy.clinic_profile import ClinicProfile, PersonTested, clinic_profile, positive_to_series
from thenar.allergy.patch_intervals import Share
from thenar.allergy.patch_quality import (
    ControlUse,
    Preparation,
    PreparationQuality,
    Quality,
    ReactionIndex,
    Reactions,
    control_use,
    count_reactions,
    judge_preparation,
    quality_rules,
)
from thenar.allergy.patch_rules import ReadingRules, reading_rules
from thenar.allergy.patch_test import Kind, PatchTest, Position, Reading, read_grade, refuse_days_to_come
from thenar.cli.doors import Cited, Door, cited, not_after
from thenar.errors import BadInput
from thenar.knowledge import Book

STRICT = ConfigDict(extra="forbid", strict=True)
METHODS = (
    "Intervals are Wilson's, 95 %, as if tests and people were independent. The reaction index is 2 p - 1 of "
    "the share p of allergic reactions, and so is its interval. From tests, each position counts by its "
    "strongest grade on the days that count."
)
_QUALITY_RULES = ("positivity-ratio", "reaction-index", "reaction-index-formula", "caution")
_TEST_RULES = ("positive.grade", "positive.from-day", "positive.until-day", "control.low", "control.high")

Name = Annotated[str, Field(min_length=1)]
Count = Annotated[int, Field(ge=0, description="a count")]
Counted = Annotated[int | None, Field(ge=0, description="a count; null where nobody counted")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class PreparationGiven:
    """Counts of one preparation. `allergic` are all of +, ++ and +++; `weak` those of them that are +."""

    hapten: Name
    concentration: str
    vehicle: str
    allergic: Count
    doubtful: Counted = None
    irritant: Counted = None
    weak: Counted = None
    tests: Counted = None

    def preparation(self) -> Preparation:
        """What was put on."""
        return Preparation(self.hapten, self.concentration, self.vehicle)

    def reactions(self) -> Reactions:
        """The counts as the computation takes them."""
        return Reactions(self.allergic, self.doubtful, self.irritant, self.weak, self.tests)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class PersonGiven:
    """A person tested. Leave out, or give null for, what nobody knows. `age` in years at the test."""

    male: bool | None = None
    occupational: bool | None = None
    atopic_dermatitis: bool | None = None
    hand: bool | None = None
    leg: bool | None = None
    face: bool | None = None
    age: int | None = None
    positive: bool | None = None

    def person(self) -> PersonTested:
        """The person as the computation takes them."""
        return PersonTested(
            male=self.male,
            occupational=self.occupational,
            atopic_dermatitis=self.atopic_dermatitis,
            hand=self.hand,
            leg=self.leg,
            face=self.face,
            age=self.age,
            positive=self.positive,
        )


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class PositionGiven:
    """What was put on at a position, and its grade by day of reading: "2026-03-06": "++"."""

    position: int
    hapten: Name
    concentration: str
    vehicle: str
    series: str = ""
    kind: Literal["allergen", "irritant control"] = "allergen"
    grades: dict[date, str] = Field(default_factory=dict)

    def put_on(self) -> Position:
        """The position as the computation takes it."""
        return Position(
            self.position, self.hapten, self.concentration, self.vehicle, self.series, Kind(self.kind)
        )

    def readings(self) -> Iterator[Reading]:
        """The readings as the computation takes them."""
        return (Reading(self.position, on, read_grade(grade)) for on, grade in self.grades.items())


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class PatchTestGiven:
    """One patch test, and the person if the clinic's profile is wanted. No name, no number of a person."""

    applied_on: date
    positions: Annotated[tuple[PositionGiven, ...], Field(min_length=1)]
    occluded_until: date | None = None
    person: PersonGiven | None = None

    def test(self, number: int, today: date) -> PatchTest:
        """The test as the computation takes it; a fault names the test by its place in the list."""
        try:
            positions = tuple(position.put_on() for position in self.positions)
            readings = tuple(reading for position in self.positions for reading in position.readings())
            test = PatchTest(self.applied_on, self.occluded_until, positions, readings)
            refuse_days_to_come(test, today)
        except BadInput as fault:
            raise BadInput(what=f"Test {number}: {fault.what}", why=fault.why, todo=fault.todo) from None
        return test


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class PatchQualityGiven:
    """Counts of preparations, whole tests, or both; they are kept apart.

    `people` are counted in the profile besides those of the tests. `baseline` names the series by which a
    tested person is positive, where that is not given.
    """

    preparations: tuple[PreparationGiven, ...] = ()
    tests: tuple[PatchTestGiven, ...] = ()
    people: tuple[PersonGiven, ...] = ()
    baseline: str | None = None
    on: date | None = None


@dataclass(frozen=True, slots=True)
class PreparationAnswer:
    """One preparation. `positivity_ratio` is a share of weak reactions, to be read against 0.55.

    `settled` says that more tests are not likely to turn the verdict. Null is not known.
    """

    hapten: str
    concentration: str
    vehicle: str
    counted_from: Literal["counts", "tests"]
    tests: int | None
    allergic: int
    weak: int | None
    doubtful: int | None
    irritant: int | None
    unsettled: int
    positive: Share | None
    reaction_index: ReactionIndex | None
    positivity_ratio: Share | None
    quality: Quality
    settled: bool


@dataclass(frozen=True, slots=True)
class PatchQualityAnswer:
    """Every preparation with both indices, the use of the control, and whom the clinic tests."""

    preparations: tuple[PreparationAnswer, ...]
    tests: int
    control: ControlUse | None
    profile: ClinicProfile | None
    methods: str
    cautions: tuple[str, ...]
    sources: tuple[Cited, ...]
    on: date
    edition: str


def _compute(given: PatchQualityGiven, book: Book, today: date) -> PatchQualityAnswer:
    on = not_after(given.on, today)
    _refuse_nothing(given)
    _refuse_twice(given.preparations)
    reading, rules = reading_rules(book, on), quality_rules(book, on)
    tests = tuple(one.test(number, on) for number, one in enumerate(given.tests, start=1))
    counts = {one.preparation(): one.reactions() for one in given.preparations}
    judged = [
        *(_answer(one, judge_preparation(counts[one], rules), "counts") for one in counts),
        *(
            _answer(one, judge_preparation(reactions, rules), "tests")
            for one, reactions in count_reactions(tests, reading).items()
        ),
    ]
    control = control_use(tests) if tests else None
    people = _people(given, tests, reading)
    return PatchQualityAnswer(
        preparations=tuple(judged),
        tests=len(tests),
        control=control,
        profile=clinic_profile(people) if people else None,
        methods=METHODS,
        cautions=(rules.caution.says, *_control_cautions(control, reading)),
        sources=_sources(given, book, on),
        on=on,
        edition=book.edition,
    )


def _refuse_nothing(given: PatchQualityGiven) -> None:
    if not (given.preparations or given.tests or given.people):
        raise BadInput(
            what="Neither preparations nor tests nor people are given.",
            why="There is nothing to compute.",
            todo="Give at least one of them.",
        )


def _refuse_twice(preparations: tuple[PreparationGiven, ...]) -> None:
    seen: set[Preparation] = set()
    for number, given in enumerate(preparations, start=1):
        if given.preparation() in seen:
            raise BadInput(
                what=f"Preparation {number} stands earlier in the list already.",
                why="Its reactions would be judged in two halves.",
                todo="Add its counts together.",
            )
        seen.add(given.preparation())


def _people(
    given: PatchQualityGiven, tests: tuple[PatchTest, ...], rules: ReadingRules
) -> list[PersonTested]:
    people = [one.person() for one in given.people]
    for one, test in zip(given.tests, tests, strict=True):
        if one.person is None:
            continue
        person = one.person.person()
        if person.positive is None and given.baseline is not None:
            person = replace(person, positive=positive_to_series(test, given.baseline, rules))
        people.append(person)
    return people


def _answer(
    preparation: Preparation, judged: PreparationQuality, counted_from: Literal["counts", "tests"]
) -> PreparationAnswer:
    return PreparationAnswer(
        hapten=preparation.hapten,
        concentration=preparation.concentration,
        vehicle=preparation.vehicle,
        counted_from=counted_from,
        tests=judged.reactions.tests,
        allergic=judged.reactions.allergic,
        weak=judged.reactions.weak,
        doubtful=judged.reactions.doubtful,
        irritant=judged.reactions.irritant,
        unsettled=judged.reactions.unsettled,
        positive=judged.positive,
        reaction_index=judged.reaction_index,
        positivity_ratio=judged.positivity_ratio,
        quality=judged.quality,
        settled=judged.settled,
    )


def _control_cautions(control: ControlUse | None, rules: ReadingRules) -> tuple[str, ...]:
    if control is None:
        return ()
    if control.reacted is None:
        return ("No irritant control was read, so irritable skin can't be told from weak allergy.",)
    return (
        (f"Where the irritant control reacted: {rules.control_positive.says}",)
        if control.reacted.part
        else ()
    )


def _sources(given: PatchQualityGiven, book: Book, on: date) -> tuple[Cited, ...]:
    names = [f"quality.{name}" for name in _QUALITY_RULES]
    names += _TEST_RULES if given.tests else ()
    names += ["profile"] if given.people or given.tests else []
    rules = [f"patch-test.{name}" for name in names]
    return tuple(cited(rule, book.cite(book.rule(rule).on(on))) for rule in rules)


DOOR = Door("patch-test-quality", PatchQualityGiven, PatchQualityAnswer, _compute)
