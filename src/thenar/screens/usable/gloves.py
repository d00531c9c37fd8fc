"""Gloves for a task and a worker: every glove of the site, the best fit first, with what is not known."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.allergy.glove_terms import Contact, GloveChoice, GloveTask, Note, Passage, Passing, Tier, Topic
from thenar.allergy.gloves import choose_gloves
from thenar.allergy.normal_form import normal_form
from thenar.allergy.product import Category
from thenar.knowledge import Book
from thenar.records.judging import as_judged, judge_of
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.people import for_those_who
from thenar.screens.usable.comparing import framed
from thenar.screens.usable.looking import Held, Usable, usable_for
from thenar.screens.usable.shown import ShownProduct, shown_product

CONTACTS = (1, 2, 3)
ABOUT_THE_TASK = (Topic.LINER, Topic.RELEASE)  # said once, above the gloves
_KNOWN = {"": None, "yes": True, "no": False}
_YES_NO = (("", "Not known"), ("yes", "Yes"), ("no", "No"))
_TIERS = (
    (Tier.EXAMINATION, "Examination gloves"),
    (Tier.STERILE, "Sterile gloves"),
    (Tier.NOT_INDICATED, "None by the rules; the worker wears them all the same"),
)
PASSING_WORDS = {
    Passing.MAY_COME_THROUGH: "May come through",
    Passing.NOT_KNOWN: "Not known",
    Passing.SHORTER: "Shorter than any time published",
}


class TaskForm(forms.Form):
    """What the gloves are wanted for."""

    tier = forms.ChoiceField(label="Which gloves the task calls for", choices=_TIERS)
    long_or_wet = forms.ChoiceField(label="Worn long, or with wet hands", choices=_YES_NO, required=False)
    rub_before = forms.ChoiceField(label="Alcohol rub just before", choices=_YES_NO, required=False)
    pairs = forms.IntegerField(
        label="Pairs in a shift",
        min_value=1,
        max_value=500,
        required=False,
        widget=forms.NumberInput(attrs={"class": "short"}),
    )

    def __init__(self, *args: Any, **rest: Any) -> None:
        super().__init__(*args, **rest)
        for number in CONTACTS:
            self.fields[f"chemical-{number}"] = forms.CharField(
                label=f"Chemical {number}",
                max_length=80,
                required=False,
                widget=forms.TextInput(attrs={"list": "chemicals", "autocomplete": "off"}),
            )
            self.fields[f"minutes-{number}"] = forms.DecimalField(
                label="Minutes each time",
                min_value=Decimal("0.1"),
                max_value=1440,
                required=False,
                widget=forms.NumberInput(attrs={"class": "short", "step": "any"}),
            )

    def clean(self) -> dict[str, Any]:
        """Minutes belong to a chemical."""
        given: dict[str, Any] = super().clean() or {}
        for number in CONTACTS:
            if given.get(f"minutes-{number}") and not given.get(f"chemical-{number}"):
                self.add_error(f"chemical-{number}", "Name the chemical, or leave its minutes out.")
        return given

    def contact_fields(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """The rows for chemicals."""
        return [(self[f"chemical-{number}"], self[f"minutes-{number}"]) for number in CONTACTS]

    def task(self) -> GloveTask:
        """The task as it was described."""
        given = self.cleaned_data
        return GloveTask(
            tier=Tier(given["tier"]),
            contacts=tuple(
                Contact(given[f"chemical-{number}"], given[f"minutes-{number}"])
                for number in CONTACTS
                if given[f"chemical-{number}"]
            ),
            long_or_wet=_KNOWN[given["long_or_wet"]],
            pairs_per_shift=given["pairs"],
            rub_before=_KNOWN[given["rub_before"]],
        )


@dataclass(frozen=True, slots=True)
class ShownPassage:
    """What is published of one chemical passing, in words, with its entries."""

    passage: Passage
    word: str
    minutes: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class ShownNote:
    """A note on a glove; its reason where an entry stands behind it."""

    says: str
    standing: str
    reason: Reason | None


@dataclass(frozen=True, slots=True)
class ShownGlove:
    """One glove for the task. `tier` says whether it is what the task calls for."""

    shown: ShownProduct
    here: bool
    tier: str
    passages: tuple[ShownPassage, ...]
    notes: tuple[ShownNote, ...]


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def worker_gloves(request: HttpRequest, ref: str) -> HttpResponse:
    """Describe a task, and see every glove of the site against it."""
    usable = usable_for(request, ref)
    form = TaskForm(request.GET if "tier" in request.GET else None)
    asked = form.is_bound and form.is_valid() and usable.knows_an_allergy
    choices = _choices(usable, form.task()) if asked else ()
    chosen = _shown(usable, choices)
    context = {
        **framed(request, usable),
        "form": form,
        "asked": asked,
        "gloves": chosen,
        "about_the_task": _about_the_task(choices, usable.book),
        "fits": any(one.shown.is_usable and not one.tier for one in chosen),
        "at": "gloves",
        "chemicals": _chemicals(usable.book),
        "without_figures": _without_figures(form.task(), usable.book) if asked else (),
        "size": usable.story.glove_size,
    }
    return render(request, "usable/gloves.html", context)


def _choices(usable: Usable, task: GloveTask) -> tuple[GloveChoice, ...]:
    gloves = [as_judged(one.judged.declaration, usable.book) for one in _gloves(usable).values()]
    judge = judge_of(usable.book)
    return choose_gloves(task, gloves, usable.allergies, judge, usable.book, on=clock.today())


def _gloves(usable: Usable) -> dict[str, Held]:
    """The site's gloves by code."""
    kind = Category.GLOVE.value
    return {one.record.product.code: one for one in usable.held if one.record.product.category == kind}


