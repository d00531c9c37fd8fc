"""An episode of skin trouble from opening to closing. Every row here is written once and never changed."""

from django.db import models
from django.db.models import F, Q

from thenar.records.models.checks import one_of
from thenar.records.models.people import User, Worker
from thenar.records.refs import new_ref


class CaseQuerySet(models.QuerySet["Case"]):
    """Cases by state."""

    def open(self) -> "CaseQuerySet":
        """Those without a closing."""
        return self.filter(closing__isnull=True)


class Case(models.Model):
    """One episode of skin trouble in one worker."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="cases")
    opened_on = models.DateField()
    earlier = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="later")
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    objects = CaseQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["worker", "opened_on"], name="case_by_worker")]


CLOSING_OUTCOMES = [
    ("clear", "Skin clear"),
    ("controlled", "Under control, surveillance goes on"),
    ("not_skin", "Not a skin condition of the hands"),
    ("moved_on", "Care taken over elsewhere"),
    ("left", "Left the organisation"),
    ("lost", "Could not be reached"),
]


class CaseClosing(models.Model):
    """How a case ended."""

    case = models.OneToOneField(Case, on_delete=models.PROTECT, related_name="closing")
    closed_on = models.DateField()
    outcome = models.CharField(max_length=12, choices=CLOSING_OUTCOMES)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [one_of("outcome", CLOSING_OUTCOMES, "closing_outcome_known")]


TREATED = [("yes", "Yes"), ("no", "No"), ("unknown", "Not known")]


class Examination(models.Model):
    """The practitioner looked at the hands. A mistake is corrected by a new examination naming this one."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="examinations")
    examined_on = models.DateField()
    signs = models.JSONField()
    marks = models.JSONField(default=list)
    total = models.PositiveSmallIntegerField()
    band = models.CharField(max_length=20)
    hard_to_judge = models.BooleanField(default=False)
    days_since_wet_shift = models.PositiveSmallIntegerField(null=True, blank=True)
    under_treatment = models.CharField(max_length=8, choices=TREATED, default="unknown")
    note = models.TextField(blank=True)
    edition = models.CharField(max_length=40)
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    correction_reason = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(total__gte=0, total__lte=360), name="examination_total_0_to_360"
            ),
            one_of("under_treatment", TREATED, "examination_treatment_known"),
            models.CheckConstraint(
                condition=Q(corrects__isnull=True) | ~Q(correction_reason=""),
                name="examination_correction_has_reason",
            ),
        ]
        indexes = [models.Index(fields=["case", "examined_on"], name="examination_by_case")]


class Plan(models.Model):
    """What the worker uses and does. The newest plan of a case is the one in force."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="plans")
    made_on = models.DateField()
    content = models.JSONField()
    edition = models.CharField(max_length=40)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")


class Review(models.Model):
    """The next look in a case."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="reviews")
    due_on = models.DateField(db_index=True)
    purpose = models.CharField(max_length=200)
    set_on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(due_on__gte=F("set_on")), name="review_due_not_before_set"),
        ]


REVIEW_OUTCOMES = [
    ("done", "Done"),
    ("moved", "Moved to another day"),
    ("missed", "Worker did not come"),
    ("not_needed", "No longer needed"),
]


class ReviewOutcome(models.Model):
    """What became of a review. A review without one is still to come, or late."""

    review = models.OneToOneField(Review, on_delete=models.PROTECT, related_name="outcome")
    done_on = models.DateField()
    outcome = models.CharField(max_length=12, choices=REVIEW_OUTCOMES)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [one_of("outcome", REVIEW_OUTCOMES, "review_outcome_known")]
