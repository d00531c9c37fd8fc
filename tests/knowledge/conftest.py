"""Copies of the shipped knowledge that a test may spoil."""

from pathlib import Path
from shutil import copytree

import pytest

from thenar.knowledge import Book, book, load


class Copy:
    """The shipped files in a folder of their own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def change(self, name: str, old: str, new: str) -> None:
        """Replace the first `old` in a file by `new`."""
        path = self.folder / name
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{name} has no {old!r} to spoil"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    def append(self, name: str, more: str) -> None:
        """Add to the end of a file."""
        with (self.folder / name).open("a", encoding="utf-8") as file:
            file.write(more)

    def load(self) -> Book:
        """Read the copy as it now stands."""
        return load.__wrapped__()


@pytest.fixture
def shipped_copy(tmp_path, monkeypatch) -> Copy:
    folder = tmp_path / "knowledge"
    copytree(book.FOLDER, folder)
    monkeypatch.setattr(book, "FOLDER", folder)
    return Copy(folder)
