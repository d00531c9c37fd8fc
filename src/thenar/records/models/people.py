"""Who signs in, and whose hands are looked after."""

import unicodedata
from datetime import date
from typing import Self

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q

from thenar.records.refs import new_ref


class AccessRole(models.TextChoices):
    """What a signed-in person may see and do (see rights.py)."""

    WORKER = "worker", "Worker"
    PRACTITIONER = "practitioner", "Practitioner"
    LEAD = "lead", "Occupational-health lead"
    CLERK = "clerk", "Clerk"
    MANAGER = "manager", "Ward manager"
    HR = "hr", "Personnel"
    INFECTION_PREVENTION = "infection_prevention", "Infection-prevention lead"
    ADMINISTRATOR = "administrator", "Administrator"
    AUDITOR = "auditor", "Auditor"


class User(AbstractUser):
    """Someone who can sign in."""

    access = models.CharField(max_length=24, choices=AccessRole.choices, default=AccessRole.WORKER)
    position = models.CharField(max_length=120, blank=True)

    class Meta(AbstractUser.Meta):
        constraints = [
            models.CheckConstraint(condition=Q(access__in=AccessRole.values), name="user_access_known"),
        ]

    @property
    def called(self) -> str:
        """Name as shown on pages."""
        return self.get_full_name() or self.username


class WorkerQuerySet(models.QuerySet["Worker"]):
    """Workers, narrowed by who asks."""

    def visible_to(self, user: User, on: date) -> Self:
        """Workers whose identity `user` may see; a practitioner's own record is never among them."""
        if user.access in (AccessRole.PRACTITIONER, AccessRole.LEAD, AccessRole.CLERK):
            return self.exclude(user=user)
        if user.access == AccessRole.MANAGER:
            return self.filter(posts__in=_posts_managed_by(user, on)).distinct()
        if user.access == AccessRole.WORKER:
            return self.filter(user=user)
        return self.none()

    def active_on(self, day: date) -> Self:
        """Workers with a post on `day`."""
        from thenar.records.models.places import Post

        return self.filter(models.Exists(Post.objects.running_on(day).filter(worker=models.OuterRef("pk"))))


def _posts_managed_by(user: User, on: date) -> models.QuerySet["Post"]:  # type: ignore[name-defined]  # noqa: F821
    from thenar.records.models.places import AreaManager, Post

    paths = list(AreaManager.objects.running_on(on).filter(user=user).values_list("area__path", flat=True))
    if not paths:
        return Post.objects.none()
    inside = Q()
    for path in paths:
        inside |= Q(area__path__startswith=path)
    return Post.objects.running_on(on).filter(inside)


class Worker(models.Model):
    """A person whose hands are looked after."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    staff_number = models.CharField(max_length=32, unique=True)
    given_name = models.CharField(max_length=120)
    family_name = models.CharField(max_length=120)
    search_name = models.CharField(max_length=520, db_index=True, editable=False)
    born_on = models.DateField(null=True, blank=True)
    email = models.EmailField(blank=True)
    user = models.OneToOneField(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="worker")
    left_on = models.DateField(null=True, blank=True)

    objects = WorkerQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(staff_number=""), name="worker_has_staff_number"),
            models.CheckConstraint(condition=~Q(family_name=""), name="worker_has_family_name"),
        ]
        indexes = [models.Index(fields=["family_name", "given_name"], name="worker_by_name")]

    def __str__(self) -> str:
        return self.ref

    @property
    def called(self) -> str:
        """Name as shown on pages."""
        return f"{self.given_name} {self.family_name}".strip()


def folded(*names: str) -> str:
    """Names as searched: lower case, no accents or punctuation, and an apostrophe read both ways.

    Examples
    --------
    >>> folded("Łukasz", "O’Żółty-Åse")
    'lukasz o zolty ase ozolty'
    """
    apart, joined = readings_of(" ".join(names))
    return " ".join([*apart, *(word for word in joined if word not in apart)])


def readings_of(text: str) -> tuple[list[str], list[str]]:
    """The words of a name with its apostrophes parting words, and with them left out.

    Examples
    --------
    >>> readings_of("Haque-D'Souza")
    (['haque', 'd', 'souza'], ['haque', 'dsouza'])
    """
    lower = text.lower().translate(_PLAIN)
    plain = "".join(c for c in unicodedata.normalize("NFKD", lower) if not unicodedata.combining(c))
    return _words(plain), _words(plain.replace("'", ""))


def _words(plain: str) -> list[str]:
    return "".join(c if c.isalnum() else " " for c in plain).split()


_PLAIN = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ß": "ss", "æ": "ae", "œ": "oe", "ı": "i"}
    | dict.fromkeys("’‘ʼʻ`´′＇", "'")
)
