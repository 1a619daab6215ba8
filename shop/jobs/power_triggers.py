"""The database's last word: the ledger is append-only, and no power without a live permit.

SQLite rebuilds a table when a migration alters it, and drops its triggers: such a migration
calls `remove` first and `install` at its end. What is installed must fit the tables as every
migration since the first has left them, because migrations of all ages call it.
"""

from __future__ import annotations

from shop.lib.triggers import TriggerSet

SQLITE = {
    "ledger_no_update": """
        CREATE TRIGGER ledger_no_update BEFORE UPDATE ON jobs_ledgerrow
        BEGIN SELECT RAISE(ABORT, 'ledger rows cannot be updated'); END""",
    "ledger_no_delete": """
        CREATE TRIGGER ledger_no_delete BEFORE DELETE ON jobs_ledgerrow
        BEGIN SELECT RAISE(ABORT, 'ledger rows cannot be deleted'); END""",
    # INSERT OR REPLACE removes the old row without firing the delete trigger.
    "ledger_no_replace": """
        CREATE TRIGGER ledger_no_replace BEFORE INSERT ON jobs_ledgerrow
        WHEN EXISTS (SELECT 1 FROM jobs_ledgerrow WHERE id = NEW.id
            OR (job_id = NEW.job_id AND sequence = NEW.sequence))
        BEGIN SELECT RAISE(ABORT, 'ledger rows cannot be replaced'); END""",
    "job_power_update": """
        CREATE TRIGGER job_power_update BEFORE UPDATE OF power ON jobs_job
        WHEN NEW.power <> 'isolated' AND NEW.power <> OLD.power AND NOT EXISTS (
            SELECT 1 FROM jobs_permit
            WHERE job_id = NEW.number AND ended_at IS NULL AND power = NEW.power)
        BEGIN SELECT RAISE(ABORT, 'power needs a live permit'); END""",
    "job_power_insert": """
        CREATE TRIGGER job_power_insert BEFORE INSERT ON jobs_job WHEN NEW.power <> 'isolated'
        BEGIN SELECT RAISE(ABORT, 'a job starts isolated'); END""",
    # INSERT OR REPLACE would take the row away by which a reference or a number is known.
    "job_no_replace": """
        CREATE TRIGGER job_no_replace BEFORE INSERT ON jobs_job
        WHEN EXISTS (SELECT 1 FROM jobs_job
            WHERE number = NEW.number OR reference = NEW.reference)
        BEGIN SELECT RAISE(ABORT, 'this number or reference is that of another job'); END""",
    "job_reference_once": """
        CREATE TRIGGER job_reference_once BEFORE UPDATE OF reference ON jobs_job
        WHEN EXISTS (SELECT 1 FROM jobs_job
            WHERE reference = NEW.reference AND number <> OLD.number)
        BEGIN SELECT RAISE(ABORT, 'this reference is that of another job'); END""",
    "job_number_kept": """
        CREATE TRIGGER job_number_kept BEFORE UPDATE OF number ON jobs_job
        WHEN NEW.number <> OLD.number
        BEGIN SELECT RAISE(ABORT, 'a job keeps its number'); END""",
    "permit_outlives_power": """
        CREATE TRIGGER permit_outlives_power BEFORE UPDATE OF ended_at ON jobs_permit
        WHEN NEW.ended_at IS NOT NULL
            AND (SELECT power FROM jobs_job WHERE number = OLD.job_id) = OLD.power
        BEGIN SELECT RAISE(ABORT, 'mains is on under this permit'); END""",
    "permit_never_changed": """
        CREATE TRIGGER permit_never_changed BEFORE UPDATE ON jobs_permit
        WHEN OLD.ended_at IS NOT NULL OR NEW.id <> OLD.id OR NEW.job_id <> OLD.job_id
            OR NEW.power <> OLD.power OR NEW.gates <> OLD.gates
            OR NEW.granted_at <> OLD.granted_at OR NEW.granted_by_id <> OLD.granted_by_id
        BEGIN SELECT RAISE(ABORT, 'a permit is never changed, only ended'); END""",
    "permit_no_replace": """
        CREATE TRIGGER permit_no_replace BEFORE INSERT ON jobs_permit
        WHEN EXISTS (SELECT 1 FROM jobs_permit WHERE id = NEW.id
            OR (job_id = NEW.job_id AND power = NEW.power
                AND ended_at IS NULL AND NEW.ended_at IS NULL))
        BEGIN SELECT RAISE(ABORT, 'permits cannot be replaced'); END""",
    "permit_kept": """
        CREATE TRIGGER permit_kept BEFORE DELETE ON jobs_permit
        BEGIN SELECT RAISE(ABORT, 'permits cannot be deleted'); END""",
}

