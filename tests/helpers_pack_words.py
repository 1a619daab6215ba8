"""A pseudo-locale of the rule pack, compiled as the shipped catalogues are."""

from __future__ import annotations

from pathlib import Path

from babel.messages.catalog import Catalog

from tests.project import catalogues, pack_catalogue


def pseudo(text: str) -> str:
    """Return what the pseudo-locale says for a text, with its places."""
    return f"«{text}»"


def translated(*, read_by: str = "") -> Catalog:
    """Return a catalogue that says every word of the pack; a technician has read all or nothing."""
    catalog = Catalog(locale="de", fuzzy=False)
    for message in catalogues.read(catalogues.TEMPLATE):
        if message.id and pack_catalogue.is_of_pack(message):
            said = pseudo(message.id)
            copy = catalog.add(message.id, said, context=message.context)
            if read_by:
                mark = f"Read by {read_by}, 2031-04-02: {pack_catalogue.sum_of(copy)}"
                copy.user_comments = [mark]
    return catalog


def speak(settings, folder: Path, catalog: Catalog) -> None:
    """Let German be this catalogue until the test ends."""
    place = folder / "de" / "LC_MESSAGES" / "django.mo"
    place.parent.mkdir(parents=True)
    place.write_bytes(catalogues.compiled(catalog))
    settings.LOCALE_PATHS = [folder]
