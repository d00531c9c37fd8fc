"""Observations, descriptions, controls, assessments, task lists and duty searches are written once too."""

from django.db import migrations

from thenar.records.write_once import guard, unguard

TABLES = (
    "records_observedsession",
    "records_workdescription",
    "records_recordedcontrol",
    "records_areaassessment",
    "records_tasklist",
    "records_dutysearch",
)


def forwards(apps, schema_editor) -> None:
    guard(TABLES, schema_editor)


def backwards(apps, schema_editor) -> None:
    unguard(TABLES, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("records", "0003_workplace")]
    operations = [migrations.RunPython(forwards, backwards)]
