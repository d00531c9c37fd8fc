"""What the trade knows: rules and tables with their sources, and the loader that reads them."""

from thenar.knowledge.book import Book, load
from thenar.knowledge.decision import DecisionRule, DecisionTable, Group, Level, Question
from thenar.knowledge.entries import (
    Citation,
    Entry,
    KnowledgeError,
    KnownAs,
    Line,
    OtherView,
    Rule,
    RuleNotInForce,
    Source,
    Value,
)
from thenar.knowledge.risk_ratios import RiskRatio
from thenar.knowledge.self_report import SelfReportAccuracy
from thenar.knowledge.wet_work import Criterion, InWords, RuleSet, TierLimit

__all__ = [
    "Book",
    "Citation",
    "Criterion",
    "DecisionRule",
    "DecisionTable",
    "Entry",
    "Group",
    "InWords",
    "KnowledgeError",
    "KnownAs",
    "Level",
    "Line",
    "OtherView",
    "Question",
    "RiskRatio",
    "Rule",
    "RuleNotInForce",
    "RuleSet",
    "SelfReportAccuracy",
    "Source",
    "TierLimit",
    "Value",
    "load",
]
