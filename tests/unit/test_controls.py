"""What controls do to a shift, to cases and to money, and how sure their order is."""

from datetime import date
from decimal import Decimal

import pytest

from thenar.exposure.controls import (
    CreamAtBreaks,
    DryBeforeGloves,
    GlovesOff,
    GlovesOn,
    Machine,
    OwnMeasure,
    Plan,
    SharedTask,
    UnusablePlan,
    WashToRub,
    plan_shift,
)
from thenar.exposure.effects import chance_for, changes_without_ratio, effects_of
from thenar.exposure.floor import BelowFloor, WorkedShift, refuse_below_floor
from thenar.exposure.obligations import Obligations
from thenar.exposure.plan_costs import Prices, Spending
from thenar.exposure.plan_verdicts import verdict_changes
from thenar.exposure.ranking import AreaRole, Baseline, UnusableRanking, rank_plans
from thenar.exposure.shift import ShiftQuantities
from thenar.knowledge import KnownAs, load

BOOK = load()
DAY = date(2026, 11, 25)
SEED = 20261125


def required(soap=6, either=24, sterile=0, examination=4):
    return Obligations(soap, either, sterile, examination, 0, (), (), BOOK.edition)


def worked(washes=22, rubs=20, pairs=10, *, needs=None, sterile_pairs=None, **load_):
    counted = {
        "wet_minutes": 60.0,
        "glove_minutes": 50.0,
        "gloves_on_wet_skin": 3,
        "cream_uses": 0,
        "wet_glove_alternations": 8,
        "wash_glove_alternations": 6,
    }
    load_ = ShiftQuantities(whole_shift=True, washes=washes, rubs=rubs, pairs=pairs, **{**counted, **load_})
    return WorkedShift(load_, needs or required(), sterile_pairs)


def under(shift, *controls):
    return plan_shift(shift, Plan("plan", controls))


def rank(shifts, *plans, baseline=None, **more):
    area_role = AreaRole(tuple(shifts), baseline, more.pop("shifts_a_year", None))
    return rank_plans(area_role, plans, BOOK, DAY, seed=SEED, **more)


# Loads


def test_washes_that_did_not_need_soap_become_rubs():
    # 22 washes, 6 needed soap: 16 swapped
    after = under(worked(), WashToRub()).after.load
    assert (after.washes, after.rubs) == (6, 36)


def test_a_share_of_the_swap_is_rounded_towards_doing_less():
    # 0.3 x 16 = 4.8: 4 swapped
    after = under(worked(), WashToRub(share=0.3)).after.load
    assert (after.washes, after.rubs) == (18, 24)


def test_gloves_not_indicated_stay_off_and_take_their_mean_wear_with_them():
    # 10 pairs in 50 minutes, 4 indicated: 6 off, 30 minutes less
    after = under(worked(), GlovesOff()).after.load
    assert (after.pairs, after.glove_minutes, after.gloves_on_wet_skin) == (4, 20.0, 3)


def test_sterile_gloves_do_not_stand_in_for_examination_gloves():
    # 10 pairs, 5 of them sterile though 2 were needed; 4 examination: 5 + 4 stay
    needs = required(sterile=2)
    planned = under(worked(needs=needs, sterile_pairs=5), GlovesOff())
    assert (planned.after.load.pairs, planned.after.sterile_pairs) == (9, 5)


def test_gloves_on_for_wet_tasks_spare_water_and_add_gloves():
    after = under(worked(), GlovesOn(times=4, wet_minutes_spared=25, glove_minutes=30)).after.load
    assert (after.wet_minutes, after.pairs, after.glove_minutes) == (35.0, 14, 80.0)
    # whether hands are dry under the new gloves, and how often water and gloves now alternate, nobody knows
    assert after.gloves_on_wet_skin is None
    assert after.wet_glove_alternations is None


def test_cream_machine_sharing_and_dry_hands():
    after = under(
        worked(),
        CreamAtBreaks(times=2),
        Machine(wet_minutes_spared=15),
        SharedTask(wet_minutes=30, people=3),  # a third of 30 stays: 20 less
        DryBeforeGloves(),
    ).after.load
    assert (after.cream_uses, after.wet_minutes, after.gloves_on_wet_skin) == (2, 25.0, 0)
    assert (after.washes, after.rubs, after.pairs) == (22, 20, 10)


def test_no_minutes_fall_below_zero():
    after = under(worked(), Machine(wet_minutes_spared=500), SharedTask(wet_minutes=90)).after.load
    assert after.wet_minutes == 0