POSTGRESQL = {
    "ledger_no_update": """
        CREATE TRIGGER ledger_no_update BEFORE UPDATE ON jobs_ledgerrow
        FOR EACH ROW EXECUTE FUNCTION bench_refuse('ledger rows cannot be updated')""",
    "ledger_no_delete": """
        CREATE TRIGGER ledger_no_delete BEFORE DELETE ON jobs_ledgerrow
        FOR EACH ROW EXECUTE FUNCTION bench_refuse('ledger rows cannot be deleted')""",
    "ledger_no_truncate": """
        CREATE TRIGGER ledger_no_truncate BEFORE TRUNCATE ON jobs_ledgerrow
        FOR EACH STATEMENT EXECUTE FUNCTION bench_refuse('ledger rows cannot be deleted')""",
    "job_power_update": """
        CREATE TRIGGER job_power_update BEFORE UPDATE OF power ON jobs_job
        FOR EACH ROW WHEN (NEW.power <> 'isolated' AND NEW.power <> OLD.power)
        EXECUTE FUNCTION bench_power_needs_permit()""",
    "job_power_insert": """
        CREATE TRIGGER job_power_insert BEFORE INSERT ON jobs_job
        FOR EACH ROW WHEN (NEW.power <> 'isolated')
        EXECUTE FUNCTION bench_refuse('a job starts isolated')""",
    "job_number_kept": """
        CREATE TRIGGER job_number_kept BEFORE UPDATE OF number ON jobs_job
        FOR EACH ROW WHEN (NEW.number <> OLD.number)
        EXECUTE FUNCTION bench_refuse('a job keeps its number')""",
    "permit_outlives_power": """
        CREATE TRIGGER permit_outlives_power BEFORE UPDATE OF ended_at ON jobs_permit
        FOR EACH ROW WHEN (NEW.ended_at IS NOT NULL)
        EXECUTE FUNCTION bench_permit_outlives_power()""",
    "permit_never_changed": """
        CREATE TRIGGER permit_never_changed BEFORE UPDATE ON jobs_permit
        FOR EACH ROW WHEN (OLD.ended_at IS NOT NULL OR NEW.id <> OLD.id
            OR NEW.job_id <> OLD.job_id OR NEW.power <> OLD.power OR NEW.gates <> OLD.gates
            OR NEW.granted_at <> OLD.granted_at OR NEW.granted_by_id <> OLD.granted_by_id)
        EXECUTE FUNCTION bench_refuse('a permit is never changed, only ended')""",
    "permit_kept": """
        CREATE TRIGGER permit_kept BEFORE DELETE ON jobs_permit
        FOR EACH ROW EXECUTE FUNCTION bench_refuse('permits cannot be deleted')""",
    "permit_no_truncate": """
        CREATE TRIGGER permit_no_truncate BEFORE TRUNCATE ON jobs_permit
        FOR EACH STATEMENT EXECUTE FUNCTION bench_refuse('permits cannot be deleted')""",
}

FUNCTIONS = {
    "bench_refuse": """
CREATE OR REPLACE FUNCTION bench_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation';
END $$;
""",
    "bench_power_needs_permit": """
CREATE OR REPLACE FUNCTION bench_power_needs_permit() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM jobs_permit
        WHERE job_id = NEW.number AND ended_at IS NULL AND power = NEW.power) THEN
        RAISE EXCEPTION 'power needs a live permit'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
""",
    "bench_permit_outlives_power": """
CREATE OR REPLACE FUNCTION bench_permit_outlives_power() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (SELECT power FROM jobs_job WHERE number = OLD.job_id) = OLD.power THEN
        RAISE EXCEPTION 'mains is on under this permit'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
""",
}

# What older releases installed: a column that could be set once, gone since; full power straight
# from isolated, which is right for a unit that has passed its trial on the limiter.
_TRIGGERS = TriggerSet(
    sqlite=SQLITE,
    postgresql=POSTGRESQL,
    functions=FUNCTIONS,
    tables={"ledger": "jobs_ledgerrow", "job": "jobs_job", "permit": "jobs_permit"},
    former=("ledger_handled_once", "job_power_steps"),
)
install, remove, faults, names = (
    _TRIGGERS.install,
    _TRIGGERS.remove,
    _TRIGGERS.faults,
    _TRIGGERS.names,
)
