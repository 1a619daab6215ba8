"""The database's last word on bills: numbers run on without a gap, what is issued stays as it is."""

from __future__ import annotations

from shop.lib.triggers import TriggerSet

GAP = "the number of a bill follows the last one of its year"
CHANGED = "an issued bill is never changed; write a credit note"
PAID = "payments are never changed; take a wrong one back by another"

_LAST = "SELECT COALESCE(MAX(place), 0) + 1 FROM bills_bill WHERE year = NEW.year"
_ISSUED = "SELECT 1 FROM bills_bill WHERE place IS NOT NULL AND id"

_SQLITE = {
    "bill_number_insert": f"""
        CREATE TRIGGER bill_number_insert BEFORE INSERT ON bills_bill
        WHEN NEW.place IS NOT NULL
        BEGIN SELECT RAISE(ABORT, '{GAP}'); END""",
    "bill_number_follows": f"""
        CREATE TRIGGER bill_number_follows BEFORE UPDATE ON bills_bill
        WHEN OLD.place IS NULL AND NEW.place IS NOT NULL AND NEW.place <> ({_LAST})
        BEGIN SELECT RAISE(ABORT, '{GAP}'); END""",
    "bill_no_update": f"""
        CREATE TRIGGER bill_no_update BEFORE UPDATE ON bills_bill WHEN OLD.place IS NOT NULL
        BEGIN SELECT RAISE(ABORT, '{CHANGED}'); END""",
    "bill_no_delete": f"""
        CREATE TRIGGER bill_no_delete BEFORE DELETE ON bills_bill WHEN OLD.place IS NOT NULL
        BEGIN SELECT RAISE(ABORT, '{CHANGED}'); END""",
    "bill_no_replace": f"""
        CREATE TRIGGER bill_no_replace BEFORE INSERT ON bills_bill
        WHEN EXISTS (SELECT 1 FROM bills_bill WHERE id = NEW.id)
        BEGIN SELECT RAISE(ABORT, '{CHANGED}'); END""",
    "billline_no_insert": f"""
        CREATE TRIGGER billline_no_insert BEFORE INSERT ON bills_billline
        WHEN EXISTS ({_ISSUED} = NEW.bill_id)
            OR EXISTS (SELECT 1 FROM bills_billline WHERE id = NEW.id)
        BEGIN SELECT RAISE(ABORT, '{CHANGED}'); END""",
    "billline_no_update": f"""
        CREATE TRIGGER billline_no_update BEFORE UPDATE ON bills_billline
        WHEN EXISTS ({_ISSUED} IN (OLD.bill_id, NEW.bill_id))
        BEGIN SELECT RAISE(ABORT, '{CHANGED}'); END""",
    "billline_no_delete": f"""
        CREATE TRIGGER billline_no_delete BEFORE DELETE ON bills_billline
        WHEN EXISTS ({_ISSUED} = OLD.bill_id)
        BEGIN SELECT RAISE(ABORT, '{CHANGED}'); END""",
    "payment_no_update": f"""
        CREATE TRIGGER payment_no_update BEFORE UPDATE ON bills_payment
        BEGIN SELECT RAISE(ABORT, '{PAID}'); END""",
    "payment_no_delete": f"""
        CREATE TRIGGER payment_no_delete BEFORE DELETE ON bills_payment
        BEGIN SELECT RAISE(ABORT, '{PAID}'); END""",
    "payment_no_replace": f"""
        CREATE TRIGGER payment_no_replace BEFORE INSERT ON bills_payment
        WHEN EXISTS (SELECT 1 FROM bills_payment WHERE id = NEW.id)
        BEGIN SELECT RAISE(ABORT, '{PAID}'); END""",
}


def _row_trigger(name: str, moment: str, table: str, when: str, function: str) -> str:
    condition = f"WHEN ({when})" if when else ""
    return f"""
        CREATE TRIGGER {name} BEFORE {moment} ON bills_{table}
        FOR EACH ROW {condition} EXECUTE FUNCTION {function}()"""


def _no_truncate(name: str, table: str, function: str) -> str:
    return f"""
        CREATE TRIGGER {name} BEFORE TRUNCATE ON bills_{table}
        FOR EACH STATEMENT EXECUTE FUNCTION {function}()"""


_NUMBERED = "NEW.place IS NOT NULL"
_POSTGRESQL = {
    "bill_number_insert": _row_trigger(
        "bill_number_insert", "INSERT", "bill", _NUMBERED, "bills_refuse_gap"
    ),
    "bill_number_follows": _row_trigger(
        "bill_number_follows",
        "UPDATE",
        "bill",
        f"OLD.place IS NULL AND {_NUMBERED}",
        "bills_number_follows",
    ),
    "bill_no_update": _row_trigger(
        "bill_no_update", "UPDATE", "bill", "OLD.place IS NOT NULL", "bills_refuse"
    ),
    "bill_no_delete": _row_trigger(
        "bill_no_delete", "DELETE", "bill", "OLD.place IS NOT NULL", "bills_refuse"
    ),
    "bill_no_truncate": _no_truncate("bill_no_truncate", "bill", "bills_refuse"),
    "billline_no_insert": _row_trigger(
        "billline_no_insert", "INSERT", "billline", "", "bills_line_new"
    ),
    "billline_no_update": _row_trigger(
        "billline_no_update", "UPDATE", "billline", "", "bills_line_changed"
    ),
    "billline_no_delete": _row_trigger(
        "billline_no_delete", "DELETE", "billline", "", "bills_line_gone"
    ),
    "billline_no_truncate": _no_truncate("billline_no_truncate", "billline", "bills_refuse"),
    "payment_no_update": _row_trigger(
        "payment_no_update", "UPDATE", "payment", "", "bills_refuse_payment"
    ),
    "payment_no_delete": _row_trigger(
        "payment_no_delete", "DELETE", "payment", "", "bills_refuse_payment"
    ),
    "payment_no_truncate": _no_truncate("payment_no_truncate", "payment", "bills_refuse_payment"),
}


def _function(name: str, sentence: str, condition: str = "", row: str = "NEW") -> str:
    raised = f"RAISE EXCEPTION '{sentence}' USING ERRCODE = 'integrity_constraint_violation';"
    inside = f"IF {condition} THEN {raised} END IF; RETURN {row};" if condition else raised
    return f"""
CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    {inside}
END $$;
"""


_FUNCTIONS = {
    "bills_refuse": _function("bills_refuse", CHANGED),
    "bills_refuse_gap": _function("bills_refuse_gap", GAP),
    "bills_refuse_payment": _function("bills_refuse_payment", PAID),
    "bills_number_follows": _function("bills_number_follows", GAP, f"NEW.place <> ({_LAST})"),
    "bills_line_new": _function("bills_line_new", CHANGED, f"EXISTS ({_ISSUED} = NEW.bill_id)"),
    "bills_line_changed": _function(
        "bills_line_changed", CHANGED, f"EXISTS ({_ISSUED} IN (OLD.bill_id, NEW.bill_id))"
    ),
    "bills_line_gone": _function(
        "bills_line_gone", CHANGED, f"EXISTS ({_ISSUED} = OLD.bill_id)", "OLD"
    ),
}

TABLES = {"bill": "bills_bill", "billline": "bills_billline", "payment": "bills_payment"}
_TRIGGERS = TriggerSet(sqlite=_SQLITE, postgresql=_POSTGRESQL, functions=_FUNCTIONS, tables=TABLES)
install, remove, faults, names = (
    _TRIGGERS.install,
    _TRIGGERS.remove,
    _TRIGGERS.faults,
    _TRIGGERS.names,
)