def test_controls_are_applied_in_order():
    first = under(worked(), WashToRub(), OwnMeasure(rubs=-100)).after.load
    # 16 swapped: 6 washes and 36 rubs; of 30 cleansings 24 rubs must stay
    assert (first.washes, first.rubs) == (6, 24)


def test_what_was_missed_is_made_good_first_and_said():
    planned = under(worked(washes=4, rubs=10, pairs=1), CreamAtBreaks(1))
    # 6 needed soap, 30 cleansings in all, 4 pairs
    load_ = planned.after.load
    assert (load_.washes, load_.rubs, load_.pairs) == (6, 24, 4)
    assert len(planned.made_good) == 3
    assert load_.glove_minutes is None


def test_what_is_held_for_want_of_an_answer_is_not_called_required():
    needs = Obligations(6, 24, 0, 4, 30, (), (), BOOK.edition)
    (says,) = under(worked(washes=4, needs=needs, rubs=24), CreamAtBreaks(1)).made_good
    assert (
        says
        == "2 washes were required, or held to be for want of an answer, and not done; every plan adds them."
    )


# The floor


def test_a_measure_that_takes_too_much_is_held_at_the_floor_and_says_so():
    planned = under(worked(), OwnMeasure(washes=-30, rubs=-30, pairs=-30))
    load_ = planned.after.load
    assert (load_.washes, load_.rubs, load_.pairs) == (10, 20, 4)
    # 30 cleansings needed and 20 rubs stay at first: so at least 10 washes
    assert len(planned.steps[0].held) == 3


def test_washes_stay_where_no_rub_takes_their_place():
    planned = under(worked(washes=28, rubs=2), OwnMeasure(washes=-20))
    assert (planned.after.load.washes, planned.after.load.rubs) == (28, 2)
    assert "could be spared" in planned.steps[0].held[0]


def test_without_a_log_of_acts_nothing_is_taken_away():
    shift = WorkedShift(worked().load)
    for control in (WashToRub(), GlovesOff(), OwnMeasure(washes=-3, rubs=-3, pairs=-3)):
        planned = under(shift, control)
        assert planned.after.load == shift.load
        assert any("not known" in says for says in planned.steps[0].held)


@pytest.mark.parametrize(
    ("unknown", "control"),
    [("washes", WashToRub()), ("rubs", WashToRub()), ("pairs", GlovesOff())],
)
def test_what_was_not_counted_is_not_taken_away(unknown, control):
    shift = worked(**{unknown: None})
    planned = under(shift, control)
    assert planned.after.load == shift.load
    assert any("not counted" in says for says in planned.steps[0].held)


@pytest.mark.parametrize(
    "short",
    [
        {"washes": 5},
        {"washes": 6, "rubs": 23},
        {"pairs": 3},
        {"pairs": 9, "sterile_pairs": 1, "needs": required(sterile=2)},
    ],
)
def test_a_shift_below_the_floor_is_refused_outright(short):
    with pytest.raises(BelowFloor):
        refuse_below_floor(worked(**short))


# Effects


def loads(*washes, **more):
    return [ShiftQuantities(whole_shift=True, washes=count, **more) for count in washes]


def effect(before, after, ratio_id):
    found = effects_of(before, after, BOOK, chance_for(len(before), 4_000, SEED))
    return next(each for each, _ in found if each.ratio.id == ratio_id)


WASHES = "risk-ratio.washes-15-20"


@pytest.mark.parametrize(
    ("before", "after", "known"),
    [
        (20, 14, True),  # from the highest cut-off pooled to below the lowest
        (30, 0, True),
        (19, 14, False),  # 19 is above the contrast for some studies and below for others
        (20, 15, False),
        (14, 3, False),  # below before and after
        (40, 25, False),  # above before and after
    ],
)
def test_a_ratio_is_used_only_across_its_contrast(before, after, known):
    found = effect(loads(before), loads(after), WASHES)
    assert (found.fraction is not None) is known
    assert known or "Not known" in found.why_not


def test_an_unknown_effect_is_not_an_effect_of_nothing():
    found = effect(loads(14), loads(3), WASHES)
    assert found.fraction is None
    assert found.why_not


