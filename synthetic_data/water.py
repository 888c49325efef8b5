"""Water: pressure and restrictions give flow, flow gives the fill, and the fill says what is to blame.

A line of resistances K in series passes a flow q with a loss of K q^2 (turbulent flow, common practice), so
that the most it can carry is sqrt(pressure / K). A flow washer in the valve holds the flow to its regulated
value while the line can give more.
"""

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.filters import filter_resistance, new_filter_resistance
from synthetic_data.places import MULTI_TURN, SADDLE, Places
from synthetic_data.streams import Bools, Floats, Ints


def shutoff_resistance(places: Places, who: Ints | slice) -> Floats:
    """Resistance of the house shutoff, psi per (L/min)^2: the pierced hole where it is a saddle valve."""
    fixed = load()["wear"]["fixed_resistance"]
    kind = places.shutoff[who]
    plain = np.where(kind == MULTI_TURN, fixed["multi_turn"], fixed["shutoff"]).astype(np.float32)
    return np.where(kind == SADDLE, places.hole[who], plain)


def free_flow(pressure: Floats, resistance: Floats) -> Floats:
    """The most the line can carry, L/min, at a still pressure in psi."""
    return np.sqrt(np.maximum(pressure, 0) / resistance)


def normal_fill_ml() -> float:
    """Water of a healthy fill, mL."""
    fill = load()["wear"]["fill"]
    return float(fill["regulated_flow"] * fill["seconds"] / 60 * 1000)


def fill_of(pressure: Floats, resistance: Floats) -> Floats:
    """Water per fill in mL: the time of a fill is fixed, so a starved line gives a small cube."""
    regulated = load()["wear"]["fill"]["regulated_flow"]
    return normal_fill_ml() * np.minimum(1.0, free_flow(pressure, resistance) / regulated)


def line_resistance(places: Places, who: Ints | slice, now: float | Floats) -> Floats:
    """Resistance from the house to the mould, psi per (L/min)^2."""
    return (
        shutoff_resistance(places, who)
        + places.line[who]
        + filter_resistance(places, who, now)
        + places.screen[who]
        + load()["wear"]["fixed_resistance"]["valve"]
    )


def door_flow(places: Places, who: Ints | slice, now: float | Floats) -> Floats:
    """Flow at the door, L/min: the same line, but a wider valve and no flow washer."""
    return free_flow(places.pressure[who], line_resistance(places, who, now) + places.line[who])


def bypass_flow(places: Places, who: Ints | slice, now: float | Floats) -> Floats:
    """Flow at the door with the bypass plug in place of the filter, L/min."""
    bypass = load()["wear"]["fixed_resistance"]["bypass"]
    whole = line_resistance(places, who, now) + places.line[who]
    return free_flow(places.pressure[who], whole - filter_resistance(places, who, now) + bypass)


def flowing_pressure(places: Places, who: Ints | slice) -> Floats:
    """Pressure at the end of the house line while the valve fills, psi."""
    regulated = load()["wear"]["fill"]["regulated_flow"]
    upstream = shutoff_resistance(places, who) + places.line[who]
    flow = np.minimum(free_flow(places.pressure[who], upstream + new_filter_resistance()), regulated)
    return places.pressure[who] - upstream * flow**2


def line_end_flow(places: Places, who: Ints | slice) -> Floats:
    """Flow from the open end of the supply line into a bucket, L/min."""
    return free_flow(places.pressure[who], shutoff_resistance(places, who) + places.line[who])


def pressure_drip(places: Places, who: Ints | slice) -> Floats:
    """Ice a day (tube-volumes) from a valve that low pressure does not close."""
    closing = load()["wear"]["closing_pressure"]
    short = closing["least_psi"] - flowing_pressure(places, who)
    return closing["drip"] * np.maximum(short, 0) / closing["least_psi"]


def hole_to_blame(places: Places, who: Ints) -> Bools:
    """Whether the flowing pressure is low because of the saddle valve rather than of the house."""
    plain = load()["wear"]["fixed_resistance"]["shutoff"]
    regulated = load()["wear"]["fill"]["regulated_flow"]
    without = places.pressure[who] - (plain + places.line[who]) * regulated**2
    closing = load()["wear"]["closing_pressure"]["least_psi"]
    return (places.shutoff[who] == SADDLE) & (without > closing)


def blame_for_fill(places: Places, who: Ints, now: float | Floats) -> Ints:
    """Which restriction is to blame for a small fill: the one whose cure gives back most of the water.

    Returns
    -------
    Ints, shape (len(who),)
        0 shutoff (saddle), 1 pressure, 2 filter, 3 screen.
    """
    whole, pressure = line_resistance(places, who, now), places.pressure[who]
    fixed = load()["wear"]["fixed_resistance"]
    sound = load()["households"]["town_pressure"]["mean"]
    cured = np.stack(
        [
            free_flow(pressure, whole - np.maximum(shutoff_resistance(places, who) - fixed["shutoff"], 0)),
            free_flow(np.maximum(pressure, sound), whole),
            free_flow(
                pressure, whole - np.maximum(filter_resistance(places, who, now) - new_filter_resistance(), 0)
            ),
            free_flow(pressure, whole - np.maximum(places.screen[who] - fixed["screen"], 0)),
        ]
    )
    return np.argmax(cured, axis=0)
