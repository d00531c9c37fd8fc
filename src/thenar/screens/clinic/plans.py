"""The plan a worker takes home: choose its lines, read it, print it."""

from dataclasses import replace

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from thenar.documents.compose import plan_content
from thenar.documents.letters import to_json
from thenar.documents.typeset import care_plan_pdf
from thenar.records.actions.plans import make_plan
from thenar.records.actions.reviews import set_review
from thenar.records.queries.cases import CaseStory, case_story
from thenar.records.queries.cases import plan as one_plan
from thenar.records.rights import Act
from thenar.screens import clock, papers
from thenar.screens.book import book
from thenar.screens.clinic.forms import PlanForm
from thenar.screens.clinic.page import case_page
from thenar.screens.clinic.plan_choices import (
    RED_FLAGS,
    choice_groups,
    lines_to_choose,
    sections,
    ticked_at_first,
)
from thenar.screens.clinic.plan_in_force import TakenOver, taken_over
from thenar.screens.clinic.service import contact
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.people import for_those_who, person


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def plan_new(request: HttpRequest, ref: str) -> HttpResponse:
    """Choose what the plan says."""
    story = case_story(ref=ref, by=person(request), now=clock.now(), why="making a plan")
    before = taken_over(papers.plan_content(story.plan_in_force), book()) if story.plan_in_force else None
    form = PlanForm(typed(request), initial=_first(story, before), lines=lines_to_choose(book()))
    made = taken(request, f"plan_new {ref}", form, lambda: _made(request, story, form))
    if made:
        return redirect("plan", ref=made)
    return case_page(
        request,
        story,
        "clinic/plan_new.html",
        {
            "form": form,
            "before": before,
            "groups": choice_groups(book(), form["lines"].value() or ()),
            "red_flags": [book().lines[key].says for key in RED_FLAGS],
        },
    )


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def plan(request: HttpRequest, ref: str) -> HttpResponse:
    """The plan as it was handed over."""
    kept = one_plan(ref=ref, by=person(request), now=clock.now())
    return render(
        request,
        "clinic/plan.html",
        {"plan": kept, "content": papers.plan_content(kept), "case": kept.case, "worker": kept.case.worker},
    )


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def plan_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """The plan on paper, in large print where asked."""
    kept = one_plan(ref=ref, by=person(request), now=clock.now())
    content = replace(papers.plan_content(kept), large_print=request.GET.get("large") == "1")
    pdf = care_plan_pdf(content, demo=settings.DEMO)
    return papers.pdf_page(pdf, f"plan-{kept.ref}")


def _first(story: CaseStory, before: TakenOver | None) -> dict[str, object]:
    """The plan in force to change, else what fits the last look; and the next review's day."""
    last = story.standing_examinations[-1] if story.standing_examinations else None
    next_look = story.reviews_to_come[0].due_on if story.reviews_to_come else None
    passed = next_look is not None and next_look < clock.today()
    return {
        "lines": before.lines if before else sorted(ticked_at_first(last) & set(book().lines)),
        "own_words": "\n".join(before.own_words) if before else "",
        **(before.products if before else {}),
        "next_look_on": None if passed else next_look,
        "sets_review": next_look is None,
    }


def _made(request: HttpRequest, story: CaseStory, form: PlanForm) -> str:
    by, now, given = person(request), clock.now(), form.cleaned_data
    content = plan_content(
        worker=story.worker,
        sections=sections(
            book(),
            given["lines"],
            {name: given[name] for name in PlanForm.PRODUCTS},
            given["own_words"],
        ),
        red_flags=[book().lines[key].says for key in RED_FLAGS],
        next_look_on=given["next_look_on"],
        contact=contact(),
        reference=f"{story.case.ref}-{len(story.plans) + 1}",
        edition=book().edition,
        on=clock.today(),
    )
    care_plan_pdf(content, demo=settings.DEMO)  # what can't be printed is not kept
    made = make_plan(case=story.case, content=to_json(content), edition=book().edition, by=by, now=now)
    if given["sets_review"] and given["next_look_on"]:
        set_review(case=story.case, due_on=given["next_look_on"], purpose="Next look", by=by, now=now)
    return made.ref
