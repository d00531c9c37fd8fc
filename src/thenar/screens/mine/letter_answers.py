"""What a worker may answer to a letter, and what follows from each answer, in plain words."""

from dataclasses import dataclass

from django import forms
from django.http import QueryDict

from thenar.records.letter_states import LetterState, Step
from thenar.records.models import Letter

_LONGEST = 2000
_STANDS = {  # what counts most comes first
    Step.RELEASED: "Sent to {name}, with your yes. To change anything, speak to occupational health.",
    Step.WITHDRAWN: "Stopped. It was not sent.",
    Step.REFUSED: "You said no. It was not sent, and {name} was told nothing.",
    Step.CONSENTED: "You said yes. Occupational health can send it to {name}. Until then you can stop it.",
    Step.COMMENTED: "Occupational health has your comment. Nothing is sent unless you say yes.",
    Step.SEE_DECLINED: "You did not need to see it. Nothing is sent unless you say yes.",
    Step.SEEN: "You have read it. Nothing is sent unless you say yes.",
    Step.OFFERED: "Occupational health would like to send it to {name}. Nothing is sent unless you say yes.",
}


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to choose, with what follows."""

    step: Step
    label: str
    follows: str


def answers_to(letter: Letter, state: LetterState) -> tuple[Answer, ...]:
    """The worker's answers at this point of the road; none once it has ended."""
    name = letter.recipient.called
    if state.ended:
        return ()
    if Step.CONSENTED in state.taken:
        return (
            Answer(Step.WITHDRAWN, "Stop this letter", f"It can't be sent any more. {name} is told nothing."),
            Answer(Step.COMMENTED, "Say something about it", "Your yes stands. To hold it back, stop it."),
        )
    refuse = Answer(
        Step.REFUSED,
        "No, do not send it",
        f"It is never sent. {name} is told nothing, and you are cared for just the same.",
    )
    if not {Step.SEEN, Step.SEE_DECLINED} & set(state.taken):
        return (
            Answer(Step.SEEN, "Show me the letter", "Nothing is sent. You answer after you have read it."),
            Answer(
                Step.SEE_DECLINED, "I don't need to see it", "Nothing is sent yet. We still ask for your yes."
            ),
            refuse,
        )
    return (
        Answer(
            Step.CONSENTED,
            f"Yes, send it to {name}",
            f"Occupational health can send these words, to {name} only. Until then you can stop it.",
        ),
        Answer(
            Step.COMMENTED,
            "I have a question, or want something changed",
            "Nothing is sent. Occupational health reads what you write and comes back to you.",
        ),
        refuse,
    )


def where_it_stands(letter: Letter, state: LetterState) -> str:
    """The state of a letter, as its worker reads it."""
    name = letter.recipient.called
    latest_that_counts = next((step for step in _STANDS if step in state.taken), Step.OFFERED)
    return _STANDS[latest_that_counts].format(name=name)


class AnswerForm(forms.Form):
    """The worker's answer, and what they would like to say with it."""

    step = forms.ChoiceField(label="Your answer", widget=forms.RadioSelect)
    comment = forms.CharField(
        label="What would you like to say?",
        help_text="Occupational health reads it. It is not part of the letter.",
        max_length=_LONGEST,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, letter: Letter, state: LetterState, typed: QueryDict | None = None) -> None:
        super().__init__(data=typed)
        self.offered = answers_to(letter, state)
        # Every step is taken in, also one whose turn has passed: sent twice, it must find its receipt.
        self.fields["step"].choices = [(step.value, step.value) for step in Step]  # type: ignore[attr-defined]
        self.fields["step"].error_messages |= {
            "required": "Choose one. Nothing is sent unless you say yes.",
            "invalid_choice": "Choose one of the answers. Nothing is sent unless you say yes.",
        }
        if not {Step.COMMENTED, Step.CONSENTED} & {answer.step for answer in self.offered}:
            del self.fields["comment"]

    def rows(self) -> list[tuple[Answer, bool]]:
        """Every answer, and whether it is chosen."""
        return [(answer, self["step"].value() == answer.step.value) for answer in self.offered]

    def clean(self) -> dict[str, object]:
        """A comment needs words."""
        cleaned = super().clean() or {}
        if cleaned.get("step") == Step.COMMENTED and not str(cleaned.get("comment", "")).strip():
            self.add_error(
                None if "comment" not in self.fields else "comment", "Write your question or comment."
            )
        return cleaned
