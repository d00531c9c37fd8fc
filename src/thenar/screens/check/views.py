"""The pages of a skin check: start, one question a page, answers, result."""

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from thenar.errors import Conflict
from thenar.records.actions.check_drafts import drop_answers, keep_answers, kept_answers
from thenar.records.actions.checks import LinkNotUsable, submit_check
from thenar.records.queries.links import usable_link
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.check.outcome import outcome_of
from thenar.screens.check.questions import PageForm, answer_in_words, chosen_before, is_answered, is_single
from thenar.screens.check.visitors import (
    Visitor,
    follow,
    for_visitors,
    has_result,
    leave,
    link_not_usable,
    remember_sent,
    result_in,
)
from thenar.screens.keeping import new_form_key, submitted_once, typed_before
from thenar.skin.triage import Page, Urgency, before_all, red_flag_advice, sort_check, triage_table
from thenar.skin.triage_table import NOT_SURE


class NothingToSend(Conflict):
    """The answers were sent from another window, or have been forgotten after their day."""

    def __init__(self) -> None:
        super().__init__(
            what="There are no answers to send.",
            why="They were sent already, or more than a day has passed since the last one.",
            todo="Look at your record, or begin the check again. Call if your hands are getting worse.",
        )


@require_safe
def check_link(request: HttpRequest, token: str) -> HttpResponse:
    """Follow a personal link. Looking never spends it; the secret leaves the address bar at once."""
    try:
        follow(request, usable_link(token=token, now=clock.now()))
    except LinkNotUsable:
        return link_not_usable(request)
    return redirect("check_start")


@require_http_methods(["GET", "HEAD", "POST"])
@for_visitors
def check_start(request: HttpRequest, visitor: Visitor) -> HttpResponse:
    """What a check is, whom to call now, and where to go on. POST begins afresh."""
    if request.method == "POST":
        drop_answers(owner=visitor.owner)
        return redirect("check_page", number=1)
    answers = _answers(visitor)
    context = {
        "visitor": visitor,
        "pages": len(_pages()),
        "answered": sum(is_answered(page, answers) for page in _pages()),
        "go_on": _first_open(answers),
        "red_flags": red_flag_advice(book()),
    }
    return render(request, "check/start.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@for_visitors
def check_page(request: HttpRequest, visitor: Visitor, number: int) -> HttpResponse:
    """One question. Its answer is kept at once."""
    page = _page(number)
    changing = "answers" in (request.GET.get("then"), request.POST.get("then"))
    if request.method == "POST":
        if not visitor.may_answer(clock.now()):
            return link_not_usable(request)
        form = PageForm(page, request.POST)
        if form.is_valid():
            keep_answers(owner=visitor.owner, answers=form.answers(), now=clock.now())
            return redirect(_next(number, changing))
    else:
        typed = typed_before(request)
        form = PageForm(page, typed, initial=chosen_before(page, _answers(visitor)))
        changing = changing or bool(typed and typed.get("then") == "answers")
    return render(request, "check/page.html", _page_context(visitor, form, number, changing))


@require_http_methods(["GET", "HEAD", "POST"])
@for_visitors
def check_answers(request: HttpRequest, visitor: Visitor) -> HttpResponseBase:
    """Look over the answers, change them, send them once."""
    answers = _answers(visitor)
    if request.method == "POST":
        try:
            ref = submitted_once(request, "check", lambda: _send(visitor))
        except LinkNotUsable:
            return link_not_usable(request)
        except NothingToSend:
            if not has_result(request):
                raise
            return render(request, "check/sent_already.html", status=409)
        remember_sent(request, visitor, ref)
        return redirect("check_sent")
    if not answers:
        return redirect("check_start")
    context = {
        "visitor": visitor,
        "sections": [_section(number, page, answers) for number, page in enumerate(_pages(), 1)],
        "unanswered": sum(not is_answered(page, answers) for page in _pages()),
        **_if_emergency(answers),
        "back": _first_open(answers) if _first_open(answers) <= len(_pages()) else len(_pages()),
        "form_key": new_form_key(visitor.by),
    }
    return render(request, "check/answers.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def check_sent(request: HttpRequest) -> HttpResponse:
    """The result, for the session that sent it. POST clears it from this device."""
    if request.method == "POST":
        leave(request)
        return redirect("mine" if request.user.is_authenticated else "home")
    check = result_in(request)
    if check is None:
        return redirect("mine" if request.user.is_authenticated else "check_start")
    context = {"check": check, "outcome": outcome_of(check, book()), "just_sent": True}
    return render(request, "check/result.html", context)


def _send(visitor: Visitor) -> str:
    """Send what is kept. Questions left open count as not sure."""
    answers = _answers(visitor)
    if not answers and visitor.may_answer(clock.now()):
        raise NothingToSend
    return submit_check(
        worker=visitor.worker,
        answers=answers,
        given_by="worker",
        by=visitor.by,
        now=clock.now(),
        book=book(),
        link=visitor.link,
    ).ref


def _answers(visitor: Visitor) -> dict[str, str]:
    """What is kept, less what this edition no longer asks or takes."""
    kept = kept_answers(owner=visitor.owner, now=clock.now())
    takes = triage_table(book()).moves
    return {question: answer for question, answer in kept.items() if answer in takes.get(question, ())}


def _pages() -> tuple[Page, ...]:
    return triage_table(book()).pages


def _page(number: int) -> Page:
    if not 1 <= number <= len(_pages()):
        raise Http404
    return _pages()[number - 1]


def _first_open(answers: dict[str, str]) -> int:
    """Number of the first page without an answer; one past the last when there is none."""
    for number, page in enumerate(_pages(), 1):
        if not is_answered(page, answers):
            return number
    return len(_pages()) + 1


def _next(number: int, changing: bool) -> str:
    if changing or number == len(_pages()):
        return reverse("check_answers")
    return reverse("check_page", kwargs={"number": number + 1})


def _page_context(visitor: Visitor, form: PageForm, number: int, changing: bool) -> dict[str, object]:
    return {
        "visitor": visitor,
        "form": form,
        "page": form.page,
        "single": form.page.questions[0] if is_single(form.page) else None,
        "number": number,
        "pages": len(_pages()),
        "before": number - 1,
        "changing": changing,
        **_if_emergency(_answers(visitor)),
        "form_key": new_form_key(visitor.by),
    }


def _if_emergency(answers: dict[str, str]) -> dict[str, object]:
    """What must be said at once, before the check is sent.

    Open questions count as not sure, but a danger is called open only once its own page was answered so.
    """
    triage = sort_check(answers, book())
    unsure = any(answers.get(question.id) == NOT_SURE for question in _pages()[0].questions)
    rules = [reason.rule_id for reason in triage.reasons]
    return {
        "emergency": triage.urgency is Urgency.EMERGENCY,
        "urgent_lines": book().lines_about("urgency.emergency")[:1],
        "open_danger": before_all(triage.urgency.code, rules, book()) if unsure else (),
    }


def _section(number: int, page: Page, answers: dict[str, str]) -> dict[str, object]:
    rows = [
        (question.asks, answer_in_words(question, answers.get(question.id))) for question in page.questions
    ]
    return {"number": number, "page": page, "rows": rows, "is_answered": is_answered(page, answers)}
