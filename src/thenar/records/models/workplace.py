"""What work in a place does to hands, what is done about it, and which duties were found. Written once."""

from django.db import models
from django.db.models import F, Q

from thenar.records.models.cases import Case
from thenar.records.models.checks import one_of
from thenar.records.models.people import User
from thenar.records.models.places import Area, Role
from thenar.records.refs import new_ref

SHIFT_PARTS = [("early", "Early"), ("late", "Late"), ("night", "Night"), ("day", "Day")]
SESSION_CAME_BY = [("page", "Typed in"), ("phone", "Counted on a phone"), ("file", "Read from a file")]
HIERARCHY = [
    ("elimination", "Stop doing it"),
    ("substitution", "Use something milder"),
    ("engineering", "Change the equipment"),
    ("organisation", "Change how work is shared"),
    ("protection", "Protect the hands"),
]


class ObservedSession(models.Model):
    """Someone watched one worker of a role in an area for a while and counted. The worker is not recorded."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="observed_sessions")
    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="+")
    observer = models.CharField(max_length=120)
    observed_on = models.DateField()
    shift_part = models.CharField(max_length=8, choices=SHIFT_PARTS)
    counts = models.JSONField()
    came_by = models.CharField(max_length=8, choices=SESSION_CAME_BY)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            one_of("shift_part", SHIFT_PARTS, "session_shift_part_known"),
            one_of("came_by", SESSION_CAME_BY, "session_came_by_known"),
        ]
        indexes = [models.Index(fields=["area", "role"], name="session_by_area_role")]


class WorkDescription(models.Model):
    """What a role in an area does in a usual shift: length, unit, acts of care. The newest is in force."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="descriptions")
    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="+")
    described_on = models.DateField()
    unit_type = models.CharField(max_length=40, blank=True)
    shift_hours = models.DecimalField(max_digits=4, decimal_places=2)
    acts = models.JSONField(default=list)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(shift_hours__gt=0, shift_hours__lte=24), name="description_shift_hours_0_to_24"
            ),
        ]
        indexes = [models.Index(fields=["area", "role"], name="description_by_area_role")]


class RecordedControl(models.Model):
    """A measure taken in an area from a day, with an owner. `control` is its kind and figures."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="controls")
    role = models.ForeignKey(Role, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    control = models.JSONField()
    words = models.CharField(max_length=240)
    hierarchy = models.CharField(max_length=16, choices=HIERARCHY)
    start_on = models.DateField()
    review_on = models.DateField()
    owner = models.CharField(max_length=120)
    expected = models.JSONField(default=dict)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            one_of("hierarchy", HIERARCHY, "control_hierarchy_known"),
            models.CheckConstraint(condition=~Q(owner=""), name="control_has_owner"),
            models.CheckConstraint(
                condition=Q(review_on__gte=F("start_on")), name="control_review_after_start"
            ),
        ]


class AreaAssessment(models.Model):
    """The dated, numbered assessment of an area, as it was printed."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="assessments")
    version = models.PositiveSmallIntegerField()
    assessed_on = models.DateField()
    review_on = models.DateField()
    content = models.JSONField()
    content_hash = models.CharField(max_length=64)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["area", "version"], name="assessment_version_once"),
            models.CheckConstraint(
                condition=Q(review_on__gte=F("assessed_on")), name="assessment_review_after_day"
            ),
        ]


class TaskList(models.Model):
    """An area's tasks from a first day on: each with load, who can do it, when. The newest is in force."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="task_lists")
    first_day = models.DateField()
    content = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")


class DutySearch(models.Model):
    """A search for duties within a worker's limits, and what it found, in words a manager may read."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="duty_searches")
    task_list = models.ForeignKey(TaskList, on_delete=models.PROTECT, related_name="+")
    limits = models.JSONField()
    found = models.BooleanField()
    words = models.JSONField()
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
