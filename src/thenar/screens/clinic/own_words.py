"""Words a practitioner types themselves: line by line, and without telling why where others read them."""

from django import forms

from thenar.documents.clinical_words import clinical_words_in

LONGEST_LINE = 240


def lines_of(text: str) -> list[str]:
    """The lines typed, without the empty ones; ask back one that is too long to print.

    Examples
    --------
    >>> lines_of("Desk work.\\n\\n No sluice work. ")
    ['Desk work.', 'No sluice work.']
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    too_long = [number for number, line in enumerate(lines, 1) if len(line) > LONGEST_LINE]
    if too_long:
        raise forms.ValidationError(
            f"Line {too_long[0]} has {len(lines[too_long[0] - 1])} characters; {LONGEST_LINE} is the most. "
            "Say it in fewer words."
        )
    return lines


def refuse_telling(text: str) -> None:
    """Ask back words that could tell why, and show them."""
    if told := clinical_words_in(text):
        raise forms.ValidationError(words_that_tell(told))


def words_that_tell(words: tuple[str, ...]) -> str:
    """What to say of words that were found."""
    shown = ", ".join(f"“{word}”" for word in words)
    return f"{shown} could tell why. Say what must change in the work, not the reason."
