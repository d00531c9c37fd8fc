"""Clinical entries, letters and audit rows can't be changed or deleted, whoever tries."""

import pytest
from django.db import Error, connection, transaction

from tests.conftest import NOW, House
from thenar.records.actions.cases import open_case
from thenar.records.models import AuditRow, Case

WRITTEN_ONCE = [
    "records_skincheck",
    "records_checksorting",
    "records_case",
    "records_caseclosing",
    "records_examination",
    "records_plan",
    "records_adjustment",
    "records_letter",
    "records_letterstep",
    "records_review",
    "records_reviewoutcome",
    "records_auditrow",
]


def test_a_case_cannot_be_changed(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(Error, match="written once"), transaction.atomic():
        Case.objects.filter(pk=case.pk).update(opened_on=NOW.date().replace(day=1))
    case.refresh_from_db()
    assert case.opened_on == NOW.date()


def test_a_case_cannot_be_deleted(house: House) -> None:
    open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(Error, match="written once"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM records_case")
    assert Case.objects.count() == 1


def test_an_audit_row_cannot_be_changed(house: House) -> None:
    open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(Error, match="written once"), transaction.atomic():
        AuditRow.objects.update(who="nobody")


@pytest.mark.parametrize("table", WRITTEN_ONCE)
def test_every_such_table_has_its_guards(db: None, table: str) -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT count(*) FROM sqlite_master WHERE type='trigger' AND tbl_name=%s", [table])
            assert cursor.fetchone()[0] == 2  # one against UPDATE, one against DELETE
        else:
            cursor.execute(
                "SELECT count(DISTINCT event_manipulation) FROM information_schema.triggers "
                "WHERE event_object_table=%s",
                [table],
            )
            assert cursor.fetchone()[0] == 2
