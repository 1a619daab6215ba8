"""The catalogues of translations: `python -m tests.project.catalogues` takes up what is new.

`shop/locale/django.pot` has every string of the project. The catalogue of a language has what a
customer reads, translated or not, and whatever else somebody translated: an empty line for each
string of the shop's own pages would only be in the way. Needs GNU gettext, which reads no TOML:
`pack_catalogue.py` adds the words of the rule pack.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

from babel.messages import mofile, pofile
from babel.messages.catalog import Catalog, Message

from shop.preferences.languages import NAMES
from tests.project import bench_catalogue, pack_catalogue

ROOT = Path(__file__).resolve().parents[2]
LOCALE = ROOT / "shop" / "locale"
TEMPLATE = LOCALE / "django.pot"
LANGUAGES = [language for language in NAMES if language != "en"]
# Where the words of the customer's pages, of messages and of papers stand.
FOR_CUSTOMERS = (
    "shop/bills/drafting.py",
    "shop/bills/mailing.py",
    "shop/bills/paper.py",
    "shop/bills/paper_words.py",
    "shop/bills/reminder_paper.py",
    "shop/bills/taxing.py",
    "shop/customers/announced/",
    "shop/customers/announced/services.py",
    "shop/customers/fields.py",
    "shop/customers/models.py",
    "shop/customers/stations.py",
    "shop/customers/terms.py",
    "shop/documents/commercial_documents.py",
    "shop/documents/common.py",
    "shop/documents/paper_words.py",
    "shop/documents/pdf_documents.py",
    "shop/documents/reading_table.py",
    "shop/documents/receipt.py",
    "shop/documents/technical_documents.py",
    "shop/estimates/drafting.py",
    "shop/jobs/commands/contact.py",
    "shop/lib/customer_words.py",
    "shop/lib/text.py",
    "shop/messages/composing.py",
    "shop/messages/message_templates.py",
    "shop/messages/writing.py",
    "shop/pages/customer/",
    "shop/planning/forecasting.py",
    "templates/_parcel_number.html",
    "templates/intake/_announcement_fields.html",
    "templates/jobs/_soak_drawing.html",
    "templates/pages/customer/",
)
IGNORED = (".venv*", "tests", "docs", "data", "build", "dist", "node_modules")


def po(language: str) -> Path:
    """Return the file of a language that people write."""
    return LOCALE / language / "LC_MESSAGES" / "django.po"


def read(path: Path, language: str | None = None) -> Catalog:
    """Return the strings of a file."""
    # The template leaves the forms of plurals open, in words that are no number.
    lines = [line for line in path.read_bytes().splitlines(True) if b"nplurals=INTEGER" not in line]
    return pofile.read_po(io.BytesIO(b"".join(lines)), locale=language)


def read_by_customers(message: Message) -> bool:
    """Whether a customer reads this string somewhere."""
    return any(place.startswith(FOR_CUSTOMERS) for place, _ in message.locations)


def extract(root: Path = ROOT) -> None:
    """Let GNU gettext find all strings below a folder, and merge them into its catalogues."""
    chosen = [word for language in LANGUAGES for word in ("--locale", language)]
    ignored = [word for name in IGNORED for word in ("--ignore", name)]
    for language in LANGUAGES:
        folder = root / po(language).relative_to(ROOT).parent
        folder.mkdir(parents=True, exist_ok=True)
    subprocess.run(
        [
            *(sys.executable, "manage.py", "makemessages", "--keep-pot", "--no-obsolete"),
            *("--add-location", "file", "--no-wrap", *chosen, *ignored),
        ],
        cwd=root,
        env={**os.environ, "DJANGO_SETTINGS_MODULE": "shop.site.settings"},
        check=True,
        capture_output=True,
    )


def whole_template(root: Path = ROOT) -> Catalog:
    """Return what gettext found below a folder, with the words of its rule pack and of calculations."""
    found = read(root / TEMPLATE.relative_to(ROOT))
    return bench_catalogue.added(pack_catalogue.added(found, root))


def pruned(catalog: Catalog, language: str) -> Catalog:
    """Return a catalogue without what only the shop reads and nobody translated.

    What was guessed from a string that is alike is not kept either.
    """
    kept = Catalog(locale=language, project="Benchtag", version="1", fuzzy=False)
    for message in catalog:
        if message.fuzzy:
            message.string = ""
            message.flags.discard("fuzzy")
        if message.id and (read_by_customers(message) or (message.string and any(message.string))):
            kept[message.id] = message
    return kept


def written(catalog: Catalog) -> bytes:
    """Return a catalogue as the file that people write; no day in it, so that it changes with its words."""
    out = io.BytesIO()
    pofile.write_po(out, catalog, width=0, omit_header=False, sort_output=True)
    lines = out.getvalue().splitlines(keepends=True)
    return b"".join(line for line in lines if not line.startswith(_OF_THE_DAY))


_NO_DAY = datetime(1970, 1, 1, tzinfo=UTC)
_OF_THE_DAY = (
    *(b'"POT-Creation-Date', b'"PO-Revision-Date', b'"Last-Translator', b'"Language-Team'),
    *(b'"Report-Msgid-Bugs-To', b'"Generated-By', b"# FIRST AUTHOR", b"# Copyright", b"#\n"),
    *(b"# Translations template", b"# SOME DESCRIPTIVE", b"# This file is distributed"),
    *(b"#, fuzzy\n", b"# | ", b'"Project-Id-Version: PACKAGE'),
)


def compiled(catalog: Catalog) -> bytes:
    """Return a catalogue as gettext reads it; no day in it either."""
    catalog = pack_catalogue.as_compiled(catalog)
    catalog.creation_date = catalog.revision_date = _NO_DAY
    out = io.BytesIO()
    mofile.write_mo(out, catalog)
    return out.getvalue()


def update() -> None:
    """Write all catalogues anew."""
    before = {language: read(po(language), language) for language in LANGUAGES}
    extract()
    template = whole_template()
    TEMPLATE.write_bytes(written(template))
    for language in LANGUAGES:
        catalog = pruned(read(po(language), language), language)
        catalog = pack_catalogue.kept(catalog, before[language], template)
        po(language).write_bytes(written(catalog))
        po(language).with_suffix(".mo").write_bytes(compiled(catalog))
        missing = [message.id for message in catalog if message.id and not message.string]
        print(f"{language}: {len(catalog)} strings, {len(missing)} to be translated")


if __name__ == "__main__":
    update()