def test_the_fraction_is_worked_out_from_shares_of_shifts():
    # Of 4 shifts 2 at or above (25, 22), one between (17), one below (5); one goes below (25 to 9).
    # p = 3/4 with the one between, p - p' = 1/4: 0.25 x 0.66 / (1 + 0.75 x 0.66) = 0.165 / 1.495 = 0.1104
    found = effect(loads(25, 22, 17, 5), loads(9, 22, 17, 5), WASHES)
    assert found.fraction.estimate == pytest.approx(0.1104, abs=1e-4)
    assert found.fraction.lower < found.fraction.estimate < found.fraction.upper
    assert (found.went_below, found.went_above) == (0.25, 0)


def test_one_shift_carries_the_published_interval_through():
    # p = p - p' = 1: (RR - 1) / RR, at 1.66 (1.51 to 1.83): 0.398 (0.338 to 0.454)
    found = effect(loads(25), loads(5), WASHES).fraction
    assert found.estimate == pytest.approx(0.398, abs=1e-3)
    assert (found.lower, found.upper) == pytest.approx((0.338, 0.454), abs=0.01)


def test_more_washing_adds_cases_even_if_it_ends_between_the_cut_offs():
    # p = 0, p' = 1: -0.66
    assert effect(loads(10), loads(17), WASHES).fraction.estimate == pytest.approx(-0.66)


def test_an_odds_ratio_is_turned_into_a_risk_ratio_before_it_is_used():
    # OR 1.99, risk 0.147: 1.99 / (0.853 + 0.147 x 1.99) = 1.7371; (1.7371 - 1) / 1.7371 = 0.4243
    before = [ShiftQuantities(whole_shift=True, gloves_on_wet_skin=3)]
    after = [ShiftQuantities(whole_shift=True, gloves_on_wet_skin=0)]
    found = effect(before, after, "risk-ratio.gloves-on-wet-skin")
    assert found.fraction.estimate == pytest.approx(0.4243, abs=1e-4)
    assert found.from_odds
    assert found.association


def test_only_trials_are_not_called_an_association():
    before = [ShiftQuantities(whole_shift=True, cream_uses=0)]
    after = [ShiftQuantities(whole_shift=True, cream_uses=2)]
    found = effect(before, after, "risk-ratio.moisturiser")
    # p = 0, p - p' = -1: -1 x (0.71 - 1) = 0.29
    assert found.fraction.estimate == pytest.approx(0.29)
    assert not found.association
    assert found.citation.known_as is KnownAs.FROM_MEMORY
    assert found.fraction.lower < 0 < found.fraction.upper
    assert effect(loads(25), loads(5), WASHES).association


def test_more_cream_where_cream_is_used_already_has_an_unknown_effect():
    before = [ShiftQuantities(whole_shift=True, cream_uses=1)]
    after = [ShiftQuantities(whole_shift=True, cream_uses=4)]
    assert effect(before, after, "risk-ratio.moisturiser").fraction is None


def test_part_of_a_shift_can_be_over_a_contrast_but_never_under_it():
    part = [ShiftQuantities(whole_shift=False, washes=25)]
    less = [ShiftQuantities(whole_shift=False, washes=5)]
    assert effect(part, less, WASHES).fraction is None


def test_a_count_missing_in_one_shift_leaves_the_effect_unknown():
    assert effect(loads(25, None), loads(5, None), WASHES).fraction is None


def test_rubs_and_minutes_change_without_a_ratio_and_are_named():
    before = [ShiftQuantities(whole_shift=True, rubs=20, wet_minutes=60.0, washes=22)]
    after = [ShiftQuantities(whole_shift=True, rubs=36, wet_minutes=30.0, washes=6)]
    assert set(changes_without_ratio(before, after, BOOK)) == {"rubs", "wet_minutes"}


# Ranking

RUB = Plan("rub where it will do", (WashToRub(),))
DRY = Plan("dry hands", (DryBeforeGloves(),))
CREAM = Plan("cream", (CreamAtBreaks(2),))
WASHER = Plan("washer", (Machine(20),))


def test_cases_spared_are_the_sites_own_rate_times_the_fraction():
    # 6 cases in 60 person-years among 40 people: 4 a year; x 0.3976 = 1.59
    ranking = rank([worked()], RUB, baseline=Baseline(6, 60.0, 40))
    (option,) = ranking.options
    assert option.avoided.estimate == pytest.approx(1.590, abs=1e-3)
    assert option.avoided.lower < option.avoided.estimate < option.avoided.upper
    assert option.ranked_by.ratio.id == WASHES


