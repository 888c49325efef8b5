"""Which units ring more often than their like: calls by age, and the units beyond chance."""

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.errors import BadQuestion
from analytics.questions.expected_calls import expected_calls
from analytics.questions.labelling import NOT_RECORDED, labels
from analytics.questions.next_steps import checks_asked_for, next_steps, step_rules, stories
from analytics.questions.unit_histories import DAYS_A_YEAR, LIKE, Histories
from analytics.statistics.many import false_discovery
from analytics.statistics.overdispersion import gamma_dispersion, upper_tail
from analytics.statistics.recurrences import mean_cumulative

GROUPED = LIKE
LEAST_CALLS = 3
"""Units with fewer calls are not listed, though all are tested (our convention)."""
LEVEL = 0.05
LEAST_AT_RISK = 20
"""A curve holds for the ages at which so many units at least were watched (our convention)."""
MARKS_YEARS = (1, 2, 5, 10)
STEPS = 60
LARGEST_PAGE = 10_000
_LABEL_FIELD = {"water_supply": "supply_type", "shutoff_valve": "shutoff_valve"}


@dataclass(frozen=True)
class CallCourse:
    """Repair calls a unit by age, of one group of units.

    Parameters
    ----------
    group : str or None
        Code of the group; None: not recorded, or all units.
    label : str
        The words to show for it.
    units, calls : int
        Units watched at some age of the curve, and their calls while watched.
    from_years, to_years : float
        Ages between which the curve is known; calls are counted from the first of them on.
    points : DataFrame
        Columns years, at_risk, mean, low, high.
    marks : DataFrame
        The same at some ages; null where not known.
    """

    group: str | None
    label: str
    units: int
    calls: int
    from_years: float
    to_years: float
    points: pl.DataFrame
    marks: pl.DataFrame


@dataclass(frozen=True)
class RepeatUnits:
    """What is known of units that ring again and again.

    Parameters
    ----------
    units, calls : int
        Units watched, and their repair calls while watched.
    years : float
        Years watched, over all units.
    calls_outside : int
        Calls outside the watch of their unit, such as before its installation.
    undated : int
        Units without a day of installation; not in the curves unless none has one.
    by_age : bool
        Whether curves begin at installation; else at the begin of the watch.
    dispersion : float
        Variance of the hidden factor between units.
    expected : float
        Calls expected of all units together.
    beyond : int
        Units with more calls than chance explains.
    whole : CallCourse
        All units.
    groups : dict of str to list of CallCourse
        By product_family, water_supply and shutoff_valve; most units first, what is not recorded last.
    ranked : DataFrame
        Units with `LEAST_CALLS` calls or more, the least likely first: columns unit_id, installed_on,
        watched_from, watched_to, product_family, water_supply, shutoff_valve, calls, years, expected,
        ratio, shrunk (the ratio pulled towards 1 as far as chance explains it), p, p_adjusted, beyond.
    """

    units: int
    calls: int
    years: float
    calls_outside: int
    undated: int
    by_age: bool
    dispersion: float
    expected: float
    beyond: int
    whole: CallCourse
    groups: dict[str, list[CallCourse]]
    ranked: pl.DataFrame

    def to_dict(self, by: str | None = None) -> dict[str, Any]:
        """Return plain values for JSON, the ranked units apart; with the curves of one grouping."""
        plain = {
            name: value for name, value in vars(self).items() if name not in ("whole", "groups", "ranked")
        }
        groups = [_plain(each) for each in self.groups[by]] if by else []
        return plain | {"whole": _plain(self.whole), "groups": groups}


def repeat_units(found: Histories, words: dict[str, dict[str, str]]) -> RepeatUnits:
    """Answer `Fleet.repeat_units`; `words` are labels by code of the fields of `LIKE`."""
    calls = found.calls
    expected = expected_calls(found)
    dispersion = gamma_dispersion(calls, expected)
    p = upper_tail(calls, expected, dispersion)
    adjusted = false_discovery(p)
    years = (found.ends + 1 - found.starts) / DAYS_A_YEAR
    ranked = (
        found.units.with_columns(
            calls=calls, years=years, expected=expected, p=p, p_adjusted=adjusted, beyond=adjusted <= LEVEL
        )
        .filter((pl.col("calls") >= LEAST_CALLS) & (pl.col("calls") > pl.col("expected")))
        .with_columns(
            ratio=pl.col("calls") / pl.col("expected"),
            shrunk=(1 + dispersion * pl.col("calls")) / (1 + dispersion * pl.col("expected")),
        )
        .sort("p", "unit_id")
        .drop("calls_outside")
    )
    by_age = bool(found.aged.any())
    placed = found.aged if by_age else np.ones(len(calls), dtype=bool)
    return RepeatUnits(
        units=len(calls),
        calls=int(calls.sum()),
        years=float(years.sum()),
        calls_outside=int(found.units["calls_outside"].sum()),
        undated=int((~found.aged).sum()),
        by_age=by_age,
        dispersion=dispersion,
        expected=float(expected.sum()),
        beyond=int((adjusted <= LEVEL).sum()),
        whole=course(found, placed, None, "all units"),
        groups={by: _courses(found, placed, by, words.get(by, {})) for by in GROUPED},
        ranked=ranked,
    )


