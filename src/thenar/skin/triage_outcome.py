"""What the triage rules that hold come to: the most serious of each, and the reasons worth telling."""

from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache

from thenar.knowledge.decision import DecisionRule
from thenar.knowledge.entries import Citation
from thenar.skin.triage_table import TriageTable


class Urgency(IntEnum):
    """How soon someone must look; a greater value is sooner."""

    SELF_CARE = 0
    ROUTINE = 1
    PROMPT = 2
    SAME_DAY = 3
    EMERGENCY = 4

    @property
    def code(self) -> str:
        """The word used in rules, records and exchange."""
        return self.name.lower()


class PatientContact(IntEnum):
    """Whether the worker may touch patients meanwhile; a greater value is stricter."""

    CONTINUE = 0
    ADJUST = 1
    STOP = 2

    @property
    def code(self) -> str:
        """The word used in rules, records and exchange."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Reason:
    """A rule that holds, and whether it by itself asks for the urgency or the patient contact reached."""

    rule_id: str
    says: str
    citation: Citation
    decisive: bool


_URGENCY = {urgency.code: urgency for urgency in Urgency}
_CONTACT = {contact.code: contact for contact in PatientContact}


@lru_cache(maxsize=65536)
def outcome_of(table: TriageTable, holding: int) -> tuple[Urgency, PatientContact, tuple[Reason, ...]]:
    """Urgency, patient contact and reasons for the rules that hold.

    A rule that gives way to a worse one that also holds still counts; it is only not told as a reason. Kept
    for the next time, for few of the possible sets of rules ever meet.

    Parameters
    ----------
    table
        The compiled rules.
    holding
        The rules that hold, one bit each, from `TriageTable.rules_that_hold`.
    """
    found = [candidate for candidate in _candidates(table) if candidate.bit & holding]
    urgency = max((each.urgency for each in found), default=Urgency.SELF_CARE)
    contact = max((each.contact for each in found), default=PatientContact.CONTINUE)
    reasons = tuple(
        each.decisive
        if each.urgency == urgency or each.contact == contact != PatientContact.CONTINUE
        else each.added
        for each in found
        if not each.gives_way_to & holding
    )
    return urgency, contact, reasons


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A rule with the reason it gives when it decides and when it only adds."""

    bit: int
    gives_way_to: int
    urgency: Urgency
    contact: PatientContact
    decisive: Reason
    added: Reason


@lru_cache(maxsize=8)
def _candidates(table: TriageTable) -> tuple[_Candidate, ...]:
    """The rules as reasons, most serious first."""
    in_order = sorted(enumerate(table.rules), key=lambda placed: _most_serious_first(placed[1]))
    return tuple(
        _Candidate(
            bit=1 << place,
            gives_way_to=sum(
                1 << other for other, worse in enumerate(table.rules) if _gives_way(rule, worse, table)
            ),
            urgency=_URGENCY[rule.urgency],
            contact=_CONTACT[rule.patient_contact],
            decisive=Reason(rule.id, rule.says, table.book.cite(rule), decisive=True),
            added=Reason(rule.id, rule.says, table.book.cite(rule), decisive=False),
        )
        for place, rule in in_order
    )


def _most_serious_first(rule: DecisionRule) -> tuple[int, int, int, str]:
    """Urgency, then patient contact, then the narrower rule, then its name: never its place in the file."""
    return -_URGENCY[rule.urgency], -_CONTACT[rule.patient_contact], -len(rule.when), rule.id


def _gives_way(rule: DecisionRule, worse: DecisionRule, table: TriageTable) -> bool:
    """Whether, when both hold, `worse` says the same of a worse level, and so `rule` would mislead.

    "No sure answer on fever" is not a reason once fever is a yes, though its rule, reading "at least", holds.
    """
    if not worse.when.keys() <= rule.when.keys():
        return False
    if _URGENCY[worse.urgency] < _URGENCY[rule.urgency]:
        return False
    if _CONTACT[worse.patient_contact] < _CONTACT[rule.patient_contact]:
        return False
    ranks = [
        (table.rank(group, rule.when[group]), table.rank(group, level)) for group, level in worse.when.items()
    ]
    return all(there >= here for here, there in ranks) and any(there > here for here, there in ranks)
