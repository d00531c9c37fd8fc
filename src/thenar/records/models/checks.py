"""Skin checks: what was asked, answered and made of it."""

from django.db import models
from django.db.models import Q

from thenar.records.models.people import User, Worker
from thenar.records.refs import new_ref

URGENCIES = [
    ("self_care", "Self-care"),
    ("routine", "Routine"),
    ("prompt", "Prompt"),
    ("same_day", "Same day"),
    ("emergency", "Emergency"),
]
PATIENT_CONTACTS = [("continue", "Continue"), ("adjust", "Adjust"), ("stop", "Stop")]


def one_of(field: str, choices: list[tuple[str, str]], name: str) -> models.CheckConstraint:
    """The database itself refuses a code that nobody defined."""
    return models.CheckConstraint(condition=Q(**{f"{field}__in": [code for code, _ in choices]}), name=name)


GIVEN_BY = [("worker", "The worker"), ("checker", "A skin checker"), ("practitioner", "The practitioner")]


class SkinCheck(models.Model):
    """One set of answers, with the urgency and patient contact they led to. Never changed."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="checks")
    given_by = models.CharField(max_length=16, choices=GIVEN_BY)
    submitted_at = models.DateTimeField()
    answers = models.JSONField()
    urgency = models.CharField(max_length=12, choices=URGENCIES)
    patient_contact = models.CharField(max_length=10, choices=PATIENT_CONTACTS)
    reasons = models.JSONField()
    edition = models.CharField(max_length=40)

    class Meta:
        constraints = [
            one_of("urgency", URGENCIES, "check_urgency_known"),
            one_of("patient_contact", PATIENT_CONTACTS, "check_patient_contact_known"),
            one_of("given_by", GIVEN_BY, "check_given_by_known"),
            models.CheckConstraint(condition=~Q(edition=""), name="check_names_its_edition"),
        ]
        indexes = [models.Index(fields=["worker", "submitted_at"], name="check_by_worker")]


SORTING_DECISIONS = [
    ("case", "Opened or added to a case"),
    ("advice", "Advice given, no case"),
    ("no_action", "Seen, nothing needed"),
]


class CheckSorting(models.Model):
    """What the practitioner made of a check. A check without one waits on Today."""

    check_report = models.OneToOneField(SkinCheck, on_delete=models.PROTECT, related_name="sorting")
    case = models.ForeignKey(
        "records.Case", null=True, blank=True, on_delete=models.PROTECT, related_name="checks"
    )
    decision = models.CharField(max_length=12, choices=SORTING_DECISIONS)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            one_of("decision", SORTING_DECISIONS, "sorting_decision_known"),
            models.CheckConstraint(
                condition=Q(decision="case", case__isnull=False)
                | (~Q(decision="case") & Q(case__isnull=True)),
                name="sorting_names_its_case",
            ),
        ]


class CheckLink(models.Model):
    """A personal link to a check. Only its hash is kept; opening never spends it, sending does."""

    token_hash = models.CharField(max_length=64, unique=True)
    worker = models.ForeignKey(Worker, on_delete=models.CASCADE, related_name="check_links")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    spent_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")


class CheckDraft(models.Model):
    """Answers on their way. Deleted when the check is sent, or after a day."""

    key = models.CharField(max_length=64, unique=True)
    worker = models.ForeignKey(Worker, on_delete=models.CASCADE)
    link = models.ForeignKey(CheckLink, null=True, blank=True, on_delete=models.CASCADE)
    answers = models.JSONField(default=dict)
    changed_at = models.DateTimeField()