def _shown(usable: Usable, choices: tuple[GloveChoice, ...]) -> tuple[ShownGlove, ...]:
    held = _gloves(usable)
    return tuple(
        ShownGlove(
            shown=shown_product(held[one.product.id], usable.book),
            here=held[one.product.id].here,
            tier=_TIER_WORDS[one.tier_met],
            passages=tuple(_passage(each, usable.book) for each in one.passages),
            notes=tuple(_note(each, usable.book) for each in one.notes if each.topic not in ABOUT_THE_TASK),
        )
        for one in choices
    )


def _about_the_task(choices: tuple[GloveChoice, ...], known: Book) -> tuple[ShownNote, ...]:
    """What holds for the task whichever glove is chosen, or for every glove that may hold a guanidine."""
    notes = dict.fromkeys(
        note for topic in ABOUT_THE_TASK for one in choices for note in one.notes if note.topic is topic
    )
    return tuple(_note(each, known) for each in notes)


_TIER_WORDS = {True: "", False: "Not what the task calls for", None: "Not known to be sterile"}


def _passage(passage: Passage, known: Book) -> ShownPassage:
    reasons = tuple(reason_for(entry, known) for entry in passage.entries)
    return ShownPassage(passage, PASSING_WORDS[passage.passing], _minutes(passage), reasons)


def _minutes(passage: Passage) -> str:
    """The span of times published, in words.

    Examples
    --------
    >>> contact = Contact("ethanol")
    >>> _minutes(Passage(contact, Passing.NOT_KNOWN, Decimal(2), Decimal(10), ""))
    '2 to 10 minutes published'
    >>> _minutes(Passage(contact, Passing.NOT_KNOWN, None, None, ""))
    ''
    """
    least, most = passage.least, passage.most
    if least is None:
        return "" if most is None else f"up to {most} minutes published"
    if most is None:
        return f"{least} minutes or more published"
    return f"{least} minutes published" if least == most else f"{least} to {most} minutes published"


def _note(note: Note, known: Book) -> ShownNote:
    standing = note.known_as.value if note.known_as and note.known_as.value != "published" else ""
    return ShownNote(note.says, standing, reason_for(note.entry, known) if note.entry else None)


def _without_figures(task: GloveTask, known: Book) -> tuple[str, ...]:
    """Chemicals of the task of which no time is published here, for whatever glove.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> task = GloveTask(Tier.EXAMINATION, contacts=(Contact("moonwater"), Contact("ETHANOL")))
    >>> _without_figures(task, load())
    ('moonwater',)
    """
    told = {normal_form(name) for name in _chemicals(known)}
    return tuple(one.chemical for one in task.contacts if normal_form(one.chemical) not in told)


def _chemicals(known: Book) -> tuple[str, ...]:
    """Chemicals of which some time is published, by the names the table gives them."""
    named = {name for one in known.allergens.breakthroughs for name in (one.chemical, *one.other_names)}
    return tuple(sorted(named))
