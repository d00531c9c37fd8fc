"""Where no allocation fits: what is the least that must give way?"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from thenar.exposure.duty_bounds import Because
from thenar.exposure.duty_model import Give, Model, write_model
from thenar.exposure.duty_plan import MorePeople, Overrun, Relaxation
from thenar.exposure.duty_programme import Effort, OutOfTime, Solution, Terms, minimise_in_order
from thenar.exposure.duty_rota import Rota
from thenar.exposure.duty_terms import Assignment, Measure, Shift


@dataclass(frozen=True, slots=True)
class Prices:
    """What giving way weighs. Our own convention, from no source: a site may set its own.

    One more person weighs as much as ten washes, ten pairs of gloves or 100 minutes over for a colleague.
    Going over the limits of someone whose duties must be light weighs `limits_times` as much.
    """

    person: int = 100
    wash: int = 10
    pair: int = 10
    minute: int = 1
    limits_times: int = 2

    def of(self, measure: Measure, because: Because) -> int:
        """The weight of one over."""
        each = {Measure.WASHES: self.wash, Measure.PAIRS: self.pair}.get(measure, self.minute)
        return each * (self.limits_times if because is Because.LIMIT else 1)


PRICES = Prices()


def relax(
    rota: Rota, shifts: tuple[Shift, ...], effort: Effort, prices: Prices = PRICES
) -> tuple[Relaxation | None, ...]:
    """Three ways to cover shifts that have no allocation: more people, overruns, the cheapest mix.

    Parameters
    ----------
    rota
        The search, laid out.
    shifts
        Shifts that must be looked at together.
    effort
        When to stop.
    prices
        What giving way weighs.

    Returns
    -------
    tuple of Relaxation or None
        In that order; None where more people alone, or overruns alone, can't help.

    Raises
    ------
    OutOfTime
        No answer was found in time.

    Notes
    -----
    What someone must not do at all (`no_soap` and the like) and the number of tasks never give way. A person
    added has every skill and the same ceiling as a colleague. Of ways that weigh the same, the one with the
    fewest changes is told.
    """
    people = _with_more_people(rota, shifts, effort, prices, overruns=False)
    overruns = _least(rota, shifts, Give(overruns=True), effort, prices)
    mix = _with_more_people(rota, shifts, effort, prices, overruns=True)
    return people, overruns, mix


def add_up(parts: tuple[Relaxation | None, ...], kept: tuple[Assignment, ...]) -> Relaxation | None:
    """One way out from the ways out of separate shifts, with the allocation of the shifts that need none."""
    if any(part is None for part in parts):
        return None
    whole = Relaxation((), (), 0, 0.0, kept)
    for part in parts:
        assert part is not None
        whole = Relaxation(
            more_people=whole.more_people + part.more_people,
            overruns=whole.overruns + part.overruns,
            cost=whole.cost + part.cost,
            cost_at_least=whole.cost_at_least + part.cost_at_least,
            assignments=whole.assignments + part.assignments,
        )
    return replace(whole, assignments=tuple(sorted(whole.assignments)))


def _with_more_people(
    rota: Rota, shifts: tuple[Shift, ...], effort: Effort, prices: Prices, overruns: bool
) -> Relaxation | None:
    """The least with more people, offering a few at first: more are offered until they can't make it less.

    Where time runs out with few, more may still be an answer, but no longer one proven to be the least.
    """
    enough = max(sum(task.people_needed for task in rota.tasks_in[shift]) for shift in shifts)
    proven = True
    for offered in _doubling_up_to(enough):
        try:
            found = _least(rota, shifts, Give(offered, overruns), effort, prices)
        except OutOfTime:
            if offered == enough:
                raise
            proven = False
            continue
        if found is not None and found.cost <= prices.person * (offered + 1):
            break
    return found if found is None or proven else replace(found, cost_at_least=0.0)


def _doubling_up_to(enough: int) -> Iterator[int]:
    offered = 1
    while offered < enough:
        yield offered
        offered *= 2
    yield enough


def _least(
    rota: Rota, shifts: tuple[Shift, ...], give: Give, effort: Effort, prices: Prices
) -> Relaxation | None:
    model = write_model(rota, shifts, give)
    goals = [_cost(model, prices), model.changes]
    solution = minimise_in_order(model.programme, goals, replace(effort, gap=0.0))
    return None if solution is None else _read(model, solution, prices)


def _cost(model: Model, prices: Prices) -> Terms:
    people = [(added.column, prices.person) for added in model.added]
    overruns = []
    for allowance, column in model.over:
        assert allowance.measure is not None
        overruns.append((column, prices.of(allowance.measure, allowance.because)))
    return [*people, *overruns]


def _read(model: Model, solution: Solution, prices: Prices) -> Relaxation:
    done = tuple(duty for duty, column in model.does.items() if solution.whole(column))
    more_people = tuple(_more_people(model, solution, done))
    overruns = tuple(_overruns(model, solution))
    cost = sum(more.number * prices.person for more in more_people) + sum(
        over.amount * prices.of(over.measure, over.because) for over in overruns
    )
    return Relaxation(more_people, overruns, cost, solution.reached[0].bound, done)


def _more_people(model: Model, solution: Solution, done: tuple[Assignment, ...]) -> Iterator[MorePeople]:
    joined = [added for added in model.added if solution.whole(added.column)]
    for shift in dict.fromkeys(added.shift for added in joined):
        names = {added.person.id for added in joined if added.shift == shift}
        tasks = dict.fromkeys(duty.task for duty in done if duty.person in names)
        yield MorePeople(shift, len(names), tuple(tasks))


def _overruns(model: Model, solution: Solution) -> Iterator[Overrun]:
    newcomers = {added.person.id for added in model.added}
    for allowance, column in model.over:
        amount = solution.whole(column)
        if amount:
            assert allowance.measure is not None
            yield Overrun(
                person=allowance.person,
                shift=allowance.shift,
                measure=allowance.measure,
                amount=amount,
                because=allowance.because,
                added=allowance.person in newcomers,
            )
