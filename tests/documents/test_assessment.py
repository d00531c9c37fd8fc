"""The assessment on paper: tagged, complete, numbered page by page, and safe from what is typed into it."""

import io
import re
from dataclasses import replace
from datetime import date

import pypdf
import pytest

from thenar.documents.assessment import (
    AssessmentContent,
    LoadLine,
    MeasureLine,
    RoleFinding,
    VerdictLine,
    assessment_pdf,
    from_json,
    to_json,
)
from thenar.documents.letters import Contact
from thenar.errors import BadInput

ROLE = RoleFinding(
    role="Nurse",
    standing="12 people, shifts of 8 h. Watched for 30 h.",
    loads=(LoadLine("Washes", "Early", "24", "13 to 38", ("15 or more: 94 % (80 to over 99 %)",)),),
    shift="Early",
    verdicts=(VerdictLine("TRGS 401 (2022) (governs here)", "wet work", "at least offer", "24.4, 9.4 over"),),
    trust="Observe, don't ask.",
    cautions=("People who are watched cleanse their hands more often.",),
    asked=("12 of these could be rubs.",),
    both_reasons=("Washing. Infection control: none. The skin: gloves.",),
)
CONTENT = AssessmentContent(
    area="Plover Ward",
    number=3,
    assessed_on=date(2026, 11, 25),
    review_on=date(2027, 5, 25),
    assessed_by="Ingrid Sørensen",
    position="Occupational health nurse",
    contact=Contact("Occupational Health", "01632 960 114", "oh@saltmere.example"),
    rules_say="TRGS 401 (2022) governs here.",
    rubs_say="Alcohol rubs are not wet contact",
    own_words=("Bowls are washed by hand.",),
    roles=(ROLE,),
    never_watched=("Cleaner: nobody has watched this work.",),
    in_place=(
        MeasureLine(
            "Stop doing it", "Gloves off", "Nurse", "Ward manager", date(2026, 12, 1), date(2027, 3, 1)
        ),
    ),
    actions=(MeasureLine("Protect the hands", "Cream", "All roles", "OH", date(2026, 12, 9), None),),
    cautions=("Local policy decides.",),
    sources=("Washes. TRGS 401 (2022)",),
    edition="2026.1",
)
MARKUP = ('#read("/etc/passwd")', "$x$", "*bold*", "@ref", "<b>", "_it_", "// no", "\\ #panic()")


def words_on(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())


def test_everything_it_holds_is_on_paper() -> None:
    paper = words_on(assessment_pdf(CONTENT))
    for words in (
        "Plover Ward",
        "assessment 3",
        "25 November 2026",
        "25 May 2027",
        "Bowls are washed by hand.",
        "13 to 38",
        "94 % (80 to over 99 %)",
        "Tier: at least offer",
        "Observe, don't ask.",
        "12 of these could be rubs.",
        "Cleaner: nobody has watched this work.",
        "1 December 2026",
        "Local policy decides.",
        "Where the figures come from",
    ):
        assert words in paper


def test_it_is_tagged_and_every_page_is_numbered() -> None:
    long = replace(CONTENT, roles=tuple(replace(ROLE, role=f"Role {number}") for number in range(8)))
    reader = pypdf.PdfReader(io.BytesIO(assessment_pdf(long, demo=True)))
    # ISO 14289-1 section 5: the identifier that makes a file claim PDF/UA-1.
    assert re.search(rb"pdfuaid:part>\s*1\s*<", reader.trailer["/Root"]["/Metadata"].get_data())
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    count = len(reader.pages)
    assert count > 1
    for number, page in enumerate(reader.pages, start=1):
        assert f"Page {number} of {count}" in page.extract_text()
        assert "Saltmere is invented" in page.extract_text()


def test_the_same_content_gives_the_same_bytes() -> None:
    assert assessment_pdf(CONTENT) == assessment_pdf(CONTENT)


@pytest.mark.parametrize("typed", MARKUP)
def test_what_is_typed_is_never_read_as_markup(typed: str) -> None:
    assert typed in words_on(assessment_pdf(replace(CONTENT, own_words=(f"Before {typed} after",))))


def test_it_is_kept_as_json_and_read_back_the_same() -> None:
    assert from_json(to_json(CONTENT)) == CONTENT


def test_a_kept_one_that_can_not_be_read_names_the_field_and_not_its_content() -> None:
    with pytest.raises(BadInput) as problem:
        from_json({**to_json(CONTENT), "area": ["secret"]})
    assert "area" in problem.value.what
    assert "secret" not in str(problem.value)


def test_a_review_before_the_assessment_is_refused() -> None:
    with pytest.raises(BadInput, match="before the assessment"):
        replace(CONTENT, review_on=date(2026, 1, 1))


def test_a_report_that_is_not_kept_has_no_number() -> None:
    paper = words_on(assessment_pdf(replace(CONTENT, number=None, review_on=None)))
    assert "What work does to hands: report" in paper
    assert "not set" in paper
