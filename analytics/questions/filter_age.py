"""What an old filter does to a fleet: failures over the time at risk, by the age of the filter."""

from dataclasses import dataclass, field, replace
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.questions.filter_adjusting import Adjusted, adjusted, kind_factors
from analytics.questions.filter_cases import CaseOnly, case_only
from analytics.questions.filter_course import FilterCourse, filter_course
from analytics.questions.filter_failures import BANDS, FIRST_WEEKS, MEASURES, failures_at_risk
from analytics.questions.filter_widened import DAYS_A_MONTH, PER_MONTHS
from analytics.questions.labelling import NOT_RECORDED, labels
from analytics.questions.overdue_filters import overdue_filters
from analytics.statistics.incidence import Trend, incidence, rate_ratio, trend_of_rates
from analytics.statistics.many import false_discovery

YOUNGEST = BANDS[0]
MIDDLES_MONTHS = (1.75, 4.5, 7.5, 10.5, 15.0, 24.0)
"""What the trend is tested along: the middle of each band; of the last our convention."""
PAST = {"6": BANDS[2:], "12": BANDS[4:]}
"""Bands past an age in months that common practice names; both yield to the maker's sheet."""
FILTER_AGED_BY = ("water_supply", "shutoff_valve", "product_family", "unit_age")
ALL, LINKED = "all", "flow_linked"
LEAST_MONTHS = 1.0
_LABEL_FIELD = {"water_supply": "supply_type", "shutoff_valve": "shutoff_valve"}


@dataclass(frozen=True)
class FilterAge:
    """Failures by the age of the filter.

    Parameters
    ----------
    units, months, failures : int, float, int
        Units at risk, unit-months at risk, and failures in them by the age when the trouble began, the first
        two weeks after a change included.
    bands : DataFrame
        One row per measure (began, called), what (all, flow_linked, family:<code>) and band: columns measure,
        what, label, band, units (at risk; of all), months, failures, rate, low, high (per 1,000 unit-months),
        ratio, ratio_low, ratio_high (against the youngest band; of itself no limits).
    trends : dict of (str, str) to Trend
        By measure and what, over the bands without the first two weeks.
    past : DataFrame
        By what and months (6, 12): failures and rates up to that age and past it, and their ratio, by the
        age when the trouble began, the first two weeks apart.
    held_equal : dict of str to Adjusted
        By what: ratios with the kind of unit held equal, and where crude and adjusted disagree.
    groups : DataFrame
        By what and each of `FILTER_AGED_BY`: columns what, by, group, label, failures and months up to six
        months and past, rates with limits, and their ratio.
    left_out : dict of str to int
        Units and failures left out, by reason.
    cases : CaseOnly
        What failures alone say, and what was told against what was recorded.
    overdue : DataFrame
        Units past six months now, see `Fleet.overdue_filters`; not in `to_dict`.
    course : FilterCourse or None
        How filters fare from their change on, and limits that allow for units failing again and again; None
        without time at risk.
    failures_at_risk : DataFrame
        The calls behind the failures, as lists/filter_failures; not in `to_dict`.
    design_effect : float or None
        Variance of failures between units over that by chance: intervals take failures for independent.
    """

    units: int
    months: float
    failures: int
    bands: pl.DataFrame
    trends: dict[tuple[str, str], Trend | None]
    past: pl.DataFrame
    held_equal: dict[str, Adjusted]
    groups: pl.DataFrame
    left_out: dict[str, int]
    cases: CaseOnly
    overdue: pl.DataFrame
    course: FilterCourse | None = None
    failures_at_risk: pl.DataFrame = field(default_factory=pl.DataFrame)
    design_effect: float | None = None

    @property
    def has_time(self) -> bool:
        """Say whether there is time at risk to set failures against."""
        return self.months >= LEAST_MONTHS

    def of(self, what: str, measure: str = "began") -> pl.DataFrame:
        """Return the bands of one kind of failure, youngest first."""
        return self.bands.filter((pl.col("what") == what) & (pl.col("measure") == measure))

    @property
    def adjusted(self) -> Adjusted:
        """Ratios of all failures with the kind of unit held equal."""
        return self.held_equal[ALL]

    def trend_chances(self, measure: str = "began") -> dict[str, float]:
        """Return the chance of each kind's trend, corrected for looking at all of them (false discovery)."""
        tested = {what: each for (of, what), each in self.trends.items() if of == measure and each}
        corrected = false_discovery([each.p for each in tested.values()])
        return dict(zip(tested, corrected.tolist(), strict=True))

    def groups_of(self, what: str, by: str) -> pl.DataFrame:
        """Return failures before and past six months of one kind, by one field."""
        return self.groups.filter((pl.col("what") == what) & (pl.col("by") == by))

    def past_of(self, what: str, months: str) -> dict[str, Any]:
        """Return failures up to an age and past it."""
        return self.past.row(by_predicate=(pl.col("what") == what) & (pl.col("months") == months), named=True)

    def to_dict(self, by: str | None = None) -> dict[str, Any]:
        """Return plain values for JSON; with the groups of one grouping."""
        groups = self.groups_of(ALL, by).to_dicts() if by else []
        return {
            "units": self.units,
            "months": self.months,
            "failures": self.failures,
            "bands": self.bands.to_dicts(),
            "trends": [
                {"measure": measure, "what": what} | (vars(each) if each else {"chi2": None})
                for (measure, what), each in self.trends.items()
            ],
            "past": self.past.to_dicts(),
            "trends_corrected": self.trend_chances(),
            "adjusted": {what: each.to_dict() for what, each in self.held_equal.items()},
            "groups": groups,
            "left_out": self.left_out,
            "course": self.course.to_dict() if self.course else None,
            "design_effect": self.design_effect,
            "cases": self.cases.to_dict(),
        }


