"""On site: look for the cause, look again where nothing showed, pass on what is not ours, wait for parts."""

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.calls import REFERRED_ON, REFUSED, WAITS_FOR_PART, Batch, World
from synthetic_data.repairs import main_part
from synthetic_data.streams import Floats, Ints, chance
from synthetic_data.trade import trade
from synthetic_data.visits import DECLINED, PART_ON_ORDER, REFERRED, VAGUE, look, write_visits


def on_site(world: World, batch: Batch) -> None:
    """Carry the visited calls to the point where the repair can be made, or to their end without one."""
    places, rng = world.places, world.rng
    trips = np.flatnonzero(batch.trip & (batch.outcome < 0))
    batch.named[trips] = places.trip_cause[batch.who[trips]]
    batch.main[trips] = places.trip_part[batch.who[trips]]
    batch.shown[trips] = True
    at = np.flatnonzero(~batch.trip & (batch.outcome < 0))
    look(world, batch, at)
    batch.first_named[at] = batch.named[at]
    _look_again(world, batch, at)
    batch.main[at] = main_part(rng, batch.named[at])
    _refer_or_decline(world, batch, at)
    _wait_for_parts(world, batch)


def _look_again(world: World, batch: Batch, at: Ints) -> None:
    """Where nothing was shown and the guess is wrong, some come back another day on the same call."""
    assume = load()["office"]["inconclusive"]
    lost = ~batch.shown[at] & (batch.named[at] != world.places.cause[batch.who[at]])
    again = at[lost & chance(world.rng, assume["share"], len(at))]
    left = write_visits(world, batch, again, VAGUE)
    _come_back(world, batch, again, left, world.rng.exponential(assume["next_days"], len(again)))
    look(world, batch, again)


def _come_back(world: World, batch: Batch, at: Ints, left: Floats, days: Floats) -> None:
    """Set the next visit of the calls `at`, some days after the last was over; the post's holder goes."""
    batch.day[at] = calendar.arrival_time(world.rng, left, left + days)
    batch.technician[at] = world.crew.holder(batch.post[at], batch.day[at])
    batch.minutes[at] = 0


def _refer_or_decline(world: World, batch: Batch, at: Ints) -> None:
    """Pass on what the company does not do; some customers decline a dear repair of an old unit."""
    rng, assume, n = world.rng, load()["office"], len(at)
    passed_on = chance(rng, trade().by_cause(assume["referred"])[batch.named[at]], n)
    dear = np.append(trade().cost, 0)[batch.main[at]] > assume["declined"]["from_cost"]
    years = (batch.day[at] - world.places.installed[batch.who[at]]) / calendar.YEAR_DAYS
    refuses = dear & (years > assume["declined"]["from_age_years"]) & ~passed_on
    refuses &= chance(rng, assume["declined"]["share"], n)
    batch.outcome[at[passed_on]], batch.outcome[at[refuses]] = REFERRED_ON, REFUSED
    over = at[passed_on | refuses]
    result = np.where(batch.outcome[over] == REFUSED, DECLINED, REFERRED)
    batch.minutes[over] += load()["office"]["visit_minutes"]["paperwork"]
    batch.day[over] = write_visits(world, batch, over, result)


def _wait_for_parts(world: World, batch: Batch) -> None:
    """Order what is not on the van: mostly a second visit on the call, sometimes a call of its own later."""
    rng, assume, extra = world.rng, load()["parts"]["on_order"], load()["office"]["visit_minutes"]
    at = np.flatnonzero(~batch.trip & (batch.outcome < 0))
    on_van = np.append(trade().on_van, 1.0)[batch.main[at]]
    ordered = at[~chance(rng, on_van, len(at))]
    batch.minutes[ordered] += extra["ordering"]
    left = write_visits(world, batch, ordered, PART_ON_ORDER)
    trip = chance(rng, assume["return_trip_share"], len(ordered))
    batch.outcome[ordered[trip]], batch.day[ordered] = WAITS_FOR_PART, left
    waiting = ordered[~trip]
    _come_back(world, batch, waiting, left[~trip], _delivery_days(world, len(waiting)))
    wrong = waiting[chance(rng, assume["wrong_share"], len(waiting))]
    batch.minutes[wrong] = extra["dropping_off"]
    left = write_visits(world, batch, wrong, PART_ON_ORDER)
    _come_back(world, batch, wrong, left, _delivery_days(world, len(wrong)))


def _delivery_days(world: World, size: int) -> Floats:
    assume = load()["parts"]["on_order"]
    return assume["median_days"] * np.exp(world.rng.normal(0, assume["log_sd"], size))
