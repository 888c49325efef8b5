"""What callers say: a phrase for the trouble, sometimes a second, typed with errors and words around it."""

from functools import cache

import numpy as np
import polars as pl

from synthetic_data.assumptions import load
from synthetic_data.ledger import Columns
from synthetic_data.streams import Ints, chance, pick
from synthetic_data.trade import trade
from synthetic_data.wording import Phrases, gather, words

_OTHER_JOBS = {
    1: ["new unit install", "deliver and hook up", "install ice maker line and unit"],
    2: ["filter change due", "change water filter", "filter subscription visit"],
    3: ["yearly maintenance", "maintenance visit", "clean condenser and check"],
    4: ["wants estimate", "price for repair", "estimate for ice maker"],
    5: ["landlord inspection", "move-in inspection", "inspection of water hookup"],
}
_TRIP = ["part is in", "return to fit part", "part arrived, please schedule", "RTN trip, part in"]


@cache
def _phrases() -> Phrases:
    spoken, around = words("complaints"), words("complaints")["around"]
    levels = [spoken[code] for code in trade().symptoms]
    levels += [around["same_again"], around["no_symptom"], *_OTHER_JOBS.values(), _TRIP]
    return Phrases(levels, "complaints")


def _second(rng: np.random.Generator, calls: Columns) -> Ints:
    """A second trouble named in one breath, -1 for none: the slow door beside small cubes, or any other."""
    facts, assume, n = trade(), load(), len(calls["opened"])
    door = assume["symptoms"]["door_first"]
    slow = calls["dispenser"] & (calls["door_l_per_min"] < assume["symptoms"]["slow_dispenser"])
    upstream = np.isin(
        calls["cause"],
        [facts.cause(code) for code in ("filter_restricted", "low_supply_pressure", "saddle_valve_clogged")],
    )
    second = np.where(slow & upstream & chance(rng, door["also"], n), facts.symptom("water_slow"), -1)
    other = pick(rng, np.ones(len(facts.symptoms)), n)
    also = chance(rng, assume["callers"]["two_symptoms"], n) & (second < 0)
    second = np.where(also, other, second)
    return np.where((second == calls["symptom"]) | (calls["symptom"] < 0), -1, second)


def complaints(rng: np.random.Generator, calls: Columns) -> tuple[pl.Series, Ints, np.ndarray]:
    """Complaints as typed.

    Parameters
    ----------
    calls : dict of str to array
        Rows of the record, with `dispenser` of the unit.

    Returns
    -------
    texts : pl.Series
    second : Ints
        Second trouble named, -1 for none.
    said_same : Bools
        Said to be the same again, naming no trouble.
    """
    assume, n, count = load()["callers"], len(calls["opened"]), len(trade().symptoms)
    phrases, around = _phrases(), words("complaints")["around"]
    level = np.where(calls["job"] > 0, count + 1 + calls["job"], calls["symptom"])
    same = (calls["tries"] > 0) & ~calls["trip"] & chance(rng, assume["same_thing"], n)
    trip = calls["trip"] & chance(rng, assume["part_is_in"], n)
    nothing = (calls["job"] == 0) & chance(rng, assume["no_symptom"], n)
    level = np.where(same, count, np.where(trip, count + 7, np.where(nothing, count + 1, level)))
    at = phrases.draw(rng, level, assume["misspelt"])
    named = level < count
    second = np.where(named, _second(rng, calls), -1)
    both = np.flatnonzero(second >= 0)
    at[both] = phrases.draw(rng, level[both], 0.0, among=3)
    spoken = phrases.texts.gather(at)
    also = gather(phrases.texts, phrases.draw(rng, np.maximum(second, 0), 0.0, among=2), second < 0)
    joined = pl.Series([" and ", ", also "]).gather(rng.integers(0, 2, n))
    share, plain = rng.random(n), named & (second < 0)
    before = plain & (share < assume["decorated"]["before"])
    after = plain & (share > 1 - assume["decorated"]["after"])
    head = gather(pl.Series(around["before"]), rng.integers(0, len(around["before"]), n), ~before)
    tail = gather(pl.Series(around["after"]), rng.integers(0, len(around["after"]), n), ~after)
    frame = pl.DataFrame({"head": head, "spoken": spoken, "joined": joined, "also": also, "tail": tail})
    text = pl.concat_str(
        pl.col("head").fill_null(""),
        "spoken",
        pl.when(pl.col("also").is_not_null()).then(pl.concat_str("joined", "also")).otherwise(pl.lit("")),
        pl.col("tail").fill_null(""),
    )
    return frame.select(text.alias("complaint")).to_series(), second, same
