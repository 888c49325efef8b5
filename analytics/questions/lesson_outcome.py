"""What became of a lesson: which months are compared, and what changed in them."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

import polars as pl

from analytics import queries
from analytics.filters import Filters
from analytics.lessons import Lesson
from analytics.questions.lesson_effect import Effect, effect
from analytics.questions.reading import Reading

BEFORE_MONTHS = 12
CHOOSING_MONTHS = 3
"""People are sent to a lesson for how they did of late: these months before it are left out."""
AFTER_MONTHS = 12
SETTLES_DAYS = 90
"""First thoughts of the latest days are left out: the right ones would be known before the wrong ones."""
MEASURES = {"wrong_first": "lessons/first_thoughts", "came_back": "lessons/came_back"}


@dataclass(frozen=True)
class Periods:
    """The days compared; each `until` is the first day that no longer counts."""

    before_from: date
    before_until: date
    after_from: date
    after_until: date

    @property
    def began(self) -> bool:
        """Whether any day after the lesson can be judged."""
        return self.after_until > self.after_from


@dataclass(frozen=True)
class LessonOutcome:
    """A lesson with what changed after it.

    Parameters
    ----------
    lesson : Lesson
    label : str
        Its cause in words.
    periods : Periods
        Days on which calls were opened (closed, for those that came back).
    left_out : int
        Technicians who attended another lesson on the cause in these months, in neither group.
    wrong_first : Effect
        Strings of returns that turned out to be the cause, and were thought to be something else first.
    came_back : Effect
        Repairs of the cause that came back.
    """

    lesson: Lesson
    label: str
    periods: Periods
    left_out: int
    wrong_first: Effect
    came_back: Effect

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return self.lesson.to_dict() | {
            "label": self.label,
            **vars(self.periods),
            "left_out": self.left_out,
            "wrong_first": self.wrong_first.to_dict(),
            "came_back": self.came_back.to_dict(),
        }


def months_later(day: date, months: int) -> date:
    """Return the same day of another month, or the last one of a month that has none.

    Examples
    --------
    >>> months_later(date(2026, 5, 31), -3).isoformat()
    '2026-02-28'
    """
    at = day.year * 12 + day.month - 1 + months
    year, month = divmod(at, 12)
    following = date(year + (month == 11), (month + 1) % 12 + 1, 1)
    return date(year, month + 1, min(day.day, (following - timedelta(days=1)).day))


def periods(day: date, ends: date) -> Periods:
    """Return the days to compare, of records that end on a day.

    Examples
    --------
    >>> found = periods(date(2026, 1, 15), date(2026, 10, 31))
    >>> found.before_from.isoformat(), found.before_until.isoformat()
    ('2024-10-15', '2025-10-15')
    >>> found.after_from.isoformat(), found.after_until.isoformat()
    ('2026-01-16', '2026-08-03')
    """
    chosen_from = months_later(day, -CHOOSING_MONTHS)
    return Periods(
        months_later(chosen_from, -BEFORE_MONTHS),
        chosen_from,
        day + timedelta(days=1),
        max(min(months_later(day, AFTER_MONTHS), ends - timedelta(days=SETTLES_DAYS)), day)
        + timedelta(days=1),
    )


def outcome(read: Reading, lesson: Lesson, others: Sequence[Lesson], label: str) -> LessonOutcome:
    """Judge one lesson.

    Parameters
    ----------
    read : Reading
    lesson : Lesson
    others : sequence of Lesson
        All lessons, this one included: who attended another on the same cause in the months compared is left
        out.
    label : str
        The cause in words.
    """
    chosen = read.chosen(Filters(causes=(lesson.cause,)))
    ends = max((each.ends_at for each in chosen.ends), default=datetime.combine(lesson.day, time.min))
    days = periods(lesson.day, ends.date())
    again = {
        name
        for each in others
        if each.cause == lesson.cause
        and each.key != lesson.key
        and days.before_from <= each.day < max(days.after_until, days.after_from)
        for name in each.attended
    }
    values = chosen.values | {"cause": lesson.cause, **vars(days)}
    found = {
        name: _effect(queries.frame(read.cursor, statement, values), lesson.attended, again)
        for name, statement in MEASURES.items()
    }
    return LessonOutcome(lesson, label, days, len(again), **found)


def _effect(rows: pl.DataFrame, attended: Collection[str], again: Collection[str]) -> Effect:
    kept = rows.filter(~pl.col("technician").is_in(list(again)))
    counts = ("wrong_before", "calls_before", "wrong_after", "calls_after")
    wrong_before, calls_before, wrong_after, calls_after = (kept[name].to_numpy() for name in counts)
    there = kept["technician"].is_in(list(attended)).to_numpy()
    return effect(wrong_before, calls_before, wrong_after, calls_after, there)
