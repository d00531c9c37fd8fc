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

__all__ = [
    "Book",
    "Citation",
    "DecisionRule",
    "DecisionTable",
    "Entry",
    "Group",
    "KnowledgeError",
    "KnownAs",
    "Level",
    "Line",
    "OtherView",
    "Question",
    "Rule",
    "RuleNotInForce",
    "Source",
    "Value",
    "load",
]
