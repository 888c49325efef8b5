"""What creeps: screens and saddle holes clog, grit lodges in seats, pressure fails, tubes ice up."""

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.places import GARAGE, OSMOSIS, SADDLE, WELL, Places
from synthetic_data.streams import Floats, Ints
from synthetic_data.water import pressure_drip


def grow_restrictions(rng: np.random.Generator, places: Places, days: float) -> None:
    """Let screens and saddle holes clog for some days; now and then works in the street plug a screen."""
    wear, years = load()["wear"], days / calendar.YEAR_DAYS
    growth, hole = wear["screen_growth"], wear["saddle_hole"]
    places.screen *= np.exp(growth["per_year"] * years * places.sediment)
    burst = np.flatnonzero(rng.random(len(places), dtype=np.float32) < growth["burst_per_year"] * years)
    places.screen[burst] *= growth["burst_factor"] * (0.5 + rng.random(len(burst)))
    pace = 0.5 * places.sediment + 0.5 * places.hardness / 120
    saddle = places.shutoff == SADDLE
    places.hole *= np.where(saddle, np.exp(hole["growth_per_year"] * years * pace), 1).astype(np.float32)
    np.minimum(places.hole, 4000, out=places.hole)
    np.minimum(places.screen, 4000, out=places.screen)


def lodge_grit(rng: np.random.Generator, places: Places, days: float) -> None:
    """Let grains lodge in valve seats; the valve seeps from then on."""
    grit = load()["wear"]["grit"]
    open_way = np.where(np.isnan(places.filter_day), grit["unfiltered"], 1.0)
    rate = grit["per_year"] * places.sediment * open_way * places.frailty * days / calendar.YEAR_DAYS
    who = np.flatnonzero(rng.random(len(places), dtype=np.float32) < rate)
    drip = grit["median_drip"] * np.exp(rng.normal(0, grit["log_sd"], len(who)))
    places.grit[who] = np.maximum(places.grit[who], drip)


def lose_pressure(rng: np.random.Generator, places: Places, days: float) -> None:
    """Let pumps, tanks and reducing valves fail: the pressure stays low until somebody mends it."""
    trouble = load()["wear"]["pressure_trouble"]
    yearly = np.full(len(places), trouble["town_per_year"], np.float32)
    yearly[places.supply == WELL] = trouble["well_per_year"]
    yearly[places.supply == OSMOSIS] = trouble["osmosis_per_year"]
    who = np.flatnonzero(rng.random(len(places), dtype=np.float32) < yearly * days / calendar.YEAR_DAYS)
    places.pressure[who] = places.usual_pressure[who] * trouble["left"] * (0.6 + 0.8 * rng.random(len(who)))


def coldness(places: Places, who: Ints | slice, now: float) -> Floats:
    """Factor on the freezing of drips: unheated places are colder in winter, milder in summer."""
    tube = load()["wear"]["tube_cold"]
    span = tube["garage_winter"] - tube["garage_summer"]
    garage = tube["garage_summer"] + span * calendar.depth("winter", now)
    return np.where(places.location[who] == GARAGE, garage, 1.0)


def freezing_rate(places: Places, who: Ints | slice, now: float) -> Floats:
    """Ice that gathers in the fill tube, tube-volumes a day: grit, low pressure and a cold tube add up."""
    drip = places.grit[who] + pressure_drip(places, who) + places.tube_cold[who]
    return drip * coldness(places, who, now) - load()["wear"]["tube_melt"]
