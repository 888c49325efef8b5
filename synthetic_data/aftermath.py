"""Aftermath: mended troubles end; failed ones ring again, freeze again, or are never heard of again."""

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.calls import NOBODY, REFERRED_ON, REFUSED, WAITS_FOR_PART, Batch, World
from synthetic_data.clogging import freezing_rate
from synthetic_data.faults import TUBE_CAUSES, begin, filter_trouble
from synthetic_data.repairs import heal
from synthetic_data.streams import Floats, Ints, chance, pick
from synthetic_data.symptoms import shown_otherwise, symptoms_of
from synthetic_data.trade import trade


def after(world: World, batch: Batch) -> None:
    """Decide what follows each call of a batch, and set when its household rings next."""
    places, who = world.places, batch.who
    places.last_call[who], places.last_post[who] = (
        batch.number,
        np.where(batch.post >= 0, batch.post, places.last_post[who]),
    )
    places.trip_cause[who] = places.trip_part[who] = -1
    places.busy_until[who] = batch.day
    over = batch.mended
    visited = batch.technician >= 0
    _end(world, who[over & visited], batch.day[over & visited], by_us=True)
    _end(world, who[over & ~visited], batch.day[over & ~visited], by_us=False)
    waits = batch.outcome == WAITS_FOR_PART
    _order(world, batch, np.flatnonzero(waits))
    failed = np.flatnonzero(~over & ~waits)
    again = _rings_again(world, batch, failed)
    _ring_later(world, batch, failed[again])
    _fall_silent(world, who[failed[~again]], batch.day[failed[~again]])
    _trouble_from_our_work(world, batch)
    _think_of_a_new_one(world, batch)


def _end(world: World, who: Ints, day: Floats, *, by_us: bool) -> None:
    heal(world.places, who, day, world.ledger, by_us=by_us)
    world.places.cause[who], world.places.due[who] = -1, np.inf
    world.places.fill_left[who] = np.nan


def _order(world: World, batch: Batch, at: Ints) -> None:
    """A part is on order and the call is closed: a return trip is rung in when it has come."""
    places, who, assume = world.places, batch.who[at], load()["parts"]["on_order"]
    wait = assume["median_days"] * np.exp(world.rng.normal(0, assume["log_sd"], len(at)))
    places.due[who] = batch.day[at] + wait
    places.trip_cause[who], places.trip_part[who] = batch.named[at], batch.main[at]


def _rings_again(world: World, batch: Batch, at: Ints) -> np.ndarray:
    """Whether the households of failed calls ring again; fewer after every failure, fewer after declining."""
    assume, silence = load()["office"], load()["office"]["silence"]
    tries = world.places.tries[batch.who[at]]
    share = assume["rings_again"]["share"] * assume["gives_up_rate"] ** tries
    share = np.where(batch.outcome[at] == REFUSED, silence["declined"], share)
    share = np.where(
        np.isin(batch.outcome[at], (REFERRED_ON, NOBODY)), silence["referred_or_nobody"] * share, share
    )
    return chance(world.rng, share, len(at))


def _ring_later(world: World, batch: Batch, at: Ints) -> None:
    """Set when a failed repair is rung in again: after some days, or when the tube has frozen once more."""
    places, rng, assume, n = world.places, world.rng, load()["office"]["rings_again"], len(at)
    who, day = batch.who[at], batch.day[at]
    today = float(day.mean()) if n else 0.0  # the calls of a batch lie within weeks of each other
    wait = assume["median_days"] * np.exp(rng.normal(0, assume["log_sd"], n))
    rate = freezing_rate(places, who, today)
    tube = np.isin(places.cause[who], [trade().cause(code) for code in TUBE_CAUSES])
    tube &= batch.frozen[at] & (rate > 0)
    refreeze = 1 / np.maximum(rate, 1e-3) * np.exp(rng.normal(0, 0.2, n))
    lag = rng.exponential(assume["refreeze_lag_days"], n)
    places.due[who] = day + np.where(tube, refreeze + lag, wait)
    places.ice[who[tube]] = 1.0
    places.tries[who] += 1
    varied = chance(rng, load()["office"]["silence"]["other_symptom"], n) & ~tube
    _shows_otherwise(world, who[varied & shown_otherwise()[places.cause[who]]], today)


def _shows_otherwise(world: World, who: Ints, today: float) -> None:
    """Some troubles show another face when they come back."""
    places = world.places
    kept = places.fill_left[who].copy()
    places.symptom[who] = symptoms_of(world.rng, places, who, places.cause[who], today)
    places.fill_left[who] = np.where(np.isnan(places.fill_left[who]), kept, places.fill_left[who])


def _fall_silent(world: World, who: Ints, day: Floats) -> None:
    """Households that never ring again: another firm mends it, or they live with it for long."""
    places, rng, assume = world.places, world.rng, load()["office"]["somebody_else"]
    elsewhere = chance(rng, assume["mends"], len(who))
    heal(places, who[elsewhere], day[elsewhere], world.ledger, by_us=False)
    lives = who[~elsewhere]
    places.quiet_until[lives] = day[~elsewhere] + rng.exponential(assume["quiet_days"], len(lives))
    places.cause[who], places.due[who], places.fill_left[who] = -1, np.inf, np.nan


def _trouble_from_our_work(world: World, batch: Batch) -> None:
    """Some visits with a water part leave a leak behind, and some new filters are badly fitted."""
    rng, n = world.rng, len(batch.who)
    leaks = batch.water_part & batch.mended & chance(rng, load()["wear"]["after_water_part_leak"], n)
    at = np.flatnonzero(leaks)
    symptom = pick(rng, trade().symptom_weights(load()["wear"]["leak_where"]), len(at))
    cause = np.full(len(at), trade().cause("tank_or_fitting_leak"))
    begin(world, batch.who[at], cause, symptom, batch.day[at])
    badly = batch.new_filter & batch.mended & ~leaks
    badly &= chance(rng, load()["filters"]["fit_trouble"]["technician"], n)
    filter_trouble(world, batch.who[badly], batch.day[badly])
    ours = leaks | badly
    world.places.last_call[batch.who[ours]] = batch.number[ours]


def _think_of_a_new_one(world: World, batch: Batch) -> None:
    """After a declined estimate many buy a new refrigerator within weeks."""
    at = np.flatnonzero(batch.outcome == REFUSED)
    at = at[chance(world.rng, load()["households"]["retire_after_decline"], len(at))]
    world.places.retires[batch.who[at]] = batch.closed[at] + world.rng.uniform(3, 40, len(at))
