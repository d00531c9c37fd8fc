"""Keeps what someone had typed when their session ended, for that person and that page alone."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from thenar.records.models import KeptTyping

KEPT_FOR = timedelta(hours=12)
Fields = Mapping[str, list[str]]


def keep(*, key: str, user_id: int, path: str, fields: Fields, now: datetime) -> None:
    """Keep a form's fields; what has been kept too long goes."""
    KeptTyping.objects.filter(at__lt=now - KEPT_FOR).delete()
    KeptTyping.objects.update_or_create(
        key=key, defaults={"user_id": user_id, "path": path, "fields": dict(fields), "at": now}
    )


def kept_fields(*, key: str, user_id: int, path: str, now: datetime) -> Fields | None:
    """The fields kept under that key for this person and page, if there still are any."""
    kept = KeptTyping.objects.filter(key=key, user_id=user_id, path=path, at__gte=now - KEPT_FOR).first()
    return kept.fields if kept else None


def forget(*, key: str, user_id: int) -> None:
    """The form was sent: what had been kept of it has served its purpose."""
    KeptTyping.objects.filter(key=key, user_id=user_id).delete()