def _courses(found: Histories, placed: NDArray[np.bool_], by: str, words: dict[str, str]) -> list[CallCourse]:
    codes = found.units[by]
    courses = [
        course(
            found,
            placed & (codes.is_null() if name is None else (codes == name).fill_null(False)).to_numpy(),
            name,
            NOT_RECORDED if name is None else words.get(name, name),
        )
        for name in codes.unique()
    ]
    return sorted(courses, key=lambda one: (one.group is None, -one.units, one.label))


def course(found: Histories, chosen: NDArray[np.bool_], group: str | None, label: str) -> CallCourse:
    """Return the curve of the units chosen, where enough of them were watched."""
    first, last = _known(found.starts[chosen], found.ends[chosen])
    inside = chosen & (found.starts <= last) & (found.ends >= first)
    position = np.cumsum(inside) - 1
    counted = inside[found.unit] & (found.age >= first) & (found.age <= last)
    starts, ends = np.maximum(found.starts[inside], first), np.minimum(found.ends[inside], last)
    marks = np.array(MARKS_YEARS) * DAYS_A_YEAR
    known = marks[(marks >= first) & (marks <= last)]
    at = np.unique(np.concatenate([np.linspace(first, last, STEPS), known])) if last > first else known
    curve = mean_cumulative(starts, ends, position[found.unit[counted]], found.age[counted], at)
    points = pl.DataFrame(
        {
            "years": curve.time / DAYS_A_YEAR,
            "at_risk": curve.at_risk,
            "mean": curve.mean,
            "low": curve.low,
            "high": curve.high,
        }
    )
    asked = pl.DataFrame({"years": [float(year) for year in MARKS_YEARS]})
    return CallCourse(
        group,
        label,
        int(inside.sum()),
        int(counted.sum()),
        first / DAYS_A_YEAR,
        max(last, first) / DAYS_A_YEAR,
        points,
        asked.join(points, on="years", how="left", maintain_order="left"),
    )


def _known(starts: NDArray[np.float64], ends: NDArray[np.float64]) -> tuple[float, float]:
    """Return the first stretch of ages at which enough units were watched; an empty one where none is."""
    ages = np.unique(np.concatenate([starts, ends + 1]))
    watched = np.searchsorted(np.sort(starts), ages, "right") - np.searchsorted(np.sort(ends), ages, "left")
    enough = np.flatnonzero(watched >= LEAST_AT_RISK)
    if not len(enough):
        return 0.0, -1.0
    lacking = np.flatnonzero(watched[enough[0] :] < LEAST_AT_RISK)
    return float(ages[enough[0]]), float(ages[enough[0] + lacking[0]] - 1)


def _plain(each: CallCourse) -> dict[str, Any]:
    return vars(each) | {"points": each.points.to_dicts(), "marks": each.marks.to_dicts()}


def field_words(cursor: duckdb.DuckDBPyConnection) -> dict[str, dict[str, str]]:
    """Return labels by code of the fields that units are grouped by."""
    return {by: labels(cursor, field) for by, field in _LABEL_FIELD.items()}


def units_checked(cursor: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return which of the checks that the rules ask for are on record: columns unit_id, checks."""
    return queries.frame(cursor, "lists/units_checked", {"checks": list(checks_asked_for())})


def listed_units(
    cursor: duckdb.DuckDBPyConnection, ranked: pl.DataFrame, checked: pl.DataFrame, offset: int, limit: int
) -> pl.DataFrame:
    """Return a page of the ranked units with the story of each and its next step."""
    if offset < 0 or not 0 <= limit <= LARGEST_PAGE:
        raise BadQuestion(
            f"A page of {limit} rows from row {offset} can not be shown. Ask for at most {LARGEST_PAGE:,} "
            "rows, from row 0 on."
        )
    page = ranked.slice(offset, limit)
    values = {"unit_ids": page["unit_id"].to_list()}
    calls = queries.frame(cursor, "lists/calls_of_units", values)
    checked = checked.join(page.select("unit_id"), on="unit_id", how="semi")
    cautions = dict(queries.frame(cursor, "lists/check_cautions").select("code", "caution").iter_rows())
    rules = step_rules()
    facts = page.select("unit_id", "shutoff_valve", "water_supply")
    steps = next_steps(facts, calls, checked, rules)
    facts = facts.join(steps.select("unit_id", "rule"), on="unit_id", how="left")
    words = {name: labels(cursor, name) for name in ("causes", "checks", "shutoff_valve", "supply_type")}
    told = stories(facts, calls, words, rules)
    # a check that the catalogue lacks has no class: it counts as the strictest wherever cautions are shown
    classes = pl.col("checks").list.eval(
        pl.element().replace_strict(cautions, default="c", return_dtype=pl.String)
    )
    return (
        page.join(told, on="unit_id", how="left", maintain_order="left")
        .join(steps, on="unit_id", how="left", maintain_order="left")
        .with_columns(cautions=classes)
    )
