"""What a duty search found, in words to be kept: for the manager, the letter, and the practitioner."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ConfigDict, TypeAdapter
from pydantic.dataclasses import dataclass as checked

from thenar.documents.clinical_words import clinical_words_in
from thenar.errors import BadInput
from thenar.exposure.duty_plan import DutyPlan, NoPlan, PersonLoad
from thenar.exposure.duty_rota import Carried
from thenar.exposure.duty_terms import GIVEN, Measure
from thenar.exposure.duty_words import say_no_plan, say_plan, say_shift, say_way_out
from thenar.screens.workplace.duty_ceilings import CeilingChoice
from thenar.screens.workplace.duty_letter import letter_lines
from thenar.screens.workplace.duty_question import Question

STRICT = ConfigDict(extra="forbid")


@checked(frozen=True, slots=True, config=STRICT)
class BeforeAfter:
    """One amount now and under the plan; before is None where nothing is allocated now."""

    before: int | None
    after: int


@checked(frozen=True, slots=True, config=STRICT)
class ShiftLine:
    """One shift of the worker: what each measure comes to, and the tasks kept, given up and taken on."""

    when: str
    amounts: tuple[BeforeAfter, ...]
    keeps: tuple[str, ...]
    off: tuple[str, ...]
    on: tuple[str, ...]


@checked(frozen=True, slots=True, config=STRICT)
class PersonLine:
    """One person: shifts at work, and the heaviest of them in each measure."""

    person: str
    shifts: int
    amounts: tuple[BeforeAfter, ...]


@checked(frozen=True, slots=True, config=STRICT)
class DutyWords:
    """The whole answer. `says`, `ways` and `letter` may be read by a manager; the rest is the practitioner's.

    `at_least` is how few changes there could be; `gap` the share by which the plan may miss that. Amounts are
    of washes, wet minutes, glove minutes and pairs; where `adds_minutes`, then of wet and glove minutes added
    up.
    """

    says: tuple[str, ...]
    ways: tuple[str, ...]
    letter: tuple[str, ...]
    letter_names_all: bool
    worker: str
    first_day: str
    days: int
    names_now: bool
    gone: int
    ceiling_id: str
    ceiling_name: str
    changes: int
    at_least: int
    gap: float
    ways_proven: bool
    own: tuple[ShiftLine, ...]
    everyone: tuple[PersonLine, ...]
    adds_minutes: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """Whether duties were found, and the words."""

    found: bool
    words: DutyWords


_WORDS: TypeAdapter[DutyWords] = TypeAdapter(DutyWords)


def put_in_words(answer: DutyPlan | NoPlan, asked: Question, ceiling: CeilingChoice, days: int) -> Answer:
    """The answer in words, none of which could tell a manager why.

    Raises
    ------
    BadInput
        Where a word could tell why all the same.
    """
    common: dict[str, Any] = {
        "worker": asked.worker,
        "first_day": asked.duties.first_day.isoformat(),
        "days": days,
        "names_now": asked.names_now,
        "gone": asked.gone,
        "ceiling_id": ceiling.rule_set.id,
        "ceiling_name": ceiling.rule_set.name,
        "adds_minutes": ceiling.ceiling.wet_and_glove_minutes is not None,
    }
    found = isinstance(answer, DutyPlan)
    told = _planned(answer, asked) if isinstance(answer, DutyPlan) else _not_planned(answer, asked)
    words = DutyWords(**common, **told)
    _refuse_telling(words)
    return Answer(found, words)


def as_json(words: DutyWords) -> dict[str, Any]:
    """The words as plain JSON, read again with `words_of`."""
    plain: dict[str, Any] = _WORDS.dump_python(words, mode="json")
    return plain


def words_of(kept: Mapping[str, Any]) -> DutyWords:
    """The words that `as_json` gave."""
    return _WORDS.validate_python(dict(kept))


def _planned(plan: DutyPlan, asked: Question) -> dict[str, Any]:
    letter, all_named = letter_lines(plan, asked.duties, asked.worker)
    return {
        "says": say_plan(plan, asked.duties),
        "ways": (),
        "letter": letter,
        "letter_names_all": all_named,
        "changes": len(plan.changes),
        "at_least": round(plan.fewest_changes.bound),
        "gap": plan.fewest_changes.gap,
        "ways_proven": True,
        "own": tuple(_own_lines(plan, asked)),
        "everyone": tuple(_everyone(plan, asked)),
    }


def _not_planned(answer: NoPlan, asked: Question) -> dict[str, Any]:
    ways = [say_way_out(way, asked.duties) for way in answer.ways_out]
    return {
        "says": say_no_plan(answer, asked.duties),
        "ways": tuple(f"{way[:1].upper()}{way[1:]}." for way in ways),
        "letter": (),
        "letter_names_all": False,
        "changes": 0,
        "at_least": 0,
        "gap": 0.0,
        "ways_proven": all(way.cost_at_least >= way.cost - 0.5 for way in answer.ways_out),
        "own": (),
        "everyone": (),
    }


def _own_lines(plan: DutyPlan, asked: Question) -> list[ShiftLine]:
    """The worker's shifts, in time."""
    return [
        ShiftLine(
            when=say_shift(load.shift, asked.duties),
            amounts=_amounts([load], asked),
            **_tasks(plan, asked, load),
        )
        for load in plan.loads
        if load.person == asked.worker
    ]


def _tasks(plan: DutyPlan, asked: Question, load: PersonLoad) -> dict[str, tuple[str, ...]]:
    """What the worker keeps, gives up and takes on in one shift, in the order of the list."""
    here = [task for task in asked.duties.tasks if task.shift == load.shift]
    then = {duty.task for duty in plan.assignments if duty.person == load.person}
    now = {duty.task for duty in asked.duties.current or () if duty.person == load.person}
    sorts = {"keeps": now & then, "off": now - then, "on": then - now}
    return {sort: tuple(task.name for task in here if task.id in ids) for sort, ids in sorts.items()}


def _everyone(plan: DutyPlan, asked: Question) -> list[PersonLine]:
    """The worker first, then the colleagues by name."""
    loads: dict[str, list[PersonLoad]] = {}
    for load in plan.loads:
        loads.setdefault(load.person, []).append(load)
    people = sorted(loads, key=lambda person: (person != asked.worker, person))
    return [PersonLine(person, len(loads[person]), _amounts(loads[person], asked)) for person in people]


def _amounts(loads: list[PersonLoad], asked: Question) -> tuple[BeforeAfter, ...]:
    """The heaviest of some shifts in each measure that tasks give, and in those the ceiling adds up."""
    shown = [each for each in Measure if each in GIVEN or asked.duties.ceiling.of(each) is not None]
    befores = [load.before for load in loads if load.before is not None]
    return tuple(
        BeforeAfter(
            before=_heaviest(befores, measure) if befores else None,
            after=_heaviest([load.carries for load in loads], measure),
        )
        for measure in shown
    )


def _heaviest(carried: list[Carried], measure: Measure) -> int:
    return max(one.of(measure) for one in carried)


def _refuse_telling(words: DutyWords) -> None:
    told = clinical_words_in("\n".join((*words.says, *words.ways, *words.letter)))
    if told:
        shown = ", ".join(f"“{word}”" for word in told)
        raise BadInput(
            what=f"{shown} in the answer could tell a manager why.",
            why="Whoever runs the area learns what changes, never why.",
            todo="Name the task in other words in the task list, and search again.",
        )
