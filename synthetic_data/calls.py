"""A batch of calls on its way through the office: what is known of each, filled in stage by stage."""

from dataclasses import dataclass

import numpy as np

from synthetic_data.filters import FilterRule, filter_at
from synthetic_data.ledger import Ledger
from synthetic_data.places import Places
from synthetic_data.streams import Bools, Floats, Ints
from synthetic_data.symptoms import starved
from synthetic_data.technicians import Crew
from synthetic_data.water import (
    bypass_flow,
    door_flow,
    fill_of,
    flowing_pressure,
    line_end_flow,
    line_resistance,
    normal_fill_ml,
)

OUTCOMES = (
    "repaired",
    "adjusted",
    "explained",
    "fixed_by_phone",
    "no_fault_found",
    "temporary",
    "cancelled",
    "no_access",
    "referred_on",
    "estimate_declined",
    "part_on_order",
    "duplicate",
)
(
    REPAIRED,
    ADJUSTED,
    EXPLAINED,
    BY_PHONE,
    NOTHING_FOUND,
    TEMPORARY,
    CANCELLED,
    NOBODY,
    REFERRED_ON,
    REFUSED,
    WAITS_FOR_PART,
    DUPLICATE,
) = range(12)
JOBS = ("repair", "install", "filter_visit", "maintenance", "estimate", "inspection")


@dataclass
class World:
    """What the stages of the simulation share: places, crew, ledger, chance, and its days.

    Parameters
    ----------
    places, crew : Places, Crew
        The homes and the people, as they stand now.
    ledger : Ledger
        What has happened so far.
    rng : np.random.Generator
        The stream of events.
    first_day, end_day : float
        Day numbers at which the simulation starts and ends.
    depot_paperwork_days : Floats, shape (depots,)
        Median days from the last visit to the closing; 0 where calls are closed on the spot.
    rule : FilterRule, optional
        A rule of changing filters that is followed.
    """

    places: Places
    crew: Crew
    ledger: Ledger
    rng: np.random.Generator
    first_day: float
    end_day: float
    depot_paperwork_days: Floats
    rule: FilterRule | None = None


@dataclass
class Batch:
    """Calls opened together, one element a call.

    Parameters
    ----------
    who, number : Ints
        Places, and numbers that the calls will have.
    opened, closed, day : Floats
        When rung in and closed; the last moment anything happened.
    post, technician : Ints
        Post sent, and the technician on it; -1 where nobody goes.
    trip : Bools
        A return trip for a part on order.
    frozen : Bools
        The fill tube was frozen when the household rang.
    named, first_named, main : Ints
        Cause named at last and at first (-1: none), part it calls for.
    shown : Bools
        A check showed the fault.
    outcome : Ints
        Number in OUTCOMES, -1 while undecided.
    mended, water_part, new_filter : Bools
        The true cause is gone; a part that holds water, or a filter, was fitted.
    visit : Ints
        Number of the visit under way, -1 between visits.
    minutes : Floats
        Minutes spent on the visit under way.
    """

    who: Ints
    number: Ints
    opened: Floats
    closed: Floats
    day: Floats
    post: Ints
    technician: Ints
    trip: Bools
    named: Ints
    first_named: Ints
    main: Ints
    shown: Bools
    outcome: Ints
    mended: Bools
    water_part: Bools
    new_filter: Bools
    frozen: Bools
    visit: Ints
    minutes: Floats

    def undecided(self) -> Ints:
        """Positions of the calls without an outcome yet."""
        return np.flatnonzero(self.outcome < 0)


def open_batch(world: World, who: Ints, opened: Floats) -> Batch:
    """Open calls at the places `who`."""
    n, none = len(who), np.full(len(who), -1)
    return Batch(
        who=who,
        number=world.ledger.count("calls") + np.arange(n),
        opened=opened,
        closed=np.full(n, np.nan),
        day=opened.copy(),
        post=none.copy(),
        technician=none.copy(),
        trip=world.places.trip_cause[who] >= 0,
        named=none.copy(),
        first_named=none.copy(),
        main=none.copy(),
        shown=np.zeros(n, bool),
        outcome=none.copy(),
        mended=np.zeros(n, bool),
        water_part=np.zeros(n, bool),
        new_filter=np.zeros(n, bool),
        frozen=world.places.ice[who] >= 1,
        visit=none.copy(),
        minutes=np.zeros(n),
    )


def water_at(places: Places, who: Ints, day: Floats) -> dict[str, np.ndarray]:
    """What stands in pipe and mould when the household rings, for intake answers, readings and the truth."""
    fill = fill_of(places.pressure[who], line_resistance(places, who, day))
    normal, left = normal_fill_ml(), places.fill_left[who]
    of_fault = np.where(left > 1, normal * left, np.minimum(normal * left, fill))
    upstream = starved(places.cause[who], left)
    water = {
        "fill_ml": np.where(np.isnan(left), fill, of_fault),
        "door_l_per_min": door_flow(places, who, day) * upstream,
        "bypass_l_per_min": bypass_flow(places, who, day) * upstream,
        "line_end_l_per_min": line_end_flow(places, who) * upstream,
        "pressure_psi": places.pressure[who],
        "flowing_psi": flowing_pressure(places, who) * upstream**2,
        "filter_day": filter_at(places, who, day),
    }
    frozen = {"frozen": places.ice[who] >= 1}
    return {name: column.astype(np.float32) for name, column in water.items()} | frozen


def write_batch(
    world: World, batch: Batch, water: dict[str, np.ndarray], *, job: int, before: dict[str, np.ndarray]
) -> None:
    """Write the calls of a batch down, truth and all."""
    places, who = world.places, batch.who
    world.ledger.add(
        "calls",
        len(who),
        place=who,
        unit=before["unit"],
        job=job,
        opened=batch.opened,
        closed=batch.closed,
        technician=batch.technician,
        named=batch.named,
        first_named=batch.first_named,
        shown=batch.shown,
        outcome=batch.outcome,
        mended=batch.mended,
        trip=batch.trip,
        depot=places.depot[who],
        **{name: before[name] for name in ("cause", "symptom", "began", "tries", "last_call", "own_change")},
        **water,
    )


def before_visit(places: Places, who: Ints) -> dict[str, np.ndarray]:
    """The trouble as it stands before anybody touches the unit."""
    names = ("unit", "cause", "symptom", "began", "tries", "last_call", "own_change")
    return {name: getattr(places, name)[who].copy() for name in names}
