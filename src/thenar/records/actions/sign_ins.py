"""Notes who came in and who went out."""

from datetime import datetime

from django.db import transaction

from thenar.records.audit import note
from thenar.records.models import User


@transaction.atomic
def note_signed_in(*, by: User, now: datetime, how: str) -> None:
    """Someone signed in, with a password or by a door of the demo."""
    note("signed in", by=by, now=now, data_class="C6", why=how)


@transaction.atomic
def note_signed_out(*, by: User, now: datetime) -> None:
    """Someone signed out."""
    note("signed out", by=by, now=now, data_class="C6")
