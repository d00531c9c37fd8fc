"""What follows a reading: what a reaction has to do with the worker's life, and the end of the test."""

from typing import Any

from django import forms
from django.forms import BoundField
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from thenar.allergy.patch_days import Standing, missed_readings, readings_due
from thenar.allergy.patch_relevance import Judgement, Relevance
from thenar.allergy.patch_rules import reading_rules
from thenar.records.actions.patch_tests import end_patch_test, say_relevance
from thenar.records.models.allergies import RELEVANCES, TEST_ENDS
from thenar.records.queries.patch_tests import PatchTestStory, patch_test_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.forms import LONGEST_NOTE
from thenar.screens.clinic.reasons import reason_for
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.dates import DayField
from thenar.screens.patch.one_test import ShownPosition, cited, positions_shown
from thenar.screens.patch.page import patch_page
from thenar.screens.people import for_those_who, person


class RelevanceForm(forms.Form):
    """What each reaction explains. Only what is changed is kept."""

    def __init__(self, *args: Any, reacted: list[ShownPosition], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.reacted = reacted
        choices = [
            ("", "not judged"),
            *((code, f"{Relevance(code).letter}: {says}") for code, says in RELEVANCES),
        ]
        for one in reacted:
            number, said = one.position.number, one.relevance
            self.fields[f"relevance-{number}"] = forms.ChoiceField(
                label=f"{number} {one.name}",
                choices=choices,
                required=False,
                initial=said.relevance if said else "",
            )
            self.fields[f"note-{number}"] = forms.CharField(
                label=f"Note on {number}",
                required=False,
                max_length=LONGEST_NOTE,
                initial=said.note if said else "",
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )

    def rows(self) -> list[tuple[ShownPosition, BoundField, BoundField]]:
        """Each reaction with its boxes."""
        return [
            (one, self[f"relevance-{one.position.number}"], self[f"note-{one.position.number}"])
            for one in self.reacted
        ]

    def changed(self) -> list[tuple[int, str, str]]:
        """Position, relevance and note of what is said anew."""
        found = []
        for one in self.reacted:
            number = one.position.number
            relevance, note = (self.cleaned_data[f"{field}-{number}"] for field in ("relevance", "note"))
            before = (one.relevance.relevance, one.relevance.note) if one.relevance else ("", "")
            if relevance and (relevance, note) != before:
                found.append((number, relevance, note))
        return found

    def clean(self) -> dict[str, Any]:
        """A judgement can be changed, not taken away; and a note needs one."""
        cleaned = super().clean() or {}
        for one in self.reacted:
            number = one.position.number
            if cleaned.get(f"relevance-{number}"):
                continue
            if one.relevance:
                self.add_error(
                    f"relevance-{number}", "It was judged before: choose what holds now, or “not known”."
                )
            elif cleaned.get(f"note-{number}"):
                self.add_error(
                    f"relevance-{number}", "Choose what the reaction explains; the note goes with it."
                )
        return cleaned


class EndForm(forms.Form):
    """How a patch test ended."""

    how = forms.ChoiceField(
        label="How it ended",
        choices=TEST_ENDS,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how it ended."},
    )
    ended_on = DayField(label="Ended on", when="past")
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 2})
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def patch_test_relevance(request: HttpRequest, ref: str) -> HttpResponse:
    """Say what each reaction explains."""
    story = patch_test_story(ref=ref, by=person(request), now=clock.now())
    known = book()
    shown = positions_shown(story, reading_rules(known, story.test.applied_on), known)
    reacted = [
        one
        for one in shown
        if any(grade and grade.mark not in ("negative", "untested") for _, grade in one.grades)
    ]
    form = RelevanceForm(typed(request), reacted=reacted)
    if taken(request, f"patch_test_relevance {ref}", form, lambda: _say(request, story, form)):
        return redirect("patch_test", ref=ref)
    judged = [Judgement(Relevance(code)) for code, _ in RELEVANCES]
    context = {
        "form": form,
        "reasons": [reason_for(rule, known, says=str(one)) for one in judged for rule in one.rules],
    }
    return patch_page(request, story, "patch/relevance.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def patch_test_end(request: HttpRequest, ref: str) -> HttpResponse:
    """End a test, told what was not read and what that may have hidden."""
    story = patch_test_story(ref=ref, by=person(request), now=clock.now())
    rules, today = reading_rules(book(), story.test.applied_on), clock.today()
    form = EndForm(typed(request), initial={"ended_on": today})
    made = taken(
        request,
        f"patch_test_end {ref}",
        form,
        lambda: (
            end_patch_test(
                test=story.test,
                how=form.cleaned_data["how"],
                ended_on=form.cleaned_data["ended_on"],
                note_text=form.cleaned_data["note"],
                by=person(request),
                now=clock.now(),
            ).test.ref
        ),
    )
    if made:
        return redirect("patch_test", ref=made)
    due = readings_due(story.as_read, rules, today)
    context = {
        "form": form,
        "open_readings": [one for one in due if one.standing is not Standing.TAKEN],
        "missed": [cited(one) for one in missed_readings(story.as_read, rules, today)],
    }
    return patch_page(request, story, "patch/end.html", context)


def _say(request: HttpRequest, story: PatchTestStory, form: RelevanceForm) -> str:
    """All that changed, or none of it; a form that changes nothing keeps nothing."""
    for number, relevance, note in form.changed():
        say_relevance(
            test=story.test,
            position=number,
            relevance=relevance,
            note_text=note,
            by=person(request),
            now=clock.now(),
        )
    return story.test.ref
