"""Declarations, patch tests, allergies and what followed from them are written once too."""

from django.db import migrations

from thenar.records.write_once import guard, unguard

TABLES = (
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
)


def forwards(apps, schema_editor) -> None:
    guard(TABLES, schema_editor)


def backwards(apps, schema_editor) -> None:
    unguard(TABLES, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("records", "0005_products_and_allergies")]
    operations = [migrations.RunPython(forwards, backwards)]
