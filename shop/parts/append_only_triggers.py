"""The database's last word on stock: movements are never updated, deleted or replaced."""

from __future__ import annotations

from shop.lib.triggers import TriggerSet

_CHANGED = {"movement_no_update": "UPDATE", "movement_no_delete": "DELETE"}
_SQLITE = {
    name: f"""
    CREATE TRIGGER {name} BEFORE {verb} ON parts_movement
    BEGIN SELECT RAISE(ABORT, 'stock movements cannot be changed'); END"""
    for name, verb in _CHANGED.items()
} | {
    "movement_no_replace": """
    CREATE TRIGGER movement_no_replace BEFORE INSERT ON parts_movement
    WHEN EXISTS (SELECT 1 FROM parts_movement WHERE id = NEW.id)
    BEGIN SELECT RAISE(ABORT, 'stock movements cannot be replaced'); END"""
}
_POSTGRESQL = {
    name: f"""
    CREATE TRIGGER {name} BEFORE {verb} ON parts_movement
    FOR EACH {scope} EXECUTE FUNCTION parts_refuse()"""
    for name, verb, scope in (
        *((name, verb, "ROW") for name, verb in _CHANGED.items()),
        ("movement_no_truncate", "TRUNCATE", "STATEMENT"),
    )
}
_FUNCTION = """
CREATE OR REPLACE FUNCTION parts_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'stock movements cannot be changed'
        USING ERRCODE = 'integrity_constraint_violation';
END $$;
"""

_TRIGGERS = TriggerSet(
    sqlite=_SQLITE,
    postgresql=_POSTGRESQL,
    functions={"parts_refuse": _FUNCTION},
    tables={"movement": "parts_movement"},
)
install, remove, faults, names = (
    _TRIGGERS.install,
    _TRIGGERS.remove,
    _TRIGGERS.faults,
    _TRIGGERS.names,
)
