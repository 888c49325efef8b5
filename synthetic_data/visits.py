"""Visits: the checks made on them, and the rows written for them, helpers included."""

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.calls import Batch, World
from synthetic_data.diagnosis import diagnose
from synthetic_data.filters import change_at_visit
from synthetic_data.places import BUILT_IN, LOCATIONS
from synthetic_data.streams import Floats, Ints, chance

RESULTS = ("done", "no_access", "part_on_order", "inconclusive", "declined", "referred_on")
DONE, NO_ACCESS, PART_ON_ORDER, VAGUE, DECLINED, REFERRED = range(6)


def look(world: World, batch: Batch, at: Ints) -> None:
    """Make the checks of the visits under way at the calls `at`: what they show, and how long they take."""
    places, who = world.places, batch.who[at]
    true, technician = places.cause[who], batch.technician[at]
    skill = world.crew.skill_at(technician, true, batch.day[at])
    found = diagnose(
        world.rng,
        true,
        places.symptom[who],
        places.ice[who] >= 1,
        places.location[who] == BUILT_IN,
        skill,
        world.crew.thorough[technician],
    )
    batch.visit[at] = world.ledger.reserve("visit", len(at))
    batch.named[at], batch.shown[at], batch.minutes[at] = found.cause, found.shown, found.total_minutes
    world.ledger.add(
        "checks",
        len(found.row),
        visit=batch.visit[at][found.row],
        call=batch.number[at][found.row],
        technician=technician[found.row],
        check=found.check,
        finding=found.finding,
        minutes=found.minutes,
        false_open=found.false_open,
    )


def write_visits(world: World, batch: Batch, at: Ints, result: Ints | int) -> Floats:
    """Write the visits under way at the calls `at`; some have a helper, and some of those a row of their own.

    Parameters
    ----------
    at : Ints
        Positions in the batch; a visit without checks gets its number here.
    result : Ints or int
        Number in RESULTS.

    Returns
    -------
    Floats, shape (len(at),)
        When each visit was over.
    """
    assume, n = load()["technicians"]["helper"], len(at)
    rng, who, technician, arrived = world.rng, batch.who[at], batch.technician[at], batch.day[at]
    fresh = at[batch.visit[at] < 0]
    batch.visit[fresh] = world.ledger.reserve("visit", len(fresh))
    visit = batch.visit[at]
    left = calendar.to_minute(
        arrived + np.maximum(batch.minutes[at], load()["office"]["visit_minutes"]["least"]) / calendar.MINUTES
    )
    share = np.array([assume[name] for name in LOCATIONS])[world.places.location[who]]
    helped = chance(rng, share, n) & (np.asarray(result) == DONE)
    mate = world.crew.holder(world.crew.draw_post(rng, world.places.depot[who]), arrived)
    helper = np.where(helped & (mate != technician), mate, -1)
    common = {"visit": visit, "call": batch.number[at], "left": left, "result": np.broadcast_to(result, n)}
    world.ledger.add("visits", n, technician=technician, helper=helper, arrived=arrived, **common)
    own = np.flatnonzero((helper >= 0) & chance(rng, assume["own_row"], n))
    later = calendar.to_minute(arrived[own] + (left[own] - arrived[own]) * 0.3 * rng.random(len(own)))
    common = {name: column[own] for name, column in common.items()}
    common["visit"] = world.ledger.reserve("visit", len(own))
    world.ledger.add("visits", len(own), technician=helper[own], helper=-1, arrived=later, **common)
    batch.visit[at] = -1
    inside = np.flatnonzero(np.broadcast_to(result, n) != NO_ACCESS)
    changed = change_at_visit(world.places, who[inside], arrived[inside], world.rule, world.ledger)
    batch.new_filter[at[inside]] |= changed
    return left
