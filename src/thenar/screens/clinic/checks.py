"""One skin check as the practitioner reads it, and what they make of it."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.errors import Conflict
from thenar.knowledge import Book, Question
from thenar.records.actions.checks import record_sorting
from thenar.records.models import SkinCheck
from thenar.records.queries.cases import CheckStory, check_story
from thenar.records.rights import Act, may, require
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.forms import SortingForm
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.skin.triage import Raise, triage_table, what_would_raise
from thenar.skin.triage_table import answers_to

WORDS = {"yes": "Yes", "no": "No", "not_sure": "Not sure"}


@dataclass(frozen=True, slots=True)
class Answer:
    """A question with what was answered.

    `weighs`: it speaks for trouble, or is not known. `means`: how the rules take a question left out.
    """

    asks: str
    says: str
    weighs: bool
    red_flag: bool
    means: str = ""


@dataclass(frozen=True, slots=True)
class AnsweredPage:
    """One page of the check with its answers."""

    asks: str
    answers: tuple[Answer, ...]


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_CLINICAL)
def check_report(request: HttpRequest, ref: str) -> HttpResponse:
    """The answers, the urgency with every reason, and the form to decide."""
    by = person(request)
    story = check_story(ref=ref, by=by, now=clock.now())
    if request.method == "POST":
        require(by, Act.WRITE_CLINICAL)
    first = {"into": story.open_case.ref if story.open_case else ""}
    form = SortingForm(
        typed(request), initial=first, check=story.check, open_case=story.open_case, older=story.older
    )
    made = taken(request, f"check {ref}", form, lambda: _decided(request, story, form))
    if made:
        return redirect("case", ref=made) if form.opens_case else redirect("check_report", ref=ref)
    return render(
        request,
        "clinic/check_report.html",
        {
            "story": story,
            "check": story.check,
            "worker": story.worker,
            "post": story.post,
            "managers": story.managers,
            "must_reach": story.sorting is None and story.check.urgency in ("emergency", "same_day"),
            "older": ",".join(one.ref for one in story.older),
            "pages": answered_pages(story.check, book()),
            "reasons": _reasons(story.check, book()),
            "raises": _raises(story.check, book()),
            "form": form,
            "form_key": new_form_key(by),
            "may_write": may(by, Act.WRITE_CLINICAL),
        },
    )


def answered_pages(check: SkinCheck, knowledge: Book) -> list[AnsweredPage]:
    """The answers in words, page by page as they were asked, by the questions now in use.

    Answers to questions that are no longer asked stand on a page of their own, so that none gets lost.
    """
    table = triage_table(knowledge)
    pages = [
        AnsweredPage(page.asks, tuple(_answer(question, check) for question in page.questions))
        for page in table.pages
    ]
    asked = {question.id for question in table.questions}
    gone = tuple(
        Answer(name.replace("_", " "), WORDS.get(said, said), weighs=True, red_flag=False)
        for name, said in check.answers.items()
        if name not in asked
    )
    return [*pages, AnsweredPage("No longer asked", gone)] if gone else pages


def _answer(question: Question, check: SkinCheck) -> Answer:
    said = check.answers.get(question.id)
    words = {**WORDS, **dict(zip(question.answers, question.labels, strict=False))}
    return Answer(
        asks=question.asks,
        says=words.get(said, said) if said else "Not answered",
        weighs=said in (None, "yes", "not_sure"),
        red_flag=question.role == "red_flag" and said == "yes",
        means="" if said else "decides nothing" if question.role == "record" else "counts as possible",
    )


def _reasons(check: SkinCheck, knowledge: Book) -> list[Reason]:
    return [reason_for(rule_id, knowledge, edition=check.edition) for rule_id in check.reasons]


def _raises(check: SkinCheck, knowledge: Book) -> tuple[Raise, ...]:
    """What would make it more urgent, by the rules now in use and those answers they still know."""
    taken_now = {question.id: answers_to(question) for question in triage_table(knowledge).questions}
    known = {name: said for name, said in check.answers.items() if said in taken_now.get(name, ())}
    return what_would_raise(known, knowledge)


def _decided(request: HttpRequest, story: CheckStory, form: SortingForm) -> str:
    """Record the decision; the case's reference if it went into one, else the check's."""
    now_open = story.open_case.ref if story.open_case else ""
    if form.opens_case and form.cleaned_data["into"] != now_open:
        raise Conflict(
            what="A case was opened or closed while you were deciding.",
            why="The check would have gone into another case than the one you saw.",
            todo="Choose again; the page now shows how it stands.",
        )
    along = _taken_along(story, form)
    sorting = record_sorting(
        check=story.check,
        decision=form.cleaned_data["decision"],
        by=person(request),
        now=clock.now(),
        note_text=form.cleaned_data["note"],
        into=story.open_case,
        along=along,
    )
    return sorting.case.ref if sorting.case else story.check.ref


def _taken_along(story: CheckStory, form: SortingForm) -> tuple[SkinCheck, ...]:
    """The older checks the same decision is for: those that stood on the page, if they still wait."""
    if not form.cleaned_data["along"]:
        return ()
    on_the_page = set(form.cleaned_data["older"].split(","))
    along = tuple(one for one in story.older if one.ref in on_the_page)
    if len(along) != len(on_the_page):
        raise Conflict(
            what="An older check was dealt with while you were deciding.",
            why="It would have got a second decision.",
            todo="Choose again; the page now shows which ones still wait.",
        )
    return along
