"""Compare: every product of the site for one worker, with reasons; and the practitioner's own answer."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from thenar.allergy.verdict_terms import Answer
from thenar.errors import Conflict
from thenar.records.actions.allergies import overrule as put_answer
from thenar.records.models import Overruling
from thenar.records.models.allergies import ANSWERS
from thenar.records.rights import Act, NotVisible, may
from thenar.screens import clock
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.usable.list_contents import EMERGENCY
from thenar.screens.usable.looking import Held, Usable, usable_for
from thenar.screens.usable.shown import SHOWN, allergies_shown, categories_of, matrix, shown_product

LONGEST_REASON = 400
AS_TABLE = "table"


class OverruleForm(forms.Form):
    """The practitioner's own answer for one worker and one declaration, and why."""

    answer = forms.ChoiceField(
        label="Your answer",
        choices=ANSWERS,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose your answer."},
    )
    reason = forms.CharField(
        label="Why",
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It stays beside the answer, on the worker's list too.",
        error_messages={"required": "Say why: whoever relies on the answer reads it."},
    )


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def worker_products(request: HttpRequest, ref: str) -> HttpResponse:
    """Every product with its answer, by kind; those in the worker's area first."""
    usable = usable_for(request, ref)
    as_table = request.GET.get("view") == AS_TABLE
    kinds = categories_of(usable) if usable.knows_an_allergy else ()
    return render(
        request,
        "usable/compare.html",
        {
            **framed(request, usable),
            "categories": kinds,
            "missing": tuple(one for one in kinds if not one.has_usable),
            "as_table": as_table,
            "matrix": matrix(usable) if kinds and as_table else (),
            "at": "products",
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def overrule(request: HttpRequest, ref: str, product_ref: str) -> HttpResponse:
    """Put an answer of one's own beside what the rules say."""
    usable = usable_for(request, ref)
    held = next((one for one in usable.held if one.record.product.ref == product_ref), None)
    if held is None or not usable.knows_an_allergy:
        raise NotVisible(by=person(request), target="product")
    shown = shown_product(held, usable.book)
    form = OverruleForm(typed(request), initial={"answer": ""})
    name = f"overrule {ref} {product_ref}"
    if taken(request, name, form, lambda: _overruled(request, usable, held, form).ref):
        return redirect(f"{reverse('worker_products', args=[ref])}#product-{product_ref}")
    return render(request, "usable/overrule.html", {**framed(request, usable), "shown": shown, "form": form})


def framed(request: HttpRequest, usable: Usable) -> dict[str, object]:
    """What every page about what one worker may use is framed with."""
    emergencies = {one.judged.verdict.emergency for one in usable.held} - {""}
    return {
        "worker": usable.worker,
        "post": usable.story.post,
        "area": usable.area,
        "allergies": allergies_shown(usable),
        "knows_an_allergy": usable.knows_an_allergy,
        "emergency": next(iter(emergencies), EMERGENCY if usable.allergies.immediate else ""),
        "may_write": may(person(request), Act.WRITE_CLINICAL),
        "no_match": SHOWN[Answer.NO_MATCH_FOUND],
        "form_key": new_form_key(person(request)),
    }


def _overruled(request: HttpRequest, usable: Usable, held: Held, form: OverruleForm) -> Overruling:
    if held.record.declaration is None:
        raise Conflict(
            what="Nothing is declared for this product.",
            why="An answer belongs to what a product declares, and lapses when that changes.",
            todo="Record what it declares, even that nothing is declared; then answer.",
        )
    return put_answer(
        worker=usable.worker,
        declaration=held.record.declaration,
        answer=Answer(form.cleaned_data["answer"]),
        reason=form.cleaned_data["reason"],
        book=usable.book,
        by=person(request),
        now=clock.now(),
    )
