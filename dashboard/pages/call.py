"""What happened on this call? What was said, checked and fitted, and what came before and after."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.answers import CallStory
from dashboard.address import to_call, to_unit
from dashboard.components.answer import Words, answer
from dashboard.components.cautions import caution_list
from dashboard.components.exhibit import exhibit
from dashboard.components.facts import call_facts, said_table
from dashboard.components.lists import Labels, worded
from dashboard.components.page import beside, counted_how, evidence, page
from dashboard.components.timeline import timeline
from dashboard.pages.view import Content, Page, View
from dashboard.words import day, days_after

QUESTION = "What happened on this call?"


def content(view: View) -> Content:
    """Return the page."""
    story = view.fleet.call(view.record_id)
    labels = view.fleet.labels
    own, others = parted(story)
    return page(
        f"What happened on call {story.call_id}?",
        answer(
            _what(story, view.filters, labels),
            _before_and_after(story, view.filters),
        ),
        evidence(
            exhibit(
                "From ringing to closing",
                timeline(own, view.filters, "The call", story.call_id),
            ),
            caution_list(story.checks),
            beside(
                exhibit("What the customer told us", said_table(story.said)),
                exhibit("What the figures make of it", call_facts(story, labels)),
            ),
            _rest(others, view.filters, story.call_id),
        ),
        _counting(),
    )


def _rest(others: pl.DataFrame, filters: Filters, call_id: str) -> Component | None:
    return (
        exhibit("What came before and after", timeline(others, filters, "Before and after", call_id))
        if others.height
        else None
    )


def parted(story: CallStory) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Part the timeline into what belongs to the call, or happened to its unit meanwhile, and the rest."""
    lines = story.timeline
    own = pl.col("call_id") == story.call_id
    span = (
        lines.filter(own).select(pl.col("at").min().alias("first"), pl.col("at").max().alias("last")).row(0)
    )
    meanwhile = pl.col("call_id").is_null() & pl.col("at").is_between(*span)
    here = (own | meanwhile).fill_null(False)
    return lines.filter(here), lines.filter(~here)


def _what(story: CallStory, filters: Filters, labels: Labels) -> Words:
    facts, symptoms, causes = story.facts, labels("symptoms"), labels("causes")
    complaint = worded(facts.get("symptoms"), symptoms, "a complaint that was not recognised")
    cause = worded(facts.get("cause"), causes)
    found = (
        ["It turned out to be ", html.Strong(cause), ". "]
        if cause
        else ["What it turned out to be is not recorded. "]
    )
    unit = html.A(f"unit {story.unit_id}", href=to_unit(story.unit_id, filters))
    return [f"{day(facts.get('opened_at'))}: {complaint}, on ", unit, ". ", *found]


def _before_and_after(story: CallStory, filters: Filters) -> Words:
    words: Words = []
    for row in _nearest(story.returns_for):
        link = html.A(f"call {row['charged_call_id']}", href=to_call(row["charged_call_id"], filters))
        words += [f"It is a return, {days_after(row['days_between'])} after ", link, ". "]
    for row in _nearest(story.came_back_as):
        link = html.A(f"call {row['return_call_id']}", href=to_call(row["return_call_id"], filters))
        words += [f"It came back {days_after(row['days_between'])} after closing as ", link, "."]
    return words


def _nearest(rows: pl.DataFrame) -> list[dict[str, Any]]:
    return rows.sort("days_between").head(1).to_dicts() if rows.height else []


def _counting() -> Component:
    return counted_how(
        [
            "The words of the records stand as they were written; beside them is what they were taken to "
            "mean.",
            "A call belongs to a string of returns when it came back, or is a return, within 30 days for "
            "the same kind of complaint, whatever the other pages are set to.",
        ]
    )


PAGE = Page("/call/<id>", "Call", QUESTION, content, filtered=False, in_navigation=False)