def filter_age(cursor: duckdb.DuckDBPyConnection) -> FilterAge:
    """Answer `Fleet.filter_age`."""
    lay_out(cursor)
    cells = queries.frame(cursor, "metrics/filter_months")
    found = from_cells(cells, case_only(cursor), _words(cursor))
    effect = queries.frame(cursor, "metrics/filter_clustering")["design_effect"][0]
    factors = kind_factors(_cells(cells, ALL), FILTER_AGED_BY)
    overdue = overdue_filters(cursor, found.of(ALL)["rate"], factors)
    whats = found.past["what"].unique(maintain_order=True).to_list()
    return replace(
        found,
        overdue=overdue,
        course=filter_course(cursor, whats),
        failures_at_risk=failures_at_risk(cursor),
        design_effect=effect,
    )


def lay_out(cursor: duckdb.DuckDBPyConnection) -> None:
    """Make what statements about the age of filters read: filters over time, and failures; on this cursor."""
    queries.run(cursor, "metrics/filter_time")
    queries.run(cursor, "metrics/filter_failures")


def from_cells(cells: pl.DataFrame, cases: CaseOnly, words: dict[str, dict[str, str]]) -> FilterAge:
    """Shape the answer from the rows of metrics/filter_months.

    Parameters
    ----------
    cells : DataFrame
        As from metrics/filter_months.
    cases : CaseOnly
        What failures alone say.
    words : dict
        Labels by code: of families, and of each field that units are grouped by.
    """
    bands = _bands(cells, words["families"])
    aged = bands.filter(pl.col("band") != FIRST_WEEKS)
    trends = {
        (measure, what): trend_of_rates(rows["failures"], rows["months"], MIDDLES_MONTHS)
        for (measure, what), rows in aged.group_by("measure", "what", maintain_order=True)
    }
    began = bands.filter((pl.col("measure") == "began") & (pl.col("what") == ALL))
    left_out = cells.filter(pl.col("measure") == "left_out").select("what", "number").sort("what")
    units = cells.filter((pl.col("measure") == "units") & pl.col("band").is_null())["number"].sum()
    return FilterAge(
        units=int(units),
        months=float(began["months"].sum()),
        failures=int(began["failures"].sum()),
        bands=bands,
        trends=trends,
        past=_past(aged.filter(pl.col("measure") == "began"), ["what", "label"]),
        held_equal={
            what: adjusted(_cells(cells, what), FILTER_AGED_BY, BANDS, PAST["6"])
            for what in bands["what"].unique(maintain_order=True)
        },
        groups=pl.concat(_groups(cells, what, words) for what in bands["what"].unique(maintain_order=True)),
        left_out=dict(left_out.iter_rows()),
        cases=cases,
        overdue=pl.DataFrame(),
    )


def _words(cursor: duckdb.DuckDBPyConnection) -> dict[str, dict[str, str]]:
    words = {by: labels(cursor, field) for by, field in _LABEL_FIELD.items()}
    return words | {"families": labels(cursor, "families")}


