"""Wear: the rate at which each part of a unit fails, by age, proneness, water, season and kind."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.places import GARAGE, Places
from synthetic_data.streams import Floats, Ints
from synthetic_data.trade import trade
from synthetic_data.units import HEATED, ICE_ROOM

_REFERENCE_YEARS, _REFERENCE_HARDNESS = 8.0, 120.0
_YOUNGEST_DAYS, _SOFTEST = 10, 20
_OLDEST_YEARS, _AGE_STEPS = 80, 400


@dataclass(frozen=True)
class WearFaults:
    """The faults that come with wear, one element a fault.

    Parameters
    ----------
    causes : Ints
        Their numbers among the causes.
    codes, seasons, needs : tuple of str
    per_year, shape, hardness : Floats
        Rate at 8 years and 120 mg/L, Weibull shape in age, power of hardness.
    """

    causes: Ints
    codes: tuple[str, ...]
    seasons: tuple[str, ...]
    needs: tuple[str, ...]
    per_year: Floats
    shape: Floats
    hardness: Floats


@cache
def wear_faults() -> WearFaults:
    """Read the wear faults from the assumptions."""
    rates = load()["wear"].under("rate")
    columns = {
        key: np.array([one[key] for one in rates.values()], np.float32)
        for key in ("per_year", "shape", "hardness")
    }
    return WearFaults(
        causes=np.array([trade().cause(code) for code in rates]),
        codes=tuple(rates),
        seasons=tuple(one["season"] for one in rates.values()),
        needs=tuple(one["needs"] for one in rates.values()),
        **columns,
    )


def _stale(places: Places, who: Ints, now: float) -> Floats:
    """Complaints of taste per year from filters past the longest interval."""
    filters = load()["filters"]
    over = np.maximum(now - places.filter_day[who] - filters["longest_interval"], 0)
    return filters["old_filter_taste"] * np.nan_to_num(over) / calendar.YEAR_DAYS


def _years(places: Places, who: Ints, now: float) -> Floats:
    return np.maximum(now - places.installed[who], _YOUNGEST_DAYS) / calendar.YEAR_DAYS


def wear_hazards(places: Places, who: Ints, now: float) -> Floats:
    """Rate of every wear fault for each unit, per year, shape (len(who), wear faults)."""
    faults, wear = wear_faults(), load()["wear"]
    log_age = np.log(_years(places, who, now) / _REFERENCE_YEARS).astype(np.float32)[:, None]
    log_hard = np.log(np.maximum(places.hardness[who], _SOFTEST) / _REFERENCE_HARDNESS)[:, None]
    hazard = faults.per_year * np.exp(log_age * (faults.shape - 1) + log_hard * faults.hardness)
    hazard *= places.frailty[who][:, None]
    hazard *= np.array([float(calendar.season(name, now)) for name in faults.seasons], np.float32)
    owns = {"dispenser": places.dispenser[who], "heated": places.ice_maker[who] == HEATED}
    for name, has in owns.items():
        hazard[:, np.array([need == name for need in faults.needs])] *= has[:, None]
    air, line = faults.codes.index("ice_room_air_leak"), faults.codes.index("supply_line_fault")
    hazard[:, air] *= np.where(places.ice_maker[who] == ICE_ROOM, wear["ice_room_leak"], 1.0)
    hazard[:, line] *= np.where(places.location[who] == GARAGE, wear["garage_supply_line"], 1.0)
    hazard[:, faults.codes.index("water_quality")] += _stale(places, who, now)
    return hazard


@cache
def _ceiling_by_age() -> Floats:
    """The most that the rates add up to, by age step: a power of age is largest at an end of the step."""
    faults, wear = wear_faults(), load()["wear"]
    often = {"ice_room_air_leak": wear["ice_room_leak"], "supply_line_fault": wear["garage_supply_line"]}
    most = np.array([often.get(code, 1.0) for code in faults.codes])
    peak = np.array([1 + wear["season"][name]["swing"] for name in faults.seasons])
    years = np.linspace(0, _OLDEST_YEARS, _AGE_STEPS + 1)
    years[0] = _YOUNGEST_DAYS / calendar.YEAR_DAYS
    total = ((years[:, None] / _REFERENCE_YEARS) ** (faults.shape - 1)) @ (faults.per_year * most * peak)
    return np.maximum(total[:-1], total[1:])


def hazard_ceiling(places: Places, who: Ints, now: float) -> Floats:
    """A rate per year that the wear faults of each unit together do not exceed, cheap to compute."""
    step = (_years(places, who, now) * (_AGE_STEPS / _OLDEST_YEARS)).astype(np.int64)
    step = np.minimum(step, _AGE_STEPS - 1)
    harder = np.maximum(places.hardness[who] / _REFERENCE_HARDNESS, 1.0) ** float(
        wear_faults().hardness.max()
    )
    return 1.001 * places.frailty[who] * _ceiling_by_age()[step] * harder + _stale(places, who, now)
