"""Places where a refrigerator stands: the home, its water, its owner, and the unit standing there now."""

from dataclasses import dataclass

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.streams import Bools, Floats, Ints, pick

SHUTOFFS = ("quarter_turn", "saddle", "multi_turn", "wall_box")
LOCATIONS = ("kitchen", "garage_or_cellar", "bar_or_second_fridge", "built_in")
SUPPLIES = ("town_water", "well", "softened", "reverse_osmosis")
QUARTER_TURN, SADDLE, MULTI_TURN, _WALL_BOX = range(4)
_KITCHEN, GARAGE, BAR, BUILT_IN = range(4)
TOWN, WELL, SOFTENED, OSMOSIS = range(4)
NEVER = np.inf


@dataclass
class Places:
    """State of every place, one element a place; it changes as the simulation runs.

    Parameters
    ----------
    depot, household, supply, shutoff, location : Ints
        Numbers of the depot and household, and of SUPPLIES, SHUTOFFS and LOCATIONS.
    pressure : Floats
        Still pressure at the refrigerator, psi. usual_pressure is what it returns to.
    sediment, hardness, use : Floats
        Relative sediment, mg/L CaCO3, relative use of water.
    line, hole, screen : Floats
        Resistances in psi per (L/min)^2: supply line, saddle valve, inlet screen.
    grit, tube_cold, ice : Floats
        Ice a day from a dirty seat, from a cold tube, and ice in the fill tube, in tube-volumes (1: frozen).
    interval, next_change : Floats
        Days between the owner's filter changes, day of the next.
    filter_day, filter_before : Floats
        Day the latest filter goes in, which may lie ahead, and the one before it; nan without a filter.
    tolerance, patience : Floats
        mL of fill below which the household minds; days before it rings.
    unit, family, filter_kind, ice_maker : Ints;  dispenser : Bools;  installed, frailty : Floats
        The unit standing there: number, kinds, installation day, proneness to trouble.
    opens : Floats
        Day the place comes to the company.  closed: it has no unit any more.
    cause, symptom : Ints
        Present trouble, -1 when there is none.  began, due: day it began, day the household rings.
    tries, last_call : Ints
        Failed visits so far, and the last call about it (-1).  last_post: who was there.
    trip_cause, trip_part : Ints
        What a return trip is to put right (-1 when none is on order).
    fill_left : Floats
        Share of a fill that this fault leaves, nan when the water decides.
    quiet_until, busy_until, retires : Floats
        Days until which nobody rings, until which the last call is under way, and on which the unit goes.
    own_change : Bools
        The owner changed the filter because of the present trouble.
    """

    depot: Ints
    household: Ints
    supply: Ints
    shutoff: Ints
    location: Ints
    pressure: Floats
    usual_pressure: Floats
    sediment: Floats
    hardness: Floats
    use: Floats
    line: Floats
    hole: Floats
    screen: Floats
    grit: Floats
    tube_cold: Floats
    ice: Floats
    interval: Floats
    next_change: Floats
    filter_day: Floats
    filter_before: Floats
    tolerance: Floats
    patience: Floats
    unit: Ints
    family: Ints
    filter_kind: Ints
    ice_maker: Ints
    dispenser: Bools
    installed: Floats
    frailty: Floats
    opens: Floats
    closed: Bools
    cause: Ints
    symptom: Ints
    began: Floats
    due: Floats
    tries: Ints
    last_call: Ints
    last_post: Ints
    trip_cause: Ints
    trip_part: Ints
    fill_left: Floats
    quiet_until: Floats
    busy_until: Floats
    retires: Floats
    own_change: Bools

    def __len__(self) -> int:
        return len(self.depot)


def depot_count(calls: int) -> int:
    """Depots of a company with that many calls in the record: sets of four, by square root."""
    sets = round((calls / load()["households"]["calls_per_depot"]) ** 0.5)
    return len(load()["households"].under("depot")) * max(1, sets)


def _trait(depot: Ints, name: str) -> Floats:
    traits = [one[name] for one in load()["households"].under("depot").values()]
    return np.array(traits, np.float32)[depot % len(traits)]


def _pressures(rng: np.random.Generator, supply: Ints) -> Floats:
    assume = load()["households"]
    kinds = [assume[f"{name}_pressure"] for name in ("town", "well", "town", "osmosis")]
    mean, sd, low, high = (
        np.array([kind[key] for kind in kinds])[supply] for key in ("mean", "sd", "low", "high")
    )
    return np.clip(rng.normal(mean, sd), low, high).astype(np.float32)


