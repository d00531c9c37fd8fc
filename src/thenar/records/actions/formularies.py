"""Keeps a set of products proposed for some areas: what was asked, what was found."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from django.db import transaction

from thenar.errors import BadInput
from thenar.records.audit import note
from thenar.records.models import Area, FormularyProposal, User
from thenar.records.rights import Act, require


@transaction.atomic
def keep_proposal(
    *,
    areas: Sequence[Area],
    question: Mapping[str, object],
    answer: Mapping[str, object],
    found: bool,
    edition: str,
    by: User,
    now: datetime,
) -> FormularyProposal:
    """Keep a proposal as it was shown. Its answer may speak of few workers, so it counts as clinical.

    Raises
    ------
    BadInput
        It is for no area.
    """
    require(by, Act.WRITE_PRODUCTS)
    if not areas:
        raise BadInput(
            what="The proposal is for no area.",
            why="Nobody could say later whom it was to serve.",
            todo="Choose at least one area.",
        )
    kept = FormularyProposal.objects.create(
        areas=[{"ref": area.ref, "name": area.name} for area in areas],
        question=dict(question),
        answer=dict(answer),
        found=found,
        edition=edition,
        at=now,
        by=by,
    )
    note("formulary proposed", by=by, now=now, target=kept.ref)
    return kept
