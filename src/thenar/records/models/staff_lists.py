"""Staff lists that were read in."""

from django.db import models

from thenar.records.models.people import User
from thenar.records.refs import new_ref


class StaffListImport(models.Model):
    """One staff list: kept while it waits for a yes, then what it changed."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    file_name = models.CharField(max_length=200)
    file_hash = models.CharField(max_length=64)
    raw = models.BinaryField(default=bytes)
    day_first = models.BooleanField(null=True)
    uploaded_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    applied_at = models.DateTimeField(null=True)
    joiners = models.PositiveIntegerField(default=0)
    movers = models.PositiveIntegerField(default=0)
    corrected = models.PositiveIntegerField(default=0)
    leavers = models.PositiveIntegerField(default=0)
