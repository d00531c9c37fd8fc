"""What a worker reacts to: delayed and immediate apart, with what each rests on."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from thenar.allergy.allergies import Strength
from thenar.knowledge import Book
from thenar.records.actions.allergies import (
    set_down_immediate,
    set_down_sensitisation,
    set_glove_size,
    withdraw_allergy,
)
from thenar.records.models import ImmediateAllergy, Sensitisation
from thenar.records.queries.allergies import AllergyStory, allergies_story
from thenar.records.queries.allergies import allergy as one_allergy
from thenar.records.rights import Act, require
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.patch.allergy_forms import DelayedForm, ImmediateForm, SizeForm, WithdrawForm
from thenar.screens.patch.page import worker_page
from thenar.screens.patch.wording import allergen_name, allergen_url
from thenar.screens.people import for_those_who, person

_UNSURE = (Strength.DOUBTFUL, Strength.WEAK)


@dataclass(frozen=True, slots=True)
class ShownAllergy:
    """An allergy by name. `confirm` says that it is weak or doubtful, irritates, and was never confirmed."""

    kept: Sensitisation | ImmediateAllergy
    name: str
    url: str
    confirm: bool
    delayed: bool


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_CLINICAL)
def allergies(request: HttpRequest, ref: str) -> HttpResponse:
    """Everything on record of a worker's allergies; and their size of glove, which can be set here."""
    by = person(request)
    story = allergies_story(worker_ref=ref, by=by, now=clock.now())
    if request.method == "POST":
        require(by, Act.WRITE_CLINICAL)
    form = SizeForm(typed(request), initial={"size": story.glove_size})
    made = taken(
        request,
        f"glove size {ref}",
        form,
        lambda: (
            set_glove_size(
                worker=story.worker, size=form.cleaned_data["size"], by=by, now=clock.now()
            ).worker.ref
        ),
    )
    if made:
        return redirect("allergies", ref=made)
    known = book()
    context = {
        "story": story,
        "form": form,
        "delayed": [shown_allergy(one, known) for one in story.sensitisations],
        "immediate": [shown_allergy(one, known) for one in story.immediate],
        "withdrawn": [shown_allergy(one, known) for one in story.withdrawn],
    }
    return worker_page(request, story.worker, story.post, "patch/allergies.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def allergy_add(request: HttpRequest, ref: str) -> HttpResponse:
    """Set a delayed allergy down by hand."""
    story = allergies_story(worker_ref=ref, by=person(request), now=clock.now())
    form = DelayedForm(typed(request), book=book(), tests=story.patch_tests)
    if taken(request, f"allergy_add {ref}", form, lambda: _set_down_delayed(request, story, form).ref):
        return redirect("allergies", ref=ref)
    return _add_page(request, story, form, immediate=False)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def immediate_add(request: HttpRequest, ref: str) -> HttpResponse:
    """Set an immediate allergy down by hand."""
    story = allergies_story(worker_ref=ref, by=person(request), now=clock.now())
    form = ImmediateForm(typed(request), book=book())
    if taken(request, f"immediate_add {ref}", form, lambda: _set_down_immediate(request, story, form).ref):
        return redirect("allergies", ref=ref)
    return _add_page(request, story, form, immediate=True)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def allergy_withdraw(request: HttpRequest, ref: str) -> HttpResponse:
    """Say that an allergy no longer stands. The entry stays, with the reason."""
    by = person(request)
    kept = one_allergy(ref=ref, by=by, now=clock.now())
    form = WithdrawForm(typed(request))

    def write() -> str:
        withdraw_allergy(allergy=kept, reason=form.cleaned_data["reason"], by=by, now=clock.now())
        return kept.worker.ref

    if made := taken(request, f"allergy_withdraw {ref}", form, write):
        return redirect("allergies", ref=made)
    context = {
        "form": form,
        "one": shown_allergy(kept, book()),
        "withdrawal": getattr(kept, "withdrawal", None),
    }
    return worker_page(request, kept.worker, None, "patch/withdraw.html", context)


def shown_allergy(kept: Sensitisation | ImmediateAllergy, known: Book) -> ShownAllergy:
    """An allergy ready for a page."""
    delayed = isinstance(kept, Sensitisation)
    return ShownAllergy(
        kept=kept,
        name=allergen_name(kept.allergen, known),
        url=allergen_url(kept.allergen, known),
        confirm=isinstance(kept, Sensitisation) and _asks_to_confirm(kept, known),
        delayed=delayed,
    )


def _asks_to_confirm(kept: Sensitisation, known: Book) -> bool:
    allergen = known.allergens.allergens.get(kept.allergen)
    irritates = allergen is not None and allergen.irritant_preparation is not None
    strength = Strength(kept.strength)
    return not kept.confirmed and (strength is Strength.DOUBTFUL or (strength in _UNSURE and irritates))


def _add_page(
    request: HttpRequest, story: AllergyStory, form: DelayedForm | ImmediateForm, *, immediate: bool
) -> HttpResponse:
    table = book().allergens.allergens
    names = sorted((one.name for one in table.values() if one.immediate or not immediate), key=str.casefold)
    context = {"form": form, "immediate": immediate, "allergens": names}
    return worker_page(request, story.worker, story.post, "patch/allergy_add.html", context)


def _set_down_delayed(request: HttpRequest, story: AllergyStory, form: DelayedForm) -> Sensitisation:
    given = form.cleaned_data
    return set_down_sensitisation(
        worker=story.worker,
        allergen=given["allergen"],
        strength=given["strength"],
        confirmed=given["confirmed"],
        basis=given["basis"],
        test=form.tests.get(given["test"]),
        found_on=given["found_on"],
        note_text=given["note"],
        book=book(),
        by=person(request),
        now=clock.now(),
    )


def _set_down_immediate(request: HttpRequest, story: AllergyStory, form: ImmediateForm) -> ImmediateAllergy:
    given = form.cleaned_data
    return set_down_immediate(
        worker=story.worker,
        allergen=given["allergen"],
        severe=given["severe"],
        basis=given["basis"],
        found_on=given["found_on"],
        note_text=given["note"],
        book=book(),
        by=person(request),
        now=clock.now(),
    )