def test_no_case_seen_is_not_no_risk():
    (option,) = rank([worked()], RUB, baseline=Baseline(0, 60.0, 40)).options
    assert option.avoided.estimate == 0
    assert option.avoided.upper > 0


def test_without_a_baseline_cases_are_not_known_but_plans_are_still_ordered():
    ranking = rank([worked()], CREAM, RUB)
    assert [option.plan.name for option in ranking.options] == ["rub where it will do", "cream"]
    assert [option.avoided for option in ranking.options] == [None, None]


def test_chances_of_being_best_add_up_and_an_uncertain_order_says_so():
    ranking = rank([worked()], RUB, DRY, CREAM, baseline=Baseline(6, 60.0, 40))
    assert sum(option.chance_best for option in ranking.options) == pytest.approx(1)
    assert not ranking.certain
    assert "not certain" in ranking.says


def test_a_plan_that_adds_washing_comes_after_one_that_may_help():
    # 10 and 12 washes become 25 and 27
    light = [worked(washes=10, rubs=30), worked(washes=12, rubs=30)]
    ranking = rank(light, Plan("worse", (OwnMeasure(washes=15),)), CREAM)
    assert [option.plan.name for option in ranking.options] == ["cream", "worse"]
    assert ranking.options[-1].chance_helps == 0


def test_plans_that_rest_on_one_ratio_rise_and_fall_together():
    # Both cross the same contrast with the same shift: they tie in every draw.
    half = Plan("most of them", (WashToRub(share=0.9),))
    ranking = rank([worked()], RUB, half)
    assert [option.chance_best for option in ranking.options] == [0.5, 0.5]
    assert not ranking.certain


def test_a_plan_that_crosses_in_more_shifts_is_certainly_better():
    shifts = [worked(), worked(washes=30), worked(washes=26), worked(washes=24), worked(washes=60)]
    some = Plan(
        "some of them", (WashToRub(share=0.5),)
    )  # 22 washes: 8 of 16 swapped, 14 left; the others 15 up
    ranking = rank(shifts, some, RUB)
    assert ranking.certain
    assert ranking.options[0].plan.name == RUB.name
    assert ranking.options[0].chance_best > 0.99


def test_a_plan_with_an_unknown_effect_is_last_and_keeps_the_order_uncertain():
    ranking = rank([worked()], WASHER, RUB)
    assert [option.plan.name for option in ranking.options] == [RUB.name, WASHER.name]
    last = ranking.options[-1]
    assert (last.ranked_by, last.chance_best, last.chance_helps) == (None, None, None)
    assert last.not_known == ("wet_minutes",)
    assert not ranking.certain


def test_where_no_effect_is_known_there_is_no_order():
    assert "no order" in rank([worked()], WASHER).says


def test_where_all_plans_do_harm_none_is_called_best():
    more = Plan("more washing", (OwnMeasure(washes=15),))
    most = Plan("yet more washing", (OwnMeasure(washes=20),))
    ranking = rank([worked(washes=10, rubs=30)], more, most)
    assert not ranking.certain
    assert "expected to spare" in ranking.says


def test_of_several_factors_the_least_favourable_ranks_and_none_are_added():
    both = Plan("both", (WashToRub(), DryBeforeGloves()))
    (option,) = rank([worked()], both).options
    known = [each.fraction.estimate for each in option.effects if each.fraction]
    # washes 0.398 by the review and others, wet gloves 0.424: ranked by the washes' first ratio
    assert option.ranked_by.ratio.id == WASHES
    assert option.ranked_by.fraction.estimate < sum(known)


def test_the_same_seed_gives_the_same_ranking():
    plans = (RUB, DRY, CREAM)
    baseline = Baseline(6, 60.0, 40)
    assert rank([worked()], *plans, baseline=baseline) == rank([worked()], *plans, baseline=baseline)


def test_cautions_belong_to_a_plan_and_are_in_the_book():
    plan = Plan("all", (WashToRub(), GlovesOn(1, 5, 5), CreamAtBreaks(1), Machine(5), SharedTask(5)))
    assert plan.cautions[0] == "controls.caution.floor"
    assert len(plan.cautions) == 6
    assert all(BOOK.rule(caution).on(DAY).text for caution in plan.cautions)


# Money

PRICES = Prices("EUR", wash=Decimal("0.05"), rub=Decimal("0.02"), pair=Decimal("0.10"), case=Decimal(1000))


