"""One page of the check as a form: what was ticked, turned into answers and back."""

from collections.abc import Mapping

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from thenar.knowledge import Question
from thenar.skin.triage_table import NO, NOT_SURE, YES, Page

NONE = "none"
_NOTHING_CHOSEN = "Choose an answer. If you can't tell, choose “Not sure”."
_CONTRADICTS = "You ticked a yes and also “None of these”. Take one of them away."
_NONE_AND_UNSURE = "You ticked “None of these” and also “Not sure”. Take one of them away."

Option = tuple[str, str, str]  # value, label, hint


class PageForm(forms.Form):
    """The rows of one page. Ticked means yes; the rest is no, or not sure where the worker says so."""

    def __init__(
        self, page: Page, typed: QueryDict | None = None, *, initial: list[str] | None = None
    ) -> None:
        super().__init__(data=typed, auto_id="%s")
        self.page = page
        kind = _OneAnswer if is_single(page) else _SomeAnswers
        self.fields["answer"] = kind(page, initial or [])

    def answers(self) -> dict[str, str]:
        """The answer to each question of the page, once the form is valid."""
        chosen = self.cleaned_data["answer"]
        if is_single(self.page):
            return {self.page.questions[0].id: chosen}
        rest = NOT_SURE if NOT_SURE in chosen else NO
        return {question.id: YES if question.id in chosen else rest for question in self.page.questions}

    def rows(self) -> list[tuple[Option, bool]]:
        """Every row to choose from, and whether it is chosen."""
        value = self["answer"].value() or []
        chosen = {value} if isinstance(value, str) else set(value)
        return [(option, option[0] in chosen) for option in options(self.page)]


class _SomeAnswers(forms.MultipleChoiceField):
    """Any number of rows, or "None of these", or "Not sure"."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, page: Page, initial: list[str]) -> None:
        choices = [(value, label) for value, label, _ in options(page)]
        super().__init__(label=page.asks, choices=choices, initial=initial)
        self.error_messages |= {"required": _NOTHING_CHOSEN, "invalid_choice": _NOTHING_CHOSEN}

    def validate(self, value: list[str]) -> None:
        """Refuse what says yes and no at once."""
        super().validate(value)
        if NONE in value and len(value) > 1:
            raise ValidationError(_NONE_AND_UNSURE if set(value) == {NONE, NOT_SURE} else _CONTRADICTS)


class _OneAnswer(forms.ChoiceField):
    """One row of several."""

    widget = forms.RadioSelect

    def __init__(self, page: Page, initial: list[str]) -> None:
        choices = [(value, label) for value, label, _ in options(page)]
        super().__init__(label=page.asks, choices=choices, initial=initial[0] if initial else None)
        self.error_messages |= {"required": _NOTHING_CHOSEN, "invalid_choice": _NOTHING_CHOSEN}


def is_single(page: Page) -> bool:
    """Whether the page takes one answer: a lone question is easier as yes, no, not sure."""
    return len(page.questions) == 1


def options(page: Page) -> list[Option]:
    """The rows of a page; "Not sure" is always the last."""
    if not is_single(page):
        asked = [(question.id, question.asks, question.hint) for question in page.questions]
        return [*asked, (NONE, "None of these", ""), (NOT_SURE, "Not sure", "Or not sure about the rest.")]
    question = page.questions[0]
    if question.answers:
        given = zip(question.answers, question.labels, strict=True)
        return [*((answer, label, "") for answer, label in given), (NOT_SURE, "Not sure", "")]
    return [(YES, "Yes", ""), (NO, "No", ""), (NOT_SURE, "Not sure", "")]


def chosen_before(page: Page, answers: Mapping[str, str]) -> list[str]:
    """The rows that gave these answers; empty when the page was not answered."""
    given = [(question.id, answers.get(question.id)) for question in page.questions]
    if not is_answered(page, answers):
        return []
    if is_single(page):
        return [str(given[0][1])]
    ticked = [question for question, answer in given if answer == YES]
    if any(answer == NOT_SURE for _, answer in given):
        return [*ticked, NOT_SURE]
    return ticked or [NONE]


def is_answered(page: Page, answers: Mapping[str, str]) -> bool:
    """Whether every question of the page has an answer."""
    return all(question.id in answers for question in page.questions)


def answer_in_words(question: Question, answer: str | None) -> str:
    """An answer as the worker chose it."""
    if answer is None:
        return "Not answered"
    words = {YES: "Yes", NO: "No", NOT_SURE: "Not sure"} | dict(
        zip(question.answers, question.labels, strict=True)
    )
    return words.get(answer, answer)
