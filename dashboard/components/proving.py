"""What was checked before a repair was called done: evidence for a valve, and proof of the repair."""

from collections.abc import Sequence

from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.check_proof import Proof, Valves
from analytics.rates import Rate
from dashboard.address import href, to_calls
from dashboard.components.answer import Words, calls_link
from dashboard.components.exhibit import exhibit, keep_csv, keep_png
from dashboard.components.table import (
    Cell,
    Table,
    column,
    interval_mark,
    interval_text,
    link,
    nice_scale,
    share_text,
)
from dashboard.words import capital, interval, number, percent

MIX = "The two kinds of calls may differ in what was wrong; the difference need not come from the checks."


def valves_exhibit(filters: Filters, found: Valves) -> Component:
    """Return the exhibit of valves fitted with and without evidence."""
    if not found.without_evidence.denominator:
        return exhibit(
            "No valve was fitted", html.P("On none of these calls.", className="prose"), id="valves"
        )
    rows = [
        ("No evidence recorded", "valve_without_evidence", found.came_back_without),
        ("Evidence recorded", "valve_with_evidence", found.came_back_with),
    ]
    return exhibit(
        _valve_finding(found),
        _rates("Calls on which a valve was fitted", "Valve fitted with", filters, rows),
        lead=[
            "Evidence is a coil reading, a seep test, a flow (line end, pressure, one fill, a catch) or a "
            f"look at the inlet screen, whatever it found. {_difference(found)} ",
            *_recorders(filters, found),
        ],
        tools=[keep_csv(href("/export.csv", filters, table="valve_evidence"), "valves by evidence")],
        id="valves",
    )


def _valve_finding(found: Valves) -> str:
    rate = found.without_evidence
    share = percent(rate.rate, rate.denominator)
    counts = f"{number(rate.numerator)} of {number(rate.denominator)}"
    return f"Valves fitted without evidence recorded: {counts}" + (f" ({share})" if share else "")


def _difference(found: Valves) -> str:
    fewest = min(found.came_back_without.denominator, found.came_back_with.denominator)
    if found.difference is None or found.low is None or found.high is None or not percent(0.0, fewest):
        return "Too few can be judged to compare how often they come back."
    points = f"{100 * abs(found.difference):.1f} points"
    limits = f"95% interval {100 * found.low:.1f} to {100 * found.high:.1f} points"
    if found.low <= 0 <= found.high:
        return f"Whether those without come back more often can not be told from chance ({limits}). {MIX}"
    which = "more" if found.difference > 0 else "less"
    return f"Those without come back {which} often, by {points} ({limits}), more than chance. {MIX}"


def _recorders(filters: Filters, found: Valves) -> Words:
    rate = found.recorders
    share = percent(rate.rate, rate.denominator) if rate.denominator else ""
    if not share or rate.denominator == found.without_evidence.denominator:
        return []
    return [
        f"Of technicians who record checks on at least half of their visits it is {share} "
        f"({number(rate.numerator)} of {number(rate.denominator)}; 95% interval "
        f"{interval(rate.low, rate.high, rate.denominator)}): not recorded is not the same as not done."
    ]


def proof_exhibit(filters: Filters, found: Sequence[Proof]) -> Component:
    """Return the exhibit of returns by how far the repair was proved."""
    told = [each.works for each in found]
    rows = [(capital(each.label), each.code, each.callback_rate) for each in found]
    extra = [_works(filters, each) for each in found] if any(rate.denominator for rate in told) else None
    proved = found[0]
    of = sum(each.calls for each in found)
    share = percent(proved.calls / of, of) if of else ""
    finding = f"A proof of the repair is recorded on {number(proved.calls)} of {number(of)} repairs"
    return exhibit(
        finding + (f" ({share})" if share else ""),
        _rates("Repairs by how far they were proved", "How far it was proved", filters, rows, extra),
        lead="Proof: one fill seen, no drip and no leak after, and no fault found. Harder calls may be "
        "proved more often, or less: these are plain rates.",
        tools=[
            keep_png(href("/figure.json", filters, chart="proof"), "returns-by-proof", "returns by proof"),
            keep_csv(href("/export.csv", filters, table="proof"), "returns by proof"),
        ],
        id="proof",
    )


def _works(filters: Filters, each: Proof) -> Cell:
    rate = each.works
    if not rate.denominator:
        return "nobody asked"
    counts = f"{number(rate.numerator)} of {number(rate.denominator)}"
    limits = interval_text(rate.low, rate.high, rate.denominator)
    return link(
        share_text(rate.rate, rate.denominator),
        to_calls(filters, f"{each.code}_works"),
        f"{counts} say that it works, {each.label}",
        note=f"{counts}; {limits}" if limits else counts,
    )


def _rates(
    caption: str,
    what: str,
    filters: Filters,
    rows: Sequence[tuple[str, str, Rate]],
    extra: Sequence[Cell] | None = None,
) -> Table:
    """Return callback rates beside each other; a row is its words, the stem of its subsets, its rate."""
    shown = [
        rate.high or 0.0 for _, _, rate in rows if rate.denominator and percent(rate.rate, rate.denominator)
    ]
    scale = min(1.0, nice_scale(max(shown, default=1.0)))
    columns = [
        column(what),
        column("Came back, 95% interval", "mark", scale=scale, ends=["0%", f"{100 * scale:g}%"]),
        column("Came back", "rate"),
        column("Calls", "number"),
        column("95% interval", "number"),
        column("Too soon", "number"),
        *([column("Asked: works", "number")] if extra else []),
    ]
    cells = [
        [*_rate_row(filters, words, stem, rate), *([extra[at]] if extra else [])]
        for at, (words, stem, rate) in enumerate(rows)
    ]
    return Table(caption, columns, cells, layout="marks")


def _rate_row(filters: Filters, words: str, stem: str, rate: Rate) -> list[Cell]:
    calls = rate.denominator
    counts = f"{number(rate.numerator)} of {number(calls)}"
    enough = calls and percent(rate.rate, calls)
    return [
        link(words, to_calls(filters, f"{stem}_judged"), f"Calls that could be judged, {words.lower()}"),
        interval_mark(rate.rate, rate.low, rate.high) if enough else "",
        share_text(rate.rate, calls) if calls else "too soon",
        link(counts, to_calls(filters, f"{stem}_came_back"), f"{counts} came back, {words.lower()}"),
        interval_text(rate.low, rate.high, calls),
        number(rate.inside_window) if rate.inside_window else "",
    ]


def valves_in_words(filters: Filters, found: Valves) -> Words:
    """Return the sentence on valves fitted without evidence, or nothing where none was fitted."""
    rate = found.without_evidence
    if not rate.denominator:
        return []
    over = calls_link(rate.numerator, filters, "valve_without_evidence", "valves without evidence recorded")
    of = calls_link(rate.denominator, filters, "valve_fitted", "calls on which a valve was fitted")
    share = percent(rate.rate, rate.denominator)
    limits = f"; 95% interval {interval(rate.low, rate.high, rate.denominator)}" if share else ""
    counts: Words = [over, " of ", of]
    if not share:
        return [*counts, " calls with a valve fitted have no evidence for it recorded."]
    return [
        html.Strong(share),
        " of the calls with a valve fitted have no evidence for it recorded (",
        *counts,
        f"{limits}).",
    ]
