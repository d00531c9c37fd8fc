"""Makes the triage table ready to use: refuses one that does not fit, works out every group's levels."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product
from math import prod

from thenar.knowledge.book import Book
from thenar.knowledge.decision import DecisionRule, DecisionTable, Group, Level, Question
from thenar.knowledge.entries import KnowledgeError

YES, NO, NOT_SURE = "yes", "no", "not_sure"


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the check: what it asks, and the items to answer."""

    id: str
    asks: str
    questions: tuple[Question, ...]


@dataclass(frozen=True, slots=True)
class LevelledGroup:
    """A group with the level of every combination of its answers.

    Combinations are numbered with the last question running fastest, as `itertools.product` gives them.
    """

    group: Group
    questions: tuple[Question, ...]
    level_of: bytes

    @property
    def strides(self) -> tuple[int, ...]:
        """How far one step of each question's answer moves the combination's number."""
        sizes = [len(answers_to(question)) for question in self.questions]
        return tuple(prod(sizes[place + 1 :]) for place in range(len(sizes)))


@dataclass(frozen=True, eq=False)
class TriageTable:
    """The triage rules of one edition, compiled. Make one with `triage_table`."""

    book: Book
    questions: tuple[Question, ...]
    pages: tuple[Page, ...]
    groups: tuple[LevelledGroup, ...]
    rules: tuple[DecisionRule, ...]

    @cached_property
    def moves(self) -> dict[str, dict[str, tuple[int, int]]]:
        """For each question and answer: which group it moves, and how far from where "not sure" stands."""
        moves = {
            question.id: dict.fromkeys(answers_to(question), (0, 0))
            for question in self.questions
            if question.role == "record"
        }
        for number, levelled in enumerate(self.groups):
            for question, stride in zip(levelled.questions, levelled.strides, strict=True):
                answers = answers_to(question)
                unsure = answers.index(NOT_SURE)
                moves[question.id] = {
                    answer: (number, stride * (code - unsure)) for code, answer in enumerate(answers)
                }
        return moves

    @cached_property
    def all_unsure(self) -> tuple[int, ...]:
        """Each group's combination when nothing has been answered."""
        return tuple(
            sum(
                stride * answers_to(question).index(NOT_SURE)
                for question, stride in zip(levelled.questions, levelled.strides, strict=True)
            )
            for levelled in self.groups
        )

    @cached_property
    def deciding(self) -> tuple[str, ...]:
        """Questions that rules may use, in the order asked."""
        return tuple(question.id for question in self.questions if question.role != "record")

    @cached_property
    def holding(self) -> tuple[tuple[int, ...], ...]:
        """For each group and level: the rules, as bits, that this level lets hold."""
        return tuple(
            tuple(
                _rules_allowed(self.rules, levelled.group, rank) for rank in range(len(levelled.group.levels))
            )
            for levelled in self.groups
        )

    def rank(self, group: str, level: str) -> int:
        """How serious a level of a group is: its place from the lowest."""
        return next(each.group.levels.index(level) for each in self.groups if each.group.id == group)

    def levels(self, combinations: Iterable[int]) -> Iterator[int]:
        """The level each group is at, as its place in the group's `levels`."""
        return (
            levelled.level_of[combination]
            for levelled, combination in zip(self.groups, combinations, strict=True)
        )

    def rules_that_hold(self, levels: Iterable[int]) -> int:
        """The rules that hold at these levels, one bit each, in the file's order."""
        holding = -1
        for allowed, level in zip(self.holding, levels, strict=True):
            holding &= allowed[level]
        return holding


def answers_to(question: Question) -> tuple[str, ...]:
    """The answers a question takes; "not sure" always among them.

    Examples
    --------
    >>> answers_to(Question(id="fever", page="ill", asks="Do you have a fever?", role="red_flag"))
    ('no', 'not_sure', 'yes')
    """
    return (*question.answers, NOT_SURE) if question.answers else (NO, NOT_SURE, YES)


