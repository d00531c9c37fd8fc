"""The secret key: from the environment, or made once and kept in the data folder for its owner only."""

import contextlib
import os
import secrets
from pathlib import Path


def secret_key(data_folder: Path) -> str:
    """The key that signs sessions and forms; made on first use."""
    if given := os.environ.get("THENAR_SECRET_KEY"):
        return given
    path = data_folder / "secret_key"
    if not path.exists():
        data_folder.mkdir(parents=True, exist_ok=True)
        made = path.with_suffix(f".{os.getpid()}")
        with os.fdopen(os.open(made, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(64))
        with contextlib.suppress(FileExistsError):
            os.link(made, path)  # the first of several starting processes wins; the rest read its key
        made.unlink()
    return path.read_text(encoding="utf-8").strip()
