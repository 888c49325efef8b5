"""What returns cost, in all and by group, and what halving the excess of groups would save."""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.cost_assumptions import CostAssumptions
from analytics.errors import BadQuestion
from analytics.questions.cost_sums import TOOK, CostSums, Moments, Work
from analytics.statistics.cluster_ratio import ratio_interval, relative_error
from analytics.statistics.design_effect import ClusterSums
from analytics.statistics.excess import SEED, excess

COSTED_BY = ("cause", "final_cause", "depot", "product_family")
FEWEST_UNITS = 5
"""Units with a return below which no interval is given: it would be a guess (our convention)."""
SHORTEST_YEARS = 28 / 365.25
"""Closings of fewer than four weeks are not made into a year."""
WITHIN_FLEET = ("cause", "depot", "product_family")
"""Groupings of repairs, which have a rate of their own. A final cause is known only of what came back."""

GROUPS_SCHEMA = {
    "group": pl.String, "label": pl.String, "calls": pl.Int64, "came_back": pl.Int64, "returns": pl.Int64,
    "cost": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    "per_return": pl.Float64, "per_return_low": pl.Float64, "per_return_high": pl.Float64,
    "expected": pl.Float64, "ratio": pl.Float64, "excess": pl.Float64, "halved": pl.Float64,
}  # fmt: skip


@dataclass(frozen=True)
class Money:
    """An amount in the company's own unit, with its 95% interval; None where it can not be told."""

    value: float | None
    low: float | None = None
    high: float | None = None

    def times(self, factor: float) -> "Money":
        """Return this amount so many times."""
        scaled = (None if each is None else each * factor for each in (self.value, self.low, self.high))
        return Money(*scaled)


@dataclass(frozen=True)
class Costs:
    """What returns cost.

    Parameters
    ----------
    assumptions : CostAssumptions
        What was assumed.
    minutes : float
        Minutes on site taken for a visit that is not timed.
    timed, visits : int
        Visits of all calls that are timed, and all of them.
    calls, came_back, returns : int
        Judged calls, those that came back, and the returns counted against them.
    years : float
        From the first to the last closing of a judged call.
    cost, per_return : Money
        Of all returns, over those years; and of one.
    per_year : Money or None
        None where less than four weeks are looked at.
    made_of : pl.DataFrame
        What the cost is made of: what, quantity, unit, money.
    by : str
        The grouping, one of `COSTED_BY`.
    groups : pl.DataFrame
        One row a group, dearest first and what is not recorded last: group, label, calls, came_back,
        returns; cost, low, high (over all years); per_return with its limits; and, by groups of
        repairs, expected (came back at the rate of all), ratio (against that, pulled towards the average),
        excess (came back above it) and halved (money saved over all years if that were half).
    halved : Money or None
        What halving the excess of all groups would save, over all years; None where groups have no rate.
    """

    assumptions: CostAssumptions
    minutes: float
    timed: int
    visits: int
    calls: int
    came_back: int
    returns: int
    years: float
    cost: Money
    per_return: Money
    per_year: Money | None
    made_of: pl.DataFrame
    by: str
    groups: pl.DataFrame
    halved: Money | None

    def a_year(self, amount: Money) -> Money:
        """Return an amount over all years as one for a year."""
        return amount.times(1 / self.years)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        frames = {"made_of": self.made_of.to_dicts(), "groups": self.groups.to_dicts()}
        return asdict(self) | {"assumptions": asdict(self.assumptions)} | frames


def check_grouping(by: str) -> None:
    """Refuse a grouping by which costs are not given.

    Raises
    ------
    BadQuestion
        Naming those that there are.
    """
    if by not in COSTED_BY:
        raise BadQuestion(f"Costs can not be given by '{by}'. Choose one of {', '.join(COSTED_BY)}.")


def priced(returns: pl.DataFrame, assumed: CostAssumptions, done: Work) -> pl.DataFrame:
    """Return returns one by one with what each cost; `returns` as from `cost_sums.returns_of`."""
    price, _ = prices(assumed, done)
    cost = pl.Series("cost", returns.select(TOOK).to_numpy().reshape(-1, len(TOOK)) @ price)
    names = ["call_id", "return_call_id", "group", "final_cause", *TOOK[1:], "cost"]
    return returns.rename({"group_code": "group"}).with_columns(cost).select(names)


def prices(assumed: CostAssumptions, done: Work) -> tuple[NDArray[np.float64], float]:
    """Return the price of each thing in `cost_sums.TOOK`, and the minutes of a visit not timed."""
    minutes = assumed.visit_minutes if done.median_minutes is None else done.median_minutes
    minute = assumed.hour_price / 60
    each = [assumed.call_price, assumed.visit_price, minute, minute * minutes, 1.0, assumed.part_cost]
    return np.array(each), minutes


def costs(
    sums: CostSums,
    counts: dict[str | None, tuple[int, int]],
    labels: dict[str | None, str],
    done: Work,
    assumed: CostAssumptions,
    by: str,
) -> Costs:
    """Price the sums; `counts` are judged calls and those that came back, by group."""
    price, minutes = prices(assumed, done)
    cost = _total(sums, sums.whole, price)
    per_return = _per_return(sums.whole, price)
    rows = [
        _row(sums, code, labels[code], moments, counts.get(code, (0, 0)), price)
        for code, moments in sums.groups.items()
    ]
    groups = pl.DataFrame(rows, schema=GROUPS_SCHEMA)
    halved = None
    if by in WITHIN_FLEET and sums.came_back:
        groups, halved = _halved(sums, groups, counts, price)
    enough = sums.years >= SHORTEST_YEARS
    return Costs(
        assumptions=assumed,
        minutes=minutes,
        timed=done.timed,
        visits=done.visits,
        calls=int(sums.calls),
        came_back=sums.came_back,
        returns=round(sums.whole.total[0]),
        years=sums.years,
        cost=cost,
        per_return=per_return,
        per_year=cost.times(1 / sums.years) if enough else None,
        made_of=_made_of(sums.whole.total, assumed, minutes),
        by=by,
        groups=groups.sort(pl.col("group").is_null(), pl.col("cost").neg(), "label"),
        halved=halved,
    )


