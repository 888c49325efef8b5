"""Repairs: which parts are fitted for the cause named, and whether that mends the true one."""

from dataclasses import dataclass

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.calls import Batch, World
from synthetic_data.filters import SOMEBODY_ELSE, TECHNICIAN, filter_at, put_in
from synthetic_data.ledger import Ledger
from synthetic_data.places import QUARTER_TURN, SADDLE, Places
from synthetic_data.streams import Bools, Floats, Ints, chance, logistic, pick_rows
from synthetic_data.trade import trade
from synthetic_data.units import IN_LINE, IN_UNIT


@dataclass(frozen=True)
class Repair:
    """What was fitted and whether the trouble is over.

    Parameters
    ----------
    fitted : Bools, shape (n, parts)
    sound : Bools, shape (n,)
        The part was the right one and in order.
    mended : Bools, shape (n,)
        The true cause is put right.
    """

    fitted: Bools
    sound: Bools
    mended: Bools


def main_part(rng: np.random.Generator, named: Ints) -> Ints:
    """Part that the named cause calls for; the number of parts stands for none."""
    return pick_rows(rng, trade().fits[named])


def repair(world: World, batch: Batch, at: Ints) -> Repair:
    """Fit parts for the cause named at the calls `at`, and decide whether that mends the true one."""
    rng, places, facts, assume = world.rng, world.places, trade(), load()["parts"]
    named, day, n = batch.named[at], batch.day[at], len(at)
    true = places.cause[batch.who[at]]
    fitted = _fitted(world, batch, at)
    wrong = chance(rng, assume["wrong_part"], n) | _from_bad_batch(world, batch, at)
    # around 1 for an average technician: the skilled slip less
    slip = 0.5 + logistic(world.crew.skill_at(batch.technician[at], true, day))
    holds = 1 - (1 - facts.holds[true]) / np.clip(slip, 0.5, 2)
    right = (named == true) & chance(rng, holds, n)
    by_part = (fitted & (facts.mends[:, true].T > 0)).any(axis=1) & chance(rng, assume["mended_by_part"], n)
    return Repair(fitted=fitted, sound=~wrong, mended=(right | by_part) & ~wrong)


def _fitted(world: World, batch: Batch, at: Ints) -> Bools:
    """Parts fitted: the one called for, others along with it from habit or doubt, and overdue filters."""
    rng, places, facts, assume = world.rng, world.places, trade(), load()["parts"]
    who, day, n = batch.who[at], batch.day[at], len(at)
    fitted = np.zeros((n, len(facts.parts) + 1), bool)
    fitted[np.arange(n), batch.main[at]] = True
    doubt = np.where(batch.shown[at], 1.0, assume["handful"]["doubtful"])
    handful = world.crew.handful[batch.technician[at]] * doubt
    for share in (1.0, assume["third_part"]):
        also = np.flatnonzero(chance(rng, share * handful, n))
        thought = pick_rows(rng, facts.thoughts[places.symptom[who[also]]])
        fitted[also, main_part(rng, thought)] = True
    has_filter = np.isin(places.filter_kind[who], (IN_UNIT, IN_LINE))
    overdue = day - filter_at(places, who, day) > load()["filters"]["longest_interval"]
    along = np.where(overdue, assume["filter_along"]["overdue"], assume["filter_along"]["otherwise"])
    fitted[:, facts.part("water_filter")] &= has_filter
    fitted[:, facts.part("water_filter")] |= has_filter & chance(rng, along, n)
    fitted[:, facts.part("shutoff_valve")] &= places.shutoff[who] == SADDLE
    return fitted[:, :-1]


def _from_bad_batch(world: World, batch: Batch, at: Ints) -> Bools:
    """Whether the part called for came from the delivery that was bad."""
    bad = load()["parts"]["bad_batch"]
    before_end = world.end_day - batch.day[at]
    delivered = (before_end < bad["first_days_before_end"]) & (before_end > bad["last_days_before_end"])
    hit = delivered & (batch.main[at] == trade().part(bad["part"]))
    return hit & chance(world.rng, bad["share"], len(at))


def change_state(
    rng: np.random.Generator, places: Places, who: Ints, done: Repair, day: Floats, ledger: Ledger
) -> None:
    """Let the repair change the unit and its water: new parts are clean, mended faults are gone."""
    facts, fixed = trade(), load()["wear"]["fixed_resistance"]

    def fitted(code: str) -> Ints:
        return who[done.fitted[:, facts.part(code)] & done.sound]

    valve = fitted("inlet_valve")
    places.grit[valve], places.screen[valve] = 0, fixed["screen"]
    _new_shutoff(places, fitted("shutoff_valve"))
    at = done.fitted[:, facts.part("water_filter")]
    put_in(
        places,
        who[at],
        day[at],
        TECHNICIAN,
        chance(rng, load()["parts"]["change_recorded"], int(at.sum())),
        ledger,
    )
    places.ice[who] = 0
    heal(places, who[done.mended], day[done.mended], ledger, by_us=True)


def heal(places: Places, who: Ints, day: Floats, ledger: Ledger, *, by_us: bool) -> None:
    """Put the true cause right, whoever did it."""
    facts, fixed = trade(), load()["wear"]["fixed_resistance"]
    cause = places.cause[who]

    def with_cause(code: str) -> Ints:
        return who[cause == facts.cause(code)]

    places.grit[with_cause("inlet_valve_seeping")] = 0
    places.tube_cold[with_cause("fill_tube_cold")] = 0
    places.screen[with_cause("inlet_screen_plugged")] = fixed["screen"]
    _new_shutoff(places, with_cause("saddle_valve_clogged"))
    low = with_cause("low_supply_pressure")
    places.usual_pressure[low] = np.maximum(places.usual_pressure[low], load()["wear"]["mended_pressure"])
    places.pressure[low] = places.usual_pressure[low]
    places.ice[who] = 0
    choked = (cause == facts.cause("filter_restricted")) & (places.filter_day[who] < np.floor(day))
    changer = TECHNICIAN if by_us else SOMEBODY_ELSE
    put_in(places, who[choked], day[choked], changer, np.full(int(choked.sum()), by_us), ledger)


def _new_shutoff(places: Places, who: Ints) -> None:
    places.shutoff[who] = QUARTER_TURN
