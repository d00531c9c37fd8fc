"""What `thenar knowledge` promises to someone who wants to see the rules."""

import pytest
from click.testing import CliRunner

from thenar.cli import COMMANDS, exit_code, main
from thenar.errors import BadInput, Conflict, NotAllowed, ThenarError
from thenar.knowledge import KnowledgeError, load


def thenar(*arguments):
    return CliRunner().invoke(main, arguments)


def test_list_shows_every_rule_line_and_decision_with_the_edition():
    output = thenar("knowledge", "list").stdout
    book = load()
    listed = [line.split()[0] for line in output.splitlines()[:-1]]
    assert listed == list(book.entries)
    assert output.splitlines()[-1] == f"{len(book.entries)} entries, edition {book.edition}."


def test_list_can_be_narrowed_to_a_beginning():
    lines = thenar("knowledge", "list", "severity.band.").stdout.splitlines()
    assert len(lines) == 6  # five bands and the count
    assert ">= 17 points" in next(line for line in lines if line.startswith("severity.band.moderate"))


ONE_OF_EACH_KIND = {entry.kind: key for key, entry in load().entries.items()}


@pytest.mark.parametrize("key", ONE_OF_EACH_KIND.values(), ids=ONE_OF_EACH_KIND)
def test_show_works_for_each_kind(key):
    result = thenar("knowledge", "show", key)
    assert result.exit_code == 0
    assert result.stdout.startswith(key)


def test_show_names_value_source_place_standing_disagreement_and_review():
    output = thenar("knowledge", "show", "severity.band.moderate").stdout
    for words in (
        "From 2019-09-05: >= 17 points",
        "Oosterhaven and Schuttelaar, 2020, abstract, severity bands",
        "doi 10.1111/bjd.18295",
        "Others say: 12 to 27 points are called moderate",
        "(from memory)",
        "Why this one is in use",
        "skin/severity.toml",
        "due again on",
        f"Edition {load().edition}.",
    ):
        assert words in output


def test_show_keeps_the_note_of_a_value():
    assert "11 in moderate to severe" in thenar("knowledge", "show", "severity.change.yuksel-2021").stdout


def test_show_refuses_an_unknown_key_in_three_lines():
    result = thenar("knowledge", "show", "nose")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[0] == "There is no rule 'nose'."
    assert len(result.stderr.splitlines()) == 3


def test_verify_passes_while_no_review_is_overdue():
    result = thenar("knowledge", "verify", "--today", "2026-11-25")
    assert result.exit_code == 0, result.stderr
    assert "No review is overdue on 2026-11-25." in result.stdout


def test_verify_fails_with_file_and_key_once_a_review_is_overdue():
    result = thenar("knowledge", "verify", "--today", "2090-01-01")
    assert result.exit_code == 2
    assert "skin/severity.toml: reviewed.due" in result.stderr


def test_verify_refuses_a_day_that_is_none():
    result = thenar("knowledge", "verify", "--today", "2026-02-30")
    assert result.exit_code == 2
    assert "Traceback" not in result.stderr


def test_a_site_file_is_shown_with_its_own_source(tmp_path, monkeypatch):
    site = tmp_path / "saltmere.toml"
    site.write_text(
        'kind = "site"\ntitle = "Saltmere"\nwhy_it_matters = "Local policy."\n'
        'reviewed = { by = "A. Example", on = 2026-11-01, due = 2027-11-01 }\n'
        '[sources.saltmere]\ntitle = "Policy"\nby = "Saltmere infection control"\n'
        '[[line]]\nid = "care.cream.pump"\ntopic = "cream"\nsays = "Use the blue pump."\nfrom = 2026-11-01\n'
        'source = "saltmere"\nlocator = "page 1"\nknown_as = "published"\n'
    )
    monkeypatch.setenv("THENAR_SITE_KNOWLEDGE", str(site))
    output = thenar("knowledge", "show", "care.cream.pump").stdout
    assert "Use the blue pump." in output
    assert "Saltmere infection control" in output
    assert "+site-" in output


def test_help_lists_every_command():
    output = thenar("--help").stdout
    for name, command in COMMANDS.items():
        assert name in output
        assert command.does.split()[0] in output


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_can_be_called(name):
    assert thenar(name, "--help").exit_code == 0


def test_an_unknown_command_is_refused():
    result = thenar("nose")
    assert result.exit_code == 2
    assert "nose" in result.stderr


@pytest.mark.parametrize(
    ("error", "code"), [(BadInput, 2), (KnowledgeError, 2), (NotAllowed, 3), (Conflict, 4), (ThenarError, 1)]
)
def test_each_kind_of_refusal_has_its_own_exit_code(error, code):
    assert exit_code(error(what="a", why="b", todo="c")) == code
