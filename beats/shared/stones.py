"""What the wall between fisheries is built of: one policy for each table that holds rows of a fishery.

A migration of each app lays its own: `RunPython(lay(STONES), lift(STONES))`. `STONES` maps a table to the way
from a row to its fishery: `mine` where the row names it, `through` another walled table where it does not.
"""

from collections.abc import Callable, Mapping

from beats.shared.wall import MAY_PLAY, ROLE

MINE = "ANY ((SELECT nullif(current_setting('rodtally.fisheries', true), '')::bigint[])::bigint[])"
"""Asked once a question, not once a row. With no list these are nobody's rows."""

MAKE_ROLE = f"""DO $$ BEGIN
  BEGIN
    CREATE ROLE {ROLE} NOLOGIN NOINHERIT;
  EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL;
  END;
  GRANT {ROLE} TO CURRENT_USER;
EXCEPTION WHEN insufficient_privilege OR internal_error THEN NULL;
END $$"""
"""A role is of the whole server: it may be there already, or be made by another database at the same instant."""

LET_IT_WORK = f"""DO $$ DECLARE it name := current_schema(); BEGIN
  EXECUTE format('GRANT USAGE ON SCHEMA %I TO {ROLE}', it);
  EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA %I TO {ROLE}', it);
  EXECUTE format('GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA %I TO {ROLE}', it);
  EXECUTE format('ALTER DEFAULT PRIVILEGES IN SCHEMA %I '
                 'GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO {ROLE}', it);
  EXECUTE format('ALTER DEFAULT PRIVILEGES IN SCHEMA %I GRANT USAGE, SELECT ON SEQUENCES TO {ROLE}', it);
END $$"""
"""Tables made later by the same user are granted too."""


def mine(column: str = "fishery_id") -> str:
    """The row names its fishery."""
    return f"{{table}}.{column} = {MINE}"


def mine_or_nobodys(column: str = "fishery_id") -> str:
    """As `mine`; a row of no fishery is of the service itself."""
    return f"({{table}}.{column} IS NULL OR {mine(column)})"


def through(table: str, column: str) -> str:
    """The row belongs to whom the row of `table` belongs that `column` names."""
    return f"EXISTS (SELECT 1 FROM {table} up WHERE up.id = {{table}}.{column})"  # noqa: S608 - our own names


def lay(stones: Mapping[str, str]) -> Callable:
    """For RunPython: from here on each table shows `ROLE` the rows of its fisheries alone. Nobody else is held."""

    def run(apps, schema_editor) -> None:  # noqa: ARG001 - Django's signature
        if schema_editor.connection.vendor != "postgresql":
            return
        schema_editor.execute(MAKE_ROLE, params=None)
        with schema_editor.connection.cursor() as cursor:
            cursor.execute(MAY_PLAY, [ROLE])
            if not cursor.fetchone()[0]:
                return
        schema_editor.execute(LET_IT_WORK, params=None)
        for table, way in stones.items():
            schema_editor.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY", params=None)
            condition = way.replace("{table}", table)
            schema_editor.execute(
                f"CREATE POLICY of_my_fisheries ON {table} TO {ROLE} USING ({condition})", params=None
            )

    return run


def lift(stones: Mapping[str, str]) -> Callable:
    """The way back."""

    def run(apps, schema_editor) -> None:  # noqa: ARG001 - Django's signature
        if schema_editor.connection.vendor == "postgresql":
            for table in stones:
                schema_editor.execute(f"DROP POLICY IF EXISTS of_my_fisheries ON {table}", params=None)
                schema_editor.execute(f"ALTER TABLE {table} DISABLE ROW LEVEL SECURITY", params=None)

    return run
