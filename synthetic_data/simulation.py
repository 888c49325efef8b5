"""The simulation: month by month, water and wear bring troubles, households ring, people come."""

from dataclasses import dataclass

import numpy as np

from synthetic_data import calendar
from synthetic_data.answering import answer
from synthetic_data.assumptions import load
from synthetic_data.calls import World
from synthetic_data.clogging import grow_restrictions, lodge_grit, lose_pressure
from synthetic_data.faults import filter_trouble, freeze, starve, wear_out
from synthetic_data.filters import FilterRule, owners_change
from synthetic_data.ledger import Ledger
from synthetic_data.other_jobs import install_jobs, routine_jobs
from synthetic_data.places import Places, depot_count, settle
from synthetic_data.streams import Bools, stream
from synthetic_data.technicians import Crew, hire
from synthetic_data.units import ages_at_start, open_places, place_units, retire

_MOST_ROUNDS = 40


@dataclass(frozen=True)
class History:
    """Everything that happened: the places and crew as they ended, the ledger, and the days of the record."""

    places: Places
    places_at_start: dict[str, np.ndarray]
    crew: Crew
    ledger: Ledger
    depots: int
    first_day: float
    end_day: float


def place_count(calls: int) -> int:
    """Places to simulate so that almost surely at least `calls` calls are rung in."""
    assume = load()["households"]
    expected = calls / (assume["calls_per_place_year"] * assume["years"])
    return int(np.ceil(1.03 * expected + 5 * np.sqrt(expected) + 3))


def simulate(
    calls: int, seed: int, end_day: float, places_wanted: int, rule: FilterRule | None = None
) -> History:
    """Run the fleet from before the record's first day to its end.

    Parameters
    ----------
    calls : int
        Calls asked for: decides the size of the company.
    seed : int
    end_day : float
        Day number at which the record ends.
    places_wanted : int
        Places to simulate.
    rule : FilterRule, optional
        A rule of changing filters that is followed from the start.
    """
    assume = load()["households"]
    first_day = end_day - assume["years"] * calendar.YEAR_DAYS
    start = first_day - assume["run_in_days"]
    depots, rng = depot_count(calls), stream(seed, "places")
    places = settle(rng, places_wanted, depots, start, end_day)
    if rule is not None:
        rule.settle(places)
    at_start = {
        name: getattr(places, name).copy()
        for name in ("shutoff", "usual_pressure", "sediment", "hardness", "interval")
    }
    crew = hire(stream(seed, "crew"), calls / assume["years"], depots, start, end_day)
    ledger = Ledger()
    standing = np.flatnonzero(~np.isfinite(places.opens))
    place_units(rng, places, standing, start - ages_at_start(rng, len(standing)), start, ledger)
    traits = list(assume.under("depot").values())
    paper = np.array([traits[depot % len(traits)]["paperwork_days"] for depot in range(depots)])
    world = World(places, crew, ledger, stream(seed, "events"), start, end_day, paper, rule)
    for step in range(int(np.ceil((end_day - start) / calendar.MONTH_DAYS))):
        begin = start + step * calendar.MONTH_DAYS
        owners = world.rng
        if rule is not None:
            world.rng, owners = stream(seed, f"events {step}"), stream(seed, f"filters {step}")
        _step(world, begin, min(begin + calendar.MONTH_DAYS, end_day), owners)
    return History(places, at_start, crew, ledger, depots, first_day, end_day)


def _idle(places: Places, start: float, end: float) -> Bools:
    """Places with a unit and no trouble, no call under way, and a household that is not resigned to one."""
    free = (places.cause < 0) & (places.busy_until < start) & (places.quiet_until < end)
    return free & (places.unit >= 0) & ~places.closed & (places.installed < end)


def _step(world: World, start: float, end: float, owners: np.random.Generator) -> None:
    places, rng, ledger = world.places, world.rng, world.ledger
    days = end - start
    before = ledger.count("installs")
    open_places(rng, places, end, ledger)
    retire(rng, places, start, end, ledger)
    if ledger.count("installs") > before:
        new = ledger.last("installs", ledger.count("installs") - before)
        install_jobs(world, new["place"], new["day"])
    bad_fit = owners_change(owners, places, end, ledger, world.rule)
    grow_restrictions(rng, places, days)
    lodge_grit(rng, places, days)
    lose_pressure(rng, places, days)
    bad_fit = bad_fit[_idle(places, start, end)[bad_fit]]
    filter_trouble(world, bad_fit, places.filter_day[bad_fit] + 0.5)
    freeze(world, np.flatnonzero(_idle(places, start, end)), start, end)
    starve(world, np.flatnonzero(_idle(places, start, end)), end)
    wear_out(world, np.flatnonzero(_idle(places, start, end)), start, end)
    for _ in range(_MOST_ROUNDS):
        ringing = np.flatnonzero((places.due < end) & ~places.closed)
        if not len(ringing):
            break
        answer(world, ringing)
    routine_jobs(world, start, end)
