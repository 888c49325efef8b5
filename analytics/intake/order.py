"""One file to load, and how: what was decided before anything is written."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from analytics.intake import extraction, sheets
from analytics.intake.extraction import Extraction
from analytics.intake.mapping import Mapping
from analytics.intake.recognising import Recognised, recognise
from analytics.intake.sheets import Sheet

DEFAULT_SOURCE = "main"


@dataclass(frozen=True)
class Wishes:
    """What the user says about the files of a load.

    Parameters
    ----------
    mapping : Mapping
    table : str or None
        The table that the files hold.
    source : str or None
        Who sent them.
    extracted : date or datetime or None
        When they were taken from the sender's system.
    full_extract : bool
        They hold everything their source has.
    today : date
        The day of loading.
    """

    mapping: Mapping
    today: date
    table: str | None = None
    source: str | None = None
    extracted: date | datetime | None = None
    full_extract: bool = False


@dataclass(frozen=True)
class Order:
    """One file to load, and how.

    Parameters
    ----------
    sheet : Sheet
    recognised : Recognised
    mapping : Mapping
    source : str
    extraction : Extraction
        From what was given or the file's name; its rows may show that the name misleads.
    full_extract : bool
    """

    sheet: Sheet
    recognised: Recognised
    mapping: Mapping
    source: str
    extraction: Extraction
    full_extract: bool

    @property
    def reading_hash(self) -> str:
        """Hash of everything but the bytes that decides what becomes of the file."""
        parts = (
            self.mapping.to_toml(),
            self.recognised.table.name,
            self.source,
            str(self.extraction.at),
            str(self.full_extract),
        )
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()

    def messages(self) -> list[str]:
        """What a person should know about how the file is read."""
        said = list(self.sheet.messages)
        for column, headers in self.recognised.doubtful.items():
            if doubt := self.recognised.doubts.get(column):
                said.append(f"not used as {column}: '{headers[0]}', since {doubt}")
            elif column not in self.recognised.columns:
                said.append(f"not used, since any of them could be {column}: {', '.join(headers)}")
        doubted = {each for headers in self.recognised.doubtful.values() for each in headers}
        if unused := [each or "(no name)" for each in self.recognised.unused if each not in doubted]:
            said.append(f"columns not used: {', '.join(unused)}")
        return said


def order_for(
    path: Path, wishes: Wishes, progress: Callable[[float], None] | None = None, called: str = ""
) -> Order:
    """Look at a file and decide how it is to be loaded; `called` is its name for people, as in `Sheet`.

    Raises
    ------
    BadFile, NeedsAnswer
        When it can not be read for certain.
    BadQuestion
        When it is said to be extracted on a day that has not come.
    """
    sheet = sheets.look_at(path, wishes.mapping, progress, called)
    taken = extraction.of_file(sheet.name, wishes.extracted, wishes.mapping.extracted)
    return Order(
        sheet=sheet,
        recognised=recognise(sheet.name, sheet.dialect.header, wishes.mapping, wishes.table, sheet.sample),
        mapping=wishes.mapping,
        source=wishes.source or wishes.mapping.sender or DEFAULT_SOURCE,
        extraction=extraction.refuse_future(taken, wishes.today),
        full_extract=wishes.full_extract,
    )
