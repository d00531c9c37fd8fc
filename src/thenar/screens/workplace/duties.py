"""An area's tasks; and for a worker whose duties must be light, who could do what instead."""

from datetime import date, timedelta

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from thenar.documents.clinical_words import clinical_words_in
from thenar.errors import BadInput
from thenar.exchange.task_columns import CALLED, FIELDS, OPTIONAL
from thenar.exchange.task_list import DAYS, TaskList, Team, as_content, from_content, read_task_list
from thenar.exposure.duty import find_duties as find_plan
from thenar.exposure.duty_programme import OutOfTime
from thenar.records.actions.duties import keep_duty_search, keep_task_list
from thenar.records.queries.duties import AreaTasks, DutyGround, area_tasks, area_team, duty_ground
from thenar.records.queries.duties import duty_search as one_search
from thenar.records.rights import Act, may, require
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.page import case_page
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.workplace.duty_answer import Answer, as_json, put_in_words, words_of
from thenar.screens.workplace.duty_ceilings import CeilingChoice, Ceilings, ceilings
from thenar.screens.workplace.duty_forms import DutyForm, TaskListForm
from thenar.screens.workplace.duty_question import ask
from thenar.screens.workplace.task_pages import task_table

SECONDS = 8.0  # for a plan; a proof that there is none, with its ways out, may take about as long again
_MAY_HOLD = {
    "day": f"A date such as 2026-03-02, or its number from 1 to {DAYS}.",
    "part": "early, late or night.",
    "task": "What is done, in words a manager may read in a letter.",
    "washes": "With soap and water, for each person who does the task.",
    "wet_minutes": "Hands in water or other liquids, for each person.",
    "glove_minutes": "For each person.",
    "pairs": "Pairs of gloves.",
    "soap": "yes or no.",
    "latex": "yes or no.",
    "patient_contact": "yes or no.",
    "people": "How many do it; 1 where it is empty.",
    "who_can": "Roles, or people by name or staff number; semicolons between several.",
    "now": "Who does it now, by name or staff number. Whoever is named in a shift counts as at work in it.",
}


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_WORKPLACE)
def task_list(request: HttpRequest, ref: str) -> HttpResponse:
    """The tasks in force in an area, and a way to read in others."""
    by = person(request)
    here = area_tasks(ref=ref, by=by, on=clock.today())
    if request.method == "POST":
        require(by, Act.WRITE_WORKPLACE)
    form = TaskListForm(
        typed(request), request.FILES or None, initial={"first_day": _next_monday(), "text": ""}
    )
    read = _read(request, form, here)
    if read and read.can_be_kept and request.POST.get("do") == "keep" and not form.cleaned_data["file"]:
        made = taken(request, f"task_list {ref}", form, lambda: _kept_list(request, form, here, read))
        if made:
            return redirect("task_list", ref=here.area.ref)
    return render(request, "workplace/task_list.html", _task_page(request, here, form, read))


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def find_duties(request: HttpRequest, ref: str) -> HttpResponse:
    """Say how light a worker's duties must be, and search."""
    ground = duty_ground(ref=ref, by=person(request), now=clock.now())
    context: dict[str, object] = {"ground": ground, "area": ground.area, "days": DAYS}
    if ground.task_list is not None and ground.story.is_open:
        offered = ceilings(settings.JURISDICTION, book(), clock.today())
        form = DutyForm(typed(request), task_list=ground.task_list, offered=offered)
        answer = _searched(request, form, ground, offered)
        made = taken(request, f"find_duties {ref}", form, lambda: _kept_search(request, form, ground, answer))
        if made:
            return redirect("duty_search", ref=made)
        context |= {
            "form": form,
            "offered": offered,
            "names_now": any(row.now for row in from_content(ground.task_list.content)),
            "reasons": _reasons(offered.chosen(str(form["ceiling"].value()))),
        }
    return case_page(request, ground.story, "workplace/duties.html", context)


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def duty_search(request: HttpRequest, ref: str) -> HttpResponse:
    """A kept search: for the manager, for the letter, and what everyone would carry."""
    by = person(request)
    kept = one_search(ref=ref, by=by, now=clock.now())
    words = words_of(kept.words)
    offered = ceilings(settings.JURISDICTION, book(), clock.today())
    choice = offered.chosen(words.ceiling_id)
    return render(
        request,
        "workplace/duty_search.html",
        {
            "kept": kept,
            "words": words,
            "first_day": date.fromisoformat(words.first_day),
            "limits": kept.limits,
            "case": kept.case,
            "worker": kept.case.worker,
            "choice": choice,
            "reasons": _reasons(choice),
            "may_write": may(by, Act.WRITE_CLINICAL) and not hasattr(kept.case, "closing"),
        },
    )


