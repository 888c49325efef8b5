"""Reads the everyday words that all catalogues share, and adds what one catalogue says itself."""

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from analytics.catalogues.model import Words
from analytics.catalogues.reading import Place, read_toml, record

FILE = Path(__file__).with_name("everyday_words.toml")


def read_words(raw: Mapping[str, Any], place: Place) -> Words:
    """Everyday words, with the abbreviations, word classes and healthy statements of the catalogue `raw`.

    Raises
    ------
    BadCatalogue
        When a key is unknown or a value has another type.
    """
    shared = read_toml(FILE)
    shared["plain"] = shared.get("plain", "").split()
    abbreviations = {
        **_abbreviations(shared.pop("abbreviations", {}), Place(str(FILE), "abbreviations")),
        **_abbreviations(raw.get("abbreviations", {}), place.below("abbreviations")),
    }
    classes = {**shared.pop("words", {}), **raw.get("words", {})}
    mine = {"classes": classes, "healthy": raw.get("healthy", {}), "foreign": raw.get("foreign", {})}
    return record(Words, {**shared, **mine}, place.below("words"), abbreviations=abbreviations)


def _abbreviations(table: Mapping[str, Any], place: Place) -> Mapping[str, tuple[str, tuple[str, ...]]]:
    result: dict[str, tuple[str, tuple[str, ...]]] = {}
    for short, entry in table.items():
        long, only = (
            (entry, ()) if isinstance(entry, str) else (entry.get("long"), tuple(entry.get("fields", ())))
        )
        if not isinstance(long, str):
            raise place.below(short).wrong(
                f"found {entry!r}.", "Wanted: a text, or a table with long and fields."
            )
        result[short] = (long, only)
    return MappingProxyType(result)
