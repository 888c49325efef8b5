"""The forms by which a lesson is recorded, corrected or taken back."""

from collections.abc import Sequence
from datetime import date

from dash import html
from dash.development.base_component import Component

from analytics.lessons import Lesson
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.field import Field
from dashboard.components.ticks import Ticks

PATH = "/lessons/recorded"
"""Where the forms are sent to."""


def recording(
    causes: Sequence[tuple[str, str]], technicians: Sequence[str], lesson: Lesson | None, day: date | None
) -> Component:
    """Return the form that records a lesson.

    Parameters
    ----------
    causes : list of (code, label)
    technicians : list of str
    lesson : Lesson or None
        To correct; its day and cause then stand, for they name it.
    day : date or None
        Filled in at first.
    """
    options: list[Option] = [("", "choose a cause"), *causes]
    given = lesson.day if lesson else day
    parts = [
        Field(
            "lesson-day", "day", "Day", given.isoformat() if given else "", rows=1, kind="date", needed=True
        ),
        Choice("lesson-cause", "cause", options, lesson.cause if lesson else "", "About", layout="block"),
        Ticks(
            "lesson-attended",
            "attended",
            "Who attended",
            [(each, each) for each in technicians],
            lesson.attended if lesson else (),
        ),
        Field("lesson-note", "note", "Note (may stay blank)", lesson.note if lesson else "", rows=2),
        Field(
            "lesson-who",
            "who",
            "Recorded by (may stay blank)",
            lesson.who if lesson else "",
            most=100,
            rows=1,
        ),
        html.Button("Record the lesson", type="submit", className="first"),
    ]
    return html.Form(
        parts, action=PATH, method="post", className="decide lesson", **spoken("Record a lesson")
    )


def taking_back(key: str, named: str) -> Component:
    """Return the form that takes a lesson back."""
    button = html.Button(
        "Take this lesson back", type="submit", name="take_back", value=key, className="second"
    )
    who = Field("lesson-back-who", "who", "Taken back by (may stay blank)", "", most=100, rows=1)
    return html.Form(
        [who, button], action=PATH, method="post", className="decide lesson", **spoken(f"Take back: {named}")
    )