def _supplies(rng: np.random.Generator, depot: Ints) -> Ints:
    assume, n = load()["households"], len(depot)
    supply = np.where(rng.random(n) < _trait(depot, "well_share"), WELL, TOWN)
    softened = (supply == TOWN) & (rng.random(n) < assume["softened_share"])
    supply = np.where(softened, SOFTENED, supply)
    return np.where(rng.random(n) < assume["osmosis_share"], OSMOSIS, supply)


def _households(rng: np.random.Generator, n: int) -> Ints:
    """Number the households; a second unit follows the first of its household."""
    second = rng.random(n) < load()["households"]["second_unit_share"]
    second[:1] = False
    return np.cumsum(~second) - 1


def settle(rng: np.random.Generator, n: int, depots: int, first_day: float, last_day: float) -> Places:
    """Lay out the places of a fleet, without their units yet.

    Parameters
    ----------
    n, depots : int
        Number of places and depots.
    first_day, last_day : float
        Day numbers between which new places open.
    """
    assume, wear = load()["households"], load()["wear"]
    shares = _trait(np.arange(depots), "share")
    household = _households(rng, n)
    home_depot = pick(rng, shares, n)[household]
    depot = home_depot.astype(np.int16)
    supply = _supplies(rng, depot)
    pressure = _pressures(rng, supply)
    location = pick(rng, np.array([assume["location_share"][name] for name in LOCATIONS]), n)
    line = assume["line_resistance"]
    far = np.where((location == GARAGE) | (location == BAR), line["long"], 1.0)
    filters = load()["filters"]["interval"]
    interval = (
        load()["filters"]["advised_interval"]
        * filters["median_of_advised"]
        * np.exp(rng.normal(0, filters["log_sd_owner"], n))
    )
    interval[rng.random(n) < filters["never_share"]] = NEVER
    tolerance, patience = assume["tolerance"], assume["patience"]
    sediment = _trait(depot, "sediment") * np.exp(rng.normal(0, assume["sediment_spread"], n))
    hardness = _trait(depot, "hardness") * np.exp(rng.normal(0, assume["hardness_spread"], n))
    new = rng.random(n) < assume["new_place_share"]
    saddle = wear["fixed_resistance"]["saddle"] * np.exp(rng.normal(0, wear["saddle_hole"]["log_sd"], n))
    none, nothing = np.full(n, -1, np.int32), np.zeros(n, np.float32)
    return Places(
        depot=depot,
        household=household,
        supply=supply,
        shutoff=pick(rng, np.array([assume["shutoff_share"][name] for name in SHUTOFFS]), n),
        location=location,
        pressure=pressure,
        usual_pressure=pressure.copy(),
        sediment=np.minimum(sediment * np.where(supply == WELL, assume["well_sediment"], 1), 6.0).astype(
            np.float32
        ),
        hardness=np.where(supply >= SOFTENED, 30.0, hardness).astype(np.float32),
        use=np.exp(rng.normal(0, assume["use_spread"], n)).astype(np.float32),
        line=(line["median"] * np.exp(rng.normal(0, line["log_sd"], n)) * far).astype(np.float32),
        hole=saddle.astype(np.float32),
        screen=nothing + wear["fixed_resistance"]["screen"],
        grit=nothing.copy(),
        tube_cold=nothing.copy(),
        ice=nothing.copy(),
        interval=interval,
        next_change=np.full(n, NEVER),
        filter_day=np.full(n, np.nan),
        filter_before=np.full(n, np.nan),
        tolerance=np.clip(
            rng.normal(tolerance["mean"], tolerance["sd"], n), tolerance["low"], tolerance["high"]
        ).astype(np.float32),
        patience=patience["median_days"] * np.exp(rng.normal(0, patience["log_sd"], n)),
        unit=none.copy(),
        family=none.copy(),
        filter_kind=none.copy(),
        ice_maker=none.copy(),
        dispenser=np.zeros(n, bool),
        installed=np.full(n, np.nan),
        frailty=nothing.copy(),
        opens=np.where(new, rng.uniform(first_day, last_day, n), -NEVER),
        closed=np.zeros(n, bool),
        cause=none.copy(),
        symptom=none.copy(),
        began=np.full(n, np.nan),
        due=np.full(n, NEVER),
        tries=np.zeros(n, np.int16),
        last_call=none.copy(),
        last_post=none.copy(),
        trip_cause=none.copy(),
        trip_part=none.copy(),
        fill_left=np.full(n, np.nan, np.float32),
        quiet_until=np.full(n, -NEVER),
        busy_until=np.full(n, -NEVER),
        retires=np.full(n, NEVER),
        own_change=np.zeros(n, bool),
    )
