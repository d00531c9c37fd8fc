"""From results to sensitisations: proposals with their evidence, each set down by an explicit act or not."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from thenar.allergy.patch_days import missed_readings
from thenar.allergy.patch_own_products import reactions_to_own_products
from thenar.allergy.patch_proposals import Proposal, negative_allergens, proposed_sensitisations
from thenar.allergy.patch_reading import Outcome, skin_cautions
from thenar.allergy.patch_rules import ReadingRules, reading_rules
from thenar.knowledge import Book
from thenar.records.actions.allergies import FROM_TEST, set_down_sensitisation
from thenar.records.models import Sensitisation
from thenar.records.models.allergies import STRENGTHS
from thenar.records.queries.allergies import known_allergies
from thenar.records.queries.patch_tests import PatchTestStory, patch_test_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.forms import LONGEST_NOTE
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.dates import DayField
from thenar.screens.patch.one_test import ShownPosition, cited, positions_shown
from thenar.screens.patch.page import patch_page
from thenar.screens.patch.wording import allergen_name
from thenar.screens.people import for_those_who, person


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a mix, and how it came out by itself."""

    name: str
    came_out: str


@dataclass(frozen=True, slots=True)
class ShownProposal:
    """A proposal with its evidence; `on_record` is the sensitisation that stands already."""

    proposal: Proposal
    name: str
    evidence: tuple[ShownPosition, ...]
    parts: tuple[Part, ...]
    on_record: Sensitisation | None
    reasons: tuple[Reason, ...]

    @property
    def field(self) -> str:
        """What its boxes are called by."""
        return self.proposal.allergen


@dataclass(frozen=True, slots=True)
class ProposalRow:
    """A proposal with its boxes; those on record have none."""

    shown: ShownProposal
    take: BoundField | None
    strength: BoundField | None
    confirmed: BoundField | None
    note: BoundField | None


