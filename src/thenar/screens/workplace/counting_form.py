"""The form a session is typed into from a paper sheet. What is left empty is not known; it is never 0."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from thenar.exposure.alternations import EACH_WAY
from thenar.exposure.tally import Tally
from thenar.records.actions.observations import LONGEST_NAME, SessionSeen
from thenar.records.models import Area, Role
from thenar.records.models.workplace import SHIFT_PARTS
from thenar.screens.dates import DayField

MOST = 100_000


@dataclass(frozen=True, slots=True)
class Counted:
    """One line of the tally: a count, or minutes."""

    field: str
    label: str
    hint: str = ""

    @property
    def is_time(self) -> bool:
        """Whether it is minutes and not a count."""
        return self.field.endswith("minutes")


COUNTED = (
    Counted("washes", "Hand washes", "With water, with or without soap."),
    Counted("rubs", "Hand rubs"),
    Counted("wet_contacts", "Times in water with bare hands", "Hand washes are not among them."),
    Counted("wet_minutes", "Minutes in water with bare hands"),
    Counted("pairs", "Pairs of gloves put on"),
    Counted("gloves_on_wet_skin", "Of these, put on wet skin"),
    Counted("glove_minutes", "Minutes in gloves"),
    Counted("longest_glove_wear_minutes", "Longest wear of one pair, in minutes"),
    Counted("wet_glove_alternations", "Changes between water and gloves", "Each way is one change."),
    Counted("wash_glove_alternations", "Changes between washing and gloves", "Each way is one change."),
    Counted("cream_uses", "Uses of cream"),
)
_CHANGES = ("wet_glove_alternations", "wash_glove_alternations")


class SessionForm(forms.Form):
    """One observer watched one worker for a while, and counted."""

    role = forms.ChoiceField(label="Role watched", error_messages={"required": "Choose whose work it was."})
    observer = forms.CharField(
        label="Observer",
        max_length=LONGEST_NAME,
        help_text="Who counted. The worker who was watched is not recorded.",
        error_messages={"required": "Say who counted, by name or initials."},
    )
    observed_on = DayField(label="Day", when="past")
    shift_part = forms.ChoiceField(
        label="Part of the shift",
        choices=SHIFT_PARTS,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose the part of the shift."},
    )
    minutes_observed = forms.FloatField(
        label="Minutes watched",
        min_value=0,
        max_value=MOST,
        help_text="From the first to the last look. 40 minutes are useful too.",
        error_messages={
            "required": "Enter the minutes watched. Without them the counts say nothing.",
            "invalid": "Enter the minutes as a number, like 40.",
            "min_value": "Enter more than 0 minutes.",
        },
    )
    whole_shift = forms.BooleanField(label="The whole shift was watched, from start to end", required=False)
    counts_confirmed = forms.BooleanField(label="I have asked, and the counts are right", required=False)

    def __init__(self, *args: Any, roles: Sequence[Role], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.roles = {role.ref: role for role in roles}
        self.asked_back = False
        chosen = [(role.ref, role.name) for role in roles]
        self.fields["role"].choices = chosen if len(chosen) == 1 else [("", "Choose"), *chosen]  # type: ignore[attr-defined]
        for one in COUNTED:
            self.fields[one.field] = _number(one)

    @property
    def counted(self) -> list[forms.BoundField]:
        """The lines of the tally."""
        return [self[one.field] for one in COUNTED]

    def clean_minutes_observed(self) -> float:
        """Counts of no time belong to no length of work."""
        minutes = float(self.cleaned_data["minutes_observed"])
        if minutes == 0:
            raise forms.ValidationError("Enter more than 0 minutes.")
        return minutes

    def clean(self) -> dict[str, Any]:
        """A sheet on which nothing was counted is no session."""
        cleaned = super().clean() or {}
        if not self.errors and all(cleaned.get(one.field) is None for one in COUNTED):
            raise forms.ValidationError(
                "Nothing is counted. Enter at least one count; 0 if it did not happen."
            )
        return cleaned

    def seen(self, area: Area) -> SessionSeen:
        """The session typed."""
        given = self.cleaned_data
        counts = {one.field: given[one.field] for one in COUNTED}
        changes = any(counts[name] is not None for name in _CHANGES)
        return SessionSeen(
            area=area,
            role=self.roles[given["role"]],
            observer=given["observer"],
            observed_on=given["observed_on"],
            shift_part=given["shift_part"],
            counts=Tally(
                minutes_observed=given["minutes_observed"],
                whole_shift=given["whole_shift"],
                convention=EACH_WAY.says if changes else None,
                **counts,
            ),
        )


def _number(one: Counted) -> forms.Field:
    kind = forms.FloatField if one.is_time else forms.IntegerField
    wanted = "minutes" if one.is_time else "a whole number"
    says = f"Enter {wanted} from 0 up, or leave it empty if nobody counted."
    return kind(
        label=one.label,
        required=False,
        min_value=0,
        max_value=MOST,
        help_text=one.hint,
        error_messages={"invalid": says, "min_value": says, "max_value": f"Enter at most {MOST:,}."},
    )
