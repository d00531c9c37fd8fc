"""Letters and plans read back from the record, and sent to a browser as PDF."""

from django.http import HttpResponse

from thenar.documents.letters import AdjustmentContent, PlanContent, from_json
from thenar.records.models import Letter, Plan


def letter_content(letter: Letter) -> AdjustmentContent:
    """What a kept letter says."""
    content = from_json(letter.content)
    assert isinstance(content, AdjustmentContent)
    return content


def plan_content(plan: Plan) -> PlanContent:
    """What a kept plan says."""
    content = from_json(plan.content)
    assert isinstance(content, PlanContent)
    return content


def pdf_page(pdf: bytes, name: str) -> HttpResponse:
    """A PDF shown in the browser. `name` holds a reference, never a person's name."""
    response = HttpResponse(pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
