"""One concern: who meets which product, why it does not suit them, what else there is, what was done."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from thenar.allergy.verdict_terms import Answer
from thenar.records.actions.concerns import deal_with_concern
from thenar.records.judging import undeclared
from thenar.records.models import ProductConcern
from thenar.records.models.allergies import CONCERN_OUTCOMES
from thenar.records.queries.concerns import concern as one_concern
from thenar.records.queries.judged import judged_for
from thenar.records.queries.products import ProductRecord
from thenar.records.rights import Act, require
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.forms import LONGEST_NOTE
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.patch.page import worker_page
from thenar.screens.people import for_those_who, person
from thenar.screens.usable.looking import Held, Usable, usable_for
from thenar.screens.usable.shown import SHOWN, ShownAnswer, categories_of, shown_product


class OutcomeForm(forms.Form):
    """What was done about a concern."""

    outcome = forms.ChoiceField(
        label="What was done",
        choices=CONCERN_OUTCOMES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what was done: until then it waits on Today."},
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 2})
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_CLINICAL)
def concern(request: HttpRequest, ref: str) -> HttpResponse:
    """Look at a concern, and say what was done."""
    by = person(request)
    kept = one_concern(ref=ref, by=by, now=clock.now())
    if request.method == "POST":
        require(by, Act.WRITE_CLINICAL)
    form = OutcomeForm(typed(request))
    made = taken(
        request,
        f"concern {ref}",
        form,
        lambda: (
            deal_with_concern(
                concern=kept,
                outcome=form.cleaned_data["outcome"],
                note_text=form.cleaned_data["note"],
                by=by,
                now=clock.now(),
            ).concern.ref
        ),
    )
    if made:
        return redirect("today")
    return _page(request, kept, form)


def _page(request: HttpRequest, kept: ProductConcern, form: OutcomeForm) -> HttpResponse:
    usable = usable_for(request, kept.worker.ref)
    judged = judged_for(kept.worker, [kept.declaration or undeclared(kept.product)], book())[0]
    record = ProductRecord(kept.product, kept.declaration, None, (kept.area,))
    kind = next((one for one in categories_of(usable) if one.code == kept.product.category), None)
    others = (
        [one for one in (*kind.here, *kind.elsewhere) if one.product.pk != kept.product.pk] if kind else []
    )
    here = {one.product.pk for one in kind.here} if kind else set()
    context = {
        "concern": kept,
        "outcome": getattr(kept, "outcome", None),
        "form": form,
        "raised_as": SHOWN[Answer(kept.answer)],
        "shown": shown_product(Held(record, judged, here=True, away=0), book()),
        "emergency": judged.verdict.emergency,
        "here": [one for one in others if one.is_usable and one.product.pk in here],
        "elsewhere": [one for one in others if one.is_usable and one.product.pk not in here and one.areas],
        "in_force": _in_force(usable, kept),
    }
    return worker_page(request, kept.worker, usable.story.post, "patch/concern.html", context)


def _in_force(usable: Usable, kept: ProductConcern) -> ShownAnswer | None:
    """The answer for what the product declares today, which may have changed since."""
    held = next((one for one in usable.held if one.record.product.pk == kept.product_id), None)
    return SHOWN[held.judged.answer_in_use] if held else None
