"""Old filters against young ones with the kind of unit held equal, and where that turns the answer round."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.statistics.incidence import Ratio, mantel_haenszel_rates, rate_ratio
from analytics.statistics.poisson import adjusted_ratios, log_linear

LEAST_FAILURES = 20
"""A kind of unit with fewer failures has no factor of its own."""
LEVEL = "level"
"""Stands for what all products are multiplied with."""


@dataclass(frozen=True)
class Adjusted:
    """Ratios of failure rates with the kind of unit held equal.

    Parameters
    ----------
    crude, common : Ratio or None
        Filters past six months against younger ones: as counted, and within strata of all the fields at once
        (Mantel-Haenszel).
    bands : DataFrame
        By band against the youngest: columns band, crude, common, common_low, common_high (Mantel-Haenszel),
        model, model_low, model_high (Poisson regression); null where there is none.
    within : DataFrame
        By each field alone: columns by, crude, common, low, high, turned (crude and common lie on different
        sides of 1: Simpson's paradox).
    turned : bool
        The same for all fields at once.
    """

    crude: Ratio | None
    common: Ratio | None
    bands: pl.DataFrame
    within: pl.DataFrame
    turned: bool

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "crude": vars(self.crude) if self.crude else None,
            "common": vars(self.common) if self.common else None,
            "bands": self.bands.to_dicts(),
            "within": self.within.to_dicts(),
            "turned": self.turned,
        }


def adjusted(
    cells: pl.DataFrame, fields: Sequence[str], bands: Sequence[str], past: Sequence[str]
) -> Adjusted:
    """Compare old filters with young ones within like units.

    Parameters
    ----------
    cells : DataFrame
        Columns band, the fields, failures, months.
    fields : sequence of str
        What makes units alike.
    bands : sequence of str
        All bands, the youngest first.
    past : sequence of str
        Those past six months.
    """
    is_past = pl.col("band").is_in(list(past))
    crude, common = _pair(cells.with_columns(old=is_past), fields)
    models = _models(cells, fields, bands)
    rows: list[dict[str, Any]] = []
    within: list[dict[str, Any]] = []
    for at, band in enumerate(bands[1:]):
        pair = cells.filter(pl.col("band").is_in([bands[0], band])).with_columns(old=pl.col("band") == band)
        as_counted, in_strata = _pair(pair, fields)
        model = models[at] if models else None
        rows.append(
            {
                "band": band,
                "crude": as_counted.ratio if as_counted else None,
                **_limits("common", in_strata),
                **_limits("model", model),
            }
        )
    for field in fields:
        as_counted, in_strata = _pair(cells.with_columns(old=is_past), [field])
        within.append(
            {
                "by": field,
                "crude": as_counted.ratio if as_counted else None,
                "common": in_strata.ratio if in_strata else None,
                "low": in_strata.low if in_strata else None,
                "high": in_strata.high if in_strata else None,
                "turned": turned(as_counted, in_strata),
            }
        )
    return Adjusted(
        crude,
        common,
        pl.DataFrame(rows, infer_schema_length=None),
        pl.DataFrame(within, infer_schema_length=None),
        turned(crude, common),
    )


def kind_factors(cells: pl.DataFrame, fields: Sequence[str]) -> pl.DataFrame:
    """How much more often units of a kind fail than their like with a filter of the same age.

    Parameters
    ----------
    cells : DataFrame
        Columns band, the fields, failures, months.
    fields : sequence of str
        What makes units alike.

    Returns
    -------
    DataFrame
        Columns by, group, factor: the factors of the fields of a unit are multiplied; over all the time at
        risk the products come to 1 on average, weighted by the failures expected. Groups with fewer than
        `LEAST_FAILURES` failures count as the commonest.

    Notes
    -----
    Poisson regression on band and fields together, see `analytics.statistics.poisson`.
    """
    empty = pl.DataFrame(schema={"by": pl.String, "group": pl.String, "factor": pl.Float64})
    cells = cells.filter(pl.col("months") > 0)
    columns, names = [_dummies(cells, "band", set(cells["band"]))], []
    for field in fields:
        sums = cells.group_by(field).agg(pl.col("failures").sum()).sort("failures", descending=True)
        told = sums.filter(pl.col("failures") >= LEAST_FAILURES)[field].to_list()[1:]
        columns.append(_dummies(cells, field, told))
        names += [(field, group) for group in told]
    found = log_linear(
        cells["failures"].to_numpy().astype(float), cells["months"].to_numpy(), np.hstack(columns)
    )
    if found is None or not names:
        return empty
    effects, _ = found
    bands = columns[0].shape[1]
    kinds = np.exp(np.hstack(columns[1:]) @ effects[bands:])
    by_band = cells.select(pl.col("failures", "months").sum().over("band")).to_numpy()
    due = cells["months"].to_numpy() * by_band[:, 0] / by_band[:, 1]
    rows = [(*name, float(np.exp(effect))) for name, effect in zip(names, effects[bands:], strict=True)]
    level = float(due.sum() / (due * kinds).sum())
    return pl.DataFrame([*rows, (LEVEL, None, level)], schema=empty.schema, orient="row")


def _dummies(cells: pl.DataFrame, field: str, groups: Collection[str | None]) -> NDArray[np.float64]:
    frame = cells.select(pl.col(field).eq_missing(pl.lit(group)).alias(f"{group}") for group in groups)
    return frame.cast(pl.Float64).to_numpy() if groups else np.zeros((cells.height, 0))


def turned(crude: Ratio | None, common: Ratio | None) -> bool:
    """Say whether two ratios lie on different sides of 1 (Simpson EH (1951), JRSS B 13:238, from memory)."""
    return bool(crude and common) and (crude.ratio - 1) * (common.ratio - 1) < 0  # type: ignore[union-attr]


def _limits(name: str, found: Ratio | None) -> dict[str, float | None]:
    return {
        name: found.ratio if found else None,
        f"{name}_low": found.low if found else None,
        f"{name}_high": found.high if found else None,
    }


def _pair(cells: pl.DataFrame, fields: Sequence[str]) -> tuple[Ratio | None, Ratio | None]:
    """Return the ratio of old to young as counted, and in common over the strata of some fields."""
    old = pl.col("old")
    strata = cells.group_by(list(fields)).agg(
        pl.col("failures").filter(old).sum().alias("a"),
        pl.col("failures").filter(~old).sum().alias("b"),
        pl.col("months").filter(old).sum().alias("of_a"),
        pl.col("months").filter(~old).sum().alias("of_b"),
    )
    a, b, of_a, of_b = (
        strata.select(pl.col("a", "b", "of_a", "of_b").sum()).row(0) if strata.height else (0,) * 4
    )
    crude = rate_ratio((int(a), int(b)), (of_a, of_b))
    common = mantel_haenszel_rates(
        strata.select("a", "b").to_numpy(), strata.select("of_a", "of_b").to_numpy()
    )
    return (crude if crude and np.isfinite(crude.ratio) else None), common


def _models(cells: pl.DataFrame, fields: Sequence[str], bands: Sequence[str]) -> list[Ratio]:
    if cells.is_empty():
        return []
    asked = np.column_stack([(cells["band"] == band).to_numpy().astype(float) for band in bands[1:]])
    kinds = cells.select(pl.col(field).fill_null("") for field in fields)
    dummies = kinds.to_dummies(drop_first=True)
    # units all of one kind leave no column, and a frame without columns has no rows either
    beside = dummies.cast(pl.Float64).to_numpy() if dummies.width else np.zeros((cells.height, 0))
    return adjusted_ratios(cells["failures"].to_numpy(), cells["months"].to_numpy(), asked, beside)
