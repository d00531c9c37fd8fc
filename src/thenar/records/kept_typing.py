"""Keeps what someone had typed when their session ended, for that person and that page alone.

What is kept was checked by no form, so it may hold what a database refuses: NUL, or an endless path.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta

from thenar.records.models import KeptTyping

KEPT_FOR = timedelta(hours=12)
LONGEST_PATH = 300
Fields = Mapping[str, list[str]]


def keep(*, key: str, user_id: int, path: str, fields: Fields, now: datetime) -> None:
    """Keep a form's fields; what has been kept too long goes."""
    KeptTyping.objects.filter(at__lt=now - KEPT_FOR).delete()
    plain = {_without_nul(name): [_without_nul(value) for value in values] for name, values in fields.items()}
    KeptTyping.objects.update_or_create(
        key=key, defaults={"user_id": user_id, "path": _as_kept(path), "fields": plain, "at": now}
    )


def kept_fields(*, key: str, user_id: int, path: str, now: datetime) -> Fields | None:
    """The fields kept under that key for this person and page, if there still are any."""
    rows = KeptTyping.objects.filter(key=_without_nul(key), user_id=user_id, path=_as_kept(path))
    kept = rows.filter(at__gte=now - KEPT_FOR).first()
    return kept.fields if kept else None


def forget(*, key: str, user_id: int) -> None:
    """The form was sent: what had been kept of it has served its purpose."""
    KeptTyping.objects.filter(key=_without_nul(key), user_id=user_id).delete()


def _without_nul(text: str) -> str:
    return text.replace("\0", "")


def _as_kept(path: str) -> str:
    return _without_nul(path)[:LONGEST_PATH]
