"""Everything that is kept."""

from thenar.records.models.allergies import (
    AllergyWithdrawal,
    ConcernOutcome,
    GloveSize,
    ImmediateAllergy,
    IssuedList,
    Overruling,
    PatchReading,
    PatchRelevance,
    PatchTest,
    PatchTestEnd,
    ProductConcern,
    Sensitisation,
)
from thenar.records.models.audit import AuditHead, AuditRow
from thenar.records.models.cases import Case, CaseClosing, Examination, Plan, Review, ReviewOutcome
from thenar.records.models.checks import CheckDraft, CheckLink, CheckSorting, SkinCheck
from thenar.records.models.forms import FormReceipt, KeptTyping
from thenar.records.models.letters import Adjustment, Letter, LetterStep
from thenar.records.models.people import AccessRole, User, Worker
from thenar.records.models.places import Area, AreaManager, Post, Role
from thenar.records.models.products import (
    FormularyProposal,
    Product,
    ProductDeclaration,
    ProductPrice,
    ReadingAccepted,
    Stock,
)
from thenar.records.models.staff_lists import StaffListImport
from thenar.records.models.workplace import (
    AreaAssessment,
    DutySearch,
    ObservedSession,
    RecordedControl,
    TaskList,
    WorkDescription,
)

__all__ = [
    "AccessRole",
    "Adjustment",
    "AllergyWithdrawal",
    "Area",
    "AreaAssessment",
    "AreaManager",
    "AuditHead",
    "AuditRow",
    "Case",
    "CaseClosing",
    "CheckDraft",
    "CheckLink",
    "CheckSorting",
    "ConcernOutcome",
    "DutySearch",
    "Examination",
    "FormReceipt",
    "FormularyProposal",
    "GloveSize",
    "ImmediateAllergy",
    "IssuedList",
    "KeptTyping",
    "Letter",
    "LetterStep",
    "ObservedSession",
    "Overruling",
    "PatchReading",
    "PatchRelevance",
    "PatchTest",
    "PatchTestEnd",
    "Plan",
    "Post",
    "Product",
    "ProductConcern",
    "ProductDeclaration",
    "ProductPrice",
    "ReadingAccepted",
    "RecordedControl",
    "Review",
    "ReviewOutcome",
    "Role",
    "Sensitisation",
    "SkinCheck",
    "StaffListImport",
    "Stock",
    "TaskList",
    "User",
    "WorkDescription",
    "Worker",
]
