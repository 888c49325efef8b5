"""Symptoms follow from the fill, the flow at the door, and what else the household can see."""

from functools import cache

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.places import Places
from synthetic_data.streams import Bools, Floats, Ints, chance, pick, pick_rows
from synthetic_data.trade import trade
from synthetic_data.water import door_flow, normal_fill_ml

_CREEPING_CODES = [
    "little_ice",
    "small_cubes",
    "hollow_cubes",
    "layered_cubes",
    "clumped_ice",
    "water_slow",
    "taste_smell",
    "specks",
    "cloudy",
    "knock",
]


@cache
def creeping() -> Bools:
    """Which symptoms creep up, so that households take longer to ring; one flag a symptom."""
    return np.array([code in _CREEPING_CODES for code in trade().symptoms])


@cache
def _at_door() -> Bools:
    families = load()["symptoms"].under("family")
    codes = families["ice_at_door"] + families["water_at_door"]
    return np.array([code in codes for code in trade().symptoms])


@cache
def shown_otherwise() -> Bools:
    """Causes of which some or all faults show in another way than by the fill."""
    return np.asarray(trade().shows.sum(axis=1) > 0)


@cache
def _weights(key: str) -> Floats:
    return trade().symptom_weights(load()["symptoms"][key])


@cache
def _fill_left() -> tuple[Floats, Floats, Floats]:
    """For each cause: least and most of the fill left, and the share of faults that show through the fill."""
    table = load()["symptoms"].under("fill_left")
    rows = [table.get(code, {"low": 1.0, "high": 1.0, "share": 0.0}) for code in trade().causes]
    low, high, share = (np.array([row[key] for row in rows], np.float32) for key in ("low", "high", "share"))
    return low, high, share


def starved(cause: Ints, left: Floats) -> Floats:
    """Share of the flow left at the door: faults upstream of the valve starve it as they starve the fill.

    Parameters
    ----------
    left : Floats
        Share of the fill left, nan where the fault does not show in the fill.
    """
    upstream = np.isin(cause, [trade().cause(code) for code in load()["wear"]["upstream"]])
    return np.where(upstream & (left < 1), left, 1.0)


def symptoms_of_fill(
    rng: np.random.Generator, places: Places, who: Ints, fill: Floats, cause: Ints, now: float
) -> Ints:
    """Symptom of a fill that is too small or too large.

    Parameters
    ----------
    fill : Floats
        mL per fill.
    cause : Ints
        True cause: a plugged screen layers the cubes, a starved house line slows the door as well.
    """
    assume, n = load()["symptoms"], len(who)
    bands = np.digitize(fill, [assume["empty_mould"], assume["small_fill"] / 2, assume["over_fill"]])
    symptom = np.empty(n, np.int32)
    for band, key in enumerate(("of_empty", "of_very_small", "of_small", "of_over")):
        at = np.flatnonzero(bands == band)
        symptom[at] = pick(rng, _weights(key), len(at))
    screen = np.flatnonzero((cause == trade().cause("inlet_screen_plugged")) & np.isin(bands, (1, 2)))
    symptom[screen] = pick(rng, _weights("of_screen"), len(screen))
    flow = door_flow(places, who, now) * starved(cause, fill / normal_fill_ml())
    slow = places.dispenser[who] & (flow < assume["slow_dispenser"])
    only = slow & chance(rng, assume["door_first"]["only"], n)
    dry = flow[only] < 0.1 * assume["slow_dispenser"]
    symptom[only] = np.where(dry, trade().symptom("water_none"), trade().symptom("water_slow"))
    return symptom


def symptoms_of(
    rng: np.random.Generator, places: Places, who: Ints, cause: Ints, now: float, *, frozen: bool = False
) -> Ints:
    """Symptom of a fault, and the share of the fill it leaves (kept in places.fill_left).

    Parameters
    ----------
    frozen : bool
        The fill tube has just closed: nothing reaches the mould.
    """
    n = len(who)
    low, high, share = (one[cause] for one in _fill_left())
    left: Floats = low + (high - low) * rng.random(n, dtype=np.float32)
    if frozen:
        left, share = places.fill_left[who], np.where(low < high, share, 1.0).astype(np.float32)
    shows = chance(rng, share, n)
    symptom = np.full(n, -1, np.int32)
    by_fill = np.flatnonzero(shows)
    fill = normal_fill_ml() * left
    symptom[by_fill] = symptoms_of_fill(rng, places, who[by_fill], fill[by_fill], cause[by_fill], now)
    other = np.flatnonzero(~shows)
    symptom[other] = pick_rows(rng, trade().shows[cause[other]])
    at_door = ~places.dispenser[who] & _at_door()[symptom]
    symptom = np.where(at_door, trade().symptom("no_ice"), symptom)
    left = np.where(shows | frozen, left, np.nan)
    places.fill_left[who] = _wrong_fill(rng, cause, symptom, left)
    return symptom


def _wrong_fill(rng: np.random.Generator, cause: Ints, symptom: Ints, left: Floats) -> Floats:
    """A fill amount set wrong is small or large as the symptom says."""
    wrong = load()["symptoms"]["wrong_fill"]
    set_wrong = cause == trade().cause("fill_set_wrong")
    small = symptom == trade().symptom("small_cubes")
    share = rng.random(len(cause), dtype=np.float32)
    too_little = wrong["small_low"] + (wrong["small_high"] - wrong["small_low"]) * share
    too_much = wrong["over_low"] + (wrong["over_high"] - wrong["over_low"]) * share
    return np.where(set_wrong, np.where(small, too_little, too_much), left)
