"""Clinical entries, letters and audit rows are written once: the database itself refuses to change or delete them."""

from django.db import migrations

WRITE_ONCE = (
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


def sqlite_trigger(table: str, act: str) -> str:
    return (
        f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END"
    )


def add_triggers(apps, schema_editor) -> None:
    run = schema_editor.execute
    if schema_editor.connection.vendor == "postgresql":
        run(
            "CREATE FUNCTION records_written_once() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION '%% is written once', TG_TABLE_NAME "
            "USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
        for table in WRITE_ONCE:
            run(
                f"CREATE TRIGGER {table}_written_once BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION records_written_once()"
            )
        return
    for table in WRITE_ONCE:
        run(sqlite_trigger(table, "UPDATE"))
        run(sqlite_trigger(table, "DELETE"))


def drop_triggers(apps, schema_editor) -> None:
    run = schema_editor.execute
    if schema_editor.connection.vendor == "postgresql":
        run("DROP FUNCTION records_written_once() CASCADE")
        return
    for table in WRITE_ONCE:
        run(f"DROP TRIGGER {table}_no_update")
        run(f"DROP TRIGGER {table}_no_delete")


class Migration(migrations.Migration):
    dependencies = [("records", "0001_first")]
    operations = [migrations.RunPython(add_triggers, drop_triggers)]
