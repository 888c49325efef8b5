"""Which units ring more often than their like? Calls a unit by age, units beyond chance, the next step."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.repeat_units import GROUPED, LEAST_AT_RISK, LEAST_CALLS, CallCourse, RepeatUnits
from dashboard.address import href, to_unit
from dashboard.components.answer import Words, answer
from dashboard.components.attributes import spoken
from dashboard.components.cautions import caution_list
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png
from dashboard.components.lists import Labels, pager, worded
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.states import no_calls
from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.figures.recurrences import recurrences
from dashboard.pages.view import Content, Page, View
from dashboard.words import as_words, capital, counted, number

QUESTION = "Which units ring more often than their like?"
ROWS_A_PAGE = 10
LIKE_WORDS = {
    "product_family": "product family",
    "water_supply": "water supply",
    "shutoff_valve": "shutoff valve",
}
HOW = (
    "Counted are repair calls, whatever became of them, without duplicates and return trips. A unit is "
    "watched from the later of its installation and the first date of its source's records, to the end of "
    "the records or its retirement; before that its calls are not known, and it is not at risk.",
    "The curve is the mean cumulative number of calls a unit by age; its 95% interval is the robust one of "
    "Lawless and Nadeau (1995), which does not take calls of a unit for independent. A curve is given for "
    f"ages at which {LEAST_AT_RISK} units or more were watched.",
    "Expected calls come from the years a unit was watched in each age band and the rates there of its "
    "product family, water supply and shutoff valve (log-linear Poisson regression). Units of one kind "
    "differ all the same; how much is measured (gamma-Poisson, fitted by moments), and the chance of so many "
    "calls or more allows for it. “Beyond chance” holds over all units watched (Benjamini-Hochberg, 5%).",
    "“Pulled to average” is what calls so far make one expect of the unit, as a multiple of its like: few "
    "years watched say little.",
    "The next step is that of the rule with most calls behind it, from the trade's common practice without a "
    "source; the maker's service sheet comes first. A unit rings often for many reasons, the home's plumbing "
    "and the way it is used among them.",
)


def content(view: View) -> Content:
    """Return the page."""
    by = view.address.one_of("by", GROUPED, GROUPED[0])
    found = view.fleet.repeat_units()
    if not found.calls:
        return page(QUESTION, _sentence(by), no_calls(view.path))
    at = view.address.page_number()
    rows, total = view.fleet.repeat_unit_list((at - 1) * ROWS_A_PAGE, ROWS_A_PAGE)
    classes = rows["cautions"].explode().drop_nulls().unique()
    return page(
        QUESTION,
        _sentence(by),
        answer(_in_words(found), aside=_about(found)),
        evidence(
            _list(view, found, rows, total, at, by),
            caution_list(pl.DataFrame({"caution": classes})),
            _curves(found, by),
        ),
        counted_how(HOW, _facts(found)),
    )


def _sentence(by: str) -> Component:
    options: list[Option] = [("" if name == GROUPED[0] else name, LIKE_WORDS[name]) for name in GROUPED]
    choice = Choice("choice-by", "by", options, "" if by == GROUPED[0] else by, before="All units; curves by")
    return html.Form(html.Div([choice, "."]), className="sentence", **spoken("Which units", keep=""))


def _in_words(found: RepeatUnits) -> Words:
    of = f" of {counted(found.units, 'unit')}"
    if found.beyond:
        ring = " rings more often than its" if found.beyond == 1 else " ring more often than their"
        return [html.Strong(number(found.beyond)), of, ring, " like, beyond chance."]
    return [
        html.Strong("None"),
        of,
        " rings more often than the usual spread among its like explains; the least likely are listed.",
    ]


def _about(found: RepeatUnits) -> Words:
    calls, a_year = counted(found.calls, "repair call"), found.calls / found.years
    return [f"{calls} in {number(found.years)} unit-years watched: {a_year:.2f} a unit and year."]


def _list(view: View, found: RepeatUnits, rows: pl.DataFrame, total: int, at: int, by: str) -> Component:
    if not total:
        return exhibit(
            f"No unit has {LEAST_CALLS} calls and more than expected",
            html.P("There is no unit to read up on.", className="prose"),
        )
    finding = (
        f"{counted(found.beyond, 'unit')} beyond chance, first in the list"
        if found.beyond
        else "No unit beyond chance; the least likely come first"
    )
    kept = None if by == GROUPED[0] else by
    return exhibit(
        finding,
        [
            _table(rows, view.fleet.labels),
            pager("units", total, at, lambda n: href(view.path, None, by=kept, page=n), ROWS_A_PAGE),
        ],
        lead=f"Units with {LEAST_CALLS} calls or more, and more than expected of their like.",
        tools=[keep_csv(href("/export.csv", None, table="repeat_units"), "all of these units")],
        id="units",
    )


def _table(rows: pl.DataFrame, labels: Labels) -> Table:
    columns = [
        column("Unit"),
        column("Against its like", "rate"),
        column("Pulled to average", "number"),
        column("Chance of so many"),
        column("What it has been through"),
        column("Next step"),
    ]
    causes = labels("causes")
    cells = [_row(row, causes) for row in rows.iter_rows(named=True)]
    return Table("Units against what is expected of their like", columns, cells, layout="stack")


def _row(row: dict[str, Any], causes: Any) -> list[Cell]:
    seen = f"{counted(row['calls'], 'call')}, {number(row['expected'], 1)} expected"
    chance = f"1 in {_rounded(1 / row['p'])}" if row["p"] > 0 else "next to none"
    return [
        link(row["unit_id"], to_unit(row["unit_id"]), f"Unit {row['unit_id']}"),
        noted(f"{row['ratio']:.1f} times", seen),
        f"{row['shrunk']:.1f} times",
        noted(chance, "beyond chance" if row["beyond"] else "among so many units, chance has it"),
        row["story"],
        noted(row["step"], _because(row, causes)) if row["counted"] else row["step"],
    ]


def _rounded(value: float) -> str:
    """Write a large number by its first two digits."""
    digits = max(0, len(str(int(value))) - 2)
    return number(round(value, -digits))


def _because(row: dict[str, Any], causes: Any) -> str:
    named = worded(row["counted_causes"], causes)
    return f"For {counted(row['counted'], 'call')} within {counted(row['counted_months'], 'month')}: {named}"


def _curves(found: RepeatUnits, by: str) -> Component:
    groups = found.groups[by]
    kept = None if by == GROUPED[0] else by
    shows = (
        f"Repair calls a unit by age, of all units and by {LIKE_WORDS[by]}. The table below has the numbers."
    )
    return exhibit(
        _finding(found, by),
        [
            chart("recurrences", recurrences(found.whole, groups, since(found)), shows),
            _marks([found.whole, *groups], by),
        ],
        lead=_lead(found),
        tools=[
            keep_png(href("/figure.json", None, chart="recurrences", by=kept), "calls-a-unit", "curve"),
            keep_csv(href("/export.csv", None, table="recurrences", by=kept), "curve"),
        ],
        id="curves",
    )


def _lead(found: RepeatUnits) -> str:
    if not found.by_age:
        return "No day of installation is recorded: years are counted from the first date of the records."
    from_years = found.whole.from_years
    start = "installation" if from_years == 0 else f"year {from_years:.1f}, before which too few were watched"
    return f"Mean number of repair calls a unit since {start}; grey: 95% interval of all units."


def since(found: RepeatUnits) -> str:
    """Say what the years of the curves are counted from."""
    return "years since installation" if found.by_age else "years since the records begin"


def _finding(found: RepeatUnits, by: str) -> str:
    known = found.whole.marks.drop_nulls("mean")
    if known.is_empty():
        return "Too few units were watched for a curve"
    at = min(2, known.height - 1)
    row = known.row(at, named=True)
    means = [
        (each.marks["mean"][at], as_words(each.group, each.label))
        for each in found.groups[by]
        if each.group is not None and each.marks["mean"][at] is not None
    ]
    year = f"By year {row['years']:.0f}"
    if len(means) < 2:
        return f"{year}, {row['mean']:.1f} calls a unit"
    (low, fewest), (high, most) = min(means), max(means)
    return f"{year}, calls a unit run from {low:.1f} ({fewest}) to {high:.1f} ({most})"


def _marks(courses: list[CallCourse], by: str) -> Table:
    years = courses[0].marks["years"].to_list()
    columns = [
        column(LIKE_WORDS[by].capitalize()),
        column("Units", "number"),
        column("Calls", "number"),
        *[column(f"By year {year:.0f}", "rate" if year == 5 else "number") for year in years],
    ]
    rows = [_mark_row(each, whole=not n) for n, each in enumerate(courses)]
    return Table("Repair calls a unit by age, with 95% intervals", columns, rows, layout="stack")


def _mark_row(each: CallCourse, whole: bool) -> list[Cell]:
    name = "All" if whole else capital(as_words(each.group or "", each.label))
    return [
        name,
        number(each.units),
        number(each.calls),
        *[_mark(row) for row in each.marks.iter_rows(named=True)],
    ]


def _mark(row: dict[str, Any]) -> Cell:
    if row["mean"] is None:
        return "not yet known"
    return noted(f"{row['mean']:.2f}", f"{row['low']:.2f} to {row['high']:.2f}")


def _facts(found: RepeatUnits) -> list[tuple[str, str | Component | list[str | Component]]]:
    share = f"{found.dispersion:.2f} (0: units of one kind do not differ)"
    return [
        ("Units watched", number(found.units)),
        ("Without a day of installation", f"{number(found.undated)}; not in the curves unless none has one"),
        ("Calls before installation or after retirement, left out", number(found.calls_outside)),
        ("Variance of the hidden factor between units", share),
    ]


PAGE = Page("/repeat-units", "Repeat units", QUESTION, content, parameters=("by", "page"), filtered=False)
