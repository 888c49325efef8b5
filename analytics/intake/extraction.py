"""When a file was taken from its sender's system: known for certain, or between two moments."""

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from analytics.errors import BadQuestion

EARLIEST = datetime(1900, 1, 1)


@dataclass(frozen=True)
class Extraction:
    """The moment of extraction, where it is known.

    Parameters
    ----------
    at : datetime or None
        The moment, midnight where only the day is known; None when it is not known.
    known_from : str
        "given", "mapping", "file name" or "unknown".
    """

    at: datetime | None
    known_from: str

    def surely(self, latest_at: datetime | None, loaded_at: datetime) -> tuple[datetime, datetime]:
        """First and last moment at which the file can have been extracted.

        Parameters
        ----------
        latest_at : datetime or None
            Latest time in the file.
        loaded_at : datetime
            Moment of loading.
        """
        if self.at is not None:
            return self.at, self.at
        return latest_at or EARLIEST, loaded_at


UNKNOWN = Extraction(None, "unknown")


def of_file(name: str, given: date | None, mapped: date | None) -> Extraction:
    """Find the extraction of a file: as given, else as in the mapping, else an ISO date in its name.

    >>> of_file("calls_2026-03-01.csv", None, None)
    Extraction(at=datetime.datetime(2026, 3, 1, 0, 0), known_from='file name')
    """
    for value, known_from in ((given, "given"), (mapped, "mapping")):
        if value is not None:
            return Extraction(as_moment(value), known_from)
    for found in re.finditer(r"(?<!\d)(\d{4}-\d{2}-\d{2})(?!\d)", name):
        try:
            return Extraction(as_moment(date.fromisoformat(found[1])), "file name")
        except ValueError:
            continue
    return UNKNOWN


def as_moment(value: date | datetime) -> datetime:
    """Day or moment as a local moment without zone."""
    if isinstance(value, datetime):
        return value.astimezone().replace(tzinfo=None) if value.tzinfo else value
    return datetime.combine(value, time())


def contradicted(extraction: Extraction, latest_at: datetime | None) -> bool:
    """Say whether the file has times after the day that its name gives as its extraction."""
    return (
        extraction.known_from == "file name"
        and extraction.at is not None
        and latest_at is not None
        and latest_at >= extraction.at + timedelta(days=1)
    )


def refuse_future(extraction: Extraction, today: date) -> Extraction:
    """Return the extraction, or the unknown one where a date in a file name lies after the day of loading.

    Raises
    ------
    BadQuestion
        When the user, or the mapping, names a day that has not come.
    """
    if extraction.at is None or extraction.at.date() <= today:
        return extraction
    if extraction.known_from == "file name":
        return UNKNOWN
    where = "the mapping" if extraction.known_from == "mapping" else "--extracted"
    raise BadQuestion(
        f"By {where} the file was extracted on {extraction.at.date()}, which is after today ({today}). "
        "Name the day on which it was taken from the sender's system."
    )
