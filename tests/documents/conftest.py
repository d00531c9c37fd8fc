"""Letters and plans for invented people at Saltmere, and ways to read a PDF back."""

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pypdf
import pytest

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

CONTACT = Contact(
    "Occupational Health, Saltmere Hospital", "01632 960 114", "occupational.health@saltmere.example"
)
LETTER = AdjustmentContent(
    worker=StaffIdentity("Aleksandra Wiśniewska", "204417"),
    recipient=Recipient(
        "Hannah Okonkwo", "Ward manager", ("Ward 7, Acute Medicine", "Quay Road", "Saltmere SM1 4QT")
    ),
    area="Ward 7, Acute Medicine",
    measures=(
        Measure("No dishwashing, instrument washing or cleaning tasks."),
        Measure("Duties without direct patient contact."),
    ),
    start_on=date(2026, 12, 1),
    end_on=date(2027, 1, 12),
    review_on=date(2027, 1, 5),
    contact=CONTACT,
    reference="7K2M-9QX4-TB",
    dated_on=date(2026, 11, 25),
    signed_by="Ingrid Sørensen",
    signed_position="Occupational health nurse",
)
PLAN = PlanContent(
    worker=PersonalIdentity("Aleksandra Wiśniewska", date(1984, 3, 2)),
    made_on=date(2026, 11, 25),
    sections=tuple(
        PlanSection(
            heading,
            tuple(
                PlanLine(
                    f"{heading} line {number}: dry the webs between your fingers too.", f"{heading} source"
                )
                for number in range(1, 9)
            ),
        )
        for heading in ("Washing", "Cream", "Gloves", "Home")
    ),
    next_look_on=date(2026, 12, 16),
    red_flags=("Pus, wet or weeping skin.", "Pain that grows.", "A fever."),
    contact=CONTACT,
    reference="PLAN-4TZ8",
    edition="2026.1",
    large_print=False,
)


@pytest.fixture
def make_letter() -> Callable[..., AdjustmentContent]:
    """A letter like the first, with some of it changed."""
    return lambda **changes: replace(LETTER, **changes)


@pytest.fixture
def make_plan() -> Callable[..., PlanContent]:
    """A plan like the first, with some of it changed."""
    return lambda **changes: replace(PLAN, **changes)


@pytest.fixture
def read_pdf() -> Callable[[bytes], pypdf.PdfReader]:
    return lambda pdf: pypdf.PdfReader(io.BytesIO(pdf))


@pytest.fixture
def words_of() -> Callable[[bytes], list[str]]:
    """The text of each page as one line, so that a line break in print breaks no phrase."""

    def read(pdf: bytes) -> list[str]:
        pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
        return [" ".join(page.extract_text().split()) for page in pages]

    return read
