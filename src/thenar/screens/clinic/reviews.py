"""The next look: set it, and say what became of it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.records.actions.reviews import finish_review, set_review
from thenar.records.models import Examination, Review
from thenar.records.queries.cases import case_story
from thenar.records.queries.cases import review as one_review
from thenar.records.rights import Act, may, require
from thenar.screens import clock
from thenar.screens.clinic.forms import ReviewForm, ReviewOutcomeForm
from thenar.screens.clinic.page import case_page
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def review_new(request: HttpRequest, ref: str) -> HttpResponse:
    """Set the next look."""
    story = case_story(ref=ref, by=person(request), now=clock.now(), why="setting a review")
    form = ReviewForm(typed(request))
    made = taken(
        request,
        f"review_new {ref}",
        form,
        lambda: (
            set_review(
                case=story.case,
                due_on=form.cleaned_data["due_on"],
                purpose=form.cleaned_data["purpose"],
                by=person(request),
                now=clock.now(),
            ).case.ref
        ),
    )
    if made:
        return redirect("case", ref=made)
    return case_page(request, story, "clinic/review_new.html", {"form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_CLINICAL)
def review(request: HttpRequest, ref: str) -> HttpResponse:
    """One review: what it is for, and what became of it."""
    by = person(request)
    due = one_review(ref=ref, by=by, now=clock.now())
    if request.method == "POST":
        require(by, Act.WRITE_CLINICAL)
    examined = _examined_today(due)
    form = ReviewOutcomeForm(
        typed(request), initial={"outcome": "done"} if examined else {}, last_one=not _others_to_come(due)
    )
    made = taken(
        request,
        f"review {ref}",
        form,
        lambda: (
            finish_review(
                review=due,
                outcome=form.cleaned_data["outcome"],
                by=by,
                now=clock.now(),
                note_text=form.cleaned_data["note"],
                next_due_on=form.cleaned_data["next_due_on"],
                no_next=form.cleaned_data["no_next"],
            ).review.case.ref
        ),
    )
    if made:
        return redirect("case", ref=made)
    return render(
        request,
        "clinic/review.html",
        {
            "review": due,
            "outcome": getattr(due, "outcome", None),
            "case": due.case,
            "worker": due.case.worker,
            "examined": examined,
            "others": _others_to_come(due),
            "days_late": (clock.today() - due.due_on).days,
            "form": form,
            "form_key": new_form_key(by),
            "may_write": may(by, Act.WRITE_CLINICAL) and not hasattr(due.case, "closing"),
        },
    )


def _examined_today(due: Review) -> Examination | None:
    """What was seen today in this review's case, if the hands were examined since it was set."""
    standing = (one for one in due.case.examinations.all() if not hasattr(one, "corrected_by"))
    return next((one for one in standing if one.examined_on == clock.today() and one.at >= due.at), None)


def _others_to_come(due: Review) -> list[Review]:
    return [one for one in due.case.reviews.all() if one.pk != due.pk and not hasattr(one, "outcome")]
