"""Which parts on the van would have saved most second visits."""

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl

from analytics import queries
from analytics.questions.labelling import labels
from analytics.questions.selecting import Selection
from analytics.statistics.covering import greedy_cover
from analytics.statistics.intervals import wilson

MOST_ABOARD = 10
"""Parts in the best set: what one more shelf holds (our convention)."""

SINGLE_SCHEMA: dict[str, Any] = {
    "part": pl.String, "label": pl.String, "fitted": pl.Int64, "saved": pl.Int64,
    "share": pl.Float64, "low": pl.Float64, "high": pl.Float64,
}  # fmt: skip
BEST_SCHEMA: dict[str, Any] = {
    "step": pl.Int64, "parts": pl.List(pl.String), "labels": pl.List(pl.String), "added": pl.Int64,
    "saved": pl.Int64, "share": pl.Float64, "low": pl.Float64, "high": pl.Float64,
}  # fmt: skip


@dataclass(frozen=True)
class PartsAboard:
    """Second trips for a part, and what having parts aboard would have saved of them.

    Parameters
    ----------
    trips : int
        Completed calls that took a second trip for a part.
    known : int
        Of them, those whose parts fitted afterwards are recorded and all recognised.
    single : pl.DataFrame
        One row a part, most saved first: part, label, fitted (second trips with it among the parts fitted
        afterwards), saved (those on which nothing else was fitted), share, low, high (saved of known, 0..1).
    best : pl.DataFrame
        Parts chosen step by step: step, parts and labels (added together), added (parts aboard from then on),
        saved (second trips on which all that was fitted is aboard), share, low, high (of known, 0..1).
    """

    trips: int
    known: int
    single: pl.DataFrame
    best: pl.DataFrame

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return vars(self) | {"single": self.single.to_dicts(), "best": self.best.to_dicts()}


def every_second_trip(cursor: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return the second trips of all calls; columns as in sql/metrics/second_trips.sql."""
    return queries.frame(cursor, "metrics/second_trips")


def second_trips(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, every_trip: pl.DataFrame
) -> pl.DataFrame:
    """Return the second trips of the calls chosen, as `every_second_trip`."""
    rows = queries.frame(cursor, "metrics/second_trips_chosen", chosen.values)
    return every_trip.join(rows, on="row_id", how="semi")


def parts_aboard(cursor: duckdb.DuckDBPyConnection, trips: pl.DataFrame) -> PartsAboard:
    """Say which parts would have saved most of these trips."""
    known = trips.filter((pl.col("parts") != "") & (pl.col("not_recognised") == 0))
    sets = known.group_by("parts").agg(pl.len().alias("trips")).sort("parts")
    sets = sets.with_columns(pl.col("parts").str.split(" "))
    words = labels(cursor, "parts")
    return PartsAboard(
        trips.height, known.height, _single(sets, known.height, words), _best(sets, known.height, words)
    )


def with_step(trips: pl.DataFrame, aboard: PartsAboard) -> pl.DataFrame:
    """Add saved_from_step: the step of the best set from which on a trip is saved, or null."""
    steps: dict[str, int] = {}
    loaded: set[str] = set()
    for step, parts in aboard.best.select("step", "parts").iter_rows():
        loaded |= set(parts)
        for key in trips["parts"].unique():
            if key and set(key.split(" ")) <= loaded:
                steps.setdefault(key, step)
    known = pl.col("not_recognised") == 0
    step = pl.col("parts").replace_strict(steps, default=None, return_dtype=pl.Int64)
    return trips.with_columns(pl.when(known).then(step).alias("saved_from_step"))


def _single(sets: pl.DataFrame, known: int, words: dict[str, str]) -> pl.DataFrame:
    alone = pl.col("trips").filter(pl.col("parts").list.len() == 1).sum()
    rows = (
        sets.with_columns(pl.col("parts").alias("part"))
        .explode("part")
        .group_by("part")
        .agg(pl.col("trips").sum().alias("fitted"), alone.alias("saved"))
        .with_columns(pl.col("part").replace_strict(words, default=pl.col("part")).alias("label"))
        .sort("saved", "fitted", "label", descending=[True, True, False])
    )
    return _of_known(rows, known).select(SINGLE_SCHEMA.keys()).cast(SINGLE_SCHEMA)  # type: ignore[arg-type]


def _best(sets: pl.DataFrame, known: int, words: dict[str, str]) -> pl.DataFrame:
    parts = sets["parts"].explode().unique().sort().to_list() if sets.height else []
    needs = np.array([[part in asked for part in parts] for asked in sets["parts"].to_list()], dtype=bool)
    steps = greedy_cover(needs, sets["trips"].to_numpy(), MOST_ABOARD)
    added = [[parts[at] for at in things] for things, _ in steps]
    rows = pl.DataFrame(
        {
            "step": list(range(1, len(steps) + 1)),
            "parts": added,
            "labels": [[words.get(part, part) for part in each] for each in added],
            "added": np.cumsum([len(each) for each in added], dtype=np.int64).tolist(),
            "saved": [saved for _, saved in steps],
        },
        schema={name: kind for name, kind in BEST_SCHEMA.items() if name not in ("share", "low", "high")},
    )
    return _of_known(rows, known).select(BEST_SCHEMA.keys())


def _of_known(rows: pl.DataFrame, known: int) -> pl.DataFrame:
    low, high = wilson(rows["saved"].to_numpy(), np.full(rows.height, known))
    share = rows["saved"] / known if known else rows["saved"].cast(pl.Float64)
    return rows.with_columns(share.alias("share"), pl.Series("low", low), pl.Series("high", high))
