"""Mappings kept with a store: each under the header it was made for, in versions, and known again by it."""

import hashlib
import json
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from analytics.errors import BadMapping
from analytics.intake.mapping import Mapping
from analytics.store_files import write_beside

FOLDER = "mappings"


@dataclass(frozen=True)
class Saved:
    """One version of a mapping.

    Parameters
    ----------
    name : str
        As a person called it.
    version : int
        Counts up by one a change, from 1.
    made_at : str
        UTC, ISO 8601.
    mapping : Mapping
    """

    name: str
    version: int
    made_at: str
    mapping: Mapping


class SavedMappings:
    """The mappings of one store.

    Parameters
    ----------
    store_folder : Path
    now : callable
        Gives the time, UTC.
    """

    def __init__(self, store_folder: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self.folder = Path(store_folder) / FOLDER
        self._now = now

    def save(self, header: Sequence[str], name: str, mapping: Mapping) -> Saved:
        """Keep a mapping for files with this header; the same once more makes no new version.

        Parameters
        ----------
        header : sequence of str
            All columns of the file, as written.
        name : str
        mapping : Mapping
            Its day of extraction is not kept: the next file has another.
        """
        kept = replace(mapping, extracted=None)
        last = self.recognise(header)
        if last and (last.name, last.mapping.to_toml()) == (name, kept.to_toml()):
            return last
        place = self.folder / signature(header)
        place.mkdir(parents=True, exist_ok=True)
        version = max((int(path.stem) for path in place.glob("[0-9]*.toml")), default=0) + 1
        made_at = self._now().isoformat(timespec="seconds")
        facts = {"name": name, "made_at": made_at, "header": _named(header)}
        for ending, text in ((".json", json.dumps(facts, ensure_ascii=False)), (".toml", kept.to_toml())):
            path = place / f"{version:04d}{ending}"
            os.replace(write_beside(path, text), path)
        return Saved(name, version, made_at, kept)

    def recognise(self, header: Sequence[str]) -> Saved | None:
        """Return the latest mapping made for a file with exactly these columns, in any order; else None."""
        place = self.folder / signature(header)
        for path in sorted(place.glob("[0-9]*.toml"), reverse=True):
            try:
                facts = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
                mapping = Mapping.read(path)
            except (OSError, ValueError, BadMapping):
                continue  # cut off, edited by hand, or of another version of the tables: the one before it
            if facts["header"] == _named(header):
                return Saved(facts["name"], int(path.stem), facts["made_at"], mapping)
        return None


def signature(header: Sequence[str]) -> str:
    """Name under which the mappings of files with these columns are kept: the order does not matter.

    >>> signature(["Auftrag", "Datum "]) == signature(["Datum", "Auftrag"])
    True
    """
    return hashlib.sha256(json.dumps(_named(header)).encode()).hexdigest()[:24]


def _named(header: Sequence[str]) -> list[str]:
    return sorted(each.strip() for each in header)
