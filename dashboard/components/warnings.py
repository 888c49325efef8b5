"""What in the records bends the figures, said beside them: named at once, in full when opened."""

from collections.abc import Sequence

from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.answers import Warning
from dashboard.address import to_calls
from dashboard.words import listed

NAMES = {
    "dates_without_times": "dates without times",
    "closed_by_paperwork": "closing by paperwork",
    "visits_after_closing": "visits after closing",
    "office_flag_differs": "the office's own mark",
    "recording_differs": "uneven recording",
    "leak_after_our_work": "leaks after our work",
}


def warning_notice(warnings: Sequence[Warning], filters: Filters) -> list[Component]:
    """Return the notice, or nothing where there is no warning; each sentence leads to the calls behind it."""
    if not warnings:
        return []
    sentences = [html.P(_sentence(warning, filters)) for warning in warnings]
    if len(warnings) == 1:
        return [html.Div(sentences, className="notice", role="note")]
    names = list(dict.fromkeys(NAMES.get(warning.code, "other") for warning in warnings))
    summary = html.Summary(f"What bends these figures: {listed(names)}")
    return [html.Details([summary, html.Div(sentences)], className="notice")]


def _sentence(warning: Warning, filters: Filters) -> list[str | Component]:
    if not warning.subset:
        return [warning.sentence]
    return [warning.sentence, " ", html.A("See these calls", href=to_calls(filters, warning.subset)), "."]
