"""Who did and who looked: rows without foreign keys, so that they outlive what they describe."""

from django.db import models


class AuditRow(models.Model):
    """One act or look. Each row carries the hash of the one before, so that none can vanish unseen."""

    at = models.DateTimeField()
    who = models.CharField(max_length=150)
    access = models.CharField(max_length=24)
    event = models.CharField(max_length=60)
    target = models.CharField(max_length=40, blank=True)
    worker_ref = models.CharField(max_length=12, blank=True, db_index=True)
    data_class = models.CharField(max_length=2)
    why = models.CharField(max_length=120, blank=True)
    previous_hash = models.CharField(max_length=64, unique=True)
    hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ("pk",)


class AuditHead(models.Model):
    """The newest hash. Its one row is locked while a row is added, so that the chain never forks."""

    hash = models.CharField(max_length=64)
