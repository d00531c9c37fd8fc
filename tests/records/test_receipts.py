"""A form sent twice makes one record and shows the same receipt."""

import pytest

from tests.conftest import NOW
from thenar.records.models import FormReceipt
from thenar.records.receipts import SameKeyOtherContent, taken_once


def take(key: str, body: dict[str, object], made: list[str]) -> str:
    def write() -> str:
        made.append(f"record {len(made) + 1}")
        return made[-1]

    return taken_once(key=key, form="demo", body=body, now=NOW, write=write)


def test_the_same_form_twice_makes_one_record_and_one_receipt(db: None) -> None:
    made: list[str] = []
    assert take("k", {"a": "1"}, made) == take("k", {"a": "1"}, made) == "record 1"
    assert made == ["record 1"]


def test_two_forms_make_two_records(db: None) -> None:
    made: list[str] = []
    assert take("k1", {"a": "1"}, made) != take("k2", {"a": "1"}, made)


def test_the_same_key_with_other_content_is_refused(db: None) -> None:
    made: list[str] = []
    take("k", {"a": "1"}, made)
    with pytest.raises(SameKeyOtherContent):
        take("k", {"a": "2"}, made)
    assert made == ["record 1"]


def test_a_write_that_fails_leaves_no_receipt(db: None) -> None:
    def fails() -> str:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        taken_once(key="k", form="demo", body={}, now=NOW, write=fails)
    assert not FormReceipt.objects.exists()
    assert take("k", {}, []) == "record 1"