def triage_table(book: Book) -> TriageTable:
    """The triage table of a book, checked and compiled once.

    Parameters
    ----------
    book
        The knowledge, as `thenar.knowledge.book.load` gives it.

    Raises
    ------
    KnowledgeError
        Naming the question, group, level or rule that does not fit. Above all a question in two groups is
        refused: walking through every state group by group is a proof only while groups share nothing.

    Examples
    --------
    >>> from thenar.knowledge.book import load
    >>> [page.id for page in triage_table(load()).pages][:3]
    ['now', 'ill', 'worse']
    """
    return _compiled(_Same(book))


class _Same:
    """A book as a key: equal only to itself, for a book holds dicts and has no hash of its own."""

    __slots__ = ("book",)

    def __init__(self, book: Book) -> None:
        self.book = book

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.book is self.book

    def __hash__(self) -> int:
        return id(self.book)


@lru_cache(maxsize=8)
def _compiled(key: _Same) -> TriageTable:
    table = key.book.tables["triage"]
    refuse_unfit(table)
    questions = {question.id: question for question in table.question}
    return TriageTable(
        book=key.book,
        questions=table.question,
        pages=_pages(key.book, table.question),
        groups=tuple(
            _levelled(group, tuple(questions[name] for name in group.questions)) for group in table.group
        ),
        rules=table.rule,
    )


def _pages(book: Book, questions: tuple[Question, ...]) -> tuple[Page, ...]:
    """Pages in the order of their first question, each with the heading the advice file gives it."""
    names = dict.fromkeys(question.page for question in questions)
    return tuple(
        Page(name, _heading(book, name), tuple(question for question in questions if question.page == name))
        for name in names
    )


def _heading(book: Book, page: str) -> str:
    line = f"check-page.{page}"
    if line not in book.lines:
        raise _unfit(f"page {page!r} has no heading: there is no line {line!r}")
    return book.lines[line].says


def _levelled(group: Group, questions: tuple[Question, ...]) -> LevelledGroup:
    worst_first = sorted(group.level, key=lambda clause: group.levels.index(clause.name), reverse=True)
    level_of = bytearray()
    for given in product(*(answers_to(question) for question in questions)):
        answers = dict(zip(group.questions, given, strict=True))
        reached = next(
            (clause.name for clause in worst_first if clause_holds(clause, answers)), group.levels[0]
        )
        level_of.append(group.levels.index(reached))
    return LevelledGroup(group, questions, bytes(level_of))


def clause_holds(clause: Level, answers: Mapping[str, str]) -> bool:
    """Whether every condition of a clause is met by these answers."""
    return (
        (not clause.any_yes or any(answers[name] == YES for name in clause.any_yes))
        and all(answers[name] == YES for name in clause.all_yes)
        and (not clause.any_unknown or any(answers[name] == NOT_SURE for name in clause.any_unknown))
        and (not clause.any_possible or any(answers[name] != NO for name in clause.any_possible))
        and all(answers[name] in wanted for name, wanted in clause.choice_in.items())
    )


def _rules_allowed(rules: tuple[DecisionRule, ...], group: Group, rank: int) -> int:
    """Bits of the rules that don't ask about this group, or ask for this level or a lower one."""
    allowed = 0
    for place, rule in enumerate(rules):
        wanted = rule.when.get(group.id)
        if wanted is None or group.levels.index(wanted) <= rank:
            allowed |= 1 << place
    return allowed


# What makes a table unfit


def refuse_unfit(table: DecisionTable) -> None:
    """Raise KnowledgeError, naming the first thing in a table that does not fit together."""
    _refuse_repeats("question", (question.id for question in table.question))
    _refuse_repeats("group", (group.id for group in table.group))
    _refuse_repeats("rule", (rule.id for rule in table.rule))
    questions = {question.id: question for question in table.question}
    for question in table.question:
        _refuse_question(question)
    for group in table.group:
        _refuse_group(group, questions)
    _refuse_sharing(table)
    groups = {group.id: group for group in table.group}
    for rule in table.rule:
        _refuse_rule(rule, groups)


