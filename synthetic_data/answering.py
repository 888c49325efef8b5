"""Answering the telephone: each call is settled by telephone, cancelled, or visited, and then closed."""

import numpy as np

from synthetic_data import calendar
from synthetic_data.aftermath import after
from synthetic_data.assumptions import load
from synthetic_data.calls import (
    BY_PHONE,
    CANCELLED,
    NOBODY,
    Batch,
    World,
    before_visit,
    open_batch,
    water_at,
    write_batch,
)
from synthetic_data.finishing import close, finish
from synthetic_data.on_site import on_site
from synthetic_data.streams import Ints, chance
from synthetic_data.trade import trade
from synthetic_data.visits import NO_ACCESS, write_visits


def answer(world: World, who: Ints) -> None:
    """Answer the households that ring: from the call to its closing, and what follows from it."""
    places = world.places
    opened = calendar.ringing_time(world.rng, places.due[who])
    batch = open_batch(world, who, opened)
    water, before = water_at(places, who, opened), before_visit(places, who)
    _on_the_telephone(world, batch)
    _send_somebody(world, batch)
    on_site(world, batch)
    finish(world, batch)
    close(world, batch)
    write_batch(world, batch, water, job=0, before=before)
    after(world, batch)


def _on_the_telephone(world: World, batch: Batch) -> None:
    """Settle some calls by asking the right question; lose others before anybody comes."""
    rng, assume = world.rng, load()["office"]
    cause, n = world.places.cause[batch.who], len(batch.who)
    phone = chance(rng, trade().by_cause(assume["by_phone"])[cause], n) & ~batch.trip
    phone &= world.places.tries[batch.who] == 0
    cancelled = chance(rng, assume["cancelled"]["share"], n) & ~phone & ~batch.trip
    batch.outcome[phone], batch.outcome[cancelled] = BY_PHONE, CANCELLED
    batch.named[phone] = batch.first_named[phone] = cause[phone]
    batch.mended |= phone & chance(rng, assume["by_phone"]["holds"], n)
    batch.mended |= cancelled & chance(rng, assume["cancelled"]["healed"], n)
    talk = assume["talk"]
    minutes = rng.uniform(talk["least_minutes"], talk["most_minutes"], n)
    batch.day = calendar.to_minute(np.where(phone, batch.opened + minutes / calendar.MINUTES, batch.opened))
    changed_mind = calendar.to_minute(batch.opened + rng.exponential(talk["change_of_mind_days"], n))
    batch.day = np.where(cancelled, changed_mind, batch.day)


def _send_somebody(world: World, batch: Batch) -> None:
    """Choose who goes, on which day; some find nobody at home, and some of those calls end there."""
    rng, places, assume = world.rng, world.places, load()["office"]
    at = batch.undecided()
    who = batch.who[at]
    old = places.last_post[who]
    same = (old >= 0) & chance(rng, load()["technicians"]["same_again"], len(at))
    post = np.where(same, old, world.crew.draw_post(rng, places.depot[who]))
    batch.post[at] = post
    wait = assume["wait"]
    hot = 1 + (wait["summer"] - 1) * calendar.depth("summer", batch.opened[at])
    days = wait["median_days"] * hot * np.exp(rng.normal(0, wait["log_sd"], len(at)))
    arrived = calendar.arrival_time(rng, batch.day[at], batch.opened[at] + days)
    out = chance(rng, assume["nobody_home"]["share"], len(at))
    technician = world.crew.holder(post, arrived)
    batch.technician[at], batch.day[at] = technician, arrived
    gone = at[out]
    door = assume["visit_minutes"]
    batch.minutes[gone] = rng.uniform(door["nobody_low"], door["nobody_high"], len(gone))
    left = write_visits(world, batch, gone, NO_ACCESS)
    ends = chance(rng, assume["nobody_home"]["gives_up"], len(gone))
    batch.outcome[gone[ends]] = NOBODY
    batch.day[gone[ends]] = left[ends]
    again = rng.exponential(assume["nobody_home"]["next_days"], len(gone))
    batch.day[gone[~ends]] = calendar.arrival_time(rng, left, left + again)[~ends]
    batch.minutes[gone] = 0
