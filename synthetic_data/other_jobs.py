"""Jobs that are no repair: installs, filter visits, maintenance, estimates, inspections."""

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.calls import (
    ADJUSTED,
    JOBS,
    REPAIRED,
    World,
    before_visit,
    open_batch,
    water_at,
    write_batch,
)
from synthetic_data.filters import TECHNICIAN, put_in
from synthetic_data.finishing import close
from synthetic_data.streams import Floats, Ints, chance
from synthetic_data.units import IN_LINE, IN_UNIT
from synthetic_data.visits import DONE, write_visits

INSTALL, FILTER_VISIT, MAINTENANCE, ESTIMATE, INSPECTION = range(1, 6)


def routine_jobs(world: World, start: float, end: float) -> None:
    """Draw and carry out the routine jobs of a step."""
    places, assume = world.places, load()["office"]["other_jobs"]
    standing = np.flatnonzero(~places.closed & (places.unit >= 0) & (places.installed < start))
    years = (end - start) / calendar.YEAR_DAYS
    for job in (FILTER_VISIT, MAINTENANCE, ESTIMATE, INSPECTION):
        who = standing[chance(world.rng, assume[JOBS[job]] * years, len(standing))]
        if job == FILTER_VISIT:
            who = who[np.isin(places.filter_kind[who], (IN_UNIT, IN_LINE))]
        _do(world, who, job, world.rng.uniform(start, end, len(who)))


def install_jobs(world: World, who: Ints, day: Floats) -> None:
    """Install the new units that the company delivers itself; the others come from elsewhere."""
    ours = chance(world.rng, load()["office"]["other_jobs"]["install"], len(who))
    _do(world, who[ours], INSTALL, day[ours] - load()["office"]["install_ahead"])


def _do(world: World, who: Ints, job: int, asked: Floats) -> None:
    if not len(who):
        return
    rng, places = world.rng, world.places
    opened = calendar.ringing_time(rng, asked)
    batch = open_batch(world, who, opened)
    batch.trip[:] = False
    water, before = water_at(places, who, opened), before_visit(places, who)
    for name, value in (("cause", -1), ("symptom", -1), ("last_call", -1), ("tries", 0)):
        before[name][:] = value
    assume = load()["office"]
    later = opened + rng.exponential(assume["routine_wait"], len(who))
    wanted = places.installed[who] if job == INSTALL else later
    batch.day = calendar.arrival_time(rng, opened, wanted)
    batch.post = world.crew.draw_post(rng, places.depot[who])
    batch.technician = world.crew.holder(batch.post, batch.day)
    minutes = assume["visit_minutes"]
    batch.minutes += rng.uniform(minutes["routine_low"], minutes["routine_high"], len(who))
    batch.outcome[:] = REPAIRED if job in (FILTER_VISIT, MAINTENANCE) else ADJUSTED
    batch.mended[:] = True
    if job == FILTER_VISIT:
        put_in(places, who, batch.day, TECHNICIAN, np.ones(len(who), bool), world.ledger)
    batch.day = write_visits(world, batch, np.arange(len(who)), DONE)
    close(world, batch)
    write_batch(world, batch, water, job=job, before=before)
