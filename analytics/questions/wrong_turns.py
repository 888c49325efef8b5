"""Wrong turns: what was thought first against what it turned out to be, and what that cost."""

from dataclasses import asdict, dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.cost_assumptions import CostAssumptions
from analytics.questions.check_ground import CheckGround
from analytics.questions.checks import ChosenRepairs
from analytics.questions.cost_sums import Work
from analytics.questions.costs import FEWEST_UNITS, prices
from analytics.questions.first_thoughts import STANDINGS, TOOK, FirstThoughts
from analytics.questions.labelling import labels
from analytics.rates import Counted, Rate, rates
from analytics.statistics.agreement import Agreement, kappa
from analytics.statistics.cluster_ratio import ratio_intervals
from analytics.statistics.design_effect import ClusterSums, design_effect
from analytics.statistics.intervals import wilson

CELL = ["first_thought", "final_cause"]
SUMS = ("returns", "visits", "minutes", "untimed", "parts", "part_money", "unpriced", "money")

CELLS_SCHEMA: dict[str, Any] = {
    "first_thought": pl.String, "first_label": pl.String, "final_cause": pl.String, "final_label": pl.String,
    "standing": pl.String, "calls": pl.Int64, "of": pl.Int64,
    "rate": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    "returns": pl.Int64, "visits": pl.Int64, "minutes": pl.Float64, "untimed": pl.Int64, "parts": pl.Float64,
    "part_money": pl.Float64, "unpriced": pl.Float64,
    "money": pl.Float64, "money_low": pl.Float64, "money_high": pl.Float64,
}  # fmt: skip
"""Columns of `WrongTurns.matrix`, where each is described."""
PARTS_SCHEMA: dict[str, Any] = {
    "part": pl.String, "label": pl.String, "calls": pl.Int64, "parts": pl.Float64, "money": pl.Float64,
}  # fmt: skip


@dataclass(frozen=True)
class WrongTurns:
    """What was thought first against what it turned out to be. A call here is the first of its string.

    Parameters
    ----------
    calls : int
        First calls chosen whose string of returns is 30 days past its last closing.
    too_soon : int
        Those for which it is not.
    known : int
        Of `calls`, those of which it is known what was thought first and what it turned out to be.
    right, went_deeper, different, none_found : Rate
        Of those known: thought right, went deeper (the catalogue says that the one lies behind the other),
        something else (an upper limit on misdiagnosis: a second fault looks the same), no fault found first.
    unsaid : int
        Of those right, calls that stayed fixed with no first diagnosis recorded beside the cause: nothing
        could show them wrong.
    none_found_unknown : int
        No fault was found first, and what it was never became known.
    kappa : Agreement or None
        Agreement beyond chance of those known whose first thought names a cause; going deeper counts as not
        agreeing.
    firsts : pl.DataFrame
        One row a first thought, most often something else first: first_thought, first_label, names_cause,
        calls (known), unknown (what it was never became known), and for each of right, went_deeper,
        different, none_found its number, and its share with limits (right_rate, right_low, right_high, ...).
    matrix : pl.DataFrame
        One row a first thought and final cause that occur, costliest first: both with labels, standing,
        calls, of (calls first thought so, known), rate with limits; what followed the first visit: returns,
        visits (at which somebody let us in), minutes on them and untimed visits; parts fitted before the last
        call that were not the cause (part_money, unpriced: with and without a cost); and money for all that
        with its limits, null below five units with any.
    parts : pl.DataFrame
        One row a part that was not the cause, costliest first: part, label, calls (strings), parts, money.
    parts_unknown : float
        Parts of which it can not be told: not recognised.
    assumptions : CostAssumptions
    minutes : float
        Taken for a visit that is not timed.
    """

    calls: int
    too_soon: int
    known: int
    right: Rate
    went_deeper: Rate
    different: Rate
    none_found: Rate
    unsaid: int
    none_found_unknown: int
    kappa: Agreement | None
    firsts: pl.DataFrame
    matrix: pl.DataFrame
    parts: pl.DataFrame
    parts_unknown: float
    assumptions: CostAssumptions
    minutes: float

    def turns(self, standing: str = "different") -> pl.DataFrame:
        """Return the wrong turns of one standing, costliest first."""
        return self.matrix.filter(pl.col("standing") == standing)

    def after(self, standing: str, what: str = "visits") -> float | None:
        """Return how many further visits (or returns) a call of one standing had; None without any."""
        rows = self.turns(standing)
        calls = int(rows["calls"].sum())
        return float(rows[what].sum()) / calls if calls else None

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        frames = ("firsts", "matrix", "parts")
        return asdict(self) | {name: getattr(self, name).to_dicts() for name in frames}


