"""A lesson as it is recorded: when, on which cause, who attended; kept among the decisions."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Self

from analytics.decisions import Decision
from analytics.errors import BadQuestion

MATTER = KIND = "lesson"
FIRST_DAY = date(1990, 1, 1)


@dataclass(frozen=True)
class Lesson:
    """A lesson on one cause.

    Parameters
    ----------
    day : date
        When it was held.
    cause : str
        Code of the cause it was about. A day and cause have one lesson: recorded again, it is corrected.
    attended : tuple of str
        Technicians, at least one; kept in order, each once.
    note : str
        Free text; may be blank.
    who : str
        Who recorded it; may be blank.
    recorded_at : datetime, optional
        UTC; set when read.

    Raises
    ------
    BadQuestion
        When nobody attended, no cause is named, or the day can not be one.
    """

    day: date
    cause: str
    attended: tuple[str, ...]
    note: str = ""
    who: str = ""
    recorded_at: datetime | None = None

    def __post_init__(self) -> None:
        names = tuple(sorted({each.strip() for each in self.attended if each.strip()}))
        object.__setattr__(self, "attended", names)
        if not names:
            raise BadQuestion("A lesson needs at least one technician who attended.")
        if not self.cause:
            raise BadQuestion("A lesson needs the cause it was about.")
        if self.day < FIRST_DAY:
            raise BadQuestion(f"{self.day.isoformat()} is no day of a lesson.")

    @property
    def key(self) -> str:
        """Day and cause, what it is kept under."""
        return f"{self.day.isoformat()}:{self.cause}"

    def decision(self) -> Decision:
        """Return what is kept."""
        value = json.dumps({"attended": self.attended}, ensure_ascii=False)
        return Decision(MATTER, KIND, self.key, value, self.note, self.who)

    @classmethod
    def of_row(cls, row: Mapping[str, Any]) -> Self:
        """Return the lesson that was kept, from a row of the decisions."""
        day, _, cause = row["key"].partition(":")
        attended = tuple(json.loads(row["value"])["attended"])
        return cls(date.fromisoformat(day), cause, attended, row["note"], row["who"], row["made_at"])

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "key": self.key,
            "day": self.day,
            "cause": self.cause,
            "attended": list(self.attended),
            "note": self.note,
            "who": self.who,
            "recorded_at": self.recorded_at,
        }


def read_day(text: str) -> date:
    """Read a day as forms and the command line give it.

    Raises
    ------
    BadQuestion
        When it is not one.
    """
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise BadQuestion(f"'{text[:40]}' is not a day; write it like 2026-03-01.") from error
