"""Troubles begin: the fill gets too small, a tube freezes, a part wears out. The cause is what did it."""

from functools import cache

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.calls import World
from synthetic_data.clogging import freezing_rate
from synthetic_data.filters import OWNER_IN_TROUBLE, put_in
from synthetic_data.streams import Floats, Ints, chance, pick_rows
from synthetic_data.symptoms import creeping, symptoms_of, symptoms_of_fill
from synthetic_data.trade import trade
from synthetic_data.units import IN_LINE, IN_UNIT
from synthetic_data.water import blame_for_fill, fill_of, hole_to_blame, line_resistance, pressure_drip
from synthetic_data.wear import hazard_ceiling, wear_faults, wear_hazards

FILL_CAUSES = ("saddle_valve_clogged", "low_supply_pressure", "filter_restricted", "inlet_screen_plugged")
TUBE_CAUSES = ("inlet_valve_seeping", "saddle_valve_clogged", "low_supply_pressure", "fill_tube_cold")


@cache
def _numbers(codes: tuple[str, ...]) -> Ints:
    return np.array([trade().cause(code) for code in codes])


def begin(world: World, who: Ints, cause: Ints, symptom: Ints, day: Floats) -> None:
    """Start a trouble: the household rings when its patience is at an end.

    Some owners change the filter first; where the filter was to blame, most of those never ring.
    """
    places, rng, n = world.places, world.rng, len(who)
    day = np.maximum(day, places.installed[who] + 0.5)
    slow = np.where(creeping()[symptom], load()["households"]["slow_patience"], 1.0)
    wait = places.patience[who] * slow * rng.exponential(1.0, n)
    places.cause[who], places.symptom[who], places.began[who] = cause, symptom, day
    places.due[who] = day + wait
    places.tries[who], places.last_call[who] = 0, -1
    habit, filters = load()["filters"]["changed_because_of_trouble"], load()["filters"]
    able = np.isin(places.filter_kind[who], (IN_UNIT, IN_LINE)) & (wait > 1)
    changes = able & chance(rng, habit["share"], n)
    places.own_change[who] = changes
    changed = day[changes] + wait[changes] * (0.2 + 0.6 * rng.random(int(changes.sum())))
    known = chance(rng, filters["owner_change_recorded"], len(changed))
    put_in(places, who[changes], changed, OWNER_IN_TROUBLE, known, world.ledger)
    cured = changes & (cause == trade().cause("filter_restricted")) & chance(rng, habit["cures_filter"], n)
    places.cause[who[cured]], places.due[who[cured]] = -1, np.inf


def wear_out(world: World, idle: Ints, start: float, end: float) -> None:
    """Begin the faults of parts that wear out.

    Units are thinned with a ceiling of their rate first, so that the table of rates is drawn up for few.
    """
    places, rng, middle = world.places, world.rng, (start + end) / 2
    years = (end - start) / calendar.YEAR_DAYS
    drawn = rng.exponential(1.0, len(idle))
    near = drawn < hazard_ceiling(places, idle, middle) * years
    hazard = wear_hazards(places, idle[near], middle)
    hit = drawn[near] < hazard.sum(axis=1) * years
    who = idle[near][hit]
    cause = wear_faults().causes[pick_rows(rng, hazard[hit])]
    frozen = cause == trade().cause("fill_tube_frozen")
    cold = cause == trade().cause("fill_tube_cold")
    places.ice[who[frozen | cold]] = 1.0
    places.tube_cold[who[cold]] = load()["wear"]["tube_cold"]["drip"]
    symptom = symptoms_of(rng, places, who, cause, end)
    begin(world, who, cause, symptom, rng.uniform(start, end, len(who)))


def starve(world: World, idle: Ints, end: float) -> None:
    """Begin the troubles of units whose fill has become too small for the household."""
    places, rng = world.places, world.rng
    fill = fill_of(places.pressure[idle], line_resistance(places, idle, end))
    short = fill < places.tolerance[idle]
    who, fill = idle[short], fill[short]
    cause = _numbers(FILL_CAUSES)[blame_for_fill(places, who, end)]
    places.fill_left[who] = np.nan
    symptom = symptoms_of_fill(rng, places, who, fill, cause, end)
    begin(world, who, cause, symptom, end - rng.uniform(0, load()["wear"]["noticed_days"], len(who)))


def freeze(world: World, idle: Ints, start: float, end: float) -> None:
    """Let ice gather in the fill tubes, and begin the trouble where a tube has closed."""
    places, rng = world.places, world.rng
    rate = freezing_rate(places, idle, (start + end) / 2)
    before = places.ice[idle]
    after = np.clip(before + rate * (end - start), 0, 1)
    places.ice[idle] = after
    closed = after >= 1
    who = idle[closed]
    day = start + (1 - before[closed]) / rate[closed]
    drips = np.stack([places.grit[who], pressure_drip(places, who), places.tube_cold[who]])
    which = np.array([0, 2, 3])[np.argmax(drips, axis=0)]
    which = np.where((which == 2) & hole_to_blame(places, who), 1, which)
    cause = _numbers(TUBE_CAUSES)[which]
    places.fill_left[who] = 0.02 * rng.random(len(who))
    symptom = symptoms_of(rng, places, who, cause, end, frozen=True)
    begin(world, who, cause, symptom, np.maximum(day, start))


def filter_trouble(world: World, who: Ints, day: Floats) -> None:
    """Begin the troubles that a new filter gives: badly fitted, or only its first specks."""
    rng, fit = world.rng, load()["filters"]["fit_trouble"]
    taste = fit["new_filter_taste"] / (fit["owner"] + fit["new_filter_taste"])
    specks = chance(rng, taste, len(who))
    cause = np.where(specks, trade().cause("water_quality"), trade().cause("filter_fit_wrong"))
    symptom = symptoms_of(rng, world.places, who, cause, float(day.mean()) if len(who) else 0.0)
    symptom = np.where(specks, trade().symptom("specks"), symptom)
    begin(world, who, cause, symptom, day)
