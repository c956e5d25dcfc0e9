"""Triggers with which the database itself refuses to change or delete what only grows."""

from alembic import op

__all__ = ["never_changed"]

_FUNCTION = """
CREATE OR REPLACE FUNCTION demoule_never_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'rows of % are never changed', TG_TABLE_NAME; END $$
"""


def never_changed(table: str) -> None:
    """Let a table only grow."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(_FUNCTION)
        op.execute(
            f"CREATE TRIGGER {table}_never_changed BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION demoule_never_changed()"
        )
        return
    for act in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER {table}_never_{act}d BEFORE {act.upper()} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are never changed'); END"
        )
