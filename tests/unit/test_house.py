"""The house stands as it is drawn: who may query, and what no file may speak of."""

import ast
import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "thenar"
SCREENS = sorted((SOURCE / "screens").rglob("*.py"))
EVERY_MODULE = sorted(path for path in SOURCE.rglob("*.py") if "migrations" not in path.parts)


def attributes(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}


def test_there_are_screens_to_look_at() -> None:
    assert len(SCREENS) > 20


@pytest.mark.parametrize("path", SCREENS, ids=lambda path: str(path.relative_to(SOURCE)))
def test_screens_never_query_the_models_themselves(path: Path) -> None:
    # Reads go through records.queries, writes through records.actions: they ask for the right and note it.
    assert "objects" not in attributes(path)


@pytest.mark.parametrize("path", EVERY_MODULE, ids=lambda path: str(path.relative_to(SOURCE)))
def test_every_module_says_what_it_answers(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not text.strip() or ast.get_docstring(ast.parse(text))


@pytest.mark.parametrize("name", ["utils.py", "helpers.py", "common.py", "services.py"])
def test_there_is_no_drawer_for_everything(name: str) -> None:
    assert not list(SOURCE.rglob(name))


@pytest.mark.parametrize("path", EVERY_MODULE, ids=lambda path: str(path.relative_to(SOURCE)))
def test_pure_rooms_and_actions_read_no_clock(path: Path) -> None:
    room = path.relative_to(SOURCE).parts[0]
    if (
        room in {"skin", "exposure", "allergy", "population", "programme", "knowledge"}
        or "actions" in path.parts
    ):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\b(date\.today|datetime\.now|timezone\.now|time\.time)\(", text)
