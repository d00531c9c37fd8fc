"""How often a self-report was right: of whom, asked what, and against whose eyes."""

from typing import Literal

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.entries import STRICT, KnownAs, OtherView

Recall = Literal["now", "12 months"]
Question = Literal["direct", "symptoms"]
Count = Field(ge=0)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class SelfReportAccuracy:
    """Answers of one role to one kind of question, set against an examination of the same people.

    `wrong_no` had hand trouble and answered no. The counts, not only the shares, are kept: they say how sure
    the shares are.
    """

    id: str
    says: str
    role: str
    recall: Recall
    question: Question
    right_yes: int = Count
    wrong_yes: int = Count
    wrong_no: int = Count
    right_no: int = Count
    source: str
    locator: str
    known_as: KnownAs
    note: str = ""
    other_view: tuple[OtherView, ...] = ()
    why_in_use: str = ""

    @property
    def with_trouble(self) -> int:
        """People in whom hand trouble was found."""
        return self.right_yes + self.wrong_no

    @property
    def without_trouble(self) -> int:
        """People in whom none was found."""
        return self.right_no + self.wrong_yes

    @property
    def sensitivity(self) -> float:
        """Share of people with trouble who answered yes. [0 to 1]"""
        return self.right_yes / self.with_trouble

    @property
    def specificity(self) -> float:
        """Share of people without trouble who answered no. [0 to 1]"""
        return self.right_no / self.without_trouble

    @property
    def in_words(self) -> str:
        """Both shares with the people they were found in: `sensitivity 28 % of 43, specificity ...`."""
        return (
            f"sensitivity {100 * self.sensitivity:.0f} % of {self.with_trouble}, "
            f"specificity {100 * self.specificity:.0f} % of {self.without_trouble}"
        )


def useless(accuracy: SelfReportAccuracy) -> list[tuple[str, str]]:
    """What in an accuracy can't be used: the fault, and why it matters."""
    if not accuracy.with_trouble or not accuracy.without_trouble:
        return [("has nobody with, or nobody without, hand trouble", "One of the two shares is not known.")]
    if accuracy.sensitivity + accuracy.specificity <= 1:
        return [("is no better than a coin", "Nothing can be corrected by it.")]
    return []