def _read(request: HttpRequest, form: TaskListForm, here: AreaTasks) -> TaskList | None:
    """The list that was sent, looked over; None when none was, or it is no table."""
    if request.method != "POST" or not form.is_valid():
        return None
    by, sent = person(request), form.cleaned_data["file"]
    people = area_team(ref=here.area.ref, by=by, on=clock.today(), now=clock.now())
    try:
        if not people:
            raise BadInput(
                what=f"Nobody has a running post in {here.area.name} today.",
                why="A task must be done by someone who works there.",
                todo="Have the staff list brought up to date.",
            )
        return read_task_list(
            sent.read() if sent else form.cleaned_data["text"].encode(),
            name=sent.name if sent else "",
            first_day=form.cleaned_data["first_day"],
            team=Team.of((one.staff_number, one.called, one.role) for one in people),
            telling=clinical_words_in,
        )
    except BadInput as problem:
        form.add_error("file" if sent else None, str(problem))
        return None


def _kept_list(request: HttpRequest, form: TaskListForm, here: AreaTasks, read: TaskList) -> str:
    return keep_task_list(
        area=here.area,
        first_day=form.cleaned_data["first_day"],
        content=as_content(read.rows),
        by=person(request),
        now=clock.now(),
    ).ref


def _task_page(
    request: HttpRequest, here: AreaTasks, form: TaskListForm, read: TaskList | None
) -> dict[str, object]:
    """The page: what is in force, what was looked over, and the form to send a list with."""
    by, kept = person(request), here.in_force
    shown = form
    if read is not None:
        first_day = form.data.get("first_day", "")
        shown = TaskListForm({"first_day": first_day, "text": read.text})
    return {
        "here": here,
        "area": here.area,
        "kept": kept,
        "table": task_table(from_content(kept.content), kept.first_day, request.GET.get("day", ""))
        if kept
        else None,
        "read": read,
        "looked_over": task_table(read.rows, form.cleaned_data["first_day"]) if read and read.rows else None,
        "form": form if form.errors else shown,
        "form_key": new_form_key(by),
        "may_write": may(by, Act.WRITE_WORKPLACE),
        "columns": [(CALLED[field], field not in OPTIONAL, _MAY_HOLD[field]) for field in FIELDS],
    }


def _searched(request: HttpRequest, form: DutyForm, ground: DutyGround, offered: Ceilings) -> Answer | None:
    """The answer to a form that was sent. Nothing is locked while it is searched for."""
    if request.method != "POST" or not form.is_valid():
        return None
    assert ground.area is not None
    assert ground.task_list is not None
    given = form.cleaned_data
    chosen = offered.chosen(given["ceiling"])
    assert chosen is not None
    team = area_team(ref=ground.area.ref, by=person(request), on=given["first_day"], now=clock.now())
    try:
        asked = ask(
            from_content(ground.task_list.content),
            list_begins=ground.task_list.first_day,
            first_day=given["first_day"],
            days=given["days"],
            team=team,
            staff_number=ground.story.worker.staff_number,
            limits=form.limits,
            ceiling=chosen.ceiling,
        )
        return put_in_words(find_plan(asked.duties, seconds=SECONDS), asked, chosen, given["days"])
    except (BadInput, OutOfTime) as problem:
        form.add_error(None, str(problem))
        return None


def _kept_search(request: HttpRequest, form: DutyForm, ground: DutyGround, answer: Answer | None) -> str:
    assert answer is not None
    assert ground.task_list is not None
    return keep_duty_search(
        case=ground.story.case,
        task_list=ground.task_list,
        limits=form.limits,
        found=answer.found,
        words=as_json(answer.words),
        edition=book().edition,
        by=person(request),
        now=clock.now(),
    ).ref


def _reasons(choice: CeilingChoice | None) -> list[Reason]:
    """The limits of the rule set that the search keeps to, with their sources."""
    if choice is None:
        return []
    kept = [reason_for(criterion.id, book(), note=criterion.note) for criterion in choice.kept]
    unseen = "Tasks say nothing of this, so the search does not look at it."
    return [
        *kept,
        *(reason_for(criterion.id, book(), note=unseen) for criterion in choice.not_checked),
    ]


def _next_monday() -> date:
    today = clock.today()
    return today + timedelta(days=-today.weekday() % 7)