def test_costs_come_from_the_sites_prices():
    # 16 washes become rubs: 16 x (0.02 - 0.05) = -0.48 a shift; x 40 people x 200 shifts = -3840
    ranking = rank(
        [worked()],
        RUB,
        baseline=Baseline(6, 60.0, 40),
        prices=PRICES,
        spending={RUB.name: Spending(once=Decimal(500), a_year=Decimal(0))},
        shifts_a_year=200,
    )
    costs = ranking.options[0].costs
    assert costs.consumables_a_year == Decimal("-3840.00")
    assert (costs.once, costs.running_a_year, costs.missing) == (Decimal(500), Decimal(0), ())
    assert costs.saved_on_cases_a_year.estimate == pytest.approx(1590, abs=1)


def test_a_missing_price_makes_the_cost_not_known_and_is_named():
    ranking = rank(
        [worked()],
        RUB,
        CREAM,
        baseline=Baseline(6, 60.0, 40),
        prices=Prices("EUR", wash=Decimal("0.05")),
        shifts_a_year=200,
    )
    by_name = {option.plan.name: option.costs for option in ranking.options}
    assert by_name[RUB.name].consumables_a_year is None
    assert {"price of a rub", "once", "a_year", "price of a case"} <= set(by_name[RUB.name].missing)
    assert "price of a cream use" in by_name[CREAM.name].missing


def test_without_prices_nothing_is_assumed():
    (option,) = rank([worked()], RUB).options
    assert option.costs.consumables_a_year is None
    assert option.costs.saved_on_cases_a_year is None


# Verdicts


def test_verdicts_change_with_the_load_and_are_never_better_than_known():
    planned = under(worked(wet_contacts=12), WashToRub())
    found = {each.rule_set_id: each for each in verdict_changes([planned], BOOK, DAY)}
    german = found["wet-work.de-trgs-401-2022"]
    # 22 washes are wet work; 6 washes are not, but 6 changes between washing and gloves may remain
    assert (german.wet_work_before, german.wet_work_after) == (1, 1)
    international = found["wet-work.int-2-20-2"]
    assert (international.wet_work_before, international.wet_work_after) == (1, 0)


# Refusals


@pytest.mark.parametrize(
    ("control", "field"),
    [
        (WashToRub(share=0), "share"),
        (WashToRub(share=1.1), "share"),
        (GlovesOff(share=-0.1), "share"),
        (GlovesOff(share=float("nan")), "share"),
        (GlovesOn(times=-1, wet_minutes_spared=5, glove_minutes=5), "times"),
        (GlovesOn(times=1, wet_minutes_spared=5_000, glove_minutes=5), "wet_minutes_spared"),
        (CreamAtBreaks(times=1.5), "times"),
        (SharedTask(wet_minutes=5, people=1), "people"),
        (OwnMeasure(washes=-5_000), "washes"),
        (OwnMeasure(rubs=True), "rubs"),
    ],
)
def test_a_control_with_an_absurd_figure_is_refused_by_name(control, field):
    with pytest.raises(UnusablePlan, match=rf"plan\.controls\[0\]\.{field}"):
        under(worked(), control)


def test_a_plan_without_controls_is_refused():
    with pytest.raises(UnusablePlan, match="empty"):
        under(worked())


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: rank([], RUB), "shifts: has 0"),
        (lambda: rank([worked()]), "plans: has 0"),
        (lambda: rank([worked()], RUB, RUB), "stands twice"),
        (lambda: rank([worked()], RUB, draws=10), "draws: is 10"),
        (lambda: rank([worked(washes=-1)], RUB), r"shifts\[0\]\.washes: is -1"),
        (lambda: rank([worked(), worked(rubs=5_000)], RUB), r"shifts\[1\]\.rubs: is 5000"),
        (lambda: rank([worked(wet_minutes=float("nan"))], RUB), r"wet_minutes: is nan"),
        (lambda: rank([worked(sterile_pairs=11)], RUB), "sterile_pairs: is 11"),
        (lambda: rank([worked()], RUB, baseline=Baseline(-1, 60.0, 40)), "baseline.cases"),
        (lambda: rank([worked()], RUB, baseline=Baseline(1, 0, 40)), "baseline.person_years"),
        (lambda: rank([worked()], RUB, baseline=Baseline(1, 60.0, 0)), "baseline.people"),
    ],
)
def test_a_ranking_that_cannot_be_made_is_refused_by_name(make, says):
    with pytest.raises(UnusableRanking, match=says):
        make()
