"""Everything that is kept."""

from thenar.records.models.audit import AuditHead, AuditRow
from thenar.records.models.cases import Case, CaseClosing, Examination, Plan, Review, ReviewOutcome
from thenar.records.models.checks import CheckDraft, CheckLink, CheckSorting, SkinCheck
from thenar.records.models.forms import FormReceipt, KeptTyping
from thenar.records.models.letters import Adjustment, Letter, LetterStep
from thenar.records.models.people import AccessRole, User, Worker
from thenar.records.models.places import Area, AreaManager, Post, Role
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
    "DutySearch",
    "Examination",
    "FormReceipt",
    "KeptTyping",
    "Letter",
    "LetterStep",
    "ObservedSession",
    "Plan",
    "Post",
    "RecordedControl",
    "Review",
    "ReviewOutcome",
    "Role",
    "SkinCheck",
    "StaffListImport",
    "TaskList",
    "User",
    "WorkDescription",
    "Worker",
]
