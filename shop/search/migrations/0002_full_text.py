"""The full-text index that each database has of its own."""

from django.db import migrations

SQLITE = (
    """CREATE VIRTUAL TABLE search_fts USING fts5(
        unit, said, rest, prefix='2 3 4',
        tokenize="unicode61 remove_diacritics 0 categories 'L* M* N*'")""",
)
POSTGRESQL = (
    """CREATE TABLE search_vector (
        job_id bigint PRIMARY KEY, words tsvector NOT NULL)""",
    "CREATE INDEX search_vector_words ON search_vector USING gin (words)",
)


def make(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


def drop(apps, schema_editor):
    table = "search_fts" if schema_editor.connection.vendor == "sqlite" else "search_vector"
    schema_editor.execute(f"DROP TABLE {table}")


class Migration(migrations.Migration):
    dependencies = [("search", "0001_initial"), ("jobs", "0008_readings_from_ledgers")]

    operations = [migrations.RunPython(make, drop)]
