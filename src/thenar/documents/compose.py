"""Puts records into the typed contents of a letter or a plan; what a letter can't hold, it can't be given."""

from collections.abc import Iterable
from datetime import date

from thenar.documents.letters import (
    AdjustmentContent,
    Contact,
    Measure,
    PersonalIdentity,
    PlanContent,
    PlanLine,
    PlanSection,
    Recipient,
    StaffIdentity,
)
from thenar.errors import BadInput
from thenar.records.models import Adjustment, User, Worker


def service_contact(*, service: str, telephone: str, email: str, organisation: str = "") -> Contact:
    """The service that writes, whose it is, and how to reach it.

    Parameters
    ----------
    service, telephone, email
        As the site has set them.
    organisation
        As the site has set it; not said again where the service's own name says it.

    Raises
    ------
    BadInput
        Where the site has not set its telephone number or its e-mail address.

    Examples
    --------
    >>> reached = {"telephone": "4000", "email": "oh@saltmere.example", "organisation": "Saltmere"}
    >>> service_contact(service="Occupational health", **reached).organisation
    'Saltmere'
    >>> service_contact(service="Saltmere staff health", **reached).organisation is None
    True
    """
    unset = [
        name
        for name, value in (("THENAR_OH_TELEPHONE", telephone), ("THENAR_OH_EMAIL", email))
        if not value.strip()
    ]
    if unset:
        raise BadInput(
            what=f"The service's contact is not set: {' and '.join(unset)}.",
            why="Whoever reads a letter or a plan must be able to ask.",
            todo="Ask the administrator to set it; nothing was recorded.",
        )
    said_already = organisation.strip().casefold() in service.casefold()
    return Contact(service, telephone, email, None if said_already else organisation.strip())


def adjustment_content(
    *, adjustment: Adjustment, recipient: User, area: str, contact: Contact, by: User, on: date
) -> AdjustmentContent:
    """All that the manager's letter about an adjustment says.

    Parameters
    ----------
    adjustment
        What the workplace changes, and from when to when.
    recipient
        The manager it goes to.
    area
        Name of the worker's area, also the last line of the address.
    contact
        The service that writes.
    by, on
        Who signs it, and on which day.

    Raises
    ------
    BadInput
        For a measure or a name that no letter can hold.
    """
    worker = adjustment.case.worker
    position = without_area(_position(recipient), area)
    return AdjustmentContent(
        worker=StaffIdentity(worker.called, worker.staff_number),
        recipient=Recipient(recipient.called, position, () if area in position else (area,)),
        area=area,
        measures=tuple(Measure(text) for text in adjustment.measures),
        start_on=adjustment.start_on,
        end_on=adjustment.end_on,
        review_on=adjustment.review_on,
        contact=contact,
        reference=adjustment.ref,
        dated_on=on,
        signed_by=by.called,
        signed_position=_position(by),
    )


def plan_content(
    *,
    worker: Worker,
    sections: Iterable[PlanSection],
    red_flags: Iterable[str],
    next_look_on: date | None,
    contact: Contact,
    reference: str,
    edition: str,
    on: date,
) -> PlanContent:
    """All that a worker's plan says; sections without a line are left out.

    Raises
    ------
    BadInput
        Where the worker's date of birth is not known: a plan carries two identifiers.
    """
    if worker.born_on is None:
        raise BadInput(
            what="The worker's date of birth is not known.",
            why="A plan carries two identifiers, so that nobody takes home another's.",
            todo="Have it added to the staff list, then make the plan.",
        )
    return PlanContent(
        worker=PersonalIdentity(worker.called, worker.born_on),
        made_on=on,
        sections=tuple(sections),
        next_look_on=next_look_on,
        red_flags=tuple(red_flags),
        contact=contact,
        reference=reference,
        edition=edition,
        large_print=False,
    )


def plan_section(heading: str, lines: Iterable[tuple[str, str]]) -> PlanSection | None:
    """Lines with the short names of their sources under one heading; None when there is no line.

    Examples
    --------
    >>> plan_section("Cream", [("At breaks.", "Common practice")]).lines[0].source_label
    'Common practice'
    >>> plan_section("Cream", []) is None
    True
    """
    made = tuple(PlanLine(text, source) for text, source in lines)
    return PlanSection(heading, made) if made else None


def without_area(position: str, area: str) -> str:
    """A position without the area it ends with: the area has its own line.

    Examples
    --------
    >>> without_area("Manager, Ward 7", "Ward 7"), without_area("Ward manager", "Ward 7")
    ('Manager', 'Ward manager')
    """
    for between in (", ", " - ", " – "):
        if bare := position.removesuffix(f"{between}{area}"):
            position = bare
    return position


def _position(person: User) -> str:
    return person.position or person.get_access_display()
