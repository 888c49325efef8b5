"""Since when: a dated change in words and as a table, and the sums that watch one call after another."""

from datetime import date, timedelta

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.changes import DatedChange, OverTime, Watched
from analytics.questions.over_time import LEAST_A_SIDE, LEAST_CALLS
from analytics.rates import Rate
from dashboard.address import href, to_calls
from dashboard.components.answer import Words, calls_link, rate_in_words
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png, twin
from dashboard.components.table import Cell, Table, column, interval_text, link, share_text
from dashboard.figures.sums import NAMES, sums
from dashboard.words import counted, day, interval, month, number, percent


def change_in_words(filters: Filters, found: OverTime) -> Words:
    """Return the sentence on whether and when the rate changed."""
    change = found.change
    if change is None:
        what = f"came back within {filters.window_days} days"
        of_all = rate_in_words(found.rate, what, _looked_at(filters, found), "came_back", "judged")
        return [*of_all, "; too few calls to look for a change."]
    if not change.beyond_chance:
        what = f"came back within {filters.window_days} days"
        of_all = rate_in_words(found.rate, what, _looked_at(filters, found), "came_back", "judged")
        return [html.Strong("No change beyond chance"), f" since {day(found.since)}: ", *of_all, "."]
    before, after = _sides(filters, found, change)
    return [
        "The share that came back ",
        html.Strong(f"{_went(change)} {_when(change)}"),
        ": ",
        *_side(change.before, before),
        " before, ",
        *_side(change.after, after),
        " after.",
    ]


def _went(change: DatedChange) -> str:
    return "rose" if change.ratio_after > change.ratio_before else "fell"


def _when(change: DatedChange) -> str:
    if change.first == change.last:
        return f"on {day(change.on)}"
    return f"between {day(change.first)} and {day(change.last)}, most likely on {day(change.on)}"


def _looked_at(filters: Filters, found: OverTime) -> Filters:
    return filters.but(
        closed_from=found.since or filters.closed_from, closed_to=found.until or filters.closed_to
    )


def _sides(filters: Filters, found: OverTime, change: DatedChange) -> tuple[Filters, Filters]:
    looked_at = _looked_at(filters, found)
    eve = change.on - timedelta(days=1)
    return looked_at.but(closed_to=eve), looked_at.but(closed_from=change.on)


def _side(rate: Rate, filters: Filters) -> Words:
    return [
        html.Strong(percent(rate.rate, rate.denominator)),
        " (",
        calls_link(rate.numerator, filters, "came_back", "calls came back"),
        " of ",
        calls_link(rate.denominator, filters, "judged", "calls that could be judged"),
        ")",
    ]


def change_exhibit(filters: Filters, found: OverTime) -> Component | None:
    """Return the table of before and after, or nothing where there were too few calls to look."""
    change = found.change
    if change is None:
        return None
    title = (
        f"{_went(change).capitalize()} {_when(change)}" if change.beyond_chance else "No change beyond chance"
    )
    chance = "below 0.01" if change.p < 0.01 else f"{change.p:.2f}"
    lead = (
        f"The day that divides the calls best. Chance of so large a difference without any change: {chance}; "
        "that the day was sought among all days is allowed for."
    )
    if not change.beyond_chance:
        lead += " So these two rates do not differ by more than chance."
    columns = [
        column("Closed"), column("Rate", "rate"), column("Came back", "number"), column("Of", "number"),
        column("95% interval", "number"), column("Odds against expected", "number"),
    ]  # fmt: skip
    if found.group is None:
        columns = columns[:-1]
    before, after = _sides(filters, found, change)
    eve = change.on - timedelta(days=1)
    rows = [
        _row(change.before, before, f"{day(found.since)} to {day(eve)}", change.ratio_before),
        _row(change.after, after, f"{day(change.on)} to {day(found.until)}", change.ratio_after),
    ]
    cells = [row[: len(columns)] for row in rows]
    table = Table("Before and after the most likely day", columns, cells, layout="stack")
    return exhibit(title, table, lead=lead)


def _row(rate: Rate, filters: Filters, name: str, ratio: float) -> list[Cell]:
    returned, calls = number(rate.numerator), number(rate.denominator)
    return [
        name,
        share_text(rate.rate, rate.denominator),
        link(returned, to_calls(filters, "came_back"), f"{returned} returns, {name}"),
        link(calls, to_calls(filters, "judged"), f"{calls} calls, {name}"),
        interval_text(rate.low, rate.high, rate.denominator),
        f"{ratio:.2f}",
    ]


