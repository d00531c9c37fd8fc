"""What may a committee read about a change, and what must stand beside it?"""

from collections.abc import Sequence

from thenar.population.evaluation_fit import FEWEST_WARDS
from thenar.population.evaluation_terms import Change
from thenar.population.intervals import Interval
from thenar.population.stated import AnswerFrom, Grounds

FEW_CASES = 10  # a side and arm: our choice
FEW_WARDS = 20  # errors by ward settle from about here: common practice
SEASON_MONTHS = 12  # a side, before season can be told from the change: common practice


def sentence_of(
    ratio: Interval, *, change: Change, case: str, seen: int, without: float, months: int, compared: int
) -> str:
    """The finding in one paragraph, with what the figures can't show said first where they can't.

    Examples
    --------
    >>> from datetime import date
    >>> posts = Change(what="Cream posts", wards=frozenset({"Ward 1"}), on=date(2025, 3, 1))
    >>> print(sentence_of(Interval(0.7, 0.55, 0.9, 0.95, "quasi-Poisson"), change=posts, case="hand eczema",
    ...                   seen=42, without=60.0, months=18, compared=0))
    Cream posts (from 2025-03-01, 1 ward): 42 new cases of hand eczema in 18 months, where 60.0 were to be
    expected from the wards' own past. That is 30 % fewer (95 % interval: 45 % fewer to 10 % fewer).
    """
    wards = _many(len(change.wards), "ward")
    past = "the wards' own past" + (f" and {_many(compared, 'comparison ward')}" if compared else "")
    level = f"{100 * ratio.confidence:.10g} %"
    ends = f"{level} interval: {_difference(ratio.lower)} to {_difference(ratio.upper)}"
    told = (
        f"{change.what} (from {change.on}, {wards}): {seen} new cases of {case} in {months} months, where "
        f"{without:.1f} were to be expected from {past}. "
    )
    if ratio.lower <= 1 <= ratio.upper:
        return told + f"The figures do not show whether it changed anything ({ends})."
    return told + f"That is {_difference(ratio.estimate)} ({ends})."


def _many(number: int, of: str) -> str:
    return f"{number} {of}{'' if number == 1 else 's'}"


def _difference(ratio: float) -> str:
    size = f"{100 * abs(ratio - 1):.0f} %"
    return f"{size} {'fewer' if ratio < 1 else 'more'}"


def cautions_of(
    change: Change,
    grounds: Grounds,
    *,
    compared: int,
    fewest_cases: int,
    by_ward: bool,
    season_pairs: int,
    carry_over: float,
    months: int,
    left_out: Sequence[str],
) -> tuple[str, ...]:
    """Everything that could make the figure say what is not so, the most usual first."""
    return (
        *_of_choice(change.picked_for_high_rate, compared),
        *_of_other_changes(compared),
        *_of_source(grounds.answer_from),
        *_of_few(change, compared, fewest_cases, by_ward=by_ward),
        *_of_time(season_pairs, carry_over, months),
        *left_out,
    )


def _of_choice(picked: bool | None, compared: int) -> list[str]:
    if picked is False:
        return []
    who = "The wards were" if picked else "If the wards were"
    so = (
        "; part of the fall would have come without the change"
        if picked
        else ", part of a fall would have come anyway"
    )
    more = " The comparison wards do not take that away unless they were as high." if compared else ""
    return [f"{who} picked because they had many cases{so} (regression to the mean).{more}"]


def _of_other_changes(compared: int) -> list[str]:
    if compared:
        return ["Whatever else changed then only on these wards is counted as its effect."]
    return [
        "There are no comparison wards: whatever else changed at the same time is counted as its effect.",
        "What was to be expected is the earlier trend drawn on, which nobody can check.",
    ]


def _of_source(source: AnswerFrom) -> list[str]:
    if source is AnswerFrom.SELF_REPORT:
        return ["Self-report: people who know of the change may answer otherwise because of it."]
    if source is AnswerFrom.EXAMINATION:
        return []
    return ["Only cases that came forward are counted: a change that draws attention can raise them."]


def _of_few(change: Change, compared: int, fewest_cases: int, *, by_ward: bool) -> list[str]:
    said = []
    if fewest_cases < FEW_CASES:
        said.append(f"Fewer than {FEW_CASES} cases on one side of the change: the interval is rough.")
    wards = len(change.wards) + compared
    if not by_ward and wards > 1:
        said.append(
            f"Fewer than {FEWEST_WARDS} wards in an arm: how wards differ over time could not be counted, so "
            "the interval may be too narrow."
        )
    elif by_ward and wards < FEW_WARDS:
        said.append(
            f"{wards} wards: errors by ward are corrected for so few and the wider interval was taken; it "
            "may still be too narrow."
        )
    return said


def _of_time(season_pairs: int, carry_over: float, months: int) -> list[str]:
    said = []
    if season_pairs == 0:
        said.append(f"Season is not taken out; that needs {SEASON_MONTHS} months on each side.")
    if carry_over > 2 / months**0.5:
        said.append(
            f"Months resemble the month before (correlation {carry_over:.2f}): the interval is too narrow."
        )
    return said
