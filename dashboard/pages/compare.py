"""Do they come back more than their work explains? Groups against what was to be expected of their calls."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import COMPARED, Filters
from analytics.questions.comparing import LEAST_RANKED
from analytics.questions.comparison import PERIODS, Comparison, periods_of
from dashboard.address import href, to_calls
from dashboard.components.answer import Words, answer
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png
from dashboard.components.grouping import BY_WORDS, group_filters
from dashboard.components.lists import pager
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people_compared
from dashboard.components.sentence import match_choice, window_choice
from dashboard.components.states import no_calls, notices
from dashboard.components.table import Cell, Table, column, interval_mark, link, nice_scale, noted
from dashboard.figures.funnel import funnel
from dashboard.pages.view import Content, Page, View
from dashboard.words import as_words, counted, day, listed, number, percent

QUESTION = "Do more of them come back than their work explains?"
GROUPS_A_PAGE = 25
PLURAL = {
    "technician": "technicians",
    "depot": "depots",
    "part": "parts",
    "product_family": "product families",
}
PERIOD_WORDS = {"year": "the last twelve months", "week": "the last week"}
HOW = (
    "Each call's chance of coming back is estimated from what was known before the technician acted: "
    "the kind of complaint, the age of the unit, its product family, the water supply, who pays, the "
    "month, and whether the call follows another technician's repair (logistic regression with a weak "
    "penalty). Cause, diagnosis, parts and all that came later play no part, nor does the field "
    "compared; and what is expected of a group comes from a fit without its own calls.",
    "“Against expected” is the returns seen over those expected. Its 95% interval comes from 200 "
    "samples of units, with the expectation fitted anew in each, because calls of one unit are not "
    "independent; below 10 returns it is the exact one of a Poisson count, which assumes independent "
    "calls. The figure pulled towards the average (parametric empirical Bayes, Morris 1983) is the "
    "better guess where calls are few.",
    "Groups differ by more than chance where the test holds over all groups shown (Benjamini-Hochberg, "
    "5%). The funnel's limits are exact binomial ones, interpolated between whole counts (Spiegelhalter "
    "2005), and widened where calls of a unit hang together and where groups differ more than chance "
    f"has them. Nobody with fewer than {LEAST_RANKED} calls is ranked. Only calls whose days are up are "
    "counted; all calls are compared, whatever was chosen on other pages.",
)


def content(view: View) -> Content:
    """Return the page."""
    by = view.address.one_of("by", COMPARED, "depot")
    period = view.address.one_of("period", periods_of(by), PERIODS[0])
    found = view.fleet.compared(view.filters.but(as_of=None), by, period)
    sentence = _sentence(view, by, period)
    if not found.calls:
        return page(QUESTION, sentence, no_calls(view.path))
    return page(
        QUESTION,
        notices(about_people_compared() if by == "technician" else []),
        sentence,
        answer(_in_words(found), aside=_about(found)),
        evidence(_funnel(view, found), _groups(view, found)),
        counted_how(HOW),
    )


def _sentence(view: View, by: str, period: str) -> Component:
    options: list[Option] = [("" if name == "depot" else name, BY_WORDS[name]) for name in COMPARED]
    periods: list[Option] = [
        ("" if name == PERIODS[0] else name, PERIOD_WORDS[name]) for name in periods_of(by)
    ]
    controls: list[Component | str] = [
        Choice("choice-by", "by", options, "" if by == "depot" else by, before="All calls by"),
        " ",
        Choice("choice-period", "period", periods, "" if period == PERIODS[0] else period, before="of"),
        " that can be judged; ",
        window_choice(view.filters),
        " ",
        match_choice(view.filters),
        " counts.",
    ]
    return html.Form(html.Div(controls), className="sentence", **spoken("Which calls", keep=""))


def _in_words(found: Comparison) -> Words:
    groups = found.groups.filter("ranked")
    beyond = groups.filter("differs")
    more, fewer = beyond.filter(pl.col("ratio") > 1), beyond.filter(pl.col("ratio") < 1)
    tested = counted(
        groups.height, f"{BY_WORDS[found.by]} with enough calls", f"{PLURAL[found.by]} with enough calls"
    )
    if not found.came_back:
        return [
            html.Strong(f"None of {number(found.calls)} calls came back"),
            ": there is nothing to compare.",
        ]
    if groups.is_empty():
        return [f"No {BY_WORDS[found.by]} has {LEAST_RANKED} calls that can be judged: too few to compare."]
    if beyond.is_empty():
        return [html.Strong("Chance explains the differences"), f" between {tested}."]
    said: list[Words] = []
    for names, words in ((more, "more"), (fewer, "fewer")):
        if names.height:
            said.append([html.Strong(f"{number(names.height)} of {tested}"), f" had {words} returns"])
    joined: Words = said[0] if len(said) == 1 else [*said[0], "; ", *said[1]]
    return [*joined, " than their work explains, and more than chance", _named(found, more), "."]


def _named(found: Comparison, more: pl.DataFrame) -> str:
    if found.by == "technician" or more.is_empty():
        return ""
    rows = more.sort("extra_returns", descending=True).head(3).iter_rows(named=True)
    return " (" + listed([f"{as_words(row['group'], row['label'])}: {_times(row)}" for row in rows]) + ")"


def _times(row: dict[str, Any]) -> str:
    return f"{row['ratio']:.2f} times what was expected, {row['came_back']} against {row['expected']:.1f}"


def _about(found: Comparison) -> Words:
    since, until = day(found.since), day(found.until)
    words = f"Closed {since} to {until}: {number(found.came_back)} of {number(found.calls)} calls came back"
    share = percent(found.rate, found.calls)
    return [f"{words} ({share})." if share else f"{words}."]


def _address(view: View, found: Comparison, table: str) -> str:
    period = None if found.period == PERIODS[0] else found.period
    asked = Filters(view.filters.window_days, view.filters.match)
    return href(table, asked, by=found.by, period=period)


def _funnel(view: View, found: Comparison) -> Component:
    what = BY_WORDS[found.by]
    beyond = found.groups.filter("differs").height
    finding = (
        f"{number(beyond)} of {number(found.groups.height)} {PLURAL[found.by]} differ by more than chance"
        if beyond
        else f"All {PLURAL[found.by]} lie where chance puts them"
    )
    widened = " widened because groups differ more than chance has them;" if found.spread > 1 else ""
    return exhibit(
        finding,
        chart(
            "funnel",
            funnel(found, named=found.by != "technician"),
            f"Adjusted share of calls that came back by number of calls, one dot a {what}, with limits of "
            "chance. The table below has the numbers.",
        ),
        lead=f"Share that came back, adjusted for the work (expected share of all × returns over expected); "
        f"lines: 95% and 99.8% of groups lie between them by chance,{widened} diamond: differs by more than "
        "chance.",
        tools=[
            keep_png(_address(view, found, "/figure.json") + "&chart=funnel", "fair-comparison", "funnel"),
        ],
    )


def _groups(view: View, found: Comparison) -> Component:
    shown = in_order(found)
    at = view.address.page_number()
    rows = shown.slice((at - 1) * GROUPS_A_PAGE, GROUPS_A_PAGE)
    scale = _scale(rows)
    columns = [
        column(BY_WORDS[found.by].capitalize()),
        column(
            "Against expected, 95% interval", "mark", scale=scale, reference=1.0, ends=["0", f"{scale:g}"]
        ),
        column("Against expected", "rate"),
        column("Came back", "number"),
        column("Expected", "number"),
        column("Plain rate", "number"),
        column("Pulled to average", "number"),
    ]
    cells = [_row(view, found, row) for row in rows.iter_rows(named=True)]
    table = Table(f"Returns against expected by {BY_WORDS[found.by]}", columns, cells, layout="marks")
    return exhibit(
        _finding(found),
        [table, *_pages(view, found, shown.height, at)],
        lead="Below each name why plain rate and adjusted figure differ: how many the work alone would lead "
        "one to expect. 1: as many as expected; dot: returns over expected; line: 95% interval; *: exact, "
        "assumes independent calls.",
        tools=[keep_csv(_address(view, found, "/export.csv") + "&table=compared", "comparison")],
        id="groups",
    )


def _pages(view: View, found: Comparison, groups: int, at: int) -> list[Component]:
    if groups <= GROUPS_A_PAGE:
        return []
    by, period = found.by, None if found.period == PERIODS[0] else found.period
    asked = Filters(view.filters.window_days, view.filters.match)
    return [
        pager(
            "groups",
            groups,
            at,
            lambda page: href(view.path, asked, by=by, period=period, page=page) + "#groups",
            GROUPS_A_PAGE,
        )
    ]


def in_order(found: Comparison) -> pl.DataFrame:
    """Order the groups: most to be gained first; those with too few calls last, by name."""
    return found.groups.sort(
        pl.col("ranked").not_(), pl.col("extra_returns").neg().fill_null(0.0), "label", "group"
    )


def _finding(found: Comparison) -> str:
    groups = found.groups.filter("ranked")
    if groups.is_empty():
        return f"No {BY_WORDS[found.by]} has {LEAST_RANKED} calls yet"
    low, high = groups["expected"] / groups["calls"], groups["rate"]
    return (
        f"Of the work alone, {_range(low)} would be expected back; plain rates run from {_range(high)}"
        if groups.height > 1
        else "Returns against expected"
    )


def _range(shares: pl.Series) -> str:
    low, high = sorted(shares.to_list())[0], sorted(shares.to_list())[-1]
    return f"{percent(low, 100)} to {percent(high, 100)}"


def _row(view: View, found: Comparison, row: dict[str, Any]) -> list[Cell]:
    asked = Filters(view.filters.window_days, view.filters.match)
    period = asked.but(
        closed_from=found.since.date() if found.since else None,
        closed_to=found.until.date() if found.until else None,
    )
    group = group_filters(period, found.by, row["group"])
    name = as_words(row["group"], row["label"])
    counts = f"{number(row['came_back'])} of {number(row['calls'])}"
    came_back = link(counts, to_calls(group, "came_back"), f"{counts} came back, {name}")
    if not row["ranked"]:
        few = link(name, to_calls(group, "judged"), note=f"fewer than {LEAST_RANKED} calls")
        return [few, "", "too few", came_back, "", "", ""]
    limits = f"{row['low']:.2f} to {row['high']:.2f}{'*' if row['assumes_independent'] else ''}"
    return [
        link(name, to_calls(group, "judged"), note=_why(found, row)),
        interval_mark(row["ratio"], row["low"], row["high"], flagged=row["differs"]),
        noted(f"{row['ratio']:.2f}", limits),
        came_back,
        number(row["expected"], 1),
        percent(row["rate"], row["calls"]),
        f"{row['shrunk']:.2f}",
    ]


def _why(found: Comparison, row: dict[str, Any]) -> str:
    """Say why plain and adjusted figure differ, and whether the rest is more than chance."""
    usual, own = found.rate or 0.0, row["expected"] / row["calls"]
    work = "harder work" if own > 1.05 * usual else "easier work" if own < 0.95 * usual else "usual work"
    shares = f"{percent(own, row['calls'])} expected of it, {percent(usual, found.calls)} of all"
    return f"{work}: {shares}{'; beyond chance' if row['differs'] else ''}"


def _scale(rows: pl.DataFrame) -> float:
    shown = rows.filter("ranked")
    if shown.is_empty():
        return 2.0
    widest = max(2 * max(shown["ratio"].to_list()), 1.5)
    return nice_scale(min(max(shown["high"].to_list()), widest))


PAGE = Page("/compare", "Compare", QUESTION, content, parameters=("by", "period", "page"), filtered=False)
