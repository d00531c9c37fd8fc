"""Clinical entries, letters and audit rows are written once: the database refuses to change or delete them."""

from django.db import migrations

from thenar.records.write_once import drop_postgresql_function, guard, make_postgresql_function, unguard

TABLES = (
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
)


def forwards(apps, schema_editor) -> None:
    make_postgresql_function(schema_editor)
    guard(TABLES, schema_editor)


def backwards(apps, schema_editor) -> None:
    unguard(TABLES, schema_editor)
    drop_postgresql_function(schema_editor)


class Migration(migrations.Migration):
    dependencies = [("records", "0001_first")]
    operations = [migrations.RunPython(forwards, backwards)]
