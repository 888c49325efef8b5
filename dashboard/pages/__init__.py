"""The pages, one module per question, in the order of the navigation."""

from dashboard.pages import (
    bring,
    call,
    callbacks,
    calls,
    checks,
    compare,
    costs,
    data,
    filter_age,
    first_visit,
    how_soon,
    lesson,
    lessons,
    mend,
    model_card,
    new_call,
    over_time,
    repeat_units,
    settle,
    silence,
    summary,
    take_back,
    teaching,
    this_week,
    unit,
    wrong_turns,
)
from dashboard.pages.view import Page

PAGES: tuple[Page, ...] = (
    summary.PAGE,
    this_week.PAGE,
    new_call.PAGE,
    callbacks.PAGE,
    over_time.PAGE,
    compare.PAGE,
    first_visit.PAGE,
    checks.PAGE,
    how_soon.PAGE,
    silence.PAGE,
    repeat_units.PAGE,
    filter_age.PAGE,
    teaching.PAGE,
    costs.PAGE,
    wrong_turns.PAGE,
    model_card.PAGE,
    calls.PAGE,
    data.PAGE,
    bring.PAGE,
    settle.PAGE,
    mend.PAGE,
    take_back.PAGE,
    call.PAGE,
    unit.PAGE,
    lesson.PAGE,
    lessons.PAGE,
)


def find(path: str | None) -> tuple[Page, str] | None:
    """Return the page of a path and the record id in it, or None where there is no such page."""
    for each in PAGES:
        if (record := each.record_id(path or "/")) is not None:
            return each, record
    return None