def chosen_strings(thoughts: FirstThoughts, here: ChosenRepairs) -> pl.DataFrame:
    """Return the strings whose first call is chosen and whose 30 days are up."""
    kept = here.settled[thoughts.strings["row_id"].to_numpy()]
    return thoughts.strings.filter(pl.Series(kept, dtype=pl.Boolean))


def wrong_turns(
    cursor: duckdb.DuckDBPyConnection,
    ground: CheckGround,
    thoughts: FirstThoughts,
    here: ChosenRepairs,
    done: Work,
    assumed: CostAssumptions,
) -> WrongTurns:
    """Answer `FleetWrongTurns.wrong_turns`."""
    causes = labels(cursor, "causes")
    price, minutes = prices(assumed, done)
    every = thoughts.strings["row_id"].to_numpy()
    mature = chosen_strings(thoughts, here)
    known = mature.filter(pl.col("standing").is_not_null())
    money = known.select(TOOK).to_numpy().reshape(-1, len(TOOK)) @ price
    known = known.with_columns(
        pl.Series("money", money), pl.Series("unit", ground.unit[known["row_id"].to_numpy()])
    )
    counted = dict(known.group_by(pl.col("standing").cast(pl.String)).agg(pl.len()).iter_rows())
    effects = _design_effects(known)
    found = [
        Counted(counted.get(name, 0), known.height, design_effect=effects[name], name=name)
        for name in STANDINGS
    ]
    right, deeper, different, none_found = rates(found)
    matrix = _matrix(known, causes)
    parts = thoughts.parts.filter(pl.Series(here.settled[thoughts.parts["row_id"].to_numpy()]))
    unsaid = (pl.col("standing") == "right") & (pl.col("returns") == 0) & ~pl.col("thought_recorded")
    never = mature.filter(pl.col("final_cause").is_null() & pl.col("first_thought").is_not_null())
    return WrongTurns(
        calls=mature.height,
        too_soon=int(np.count_nonzero(here.chosen[every] & ~here.settled[every])),
        known=known.height,
        right=right,
        went_deeper=deeper,
        different=different,
        none_found=none_found,
        unsaid=known.filter(unsaid).height,
        none_found_unknown=never.filter(~pl.col("names_cause")).height,
        kappa=_agreement(known, effects["right"]),
        firsts=_firsts(known, never, causes),
        matrix=matrix,
        parts=_parts(parts, labels(cursor, "parts"), assumed.part_cost),
        parts_unknown=float(mature["parts_unknown"].sum()),
        assumptions=assumed,
        minutes=minutes,
    )


def _design_effects(known: pl.DataFrame) -> dict[str, float | None]:
    """Design effect of units for the share of each standing."""
    unit = known["unit"].to_numpy()
    n = np.bincount(unit).astype(np.float64)
    ones = np.ones(len(n))
    found: dict[str, float | None] = {}
    for standing in STANDINGS:
        x = np.bincount(unit[(known["standing"] == standing).to_numpy()], minlength=len(n)).astype(np.float64)
        pairs = ((n, ones), (x, ones), (n, n), (n, x), (x, x))
        sums = ClusterSums(int(np.count_nonzero(n)), *(float(a @ b) for a, b in pairs))
        found[standing] = design_effect(sums)
    return found


def _agreement(known: pl.DataFrame, effect: float | None) -> Agreement | None:
    named = known.filter("names_cause").select(pl.col(CELL).cast(pl.String))
    codes = sorted({*named["first_thought"], *named["final_cause"]})
    cells = named.group_by(CELL).agg(pl.len().alias("calls"))
    at = {code: place for place, code in enumerate(codes)}
    table = np.zeros((len(codes), len(codes)))
    for first, final, calls in cells.select(*CELL, "calls").iter_rows():
        table[at[first], at[final]] = calls
    return kappa(table, effect)


