"""On any small history the engine's count is the same as counting every worker on every day, one by one."""

from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.small_extract import ACase, APost, ByDay, History, SomeLeave, count_by_day, write_small
from thenar.population.extract_schema import open_extract
from thenar.population.person_time import NoTimeAtRisk, PersonTime, embedded_engine, person_time
from thenar.population.person_time_cases import CaseTally
from thenar.population.person_time_rules import PartTime, TimeRules
from thenar.population.stated import Period

START = date(2025, 12, 1)
SOME_DAYS = st.integers(0, 110).map(lambda days: START + timedelta(days=days))
WORKERS = st.integers(1, 2)
PLACES = st.tuples(st.integers(1, 2), st.integers(1, 2))


@st.composite
def spans(draw: st.DrawFn) -> tuple[date, date | None]:
    first = draw(SOME_DAYS)
    long = draw(st.none() | st.integers(0, 70))
    return first, None if long is None else first + timedelta(days=long)


POSTS = st.builds(
    lambda worker, span, place, percent: APost(worker, *span, *place, percent),
    WORKERS,
    spans(),
    PLACES,
    st.sampled_from([100, 75, 60, 33, 1]),
)
CASES = st.builds(
    lambda worker, span, outcome: ACase(worker, *span, outcome),
    WORKERS,
    spans(),
    st.sampled_from([None, "clear", "not_skin"]),
)
LEAVE = st.builds(lambda worker, span: SomeLeave(worker, *span), WORKERS, spans())
HISTORIES = st.builds(
    lambda posts, cases, leave: History(tuple(posts), tuple(cases), tuple(leave)),
    st.lists(POSTS, max_size=6, unique=True),
    st.lists(CASES, max_size=5),
    st.lists(LEAVE, max_size=2),
)
RULES = st.builds(
    lambda first, long, washout, part_time: TimeRules(
        Period(first, first + timedelta(days=long)), washout, part_time
    ),
    SOME_DAYS,
    st.integers(0, 80),
    st.integers(0, 40),
    st.sampled_from(PartTime),
)


def engine_count(history: History, rules: TimeRules) -> PersonTime | CaseTally:
    with TemporaryDirectory() as folder, embedded_engine(threads=1) as engine:
        try:
            return person_time(open_extract(write_small(Path(folder), history)), rules, engine)
        except NoTimeAtRisk as none:
            return none.tally


def same_tally(tally: CaseTally, slow: ByDay) -> bool:
    return all(getattr(tally, name) == slow.fates[name] for name in CaseTally.__slots__)


@settings(max_examples=60)
@given(HISTORIES, RULES)
def test_the_engine_counts_as_one_would_by_hand(history: History, rules: TimeRules) -> None:
    slow, quick = count_by_day(history, rules), engine_count(history, rules)
    if isinstance(quick, CaseTally):
        assert not slow.days
        assert same_tally(quick, slow)
        return
    cells = {(cell.area, cell.role, cell.month): cell for cell in quick.cells}
    assert cells.keys() == slow.days.keys()
    for key, cell in cells.items():
        # A share of a day is kept to the millionth: at most half of one for each post on each of 31 days.
        assert abs(cell.person_days - slow.days[key]) <= 31 * len(history.posts) * 0.5e-6
        assert cell.cases == slow.cases[key]
    assert same_tally(quick.tally, slow)


@settings(max_examples=20)
@given(HISTORIES, RULES)
def test_longer_wash_out_never_adds_time_or_cases(history: History, rules: TimeRules) -> None:
    longer = TimeRules(rules.period, rules.washout_days + 15, rules.part_time)
    less, more = engine_count(history, longer), engine_count(history, rules)
    if isinstance(less, CaseTally):
        return
    assert not isinstance(more, CaseTally)
    assert less.person_years <= more.person_years + 1e-6
    assert less.tally.counted <= more.tally.counted
