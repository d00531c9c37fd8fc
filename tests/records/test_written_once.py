"""Clinical entries, letters and audit rows can't be changed or deleted, whoever tries."""

import pytest
from django.apps import apps
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
    "records_observedsession",
    "records_workdescription",
    "records_recordedcontrol",
    "records_areaassessment",
    "records_tasklist",
    "records_dutysearch",
    "records_product",
    "records_productdeclaration",
    "records_readingaccepted",
    "records_productprice",
    "records_formularyproposal",
    "records_patchtest",
    "records_patchreading",
    "records_patchrelevance",
    "records_patchtestend",
    "records_sensitisation",
    "records_immediateallergy",
    "records_allergywithdrawal",
    "records_glovesize",
    "records_overruling",
    "records_productconcern",
    "records_concernoutcome",
    "records_issuedlist",
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


def test_every_table_is_either_written_once_or_known_to_change() -> None:
    # What may change, and why: people and places have lives of their own; drafts, links, receipts and kept
    # typing are on their way somewhere; the audit head moves with its chain; a staff list waits for its yes;
    # a product leaves an area.
    changing = {
        "records_user",
        "records_worker",
        "records_area",
        "records_role",
        "records_post",
        "records_areamanager",
        "records_checklink",
        "records_checkdraft",
        "records_formreceipt",
        "records_kepttyping",
        "records_audithead",
        "records_stafflistimport",
        "records_stock",
    }
    tables = {model._meta.db_table for model in apps.get_app_config("records").get_models()}
    assert tables == changing | set(WRITTEN_ONCE)
