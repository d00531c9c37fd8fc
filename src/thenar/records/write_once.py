"""The triggers that keep a table from being changed or emptied, in both dialects; used by migrations."""

from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def guard(tables: tuple[str, ...], schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Make the database refuse UPDATE and DELETE on these tables."""
    for table in tables:
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(
                f"CREATE TRIGGER {table}_written_once BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION records_written_once()"
            )
            continue
        for act in ("UPDATE", "DELETE"):
            schema_editor.execute(
                f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END"
            )


def unguard(tables: tuple[str, ...], schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Undo `guard`."""
    for table in tables:
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP TRIGGER {table}_written_once ON {table}")
            continue
        for act in ("update", "delete"):
            schema_editor.execute(f"DROP TRIGGER {table}_no_{act}")


def make_postgresql_function(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """The function PostgreSQL's triggers call; SQLite needs none."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION records_written_once() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION '%% is written once', TG_TABLE_NAME "
            "USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )


def drop_postgresql_function(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Undo `make_postgresql_function`."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION records_written_once()")
