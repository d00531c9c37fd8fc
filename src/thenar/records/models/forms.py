"""What makes a form safe to send twice, and keeps what was typed when a session ends."""

from django.db import models

from thenar.records.models.people import User


class FormReceipt(models.Model):
    """A form that has been taken. The same key with the same content gives the same answer again."""

    key = models.CharField(max_length=64, unique=True)
    form = models.CharField(max_length=60)
    body_hash = models.CharField(max_length=64)
    result_ref = models.CharField(max_length=40, blank=True)
    at = models.DateTimeField()


class KeptTyping(models.Model):
    """What someone had typed when their session ended; given back to that person only, then deleted."""

    key = models.CharField(max_length=64, unique=True)
    user = models.ForeignKey(User, on_delete=models.CASCADE)
    path = models.CharField(max_length=300)
    fields = models.JSONField()
    at = models.DateTimeField()
