"""Adjustments, and the letters that carry them: content frozen, every step a row."""

from django.db import models
from django.db.models import F, Q

from thenar.records.models.cases import Case
from thenar.records.models.checks import one_of
from thenar.records.models.people import User, Worker
from thenar.records.refs import new_ref


class Adjustment(models.Model):
    """What the workplace changes for a while. Holds nothing clinical."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="adjustments")
    measures = models.JSONField()
    start_on = models.DateField()
    end_on = models.DateField(null=True, blank=True)
    review_on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(end_on__isnull=True) | Q(end_on__gte=F("start_on")),
                name="adjustment_ends_after_start",
            ),
            models.CheckConstraint(
                condition=Q(review_on__gte=F("start_on")), name="adjustment_review_after_start"
            ),
        ]


class Letter(models.Model):
    """One wording of a letter to one recipient. Another wording is another letter that replaces it."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="letters")
    adjustment = models.ForeignKey(Adjustment, on_delete=models.PROTECT, related_name="letters")
    recipient = models.ForeignKey(User, on_delete=models.PROTECT, related_name="letters_received")
    content = models.JSONField()
    content_hash = models.CharField(max_length=64)
    replaces = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")


LETTER_STEPS = [
    ("content_agreed", "Content agreed with the worker"),
    ("offered", "Offered to the worker to see first"),
    ("seen", "Seen by the worker"),
    ("see_declined", "Worker chose not to see it first"),
    ("commented", "Worker commented"),
    ("consented", "Worker agreed that it is sent"),
    ("refused", "Worker did not agree"),
    ("withdrawn", "Withdrawn"),
    ("released", "Released to the recipient"),
]


class LetterStep(models.Model):
    """One step a letter took: what, when, by whom, how, for which wording."""

    letter = models.ForeignKey(Letter, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=16, choices=LETTER_STEPS)
    on = models.DateField()
    how = models.CharField(max_length=120, blank=True)
    comment = models.TextField(blank=True)
    content_hash = models.CharField(max_length=64)
    recipient = models.ForeignKey(User, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("pk",)
        constraints = [
            one_of("kind", LETTER_STEPS, "letter_step_known"),
            models.UniqueConstraint(
                fields=["letter", "kind"], condition=~Q(kind="commented"), name="letter_step_taken_once"
            ),
            models.CheckConstraint(
                condition=~Q(kind__in=["consented", "released"]) | Q(recipient__isnull=False),
                name="letter_consent_names_recipient",
            ),
        ]
