"""A form sent twice makes one record and shows the same receipt."""

import hashlib
import json
from collections.abc import Callable, Mapping
from datetime import datetime

from django.db import IntegrityError, transaction

from thenar.errors import Conflict
from thenar.records.models import FormReceipt


class SameKeyOtherContent(Conflict):
    """A form key came back with different content."""


@transaction.atomic
def taken_once(
    *, key: str, form: str, body: Mapping[str, object], now: datetime, write: Callable[[], str]
) -> str:
    """Run `write` unless this form was already taken; answer with the reference it made, then or now.

    The receipt and what `write` records stand or fall together.

    Raises
    ------
    SameKeyOtherContent
        When the key was used for something else.
    """
    body_hash = _hash(body)
    earlier = FormReceipt.objects.filter(key=key).first()
    if earlier is None:
        try:
            with transaction.atomic():
                receipt = FormReceipt.objects.create(key=key, form=form, body_hash=body_hash, at=now)
        except IntegrityError:  # the twin of this request got there first and has finished
            earlier = FormReceipt.objects.get(key=key)
        else:
            receipt.result_ref = write()
            receipt.save(update_fields=["result_ref"])
            return receipt.result_ref
    if (earlier.form, earlier.body_hash) != (form, body_hash):
        raise SameKeyOtherContent(
            what="This form was already sent, with other answers.",
            why="Sending it again could write over or double what is there.",
            todo="Open the form afresh and send it once more.",
        )
    return earlier.result_ref


def _hash(body: Mapping[str, object]) -> str:
    return hashlib.sha256(json.dumps(body, sort_keys=True, default=str).encode()).hexdigest()
