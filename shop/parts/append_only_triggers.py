"""The database's last word on stock: movements are never updated, deleted or replaced."""

from __future__ import annotations

from django.db.backends.base.base import BaseDatabaseWrapper

NAMES = {
    "movement_no_update": "UPDATE",
    "movement_no_delete": "DELETE",
}
REPLACE = """
    CREATE TRIGGER movement_no_replace BEFORE INSERT ON parts_movement
    WHEN EXISTS (SELECT 1 FROM parts_movement WHERE id = NEW.id)
    BEGIN SELECT RAISE(ABORT, 'stock movements cannot be replaced'); END"""
FUNCTION = """
CREATE OR REPLACE FUNCTION parts_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'stock movements cannot be changed'
        USING ERRCODE = 'integrity_constraint_violation';
END $$;
"""


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every trigger in place; those that are there already are made anew."""
    remove(connection)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(FUNCTION)
            for name, verb in [*NAMES.items(), ("movement_no_truncate", "TRUNCATE")]:
                scope = "STATEMENT" if verb == "TRUNCATE" else "ROW"
                cursor.execute(
                    f"CREATE TRIGGER {name} BEFORE {verb} ON parts_movement"
                    f" FOR EACH {scope} EXECUTE FUNCTION parts_refuse()"
                )
            return
        for name, verb in NAMES.items():
            cursor.execute(
                f"CREATE TRIGGER {name} BEFORE {verb} ON parts_movement"
                " BEGIN SELECT RAISE(ABORT, 'stock movements cannot be changed'); END"
            )
        cursor.execute(REPLACE)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take every trigger away; for tests that empty the tables, and to go back."""
    where = " ON parts_movement" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        for name in (*NAMES, "movement_no_truncate", "movement_no_replace"):
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{where}")
