"""The hospital's areas by the chance of passing a limit; and one area, with what its shifts do to hands."""

from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.exposure.obligations import BothReasons, Reason
from thenar.exposure.rule_sets import Measure
from thenar.records.queries.workplace import AreaStory, area_story, areas_at_work
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.reasons import Reason as MarginReason
from thenar.screens.clinic.reasons import reason_for
from thenar.screens.people import for_those_who, person
from thenar.screens.products.here import stocked_here
from thenar.screens.workplace.exposure_of import Asked, PostExposure, asked_of
from thenar.screens.workplace.figures import SHOWN, Figure, figures_of
from thenar.screens.workplace.hospital_rows import hospital_rows, named_like
from thenar.screens.workplace.how_sure import NO_TARGET, HowSure, caution_in_words, how_sure
from thenar.screens.workplace.limits_here import Limits
from thenar.screens.workplace.looking import (
    Look,
    governing_id,
    limits_asked,
    look_at,
    rub_choices,
    rule_choices,
    view_choices,
)
from thenar.screens.workplace.matrix import rule_rows, trust_in
from thenar.screens.workplace.wording import percent, percents

RUBS = "shift.rub-wets-for"


@dataclass(frozen=True, slots=True)
class RolePanel:
    """One role's small multiples, with what belongs beside them."""

    exposure: PostExposure
    figures: tuple[Figure, ...]
    chance: str
    between: str
    at_least: bool
    not_drawn: tuple[str, ...]
    sure: HowSure


@dataclass(frozen=True, slots=True)
class AskedRow:
    """A rule that asked for something in described acts."""

    says: str
    asks: str
    acts: int
    held: bool
    reason: MarginReason


@dataclass(frozen=True, slots=True)
class BothRow:
    """An act in which skin protection and infection control point apart."""

    act: str
    acts: int
    infection_control: str
    infection_control_source: str
    skin: str
    skin_source: str
    reason: MarginReason


@require_safe
@for_those_who(Act.SEE_WORKPLACE)
def areas(request: HttpRequest) -> HttpResponse:
    """Every area, the likeliest to pass a limit first."""
    on, words = clock.today(), request.GET.get("q", "").strip()[:80]
    limits = limits_asked(request.GET, on)
    records = areas_at_work(by=person(request), on=on)
    return render(
        request,
        "workplace/areas.html",
        {
            "rows": hospital_rows(named_like(records, words), limits, book(), on),
            "all_count": len(records),
            "limits": limits,
            "reasons": reasons_for_limits(limits),
            "rule_choices": rule_choices(limits, on),
            "rub_choices": rub_choices(limits),
            "words": words,
        },
    )


@require_safe
@for_those_who(Act.SEE_WORKPLACE)
def area(request: HttpRequest, ref: str) -> HttpResponse:
    """One area: loads, verdicts, obligations, controls, assessments."""
    on = clock.today()
    story = area_story(ref=ref, by=person(request), on=on)
    look = look_at(story.record, request.GET, on)
    return render(request, "workplace/area.html", _area_context(request, story, look, on))


def reasons_for_limits(limits: Limits) -> tuple[MarginReason, ...]:
    """Why these limits are the ones drawn."""
    note = limits.drawn.rule_set.note
    return (reason_for(limits.governing_rule, book(), says=limits.says, note=note),)


def _area_context(request: HttpRequest, story: AreaStory, look: Look, on: date) -> dict[str, object]:
    part, usual = look.part, look.part.usual if look.part else None
    policy, here = look.limits.policy, settings.JURISDICTION
    asked = asked_of(look.post.post.described, book(), on) if look.post else None
    return {
        "story": story,
        "area": story.area,
        "look": look,
        "panels": tuple(_panel(one, look, on) for one in look.known),
        "reasons": reasons_for_limits(look.limits),
        "no_target": caution_in_words(NO_TARGET, book(), on),
        "rub_reason": reason_for(RUBS, book()),
        "rules": rule_rows(usual, book(), on, policy, governing_id(look.limits)) if usual else (),
        "trust": trust_in(usual, book(), on, here, policy) if usual else None,
        "part": part,
        "asked": asked,
        "asked_rows": _asked_rows(asked),
        "both_rows": _both_rows(asked),
        "stock_here": stocked_here(story.area, person(request)),
        "today": on,
        "may_write": may(person(request), Act.WRITE_WORKPLACE),
        "may_observe": may(person(request), Act.OBSERVE),
        **view_choices(request, look, on),
    }


def _panel(exposure: PostExposure, look: Look, on: date) -> RolePanel:
    likeliest = exposure.likeliest
    chance = likeliest.chance if likeliest else None
    drawn = look.limits.drawn
    return RolePanel(
        exposure=exposure,
        figures=figures_of(exposure, drawn, look.known),
        chance=percent(chance.chance) if chance else "",
        between=percents(chance.lower, chance.upper) if chance else "",
        at_least=bool(chance and chance.not_weighed),
        not_drawn=tuple(
            ready.criterion.says
            for ready in drawn.criteria
            if len(drawn.measures[ready.measure]) > 1 or not _is_shown(drawn.measures[ready.measure])
        ),
        sure=how_sure(exposure, book(), on),
    )


def _is_shown(measure: Measure) -> bool:
    return measure[0].quantity in {quantity.value for quantity, _, _ in SHOWN}


def _asked_rows(asked: Asked | None) -> tuple[AskedRow, ...]:
    return tuple(_asked_row(one) for one in asked.required.reasons) if asked else ()


def _asked_row(one: Reason) -> AskedRow:
    return AskedRow(one.says, one.asks, one.acts, one.held, reason_for(one.rule_id, book()))


def _both_rows(asked: Asked | None) -> tuple[BothRow, ...]:
    return tuple(_both_row(one) for one in asked.required.both_reasons) if asked else ()


def _both_row(one: BothReasons) -> BothRow:
    rule_id = f"gloves.act.{one.kind}"
    return BothRow(
        act=book().rule(rule_id).says,
        acts=one.acts,
        infection_control=f"Gloves: {one.infection_control}",
        infection_control_source=one.infection_control_citation.label,
        skin=one.skin,
        skin_source=one.skin_citation.label,
        reason=reason_for(rule_id, book()),
    )
