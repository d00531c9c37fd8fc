"""Keeps a file between its dry run and the decision about it, for its sender alone and some hours."""

import zlib
from base64 import b64decode, b64encode
from dataclasses import dataclass
from datetime import datetime

from thenar.records.kept_typing import forget, keep, kept_fields
from thenar.records.models import User
from thenar.records.refs import new_token
from thenar.records.rights import NotVisible

_PATH = "a file of products"  # no page's address: what is typed into pages is never taken for a file


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file that was sent, and what it is called."""

    name: str
    raw: bytes


def keep_file(file: KeptFile, *, by: User, now: datetime) -> str:
    """Keep a file; the key under which its sender finds it again."""
    key = new_token()
    packed = b64encode(zlib.compress(file.raw)).decode()
    keep(key=key, user_id=by.pk, path=_PATH, fields={"name": [file.name], "file": [packed]}, now=now)
    return key


def kept_file(key: str, *, by: User, now: datetime) -> KeptFile:
    """The file its sender left; absent, another's and too old read the same."""
    fields = kept_fields(key=key, user_id=by.pk, path=_PATH, now=now)
    if fields is None:
        raise NotVisible(by=by, target="product list")
    return KeptFile(fields["name"][0], zlib.decompress(b64decode(fields["file"][0])))


def forget_file(key: str, *, by: User) -> None:
    """It was taken over, or thrown away."""
    forget(key=key, user_id=by.pk)