def _bands(cells: pl.DataFrame, families: dict[str, str]) -> pl.DataFrame:
    in_order = pl.DataFrame({"band": [FIRST_WEEKS, *BANDS]})
    whats = [ALL, LINKED, *[f"family:{code}" for code in families]]
    names = ["all failures", "filter-linked", *families.values()]
    counted = cells.group_by("measure", "what", "band").agg(pl.col("number").sum())
    time = counted.filter(pl.col("measure") == "at_risk").select(
        "band", months=pl.col("number") / DAYS_A_MONTH
    )
    units = counted.filter(pl.col("measure") == "units").select("band", units="number")
    rows = (
        pl.DataFrame({"measure": MEASURES})
        .join(pl.DataFrame({"what": whats, "label": names}), how="cross")
        .join(in_order, how="cross")
        .join(units, on="band", how="left", maintain_order="left")
        .join(time, on="band", how="left", maintain_order="left")
        .join(counted, on=["measure", "what", "band"], how="left", maintain_order="left")
        .rename({"number": "failures"})
        .with_columns(pl.col("units", "failures").fill_null(0), pl.col("months").fill_null(0.0))
    )
    youngest = rows.filter(pl.col("band") == YOUNGEST).select(
        "measure", "what", base="failures", base_months="months"
    )
    rows = with_rates(rows.join(youngest, on=["measure", "what"], how="left", maintain_order="left"))
    compared = with_ratio(rows, ("failures", "base"), ("months", "base_months")).drop("base", "base_months")
    itself = pl.col("band") == YOUNGEST
    limits = pl.when(~itself).then(pl.col("ratio_low", "ratio_high"))
    return compared.with_columns(limits)


def with_rates(rows: pl.DataFrame, suffix: str = "") -> pl.DataFrame:
    """Add rate, low and high per 1,000 unit-months to failures and months; null without months."""
    rate, low, high = incidence(rows[f"failures{suffix}"], rows[f"months{suffix}"], PER_MONTHS)
    named = {f"rate{suffix}": rate, f"low{suffix}": low, f"high{suffix}": high}
    return rows.with_columns(pl.Series(name, values, nan_to_null=True) for name, values in named.items())


def with_ratio(rows: pl.DataFrame, counts: tuple[str, str], time: tuple[str, str]) -> pl.DataFrame:
    """Add ratio, ratio_low and ratio_high of the first rate to the second; null where there is none."""
    found = [rate_ratio((a, b), (of_a, of_b)) for a, b, of_a, of_b in rows.select(*counts, *time).iter_rows()]
    known = [each if each and each.ratio != float("inf") else None for each in found]
    return rows.with_columns(
        pl.Series(name, [getattr(each, field) if each else None for each in known], dtype=pl.Float64)
        for name, field in (("ratio", "ratio"), ("ratio_low", "low"), ("ratio_high", "high"))
    )


def _past(rows: pl.DataFrame, keys: list[str]) -> pl.DataFrame:
    """Return failures up to an age and past it, of each key, for each age that common practice names."""
    several = []
    for months, bands in PAST.items():
        past = pl.col("band").is_in(bands)
        summed = rows.group_by(keys, maintain_order=True).agg(
            pl.col("failures", "months").filter(~past).sum().name.suffix("_young"),
            pl.col("failures", "months").filter(past).sum().name.suffix("_past"),
        )
        rated = with_rates(with_rates(summed, "_young"), "_past")
        ratio = with_ratio(rated, ("failures_past", "failures_young"), ("months_past", "months_young"))
        several.append(ratio.select(*keys, pl.lit(months).alias("months"), pl.exclude(*keys)))
    return pl.concat(several)


def _cells(cells: pl.DataFrame, what: str) -> pl.DataFrame:
    """Return failures (age when the trouble began) and months of each band and kind of unit."""
    keys = ["band", *FILTER_AGED_BY]
    kept = cells.filter(pl.col("band").is_in(BANDS))
    at_risk = kept.filter(pl.col("measure") == "at_risk")
    time = at_risk.group_by(keys).agg(months=pl.col("number").sum() / DAYS_A_MONTH)
    failed = kept.filter((pl.col("measure") == "began") & (pl.col("what") == what))
    counts = failed.group_by(keys).agg(failures=pl.col("number").sum())
    return time.join(counts, on=keys, how="left", nulls_equal=True).with_columns(
        pl.col("failures").fill_null(0)
    )


def _groups(cells: pl.DataFrame, what: str, words: dict[str, dict[str, str]]) -> pl.DataFrame:
    counted = _cells(cells, what)
    several = []
    for by in FILTER_AGED_BY:
        summed = counted.group_by(pl.lit(by).alias("by"), pl.col(by).alias("group"), "band").agg(
            pl.col("failures", "months").sum()
        )
        label = pl.col("group").replace_strict(words.get(by, {}), default=pl.col("group"))
        past = _past(summed, ["by", "group"]).filter(pl.col("months") == "6").drop("months")
        past = past.with_columns(label=label.fill_null(NOT_RECORDED))
        order = pl.col("group") if by == "unit_age" else -(pl.col("months_young") + pl.col("months_past"))
        several.append(past.sort(pl.col("group").is_null(), order))
    return pl.concat(several).select(pl.lit(what).alias("what"), pl.all())