def sums_exhibit(filters: Filters, found: OverTime) -> Component:
    """Return the chart of the two sums with the times above their limits, or why there is none."""
    watched = found.watched
    if watched is None:
        return exhibit("Not watched call by call", html.P(_why_not(found), className="prose"))
    tools = [
        keep_png(href("/figure.json", filters, chart="watched"), "more-or-fewer-than-expected", "sums"),
        keep_csv(href("/export.csv", filters, table="watched"), "sums"),
    ]
    finding = sums_finding(watched)
    signals = [_signals(filters, found, watched)] if watched.signals.height else []
    return exhibit(
        finding,
        [
            chart("watched", sums(watched), f"Sums of evidence by day of closing. {finding}."),
            *signals,
            twin(_by_month(watched)),
        ],
        lead=[
            f"{_against(found)} Line above: climbs when more come back; below: when fewer. Dashed: passed by "
            "chance alone in one year in forty each. "
            f"Watched: {counted(watched.calls, 'call')}, {number(watched.came_back)} came back, "
            f"{number(watched.expected, 1)} expected."
        ],
        tools=tools,
    )


def sums_finding(watched: Watched) -> str:
    """Say in words whether a limit was passed, latest first."""
    if watched.signals.is_empty():
        return "At no time more or fewer returns than chance would give"
    last = watched.signals.row(-1, named=True)
    others = watched.signals.height - 1
    again = f"; {counted(others, 'earlier time', 'earlier times')} beyond a limit" if others else ""
    return f"{NAMES[last['direction']].capitalize()}, {_span(last['began'], last['ended'])}{again}"


def _span(began: date, ended: date | None) -> str:
    return f"{day(began)} to {day(ended)}" if ended else f"since {day(began)} and still"


def _against(found: OverTime) -> str:
    if found.group is None and found.first_year is not None:
        rate = found.first_year
        limits = interval(rate.low, rate.high, rate.denominator)
        share = percent(rate.rate, rate.denominator)
        return (
            f"Day after day, against the rate of their own first year: {share} ({number(rate.numerator)} of "
            f"{number(rate.denominator)}; 95% interval {limits}), not adjusted for the work."
        )
    return "Call after call, against what the work would lead one to expect from the calls of others."


def _why_not(found: OverTime) -> str:
    if found.group is not None:
        return f"Fewer than {LEAST_CALLS} calls can be judged: too few to watch."
    return (
        "They are held against their own first year, and there are too few calls in it or after it. One "
        "depot, technician, part or product family, chosen alone, is held against the others instead, where "
        "these are enough."
    )


def _signals(filters: Filters, found: OverTime, watched: Watched) -> Table:
    columns = [
        column("Returns"),
        column("Began", "day"),
        column("Limit passed", "day"),
        column("Back at zero"),
    ]
    rows: list[list[Cell]] = []
    for row in watched.signals.reverse().iter_rows(named=True):
        until = row["ended"] or found.until
        calls = to_calls(filters.but(closed_from=row["began"], closed_to=until), "came_back")
        words = NAMES[row["direction"]].capitalize()
        ended = day(row["ended"]) if row["ended"] else "not yet"
        name = f"{words}, calls closed from {day(row['began'])}"
        rows.append([link(words, calls, name), day(row["began"]), day(row["crossed"]), ended])
    return Table("Times beyond a limit, latest first", columns, rows, layout="stack")


def _by_month(watched: Watched) -> Table:
    ends = watched.path.group_by(pl.col("closed_at").dt.truncate("1mo").dt.date().alias("month")).last()
    columns = [
        column("End of"),
        column("Calls so far", "number"),
        column(f"More (limit {watched.limit_more:.2f})", "number"),
        column(f"Fewer (limit {watched.limit_fewer:.2f})", "number"),
    ]
    rows = [
        [month(row["month"]), number(row["calls"]), f"{row['more']:.2f}", f"{row['fewer']:.2f}"]
        for row in ends.sort("month", descending=True).iter_rows(named=True)
    ]
    return Table("Both sums at the end of each month, latest first", columns, rows)


LEAST_WORDS = f"at least {LEAST_A_SIDE} calls on each side"
