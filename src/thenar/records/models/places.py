"""Where people work, as what, and who answers for the place."""

from datetime import date
from typing import Self, TypeVar

from django.db import models
from django.db.models import F, Q

from thenar.records.models.people import User, Worker
from thenar.records.refs import new_ref

Held = TypeVar("Held", bound=models.Model)


class PeriodQuerySet(models.QuerySet[Held]):
    """Rows that hold from a day until, perhaps, another (both days included)."""

    def running_on(self, day: date) -> Self:
        """Those that hold on `day`."""
        return self.filter(from_on__lte=day).filter(Q(until_on__isnull=True) | Q(until_on__gte=day))


def ends_after_start(name: str) -> models.CheckConstraint:
    """A period may be open; if it ends, it ends on or after its first day."""
    return models.CheckConstraint(
        condition=Q(until_on__isnull=True) | Q(until_on__gte=F("from_on")), name=f"{name}_ends_after_start"
    )


class Area(models.Model):
    """A place of work. `path` lists the refs from the organisation down, so a subtree is a prefix."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    name = models.CharField(max_length=120, unique=True)
    parent = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="parts")
    path = models.CharField(max_length=255, unique=True, editable=False)

    class Meta:
        ordering = ("path",)

    def __str__(self) -> str:
        return self.name

    def path_under(self, parent: "Area | None") -> str:
        """The path this area has under `parent`."""
        return f"{parent.path if parent else '/'}{self.ref}/"


class Role(models.Model):
    """The kind of work done in a post: nurse, cleaner, porter."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    name = models.CharField(max_length=120, unique=True)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class Post(models.Model):
    """A worker's job in an area over a period; posts give person-time."""

    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="posts")
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="posts")
    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="posts")
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    hours_share = models.DecimalField(max_digits=3, decimal_places=2, default=1)

    objects = PeriodQuerySet["Post"].as_manager()

    class Meta:
        constraints = [
            ends_after_start("post"),
            models.CheckConstraint(
                condition=Q(hours_share__gt=0, hours_share__lte=1), name="post_hours_share_0_to_1"
            ),
        ]
        indexes = [models.Index(fields=["worker", "from_on"], name="post_by_worker")]


class AreaManager(models.Model):
    """Who answers for an area and everything under it, and when."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="manages")
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="managers")
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)

    objects = PeriodQuerySet["AreaManager"].as_manager()

    class Meta:
        constraints = [ends_after_start("area_manager")]
