"""Properties try hundreds of cases each: left out of `make check`, run by `make test`."""

from pathlib import Path

import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything in this folder, so that `-m "not slow"` leaves it out."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.slow)