def _firsts(known: pl.DataFrame, never: pl.DataFrame, causes: dict[str, str]) -> pl.DataFrame:
    by = ["first_thought", "names_cause"]
    counts = known.group_by(by).agg(
        pl.len().alias("calls"), *[(pl.col("standing") == name).sum().alias(name) for name in STANDINGS]
    )
    unknown = never.group_by(by).agg(pl.len().alias("unknown"))
    rows = counts.join(unknown, on=by, how="full", coalesce=True).with_columns(
        pl.col("calls", "unknown", *STANDINGS).fill_null(0).cast(pl.Int64),
        pl.col("first_thought").cast(pl.String),
    )
    shares = [
        column
        for name in STANDINGS
        for column in _shares(rows[name].to_numpy(), rows["calls"].to_numpy(), f"{name}_")
    ]
    named = pl.col("first_thought").replace_strict(causes, default=pl.col("first_thought"))
    return (
        rows.with_columns(*shares, named.alias("first_label"))
        .sort(pl.col("different").neg(), "first_label")
        .select("first_thought", "first_label", *rows.columns[1:], *[column.name for column in shares])
    )


def _shares(over: NDArray[Any], of: NDArray[Any], stem: str = "") -> list[pl.Series]:
    """Return rate, low and high; null where there is nothing to take a share of."""
    low, high = wilson(over, of)
    with np.errstate(invalid="ignore"):
        share = over / of
    names = (f"{stem}rate", f"{stem}low", f"{stem}high")
    return [
        pl.Series(name, values, nan_to_null=True)
        for name, values in zip(names, (share, low, high), strict=True)
    ]


def _matrix(known: pl.DataFrame, causes: dict[str, str]) -> pl.DataFrame:
    cells = known.group_by([*CELL, "standing"]).agg(pl.len().alias("calls"), pl.col(SUMS).sum())
    of = known.group_by("first_thought").agg(pl.len().alias("of"))
    cells = cells.join(of, on="first_thought").join(_limits(known), on=CELL, how="left")
    words = [
        pl.col(code).cast(pl.String).replace_strict(causes, default=pl.col(code).cast(pl.String)).alias(name)
        for code, name in (("first_thought", "first_label"), ("final_cause", "final_label"))
    ]
    rates_of = _shares(cells["calls"].to_numpy(), cells["of"].to_numpy())
    return (
        cells.with_columns(*rates_of, *words)
        .select(CELLS_SCHEMA.keys())
        .cast(CELLS_SCHEMA)  # type: ignore[arg-type]
        .sort(pl.col("money").neg(), pl.col("calls").neg(), "first_label", "final_label")
    )


def _limits(known: pl.DataFrame) -> pl.DataFrame:
    """Limits of the money of each cell that is not right: what a call costs, times their number."""
    by_unit = (
        known.filter(pl.col("standing") != "right")
        .group_by([*CELL, "unit"])
        .agg(pl.len().cast(pl.Float64).alias("n"), pl.col("money").sum().alias("x"))
    )
    n, x = pl.col("n"), pl.col("x")
    sums = (
        by_unit.group_by(CELL)
        .agg(
            pl.len().cast(pl.Float64).alias("clusters"),
            n.sum().alias("n"),
            x.sum().alias("x"),
            (n * n).sum().alias("nn"),
            (n * x).sum().alias("nx"),
            (x * x).sum().alias("xx"),
            (x > 0).sum().cast(pl.Int64).alias("informative"),
        )
        .filter(pl.col("informative") >= FEWEST_UNITS)
    )
    low, high = ratio_intervals(
        sums.select("clusters", "n", "x", "nn", "nx", "xx").to_numpy().reshape(-1, 6),
        sums["informative"].to_numpy(),
    )
    calls = sums["n"].to_numpy()
    return sums.select(*CELL, pl.Series("money_low", low * calls), pl.Series("money_high", high * calls))


def _parts(parts: pl.DataFrame, words: dict[str, str], price: float) -> pl.DataFrame:
    each = pl.col("cost").fill_null(price * pl.col("quantity"))
    return (
        parts.group_by("part")
        .agg(
            pl.col("row_id").n_unique().alias("calls"),
            pl.col("quantity").sum().alias("parts"),
            each.sum().alias("money"),
        )
        .with_columns(pl.col("part").replace_strict(words, default=pl.col("part")).alias("label"))
        .sort(pl.col("money").neg(), "label")
        .select(PARTS_SCHEMA.keys())
        .cast(PARTS_SCHEMA)  # type: ignore[arg-type]
    )
