"""Who may do what: one table, asked by every action and query."""

from enum import StrEnum

from thenar.errors import NotAllowed
from thenar.records.models import AccessRole, User, Worker


class Act(StrEnum):
    """What can be done or seen, in the words an error uses."""

    SEE_TODAY = "see what waits today"
    SEE_IDENTITY = "look up workers"
    SEE_CLINICAL = "see clinical records"
    WRITE_CLINICAL = "write clinical records"
    INVITE = "invite workers to a skin check"
    IMPORT_STAFF = "read in a staff list"
    SEE_WORKPLACE = "see what work does to hands"
    OBSERVE = "count what hands do in a shift"
    WRITE_WORKPLACE = "record assessments and controls of an area"
    SEE_PRODUCTS = "see products and what they declare"
    WRITE_PRODUCTS = "record products, prices and stock"
    SEE_TEAM = "see released adjustments"
    SEE_OWN = "see their own record"
    SEE_AUDIT = "see who did what"
    SEE_RULES = "see the rules and their sources"


_P, _L, _C, _M, _W, _A, _I = (
    AccessRole.PRACTITIONER,
    AccessRole.LEAD,
    AccessRole.CLERK,
    AccessRole.MANAGER,
    AccessRole.WORKER,
    AccessRole.ADMINISTRATOR,
    AccessRole.INFECTION_PREVENTION,
)
EVERYONE = frozenset(AccessRole)

RIGHTS: dict[Act, frozenset[AccessRole]] = {
    Act.SEE_TODAY: frozenset({_P, _L}),
    Act.SEE_IDENTITY: frozenset({_P, _L, _C}),
    Act.SEE_CLINICAL: frozenset({_P, _L}),
    Act.WRITE_CLINICAL: frozenset({_P}),
    Act.INVITE: frozenset({_P, _L, _C}),
    Act.IMPORT_STAFF: frozenset({_C, _A}),
    Act.SEE_WORKPLACE: frozenset({_P, _L, _I}),
    Act.OBSERVE: frozenset({_P, _L, _I}),
    Act.WRITE_WORKPLACE: frozenset({_P, _L}),
    Act.SEE_PRODUCTS: frozenset({_P, _L, _I}),
    Act.WRITE_PRODUCTS: frozenset({_P, _L}),
    Act.SEE_TEAM: frozenset({_M}),
    Act.SEE_OWN: EVERYONE,
    Act.SEE_AUDIT: frozenset({_L, _A, AccessRole.AUDITOR}),
    Act.SEE_RULES: EVERYONE,
}


def may(user: User, act: Act) -> bool:
    """Whether this person may do this at all; which records, the queries decide."""
    return user.is_active and AccessRole(user.access) in RIGHTS[act]


def require(user: User, act: Act) -> None:
    """Refuse with NotAllowed unless `user` may."""
    if not may(user, act):
        raise NotAllowed(
            what=f"Your account can't {act}.",
            why="Records are open only to those who need them for their work.",
            todo="If you need this for your work, ask the occupational-health lead.",
        )


class NotVisible(NotAllowed):
    """There is nothing there for this person: absent and hidden read the same."""

    def __init__(self, *, by: User, target: str) -> None:
        super().__init__(
            what="There is no such page, or it is not yours to see.",
            why="Records are open only to those who need them for their work.",
            todo="Check the address, or start again from the first page.",
        )
        self.by = by
        self.target = target


def require_not_own(worker: Worker, user: User) -> None:
    """Refuse whoever would write in their own record as a clinician: nobody is their own patient."""
    if worker.user_id is not None and worker.user_id == user.pk:
        raise NotVisible(by=user, target=f"worker {worker.ref}"[:40])
