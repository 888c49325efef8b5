"""What does silence hide? Repairs that nobody rang about again: how many work, and whom to ask this week."""

from datetime import date

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.silence import LATELY_DAYS, SAMPLE, Silence
from dashboard.address import href, to_call, to_calls, to_unit
from dashboard.components.answer import Words, answer
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.lists import Labels, worded
from dashboard.components.page import beside, counted_how, evidence, page
from dashboard.components.people import about_people
from dashboard.components.sentence import sentence
from dashboard.components.states import no_calls, notices
from dashboard.components.table import Cell, Table, column, link, share_text
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, day, interval, number, percent

QUESTION = "What does silence hide?"
ANSWERS = {
    "works": "Works",
    "partly": "Works partly",
    "no": "Does not work",
    "not_reached": "Not reached",
}
MARKS = {
    "flagged_both": "The office and this page",
    "flagged_by_office_only": "The office only",
    "flagged_by_us_only": "This page only",
}

HOW = (
    "Silent: a repair whose window has passed, after which nobody rang again about the unit, for any "
    "complaint. Asked: somebody of the office asked afterwards whether it works; of several answers the"
    " latest that says something counts. Works partly counts as not working.",
    "The share of repairs that does not hold is what came back, and of the silent repairs the share "
    "that does not work among those who told. It supposes that those who told are like those who were "
    "not asked or not reached, and its interval is that of this share alone, calls taken for "
    "independent.",
    "The calls to ask about are drawn at random from the silent ones whose window has passed within the"
    f" last {LATELY_DAYS} days of the records, one a unit at most, nobody having been asked yet; the "
    "draw is the same all week. Only a random draw tells about all: asking the dissatisfied tells of "
    "them.",
)


def content(view: View) -> Content:
    """Return the page."""
    found = view.fleet.silence(view.filters)
    filters = sentence(view.address, view.choices, view.path)
    if not found.counts["judged"]:
        return page(QUESTION, filters, no_calls(view.path))
    return page(
        QUESTION,
        notices(about_people(view.filters)),
        filters,
        answer(_told(found, view.filters), _fails(found)),
        evidence(beside(_answers(found, view.filters), _marks(found, view.filters)), _sample(view)),
        counted_how(HOW),
    )


def _told(found: Silence, filters: Filters) -> Words:
    rate = found.not_working
    silent = html.A(counted(found.counts["silent"], "repair"), href=to_calls(filters, "silent"))
    if not rate.denominator:
        return [silent, " are silent, and nobody was asked afterwards whether they work."]
    share = percent(rate.rate, rate.denominator)
    told = f"{number(rate.numerator)} of {number(rate.denominator)}"
    if not share:
        return [silent, f" are silent; of those asked, {told} do not work fully: too few for a percentage."]
    limits = interval(rate.low, rate.high, rate.denominator)
    words: Words = ["Of ", silent, " that are silent, ", html.Strong(share)]
    return [*words, f" do not work fully ({told} who were asked and told; 95% interval {limits})."]


def _fails(found: Silence) -> Words:
    share = percent(found.callback_rate.rate, found.callback_rate.denominator)
    if found.fails is None or not share or not percent(found.fails, found.not_working.denominator):
        return ["The callback rate is a lower limit of failure: silence is not success."]
    calls = found.not_working.denominator
    limits = interval(found.fails_low, found.fails_high, calls)
    return [
        f"So while {share} came back for any complaint, about ",
        html.Strong(percent(found.fails, calls)),
        f" of repairs do not hold (95% interval {limits}): the callback rate is a lower limit.",
    ]


def _answers(found: Silence, filters: Filters) -> Component:
    told = sum(found.counts[name] for name in ("works", "partly", "no"))
    rows: list[list[Cell]] = [
        [
            words,
            link(
                number(found.counts[name]),
                to_calls(filters, f"silent_{name}"),
                f"{number(found.counts[name])} silent calls: {words}",
            ),
            share_text(found.counts[name] / told, told) if told and name != "not_reached" else "",
        ]
        for name, words in ANSWERS.items()
    ]
    columns = [column("Answer"), column("Silent calls", "number"), column("Of those who told", "number")]
    return exhibit(
        f"{counted(told, 'customer')} told whether it works",
        Table("Silent calls asked about, by answer", columns, rows),
        lead="Asked after closing, of repairs that nobody rang about again.",
    )


def _marks(found: Silence, filters: Filters) -> Component | None:
    if not sum(found.counts[name] for name in ("flagged_both", "flagged_by_office_only")):
        return None
    rows: list[list[Cell]] = [
        [
            words,
            link(
                number(found.counts[name]),
                to_calls(filters, name),
                f"{number(found.counts[name])} callbacks by {words}",
            ),
        ]
        for name, words in MARKS.items()
    ]
    columns = [column("Called a callback by"), column("Calls", "number")]
    return exhibit(
        "The office's own mark against the rule",
        Table("Callbacks by who marks them", columns, rows),
        lead="What the office marks by hand and what follows from the dates; the figures use the dates.",
    )


def _sample(view: View) -> Component:
    today = date.today()
    year, week, _ = today.isocalendar()
    drawn = view.fleet.silent_sample(view.filters, today, SAMPLE)
    if drawn.is_empty():
        return exhibit(
            "Nobody to ask this week", html.P("Every silent call of late was asked about.", className="prose")
        )
    return exhibit(
        f"{counted(drawn.height, 'silent call')} to ask about in week {week} of {year}",
        _sample_table(drawn, view.filters, view.fleet.labels),
        lead="Drawn at random: ask “does it work?”, write down the answer, and load it as follow-ups.",
        tools=[
            keep_csv(href("/export.csv", view.filters, table="silent_sample"), "silent calls to ask about")
        ],
    )


def _sample_table(drawn: pl.DataFrame, filters: Filters, labels: Labels) -> Table:
    symptoms, causes, parts = labels("symptoms"), labels("causes"), labels("parts")
    columns = [
        column("Call"), column("Closed", "day"), column("Complaint"), column("What it turned out to be"),
        column("Parts fitted"), column("Depot"), column("Unit"),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [
            link(row["call_id"], to_call(row["call_id"], filters), f"Call {row['call_id']}"),
            day(row["closed_at"]),
            worded(row["symptoms"], symptoms, "not recognised"),
            worded(row["cause"], causes, "not recorded"),
            worded(row["parts"], parts),
            row["depot"] or "",
            link(row["unit_id"], to_unit(row["unit_id"], filters), f"Unit {row['unit_id']}"),
        ]
        for row in drawn.iter_rows(named=True)
    ]
    return Table("Silent calls to ask about", columns, rows, layout="stack")


PAGE = Page("/silence", "Silence", QUESTION, content)
