"""What has this unit been through? Its facts, calls, filter changes and strings of returns."""

from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.questions.answers import UnitStory
from dashboard.components.answer import Words, answer
from dashboard.components.exhibit import exhibit, twin
from dashboard.components.facts import unit_facts
from dashboard.components.lists import Labels, calls_table, worded
from dashboard.components.page import beside, counted_how, evidence, page
from dashboard.components.table import Table, column
from dashboard.components.timeline import timeline
from dashboard.pages.view import Content, Page, View
from dashboard.words import capital, counted, day, number

QUESTION = "What has this unit been through?"


def content(view: View) -> Content:
    """Return the page."""
    story = view.fleet.unit(view.record_id)
    labels = view.fleet.labels
    calls = calls_table(story.calls, view.filters, labels, _unsorted, "Its calls, latest first", of_unit=True)
    return page(
        f"What has unit {story.unit_id} been through?",
        answer(_story(story, labels)),
        evidence(
            exhibit("Its calls", calls),
            beside(exhibit("The unit", unit_facts(story, labels)), _episodes(story, labels)),
            exhibit(
                "From first to last",
                twin(
                    timeline(story.timeline, view.filters, "What happened to the unit"),
                    f"Show all {counted(story.timeline.height, 'step')}",
                ),
            ),
        ),
        counted_how(
            [
                "Strings of returns join calls that came back within 30 days for the same kind of "
                "complaint, whatever the other pages are set to.",
                "A filter among the parts fitted is a filter change.",
            ]
        ),
    )


def _unsorted(column: str) -> dict[str, Any]:
    return {}


def _story(story: UnitStory, labels: Labels) -> Words:
    causes = [cause for cause in story.calls["cause"].to_list() if cause]
    words: Words = [html.Strong(counted(story.calls.height, "call"))]
    if installed := story.facts.get("installed_on"):
        words += [f" since it was installed on {day(installed)}"]
    if causes:
        most = max(set(causes), key=causes.count)
        times = causes.count(most)
        words += [
            f"; most often {worded(most, labels('causes'))} ({number(times)} of {number(story.calls.height)})"
        ]
    retired = story.facts.get("retired_on")
    return [*words, f". Replaced or scrapped on {day(retired)}." if retired else "."]


def _episodes(story: UnitStory, labels: Labels) -> Component | None:
    strings = story.episodes.filter(story.episodes["calls"] > 1) if story.episodes.height else story.episodes
    if strings.is_empty():
        return exhibit("No string of returns", html.P("No call of this unit came back.", className="prose"))
    columns = [
        column("Began", "day"),
        column("Calls", "number"),
        column("What it turned out to be"),
        column("Course"),
    ]
    rows = [
        [
            day(row["opened_at"]),
            number(row["calls"]),
            capital(worded(row["final_cause"], labels("causes"), "unknown")),
            row["course"] or "",
        ]
        for row in strings.iter_rows(named=True)
    ]
    return exhibit(
        "Strings of returns", Table("Strings of returns of this unit", columns, rows, layout="stack")
    )


PAGE = Page("/unit/<id>", "Unit", QUESTION, content, filtered=False, in_navigation=False)
