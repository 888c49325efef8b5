"""How filters fare from their change on, as parts of the page on filter age."""

from collections.abc import Sequence

import polars as pl
from dash.development.base_component import Component

from analytics.questions.filter_age import FilterAge
from analytics.questions.filter_course import ANY, FilterCourse
from dashboard.address import href
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png
from dashboard.components.table import Cell, Table, column, noted
from dashboard.figures.filter_course import DAYS_A_MONTH, OUTCOMES, first_failures, smooth_rate
from dashboard.words import capital, counted, interval, number, percent

NOT_WATCHED = "not watched so long"


def course(found: FilterAge, what: str) -> Sequence[Component]:
    """Return first failures since the change, and the smooth rate of one kind of failure."""
    if not found.course or not found.course.curves.height:
        return []
    return [_first(found.course), _smooth(found, found.course, what)]


def _share(row: dict[str, float], filters: int) -> str:
    return percent(row["share"], filters) or "too few"


def _first(found: FilterCourse) -> Component:
    known = found.marks.filter((pl.col("outcome") == ANY) & pl.col("share").is_not_null())
    said = [
        f"{_share(row, found.filters)} within {row['months']} months"
        for row in known.filter(pl.col("months").is_in([6, 12])).iter_rows(named=True)
    ]
    title = f"Of filters just changed, {' and '.join(said)} see a first failure" if said else "First failures"
    shows = "Share of filters with a first failure by months since the change. The table has the numbers."
    return exhibit(
        title,
        [chart("filter-first", first_failures(found.curves), shows), _marks(found)],
        lead="A filter is followed from its change, or from a new unit, to its next change, the unit's "
        "retirement or the end of the records; grey: 95% interval. A failure of one kind ends the wait "
        "for the others (competing causes), so the kinds add up to any failure.",
        tools=[
            keep_png(href("/figure.json", None, chart="filter_first"), "filter-first", "first failures"),
            keep_csv(href("/export.csv", None, table="filter_course"), "first failures by age"),
            keep_csv(href("/export.csv", None, table="filter_hazard"), "cumulative hazard"),
        ],
        id="first",
    )


def _marks(found: FilterCourse) -> Table:
    months = found.marks["months"].unique(maintain_order=True).to_list()
    columns = [column("First failure"), *[column(counted(each, "month"), "number") for each in months]]
    rows: list[list[Cell]] = []
    for outcome, (name, _, _) in OUTCOMES.items():
        cells = found.marks.filter(pl.col("outcome") == outcome).iter_rows(named=True)
        rows.append(
            [
                capital(name),
                *[
                    NOT_WATCHED
                    if row["share"] is None
                    else noted(_share(row, found.filters), interval(row["low"], row["high"], found.filters))
                    for row in cells
                ],
            ]
        )
    watched = found.marks.filter(pl.col("outcome") == ANY)["watched"]
    rows.append(["Filters still watched, no failure yet", *[number(each) for each in watched]])
    return Table("Filters with a first failure by months since the change", columns, rows, layout="stack")


def _months(days: float) -> str:
    return f"{days / DAYS_A_MONTH:.1f}"


def doubled_words(found: FilterAge, what: str) -> str | None:
    """Say at which age of the filter the rate has doubled; None without a fit."""
    twice = found.course.doubled[what] if found.course else None
    if not twice or not found.course:
        return None
    name = capital(found.of(what)["label"][0])
    if twice.age is None:
        least = "" if twice.low is None else f", though it may from {_months(twice.low)} months on"
        return f"{name}: the rate does not double within {_months(found.course.watched_days)} months{least}"
    limit = f"to {_months(twice.high)}" if twice.high is not None else "or never"
    low = _months(twice.low) if twice.low is not None else "0"
    return f"{name}: the rate has doubled at {_months(twice.age)} months (95% interval {low} {limit})"


def _smooth(found: FilterAge, course: FilterCourse, what: str) -> Component:
    rates = course.rates.filter(pl.col("what") == what)
    words = doubled_words(found, what)
    if words is None:
        return exhibit("Too few failures of this kind for a smooth rate", [], id="smooth")
    twice = course.doubled[what]
    shows = "Failures per 1,000 unit-months by months since the change, as a smooth curve with its interval."
    picture = smooth_rate(rates, twice.age if twice else None, twice.young if twice else None)
    return exhibit(
        words,
        [chart("filter-smooth", picture, shows), _smooth_table(rates)],
        lead="All failures of this kind after the first two weeks, as a smooth curve; grey: 95% interval, "
        "which allows for units that fail again and again. Doubled: against the mean of 0–3 months.",
        tools=[
            keep_png(
                href("/figure.json", None, chart="filter_smooth", what=None if what == "all" else what),
                "filter-smooth",
                "smooth rate",
            ),
            keep_csv(href("/export.csv", None, table="filter_smooth"), "smooth rates"),
        ],
        id="smooth",
    )


def _smooth_table(rates: pl.DataFrame) -> Table:
    columns = [column("Months since the change"), column("Per 1,000 unit-months", "rate")]
    rows: list[list[Cell]] = []
    for months in (1, 3, 6, 9, 12, 18, 24):
        days = months * DAYS_A_MONTH
        if days > float(rates["age_days"].max() or 0):  # type: ignore[arg-type]
            break
        row = rates.row(int((rates["age_days"] - days).abs().arg_min() or 0), named=True)
        rows.append([str(months), noted(f"{row['rate']:.1f}", f"{row['low']:.1f} to {row['high']:.1f}")])
    return Table("Smooth rate of failures by months since the change", columns, rows)
