"""Gives out product lists: to the worker, for the wallet, and to supplies without a word about health."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.frozen import content_hash
from thenar.records.models import IssuedList, User, Worker
from thenar.records.models.allergies import LIST_FOR
from thenar.records.rights import Act, require, require_not_own
from thenar.records.turns import wait_turn

SUPPLIES = "supplies"

# All that a list for supplies may say, at any depth. What is not named here stays with occupational health.
SUPPLIES_KEYS = frozenset(
    {
        "form",
        "request",
        "area",
        "worker",
        "worker_agreed",
        "issued_on",
        "valid_until",
        "contact",
        "products",
        "category",
        "code",
        "name",
        "size",
        "amount",
        "position",
        "service",
        "telephone",
        "email",
    }
)


@transaction.atomic
def issue_list(
    *,
    worker: Worker,
    made_for: str,
    content: Mapping[str, object],
    valid_until: date | None,
    edition: str,
    by: User,
    now: datetime,
) -> IssuedList:
    """Freeze a list as it is given out today.

    A list for supplies holds only `SUPPLIES_KEYS`; it names the worker, under `worker`, only where
    `worker_agreed` is true.

    Raises
    ------
    BadInput
        It says nothing, is made for nobody known, has run out already, or tells supplies more than they need.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(worker, by)
    wait_turn(worker.pk)
    today = day_of(now)
    _refuse_unusable(made_for, content, valid_until, today)
    if made_for == SUPPLIES:
        _refuse_health(content)
        _refuse_name(content, worker)
    kept = IssuedList.objects.create(
        worker=worker,
        made_for=made_for,
        from_on=today,
        valid_until=valid_until,
        content=dict(content),
        content_hash=content_hash(content),
        edition=edition,
        at=now,
        by=by,
    )
    if made_for == SUPPLIES:
        note(
            "product list given to supplies",
            by=by,
            now=now,
            target=kept.ref,
            worker_ref=worker.ref,
            data_class="C2",
        )
    else:
        note("product list given", by=by, now=now, target=kept.ref, worker_ref=worker.ref)
    return kept


def _refuse_unusable(
    made_for: str, content: Mapping[str, object], valid_until: date | None, today: date
) -> None:
    if made_for not in dict(LIST_FOR):
        raise _unusable(f"A list for {made_for!r} is not made.", f"Name one of: {', '.join(dict(LIST_FOR))}.")
    if not content:
        raise _unusable("The list says nothing.", "Put at least one product on it.")
    if valid_until is not None and valid_until < today:
        raise _unusable(f"The list would have run out on {valid_until}.", "Choose today or a later day.")


def _refuse_health(content: Mapping[str, object]) -> None:
    more = sorted({key for key in _keys(content) if key not in SUPPLIES_KEYS})
    if more:
        raise _too_much(f"A list for supplies has no place for {', '.join(map(repr, more))}.")


def _refuse_name(content: Mapping[str, object], worker: Worker) -> None:
    """The name stands in its own place and after a yes, and nowhere else."""
    if content.get("worker") and content.get("worker_agreed") is not True:
        raise _too_much("The list names the worker, who has not agreed to that.")
    elsewhere = {key: value for key, value in content.items() if key not in ("worker", "products")}
    words = " ".join(_texts(elsewhere)).casefold()
    if worker.called.casefold() in words or worker.staff_number.casefold() in words.split():
        raise _too_much("The list names the worker outside the place for the name.")


def _keys(content: object) -> Iterator[str]:
    if isinstance(content, Mapping):
        yield from map(str, content)
    for inner in _inside(content):
        yield from _keys(inner)


def _texts(content: object) -> Iterator[str]:
    if isinstance(content, str):
        yield content
    for inner in _inside(content):
        yield from _texts(inner)


def _inside(content: object) -> Iterator[object]:
    if isinstance(content, Mapping):
        yield from content.values()
    elif isinstance(content, Sequence) and not isinstance(content, str):
        yield from content


def _too_much(what: str) -> BadInput:
    return BadInput(
        what=what,
        why="Supplies need to know what to send and where, not who is ill of what.",
        todo="Leave it out; give the area and the number of the request.",
    )


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(what=what, why="A list is relied on as it stands.", todo=todo)