def _refuse_repeats(kind: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise _unfit(f"{kind} {name!r} stands there twice")
        seen.add(name)


def _refuse_question(question: Question) -> None:
    if len(question.answers) != len(question.labels):
        raise _unfit(f"question {question.id!r} has not one label for each answer")
    if NOT_SURE in question.answers:
        raise _unfit(f"question {question.id!r} lists {NOT_SURE!r}, which every question has by itself")


def _refuse_group(group: Group, questions: dict[str, Question]) -> None:
    _refuse_repeats(f"group {group.id!r}: level", group.levels)
    for name in group.questions:
        if name not in questions:
            raise _unfit(f"group {group.id!r} names the unknown question {name!r}")
        if questions[name].role == "record":
            raise _unfit(f"group {group.id!r} uses {name!r}, which is only kept for the record")
    for clause in group.level:
        _refuse_clause(group, clause, questions)
    for unreachable in set(group.levels[1:]) - {clause.name for clause in group.level}:
        raise _unfit(f"group {group.id!r}: no clause leads to level {unreachable!r}")


def _refuse_clause(group: Group, clause: Level, questions: dict[str, Question]) -> None:
    where = f"group {group.id!r}, level {clause.name!r}"
    if clause.name not in group.levels:
        raise _unfit(f"{where}: the group has no such level")
    if clause.name == group.levels[0]:
        raise _unfit(f"{where}: the lowest level needs no clause, it is where a group starts")
    yes_no = (*clause.any_yes, *clause.all_yes, *clause.any_unknown, *clause.any_possible)
    if not (yes_no or clause.choice_in):
        raise _unfit(f"{where}: a clause without a condition always holds")
    for name in (*yes_no, *clause.choice_in):
        if name not in group.questions:
            raise _unfit(f"{where} names the question {name!r}, which is not in this group")
        if (name in clause.choice_in) != bool(questions[name].answers):
            raise _unfit(f"{where} reads {name!r} the wrong way: choice_in is for choices")
    for name, wanted in clause.choice_in.items():
        for answer in wanted:
            if answer not in answers_to(questions[name]):
                raise _unfit(f"{where}: {name!r} has no answer {answer!r}")


def _refuse_sharing(table: DecisionTable) -> None:
    owner: dict[str, str] = {}
    for group in table.group:
        for name in group.questions:
            if name in owner:
                raise _unfit(f"question {name!r} stands in two groups, {owner[name]!r} and {group.id!r}")
            owner[name] = group.id
    for question in table.question:
        if question.role != "record" and question.id not in owner:
            raise _unfit(f"question {question.id!r} stands in no group, so no rule can heed it")


def _refuse_rule(rule: DecisionRule, groups: dict[str, Group]) -> None:
    if not rule.when:
        raise _unfit(f"rule {rule.id!r} has no condition")
    if (rule.urgency, rule.patient_contact) == ("self_care", "continue"):
        raise _unfit(f"rule {rule.id!r} asks for nothing")
    for group_id, level in rule.when.items():
        if group_id not in groups:
            raise _unfit(f"rule {rule.id!r} names the unknown group {group_id!r}")
        if level not in groups[group_id].levels:
            raise _unfit(f"rule {rule.id!r}: group {group_id!r} has no level {level!r}")
        if level == groups[group_id].levels[0]:
            raise _unfit(f"rule {rule.id!r}: every answer is at least at level {level!r} of {group_id!r}")


def _unfit(says: str) -> KnowledgeError:
    return KnowledgeError(
        what=f"The triage table does not fit together: {says}.",
        why="A table with a gap or an overlap could sort a worker wrongly.",
        todo="Mend the triage file and run `thenar knowledge verify`.",
    )
