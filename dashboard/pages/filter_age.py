"""What does an old filter do to our units? Failures over the time at risk, by the age of the filter."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.cost_assumptions import FilterCosts
from analytics.questions.filter_age import ALL, FILTER_AGED_BY, LINKED, FilterAge
from dashboard.address import href
from dashboard.components.answer import answer
from dashboard.components.assumed import assumed_in, options_of
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png
from dashboard.components.filter_answer import about, can_not_tell, held_equal, told, unrecorded
from dashboard.components.filter_cases import cases
from dashboard.components.filter_course import course
from dashboard.components.filter_intervals import HOW_INTERVALS, best_intervals
from dashboard.components.filter_policies import HOW_RULES, what_if
from dashboard.components.filter_rates import across, against, band_table, past_table, rated, ratio_text
from dashboard.components.overdue import ROWS_A_PAGE, Shown, overdue
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.states import no_calls, notices
from dashboard.figures.filter_age import failure_rates
from dashboard.pages.view import Content, Page, View
from dashboard.words import as_words, chance_words, number

QUESTION = "What does an old filter do to our units?"
BY_WORDS = {
    "water_supply": "water supply",
    "shutoff_valve": "shutoff valve",
    "product_family": "product family",
    "unit_age": "age of the unit in years",
}
INFLUENCED = (
    "Whoever sees an old filter is quicker to name it as the cause: filter-linked failures are influenced "
    "by the "
    "age of the filter, and all failures stand beside them."
)
HOW = (
    "A unit is at risk from the day after its filter's age is first known to the earliest of its "
    "retirement, the "
    "end of the records of its source and depot, and the end of filter recording. The age is known from a "
    "recorded "
    "change, a filter among the parts fitted, or an installation within the records of calls; before those "
    "records begin changes were not kept, so that an older installation says nothing. What customers tell "
    "does "
    "not count here.",
    "A failure is the first call of an episode; callbacks, return trips and duplicates are none. Its age "
    "is that on "
    "the day the trouble began, the opening minus the duration told, because people change a filter when "
    "trouble begins; where no duration is told, the day of the call stands in. The age at the call is "
    "beside it.",
    "The first two weeks after a change stand apart: work on the water side brings trouble of its own, and "
    "trouble brings changes. They are left out of ratios and trends.",
    "Rates are failures per 1,000 unit-months of 30.4375 days with exact Poisson intervals, which take "
    "failures "
    "of a unit for independent; ratios have exact conditional intervals. With the kind of unit held equal: "
    "Mantel-Haenszel over water supply, shutoff valve, product family and unit age, and Poisson "
    "regression on the same, whose intervals allow for more variation than chance.",
    "Six and twelve months are common practice without a source, and yield to the maker's sheet. An "
    "association "
    "is no proof: whoever changes filters late may differ in other ways.",
)


def content(view: View) -> Content:
    """Return the page."""
    found = view.fleet.filter_age()
    by = view.address.one_of("by", FILTER_AGED_BY, FILTER_AGED_BY[0])
    names = dict(found.bands.select("what", "label").unique(maintain_order=True).iter_rows())
    what = view.address.one_of("what", names, ALL)
    if not found.has_time and not found.cases.bands["failures"].sum():
        return page(QUESTION, _sentence(by, what, names), no_calls(view.path))
    if not found.has_time:
        return page(
            QUESTION,
            _sentence(by, what, names),
            answer(can_not_tell()),
            evidence(*cases(found.cases)),
            counted_how(HOW, _facts(found)),
        )
    costs, problems = assumed_in(view.address, FilterCosts)
    priced = dict(options_of(costs))
    return page(
        QUESTION,
        notices(problems),
        _sentence(by, what, names, priced),
        answer(told(found), held_equal(found), unrecorded(found), aside=about(found)),
        evidence(
            _rates(found, what, by),
            *course(found, what),
            _complaints(found),
            _kinds(found, what, by),
            what_if(view.fleet.filter_policies(costs), _kept(by, what)),
            best_intervals(
                view.fleet.filter_intervals(costs), by, BY_WORDS[by], found.groups_of(what, by), priced
            ),
            _overdue(view, by, what, priced),
            *cases(found.cases),
        ),
        counted_how((*HOW, HOW_RULES, HOW_INTERVALS), _facts(found)),
    )


def _sentence(by: str, what: str, names: dict[str, str], priced: dict[str, str] | None = None) -> Component:
    failures: list[Option] = [("" if code == ALL else code, label) for code, label in names.items()]
    fields: list[Option] = [
        ("" if name == FILTER_AGED_BY[0] else name, BY_WORDS[name]) for name in FILTER_AGED_BY
    ]
    first = Choice("choice-what", "what", failures, "" if what == ALL else what, before="All units; draw")
    second = Choice(
        "choice-by", "by", fields, "" if by == FILTER_AGED_BY[0] else by, before=" and compare by"
    )
    return html.Form(
        html.Div([first, second, "."]),
        className="sentence",
        **spoken("Which failures, compared by what", keep=href("", None, **priced or {}).removeprefix("?")),
    )


def _kept(by: str, what: str) -> dict[str, str | None]:
    return {"by": None if by == FILTER_AGED_BY[0] else by, "what": None if what == ALL else what}


def _rates(found: FilterAge, what: str, by: str) -> Component:
    began, called = found.of(what), found.of(what, "called")
    kept = _kept(by, what)
    trend = found.trends.get(("began", what))
    lead: list[Component | str] = [
        f"{began['label'][0].capitalize()}. Blue: by age when the trouble began, with 95% interval; "
        f"hollow: by age "
        "at the call. "
    ]
    if trend:
        way = "rising" if trend.rises else "falling"
        lead.append(
            f"Trend over the bands from 0–3 months: {way}, {chance_words(found.trend_chances()[what])}, "
            f"corrected for looking at {len(found.trend_chances())} kinds of failure. "
        )
    if what == LINKED:
        lead.append(INFLUENCED)
    shows = "Failures per 1,000 unit-months by age of the filter. The table below has the numbers."
    return exhibit(
        _peak(began),
        [chart("filter-age", failure_rates(began, called), shows), band_table(began, called)],
        lead=lead,
        tools=[
            keep_png(
                href("/figure.json", None, chart="filter_age", **kept), "filter-age", "rates by filter age"
            ),
            keep_csv(href("/export.csv", None, table="filter_age"), "rates by filter age"),
        ],
        id="rates",
    )


def _peak(rows: pl.DataFrame) -> str:
    known = rows.filter(pl.col("rate").is_not_null() & (pl.col("band") != "first two weeks"))
    if known.is_empty() or not known["failures"].sum():
        return "No failure of this kind while units were at risk"
    top = known.row(int(known["rate"].arg_max() or 0), named=True)
    band = top["band"].replace("-", "–")
    return f"Units fail most with a filter of {band} months: {top['rate']:.1f} per 1,000 unit-months"


def _complaints(found: FilterAge) -> Component:
    rows = found.past.filter(pl.col("months") == "6")
    return exhibit(
        "Past six months against before, by what failed",
        past_table(rows, "Failures", across(found)),
        lead=INFLUENCED,
        tools=[
            keep_csv(
                href("/export.csv", None, table="filter_age_past"), "failures past six and twelve months"
            )
        ],
        id="failures",
    )


def _kinds(found: FilterAge, what: str, by: str) -> Component:
    groups, held = found.groups_of(what, by), found.held_equal[what]
    pairs = groups.select("group", "label").iter_rows()
    spoken_labels = [as_words(code or "", label) for code, label in pairs]
    rows = groups.with_columns(label=pl.Series(spoken_labels, dtype=pl.String))
    one = held.within.row(by_predicate=pl.col("by") == by, named=True)
    title = f"Past six months against before, by {BY_WORDS[by]}"
    if one["turned"]:
        title = f"Held equal by {BY_WORDS[by]}, the answer turns round"
    kept = _kept(by, what)
    return exhibit(
        title,
        [past_table(rows, BY_WORDS[by].capitalize()), against(held)],
        lead=f"{found.of(what)['label'][0].capitalize()}. {_within(one, by)}",
        tools=[
            keep_csv(href("/export.csv", None, table="filter_age_by", **kept), "by kind of unit"),
            keep_csv(href("/export.csv", None, table="filter_age_adjusted", what=kept["what"]), "held equal"),
        ],
        id="kinds",
    )


def _within(one: dict[str, Any], by: str) -> str:
    if one["crude"] is None or one["common"] is None:
        return "Too little was watched to hold this equal."
    turned = " They lie on different sides of 1: this is Simpson's paradox, and the second is to be trusted."
    return (
        f"As counted the ratio is {one['crude']:.2f}; within each {BY_WORDS[by]} it is in common "
        f"{one['common']:.2f} ({one['low']:.2f} to {one['high']:.2f}).{turned if one['turned'] else ''}"
    )


def _overdue(view: View, by: str, what: str, priced: dict[str, str]) -> Component:
    depots = view.fleet.overdue_by_depot()
    depot = view.address.one_of("place", depots["depot"].drop_nulls().to_list(), "") or None
    at = view.address.page_number()
    rows, total = view.fleet.overdue_filters(depot, (at - 1) * ROWS_A_PAGE, ROWS_A_PAGE)
    kept = _kept(by, what) | priced
    return overdue(
        depots,
        rows,
        total,
        Shown(depot, at, lambda place, number: href(view.path, None, place=place, page=number, **kept)),
    )


def _facts(found: FilterAge) -> list[tuple[str, str | Component | list[str | Component]]]:
    facts: list[tuple[str, str | Component | list[str | Component]]] = [
        (f"Left out, {reason}", number(count)) for reason, count in found.left_out.items()
    ]
    twelve = found.past_of(ALL, "12")
    if found.design_effect is not None:
        facts.append(("Design effect of units (1: failures vary as by chance)", f"{found.design_effect:.2f}"))
    return [*facts, ("Past twelve months against before", f"{rated(twelve, '_past')}; {ratio_text(twelve)}")]


PAGE = Page(
    "/filter-age",
    "Filter age",
    QUESTION,
    content,
    parameters=("by", "what", "place", "page", *FilterCosts.described()),
    filtered=False,
)
