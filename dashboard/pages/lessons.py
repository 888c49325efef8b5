"""Did the lessons work? Record a lesson, and see what changed beside those who did not attend."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.lesson_effect import CONFIDENCE, LEAST_CALLS, LEAST_TECHNICIANS, Effect
from analytics.questions.lesson_outcome import (
    AFTER_MONTHS,
    BEFORE_MONTHS,
    CHOOSING_MONTHS,
    SETTLES_DAYS,
    LessonOutcome,
)
from analytics.rates import Rate
from dashboard.address import href
from dashboard.components.answer import Words, answer
from dashboard.components.exhibit import exhibit, keep_csv, more
from dashboard.components.lesson_form import recording, taking_back
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import LESSONS_CAN_NOT_SAY
from dashboard.components.states import notices
from dashboard.components.table import Cell, Table, column, link, noted, share_text
from dashboard.pages.view import Content, Page, View
from dashboard.words import capital, counted, day, listed, moment, number

QUESTION = "Did the lessons work?"
MEASURES = {"wrong_first": "Something else thought first", "came_back": "Came back"}
BY_CHANCE = (
    f"People are sent to a lesson because they did badly of late, and would do better afterwards by chance "
    f"alone: so the {CHOOSING_MONTHS} months before a lesson are left out, and the {BEFORE_MONTHS} months "
    "before those are compared with those after it."
)
HOW = (
    "The change is that of those who attended minus that of those who did not, so that what changed for "
    "everybody is not put down to the lesson. Each technician's change counts by how many calls it stands "
    "on, so that it is not quite the difference of the sums.",
    "Something else thought first: strings of returns that turned out to be the lesson's cause, 30 days past "
    "their last closing, by the opening of their first call and the technician who first recorded a "
    f"diagnosis; those that went deeper are not wrong ones. The latest {SETTLES_DAYS} days are left out: the "
    "right ones would be known before the wrong ones. It decides what the first sentence says.",
    "Came back: repairs of the cause that came back within 30 days for the same kind of complaint, by "
    "closing, and by whose repair it was.",
    "The 95% interval holds every change that rearranging who attended does not refuse (studentised "
    f"permutation test, at {100 * (1 - CONFIDENCE):.0f}%). Over 1,000 simulated fleets without an effect it "
    "claimed one in 4.3%; halved errors were found in 53.0%, with 1 call a technician and month in 9.6%. "
    "With the months of choosing as the time before, it would claim one in 60.8%.",
    f"Too few to say: fewer than {LEAST_TECHNICIANS} technicians who attended, or who did not, with calls "
    f"before and after, or fewer than {LEAST_CALLS} calls of either before or after. Who attended another "
    "lesson on the cause in these months is in neither group.",
    "Nobody was drawn by lot to attend. Whoever got worse lately, for a reason of their own, may go on so, "
    "which hides what a lesson did; other changes that met those who attended alone are put down to it.",
)
VERDICTS = {
    "better": "fewer, and more than chance",
    "worse": "more, and more than chance",
    "not_sure": "could be chance",
    "too_few": "too few calls to say",
    "too_soon": "too soon to say",
}


def content(view: View) -> Content:
    """Return the page."""
    found = view.fleet.lessons()
    return page(
        QUESTION,
        *notices([LESSONS_CAN_NOT_SAY]),
        answer(_in_words(found), [BY_CHANCE], aside=_several(found)),
        evidence(
            _table(view, found) if found else None,
            _form(view, found),
            _history(view.fleet.lesson_history(), view.fleet.labels("causes")),
        ),
        counted_how(HOW),
    )


def verdict(one: LessonOutcome, effect: Effect) -> str:
    """Return what can be said of a lesson, a key of `VERDICTS`."""
    return effect.verdict if one.periods.began else "too_soon"


def _in_words(found: list[LessonOutcome]) -> Words:
    if not found:
        return [
            "No lesson is recorded yet. Record the first one below, and what changes afterwards shows here."
        ]
    said = [verdict(each, each.wrong_first) for each in found]
    parts = {
        "better": "after {} the cause was missed at first less often, more than chance brings",
        "worse": "after {} it was missed more often, more than chance brings",
        "not_sure": "after {} the change could be chance",
        "too_few": "after {} there are too few calls to say",
        "too_soon": "after {} it is too soon to say",
    }
    told = [words.format(number(said.count(key))) for key, words in parts.items() if key in said]
    are = "is" if len(found) == 1 else "are"
    return [html.Strong(counted(len(found), "lesson")), f" {are} recorded: {listed(told)}."]


def _several(found: list[LessonOutcome]) -> Words:
    judged = sum(each.wrong_first.change is not None for each in found)
    return (
        ["Of twenty lessons that change nothing, one would look as if it did, by chance."]
        if judged > 1
        else []
    )


def _table(view: View, found: list[LessonOutcome]) -> Component:
    columns = [
        column("Lesson"),
        column("What"),
        column("Attended", "number"),
        column("Others", "number"),
        column("Change, points", "rate"),
        column("In words"),
    ]
    rows: list[list[Cell]] = []
    for one in found:
        for at, (name, words) in enumerate(MEASURES.items()):
            rows.append(
                [_named(view, one) if not at else "The same lesson", words, *_cells(one, getattr(one, name))]
            )
    return exhibit(
        "What changed after each lesson, beside those who did not attend",
        Table("Lessons", columns, rows, layout="stack"),
        lead=f"Before: {BEFORE_MONTHS} months, to {CHOOSING_MONTHS} months before the lesson. After: at most "
        f"{AFTER_MONTHS} months. The change of those who attended minus that of the others, with its 95% "
        "interval.",
        tools=[keep_csv(href("/export.csv", None, table="lessons"), "the lessons")],
        id="lessons",
    )


def _named(view: View, one: LessonOutcome) -> Cell:
    went = f"{counted(len(one.lesson.attended), 'technician')}"
    left = f", {number(one.left_out)} at another lesson left out" if one.left_out else ""
    return link(
        f"{day(one.lesson.day)}: {one.label}",
        view.here(lesson=one.lesson.key) + "#recorded",
        f"Correct or take back: {one.label}, {day(one.lesson.day)}",
        f"{went}{left}",
    )


def _cells(one: LessonOutcome, effect: Effect) -> list[Cell]:
    said = verdict(one, effect)
    if said == "too_soon":
        return ["", "", "", capital(VERDICTS[said])]
    groups: list[Cell] = [
        noted(_both(before, after), f"{_of(before)}, {_of(after)}; {counted(technicians, 'technician')}")
        for before, after, technicians in (
            (effect.attended_before, effect.attended_after, effect.attended),
            (effect.others_before, effect.others_after, effect.others),
        )
    ]
    change: Cell = (
        noted(points(effect.change), f"{points(effect.low)} to {points(effect.high)}")
        if effect.change is not None and effect.low is not None and effect.high is not None
        else ""
    )
    return [*groups, change, capital(VERDICTS[said])]


def points(share: float) -> str:
    """Write a change of a share in points: "−9"."""
    rounded = round(100 * share)
    return f"{'+' if rounded > 0 else '−' if rounded < 0 else ''}{abs(rounded)}"


def _both(before: Rate, after: Rate) -> str:
    shares = [
        share_text(rate.rate, rate.denominator) if rate.denominator else "none" for rate in (before, after)
    ]
    return " → ".join(shares)


def _of(rate: Rate) -> str:
    return f"{number(rate.numerator)} of {number(rate.denominator)}"


def _form(view: View, found: list[LessonOutcome]) -> Component:
    asked = view.address.options.get("lesson", "")
    lesson = next((each.lesson for each in found if each.lesson.key == asked), None)
    choices = view.fleet.choices()["technicians"]["value"].to_list()
    technicians = sorted(name for name in choices if name)
    causes = view.fleet.lesson_causes().sort("label").select("cause", "label").rows()
    ends = view.fleet.observation_ends()
    last = max((each.ends_at for each in ends), default=None)
    form = recording(causes, technicians, lesson, last.date() if last else None)
    body: list[Component] = [form]
    if lesson:
        named = f"{day(lesson.day)}, {dict(causes).get(lesson.cause, lesson.cause)}"
        went = html.P(f"Attended: {listed(list(lesson.attended))}.", className="prose")
        cases = more("Cases to teach it with", href("/lesson", Filters(causes=(lesson.cause,))))
        body = [went, form, taking_back(lesson.key, named), cases]
    return exhibit(
        "Correct this lesson" if lesson else "Record a lesson",
        body,
        lead="A lesson of the same day and cause is corrected by recording it again. Names are used for the "
        "comparison alone; who recorded what stays on record.",
        id="recorded",
    )


def _history(history: pl.DataFrame, labels: Mapping[str, str]) -> Component | None:
    if history.is_empty():
        return None
    columns = [column("When", "day"), column("Lesson"), column("What"), column("By")]
    rows: list[list[Any]] = [
        [
            moment(row["made_at"]),
            _in_full(row["key"], labels),
            "recorded" if row["value"] else "taken back",
            row["who"] or "not said",
        ]
        for row in history.reverse().head(50).iter_rows(named=True)
    ]
    table = Table("Who recorded what", columns, rows, layout="stack")
    return html.Details(
        [html.Summary("Who recorded, corrected or took back which lesson (UTC)"), table], className="twin"
    )


def _in_full(key: str, labels: Mapping[str, str]) -> str:
    held, _, cause = key.partition(":")
    return f"{day(date.fromisoformat(held))}: {labels.get(cause, cause)}"


PAGE = Page(
    "/lessons",
    "Lessons",
    QUESTION,
    content,
    parameters=("lesson",),
    filtered=False,
    in_navigation=False,
)
