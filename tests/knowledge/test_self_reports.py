"""How often self-reports are right is kept with its counts, and a slip in them is refused."""

import pytest

from thenar.knowledge import KnowledgeError, load

FILE = "population/self_report.toml"
BOOK = load()


def test_every_accuracy_has_a_page_with_its_people():
    for accuracy in BOOK.self_reports.values():
        entry = BOOK.entry(accuracy.id)
        assert entry.kind == "self-report"
        assert f"of {accuracy.with_trouble}" in entry.history[-1].says


def test_a_role_time_and_question_mean_one_accuracy():
    keys = [(one.role, one.recall, one.question) for one in BOOK.self_reports.values()]
    assert len(keys) == len(set(keys))


def test_counts_that_were_worked_out_say_so():
    for accuracy in BOOK.self_reports.values():
        assert "worked out" in accuracy.note, accuracy.id


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("right_yes = 122", "right_yes = 10", "self-report.nurse.now.direct is no better than a coin"),
        ("wrong_no = 0\nright_no = 57", "wrong_no = 0\nright_no = 0", "is no better than a coin"),
        (
            "right_yes = 12\nwrong_yes = 0\nwrong_no = 31",
            "right_yes = 0\nwrong_yes = 0\nwrong_no = 0",
            "nobody with",
        ),
        ('recall = "now"', 'recall = "then"', "self-report.nurse.now.direct].recall"),
        ("wrong_no = 113", "wrong_no = -1", "self-report.nurse.now.direct].wrong_no"),
        ('source = "parsons-2020"', 'source = "parson"', "cites 'parson'"),
    ],
)
def test_a_slip_is_refused_by_name(shipped_copy, old, new, says):
    shipped_copy.change(FILE, old, new)
    with pytest.raises(KnowledgeError) as refusal:
        shipped_copy.load()
    assert FILE in refusal.value.what
    assert says in refusal.value.what
