"""Finishing: the repair itself, the outcome written down, and the closing of the call."""

from functools import cache

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.calls import ADJUSTED, EXPLAINED, NOTHING_FOUND, REPAIRED, TEMPORARY, Batch, World
from synthetic_data.repairs import Repair, change_state, repair
from synthetic_data.streams import Ints, chance
from synthetic_data.trade import trade
from synthetic_data.visits import DONE, write_visits

_SHOWN = ("switched_off", "normal_use", "water_quality")
_SET_RIGHT = ("shutoff_closed", "fill_set_wrong", "filter_fit_wrong", "low_supply_pressure")


def finish(world: World, batch: Batch) -> None:
    """Make the repairs of the calls still undecided, and write down what came of them."""
    rng, at = world.rng, batch.undecided()
    named, day = batch.named[at], batch.day[at]
    done = repair(world, batch, at)
    batch.outcome[at] = _outcome(rng, named, done)
    spread = load()["parts"]["minutes_spread"]
    pace = rng.uniform(spread["repair_low"], spread["repair_high"], len(at))
    batch.minutes[at] += trade().repair_minutes[named] * pace + load()["office"]["visit_minutes"]["paperwork"]
    batch.mended[at] = done.mended
    fresh = at[batch.visit[at] < 0]
    batch.visit[fresh] = world.ledger.reserve("visit", len(fresh))
    _write_parts(world, batch, at, done)
    batch.new_filter[at] = done.fitted[:, trade().part("water_filter")]
    batch.water_part[at] = (done.fitted & (trade().water_side > 0)).any(axis=1)
    batch.day[at] = write_visits(world, batch, at, DONE)
    change_state(rng, world.places, batch.who[at], done, day, world.ledger)


@cache
def _flag(codes: tuple[str, ...]) -> np.ndarray:
    return np.array([code in codes for code in trade().causes])


def _outcome(rng: np.random.Generator, named: Ints, done: Repair) -> Ints:
    """Outcome as cause and parts make it; a thawed tube is often written down as temporary."""
    assume = load()["office"]["temporary"]
    outcome = np.full(len(named), REPAIRED)
    outcome[_flag(_SET_RIGHT)[named]] = ADJUSTED
    outcome[_flag(_SHOWN)[named]] = EXPLAINED
    outcome[named == trade().cause("no_fault_found")] = NOTHING_FOUND
    outcome[done.fitted.any(axis=1)] = REPAIRED
    thawed = named == trade().cause("fill_tube_frozen")
    for_now = chance(rng, np.where(thawed, assume["frozen_tube"], assume["other"]), len(named))
    outcome[for_now & np.isin(outcome, (REPAIRED, ADJUSTED))] = TEMPORARY
    return outcome


def _write_parts(world: World, batch: Batch, at: Ints, done: Repair) -> None:
    """Write the parts fitted, with what they cost on the day."""
    rng, assume, facts = world.rng, load()["parts"], trade()
    row, part = np.nonzero(done.fitted)
    years = (batch.day[at][row] - world.first_day) / calendar.YEAR_DAYS
    cost = facts.cost[part] * (1 + assume["cost_growth"]) ** years
    cost *= np.exp(rng.normal(0, assume["cost_spread"], len(row)))
    by_length = (part == facts.part("outlet_tubing")) | (part == facts.part("push_fittings"))
    quantity = np.where(by_length, rng.integers(1, 4, len(row)), 1)
    world.ledger.add(
        "parts",
        len(row),
        visit=batch.visit[at][row],
        call=batch.number[at][row],
        technician=batch.technician[at][row],
        part=part,
        quantity=quantity,
        cost=np.round(cost * quantity, 2),
    )


def close(world: World, batch: Batch) -> None:
    """Close the calls: on the spot, or by paperwork days later where the depot works that way."""
    rng, n, assume = world.rng, len(batch.who), load()["office"]["closing"]
    median = world.depot_paperwork_days[world.places.depot[batch.who]]
    on_paper = (median > 0) & (batch.technician >= 0)
    at_once = calendar.to_minute(batch.day + assume["spot_minutes"] * rng.random(n) / calendar.MINUTES)
    later = batch.day + median * np.exp(rng.normal(0, assume["paperwork_log_sd"], n))
    batch.closed = np.where(on_paper, calendar.arrival_time(rng, batch.day, later), at_once)
