"""Advice to workers is short and plain.

Sentences of at most 20 words, for a reading age of 9 to 11 (NHS content standard, how we write). The grade is
Flesch-Kincaid (Kincaid and others, 1975): 0.39 x words per sentence + 11.8 x syllables per word - 15.59; US
grade 6 ends at age 11 to 12. On a line of few words one long word decides the grade, so lines under ten words
are judged by their sentences only.
"""

import re

import pytest

from thenar.knowledge import load

BOOK = load()
TO_MANAGERS = "adjustment."
LINES = {line.id: line for line in BOOK.lines.values() if not line.topic.startswith(TO_MANAGERS)}
SHORT = 10


def words(text: str) -> list[str]:
    return re.findall(r"[A-Za-z0-9']+", text)


def sentences(text: str) -> list[str]:
    return [part for part in re.split(r"[.!?:]+(?:\s|$)", text) if part.strip()]


def syllables(word: str) -> int:
    """Groups of vowels, without a silent ending."""
    word = word.lower()
    groups = len(re.findall(r"[aeiouy]+", word))
    silent = re.search(r"[^aeiouyl]e$|[^aeiouytd]ed$|[^aeiouysxz]es$", word) and not re.search(
        r"(ch|sh)es$", word
    )
    return max(groups - bool(silent), 1)


def grade(text: str) -> float:
    said = words(text)
    return 0.39 * len(said) / len(sentences(text)) + 11.8 * sum(map(syllables, said)) / len(said) - 15.59


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("hand", 1),
        ("cream", 1),
        ("alone", 2),
        ("water", 2),
        ("used", 1),
        ("eczema", 3),
        ("patients", 2),
        ("little", 2),
    ],
)
def test_syllables_are_counted_as_spoken(word, count):
    assert syllables(word) == count


def test_the_grade_agrees_with_the_formula_worked_by_hand():
    # Two sentences, 8 words, 9 syllables (one two-syllable word): 0.39 x 4 + 11.8 x 9/8 - 15.59 = -0.755
    assert grade("Pat your hands dry. Use warm water, please.") == pytest.approx(-0.755)


@pytest.mark.parametrize("line_id", LINES)
def test_every_sentence_has_at_most_20_words(line_id):
    for sentence in sentences(LINES[line_id].says):
        assert len(words(sentence)) <= 20, sentence


@pytest.mark.parametrize("line_id", [line.id for line in LINES.values() if len(words(line.says)) >= SHORT])
def test_every_line_reads_at_grade_6_or_below(line_id):
    assert grade(LINES[line_id].says) <= 6, LINES[line_id].says