class ProposalsForm(forms.Form):
    """Which proposals are set down, how strong, confirmed or not."""

    found_on = DayField(label="Found on", when="past")

    def __init__(self, *args: Any, proposals: list[ShownProposal], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.proposals = proposals
        for one in proposals:
            if one.on_record is None:
                self.fields |= _boxes(one)

    def rows(self) -> list[ProposalRow]:
        """Every proposal, in the order of the test."""
        return [
            ProposalRow(one, None, None, None, None)
            if one.on_record
            else ProposalRow(
                one, *(self[f"{box}-{one.field}"] for box in ("take", "strength", "confirmed", "note"))
            )
            for one in self.proposals
        ]

    def ticked(self) -> list[ShownProposal]:
        """Those to be set down."""
        return [one for one in self.proposals if self.cleaned_data.get(f"take-{one.field}")]

    def clean(self) -> dict[str, Any]:
        """Something is ticked, and what is doubtful says why it counts."""
        cleaned = super().clean() or {}
        if not self.ticked():
            raise ValidationError(
                "Nothing is ticked, so nothing was set down. Tick what you set down, or go back."
            )
        for one in self.ticked():
            strength, note = (cleaned.get(f"{box}-{one.field}", "") for box in ("strength", "note"))
            if strength == "?+" and not note:
                self.add_error(
                    f"note-{one.field}",
                    "A doubtful reaction: say why it counts, as by a repeated test, an open test, the story.",
                )
        return cleaned


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def patch_test_propose(request: HttpRequest, ref: str) -> HttpResponse:
    """Proposals, each with its evidence; only what is ticked is set down, and only by this act."""
    story = patch_test_story(ref=ref, by=person(request), now=clock.now())
    known, read = book(), story.as_read
    rules = reading_rules(known, story.test.applied_on)
    shown = positions_shown(story, rules, known)
    last = story.standing[-1].read_on if story.standing else clock.today()
    form = ProposalsForm(
        typed(request), proposals=_proposals(story, shown, rules, known), initial={"found_on": last}
    )
    made = taken(request, f"patch_test_propose {ref}", form, lambda: _set_down(request, story, form))
    if made:
        return redirect("allergies", ref=story.worker.ref)
    context = {
        "form": form,
        "rows": form.rows(),
        "any_open": any(row.take for row in form.rows()),
        "negatives": [
            (allergen_name(one.allergen, known), one)
            for one in negative_allergens(read, rules, known.allergens.allergens)
        ],
        "mixes": _negative_mixes(shown, known),
        "products": reactions_to_own_products(read, rules),
        "cautions": [
            cited(one) for one in (*skin_cautions(read, rules), *missed_readings(read, rules, clock.today()))
        ],
    }
    return patch_page(request, story, "patch/propose.html", context)


def _proposals(
    story: PatchTestStory, shown: list[ShownPosition], rules: ReadingRules, known: Book
) -> list[ShownProposal]:
    standing = {one.allergen: one for one in known_allergies(story.worker).sensitisations}
    by_number = {one.position.number: one for one in shown}
    return [
        ShownProposal(
            proposal=one,
            name=allergen_name(one.allergen, known),
            evidence=tuple(by_number[read.position] for read in one.readings),
            parts=_parts(one, known),
            on_record=standing.get(one.allergen),
            reasons=_reasons(one, known),
        )
        for one in proposed_sensitisations(story.as_read, rules, known.allergens.allergens)
    ]


def _parts(proposal: Proposal, known: Book) -> tuple[Part, ...]:
    parts = proposal.components
    if parts is None:
        return ()
    kinds = (("positive", parts.positive), ("negative", parts.negative), ("not tested by itself", parts.open))
    return tuple(Part(allergen_name(one, known), came_out) for came_out, ones in kinds for one in ones)


def _reasons(proposal: Proposal, known: Book) -> tuple[Reason, ...]:
    """What is known of the allergen, and of a preparation that irritates."""
    allergen = known.allergens.allergens.get(proposal.allergen)
    if allergen is None:
        return ()
    irritates = allergen.irritant_preparation
    note = f"Its preparation is known to irritate ({irritates.known_as})." if irritates else ""
    return (reason_for(allergen.entry, known, says=allergen.note, note=note),)


def _negative_mixes(shown: list[ShownPosition], known: Book) -> list[tuple[str, str]]:
    """Mixes without a reaction, each with its parts."""
    table, found = known.allergens.allergens, []
    for one in shown:
        mix = table.get(one.position.hapten) if one.read.outcome is Outcome.NEGATIVE else None
        if mix and mix.components:
            found.append((mix.name, ", ".join(allergen_name(part, known) for part in mix.components)))
    return found


def _boxes(one: ShownProposal) -> dict[str, forms.Field]:
    return {
        f"take-{one.field}": forms.BooleanField(label=f"Set down {one.name}", required=False),
        f"strength-{one.field}": forms.ChoiceField(
            label="Strength",
            choices=STRENGTHS,
            initial=one.proposal.strength.value,
            widget=forms.Select(attrs={"class": "short"}),
        ),
        f"confirmed-{one.field}": forms.BooleanField(
            label="Confirmed",
            required=False,
            help_text="By a repeated or open test, or in your own judgement.",
        ),
        f"note-{one.field}": forms.CharField(
            label="Note",
            required=False,
            max_length=LONGEST_NOTE,
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
        ),
    }


def _set_down(request: HttpRequest, story: PatchTestStory, form: ProposalsForm) -> str:
    """All that is ticked, or none of it."""
    for one in form.ticked():
        set_down_sensitisation(
            worker=story.worker,
            allergen=one.proposal.allergen,
            strength=form.cleaned_data[f"strength-{one.field}"],
            confirmed=form.cleaned_data[f"confirmed-{one.field}"],
            basis=FROM_TEST,
            test=story.test,
            found_on=form.cleaned_data["found_on"],
            note_text=form.cleaned_data[f"note-{one.field}"],
            book=book(),
            by=person(request),
            now=clock.now(),
        )
    return story.test.ref
