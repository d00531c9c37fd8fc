"""What the README and the docs say is true."""

import doctest
import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from thenar.cli import main

ROOT = Path(__file__).parents[2]
PAGES = sorted(
    [
        *ROOT.glob("*.md"),
        *(ROOT / "docs").rglob("*.md"),
        *(ROOT / "src" / "thenar" / "knowledge").glob("*.md"),
    ]
)
TARGETS = set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))


def text_of(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def test_the_readme_example_gives_what_it_says() -> None:
    results = doctest.testfile(str(ROOT / "README.md"), module_relative=False)
    assert results.attempted >= 8
    assert results.failed == 0


def test_the_readme_command_answers() -> None:
    line = next(line for line in text_of(ROOT / "README.md").splitlines() if line.startswith("$ echo"))
    _, sent, _, *command = shlex.split(line[2:])
    answer = CliRunner().invoke(main, command[1:], input=sent)
    assert answer.exit_code == 0
    assert '"urgency": "prompt"' in answer.stdout


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, paragraph, *_ = text_of(ROOT / "README.md").split("\n\n")
    assert title == "# Thenar"
    assert "practitioner" in paragraph


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_and_picture_is_there(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text_of(page)):
        if "://" not in target:
            assert (page.parent / target).exists(), f"{page.name} points to {target}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_make_target_named_is_one(page: Path) -> None:
    named = set(re.findall(r"`(?:[A-Z]+=\S+ )?make ([a-z-]+)", text_of(page)))
    assert named <= TARGETS


@pytest.mark.parametrize(
    "page", sorted((ROOT / "docs" / "decisions").glob("*.md")), ids=lambda page: page.stem
)
def test_a_decision_is_numbered_as_its_file_and_says_what_would_change_our_mind(page: Path) -> None:
    text = text_of(page)
    assert text.startswith(f"# {page.name[:4]} ")
    for part in ("Date:", "**What we faced.**", "**What we chose.**", "**What would change our mind.**"):
        assert part in text


def test_every_setting_is_documented_and_every_documented_one_exists() -> None:
    read = {
        name
        for path in (ROOT / "src").rglob("*.py")
        for name in re.findall(r"""environ(?:\.get\(|\[)["'](THENAR_[A-Z_]+)""", text_of(path))
    }
    told = set(re.findall(r"`(THENAR_[A-Z_]+)`", text_of(ROOT / "docs" / "reference" / "settings.md")))
    assert read == told
