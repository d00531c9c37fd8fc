"""Who did and who looked: a chain in which nothing vanishes unseen."""

import random
from unittest import mock

import pytest
from django.db import connection, transaction

from tests.conftest import NOW, House
from thenar.records.audit import broken_rows, note
from thenar.records.models import AuditHead, AuditRow


def write_rows(house: House, count: int) -> None:
    for number in range(count):
        note("looked", by=house.alice, now=NOW, worker_ref=house.wanda.ref, why=f"look {number}")


def tamper(sql: str, parameters: list[object]) -> None:
    """Change a row behind the product's back, with the guards off, as someone with the database could."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("DROP TRIGGER IF EXISTS records_auditrow_no_update")
            cursor.execute("DROP TRIGGER IF EXISTS records_auditrow_no_delete")
        else:
            cursor.execute("ALTER TABLE records_auditrow DISABLE TRIGGER USER")
        cursor.execute(sql, parameters)


def test_an_untouched_chain_holds(house: House) -> None:
    write_rows(house, 20)
    assert list(broken_rows()) == []


@pytest.mark.parametrize("field", ["who", "event", "why", "worker_ref", "access", "data_class", "target"])
def test_a_changed_field_is_found(house: House, field: str) -> None:
    write_rows(house, 9)
    row = AuditRow.objects.order_by("pk")[random.Random(field).randrange(9)]
    tamper(f"UPDATE records_auditrow SET {field} = %s WHERE id = %s", ["x", row.pk])
    assert row.pk in list(broken_rows())


def test_a_deleted_row_is_found(house: House) -> None:
    write_rows(house, 9)
    row = AuditRow.objects.order_by("pk")[4]
    tamper("DELETE FROM records_auditrow WHERE id = %s", [row.pk])
    assert list(broken_rows())


def test_a_deleted_last_row_is_found(house: House) -> None:
    write_rows(house, 9)
    last = AuditRow.objects.order_by("pk").last()
    assert last is not None
    tamper("DELETE FROM records_auditrow WHERE id = %s", [last.pk])
    assert list(broken_rows()) == [-1]


def test_two_rows_with_the_same_predecessor_are_refused_by_the_database(house: House) -> None:
    write_rows(house, 2)
    first = AuditRow.objects.order_by("pk").first()
    assert first is not None
    AuditHead.objects.update(hash=first.previous_hash)
    with pytest.raises(Exception, match=r"(?i)unique"), transaction.atomic():
        write_rows(house, 1)


def test_a_row_outside_a_transaction_is_refused(house: House) -> None:
    class Outside:
        in_atomic_block = False

    with (
        mock.patch("thenar.records.audit.transaction.get_connection", return_value=Outside()),
        pytest.raises(RuntimeError, match="transaction"),
    ):
        note("looked", by=house.alice, now=NOW)