def _money(value: float, sums: ClusterSums, units: int, factor: float) -> Money:
    if units < FEWEST_UNITS or value <= 0:
        return Money(value)
    low, high = ratio_interval(sums, units)
    return Money(value, low * factor, high * factor)


def _total(sums: CostSums, moments: Moments, price: NDArray[np.float64]) -> Money:
    """Money of a group's returns, as a ratio to all judged calls: their number is what was worked."""
    cost = float(price @ moments.total)
    over = ClusterSums(
        sums.units,
        sums.calls,
        cost,
        sums.calls_squared,
        float(price @ moments.with_calls),
        float(price @ moments.squares @ price),
    )
    return _money(cost, over, moments.units, sums.calls)


def _by_return(moments: Moments, price: NDArray[np.float64]) -> ClusterSums:
    """Return the sums behind money over returns, units with a return as clusters."""
    return ClusterSums(
        moments.units,
        float(moments.total[0]),
        float(price @ moments.total),
        float(moments.squares[0, 0]),
        float(price @ moments.squares[:, 0]),
        float(price @ moments.squares @ price),
    )


def _per_return(moments: Moments, price: NDArray[np.float64]) -> Money:
    over = _by_return(moments, price)
    return _money(over.x / over.n, over, moments.units, 1.0) if over.n else Money(None)


def _row(
    sums: CostSums,
    code: str | None,
    label: str,
    moments: Moments,
    counted: tuple[int, int],
    price: NDArray[np.float64],
) -> dict[str, Any]:
    total, one = _total(sums, moments, price), _per_return(moments, price)
    calls, came_back = counted
    return {
        "group": code, "label": label, "calls": calls, "came_back": came_back,
        "returns": round(moments.total[0]), "cost": total.value, "low": total.low, "high": total.high,
        "per_return": one.value, "per_return_low": one.low, "per_return_high": one.high,
        "expected": None, "ratio": None, "excess": None, "halved": None,
    }  # fmt: skip


def _halved(
    sums: CostSums,
    groups: pl.DataFrame,
    counts: dict[str | None, tuple[int, int]],
    price: NDArray[np.float64],
) -> tuple[pl.DataFrame, Money]:
    """Add what each group has above the rate of all, and return what half of it costs."""
    codes = [code for code, (calls, _) in counts.items() if calls]
    calls, back = (np.array([counts[code][at] for code in codes], dtype=np.float64) for at in (0, 1))
    rate = sums.came_back / sums.calls
    expected = rate * calls
    variance = dispersion(sums) * (back + expected) / 2 * (1 - rate)
    found = excess(back, expected, np.maximum(variance, 1e-9))
    cost = float(price @ sums.whole.total)
    each = cost / sums.came_back
    halves = found.draws.sum(axis=1) * each / 2
    if sums.whole.units >= FEWEST_UNITS and cost > 0:
        error = relative_error(_by_return(sums.whole, price))
        halves = halves * np.exp(np.random.default_rng(SEED).normal(0, error, len(halves)))
    low, high = np.quantile(halves, [0.025, 0.975])
    added = pl.DataFrame(
        {"group": codes, "expected": expected, "ratio": found.ratio, "excess": found.excess},
        schema={"group": pl.String} | dict.fromkeys(("expected", "ratio", "excess"), pl.Float64),
    ).with_columns((pl.col("excess") * each / 2).alias("halved"))
    kept = groups.drop("expected", "ratio", "excess", "halved").join(
        added, on="group", how="left", nulls_equal=True
    )
    return kept.select(GROUPS_SCHEMA.keys()), Money(float(halves.mean()), float(low), float(high))


def dispersion(sums: CostSums) -> float:
    """How much more the number that came back varies than if calls were independent; at least 1."""
    rate = sums.came_back / sums.calls
    squares = sums.came_back_squared - 2 * rate * sums.came_back_with_calls + rate * rate * sums.calls_squared
    independent = sums.calls * rate * (1 - rate)
    return max(1.0, squares / independent) if independent > 0 else 1.0


def _made_of(took: NDArray[np.float64], assumed: CostAssumptions, minutes: float) -> pl.DataFrame:
    returns, visits, timed, untimed, part_money, unpriced = took.tolist()
    minute = assumed.hour_price / 60
    rows = [
        ("time on site, as timed", timed, "minutes", timed * minute),
        ("time on site, not timed", untimed * minutes, "minutes", untimed * minutes * minute),
        ("travel", visits, "visits", visits * assumed.visit_price),
        ("office work", returns, "calls", returns * assumed.call_price),
        ("parts, cost recorded", None, "", part_money),
        ("parts, cost not recorded", unpriced, "parts", unpriced * assumed.part_cost),
    ]
    schema = {"what": pl.String, "quantity": pl.Float64, "unit": pl.String, "money": pl.Float64}
    return pl.DataFrame(rows, schema=schema, orient="row")
