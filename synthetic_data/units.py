"""Units: which refrigerator stands in a place, how old it is, when it goes and what follows it."""

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.ledger import Ledger
from synthetic_data.places import BUILT_IN, OSMOSIS, SADDLE, Places
from synthetic_data.streams import Floats, Ints, chance, pick

FAMILIES = ("side_by_side", "french_door", "bottom_freezer", "top_freezer", "built_in")
ICE_MAKERS = ("heated_mould", "twist_tray", "ice_room")
FILTER_KINDS = ("in_unit", "in_line", "bypass_or_none", "whole_house", "reverse_osmosis")
IN_UNIT, IN_LINE, NO_FILTER, WHOLE_HOUSE, OSMOSIS_FED = range(5)
_FRENCH_DOOR, _TOP_FREEZER, _BUILT_IN_FAMILY = 1, 3, 4
HEATED, _, ICE_ROOM = range(3)


def ages_at_start(rng: np.random.Generator, n: int) -> Floats:
    """Ages in days of the units standing when the simulation starts."""
    age = load()["households"]["age_at_start"]
    years = rng.gamma(age["shape"], age["mean_years"] / age["shape"], n)
    return np.minimum(years, age["most_years"]) * calendar.YEAR_DAYS


def place_units(
    rng: np.random.Generator, places: Places, who: Ints, installed: Floats, now: float, ledger: Ledger
) -> None:
    """Stand a unit in each of the places `who`, worn as its age on day `now` says.

    Parameters
    ----------
    who : Ints
        Places that get a unit.
    installed : Floats
        Day each unit was installed; before `now` for units that are already old.
    """
    assume, n = load()["households"], len(who)
    family = pick(rng, np.array([assume["family_share"][name] for name in FAMILIES]), n)
    family = np.where(places.location[who] == BUILT_IN, _BUILT_IN_FAMILY, family)
    maker = pick(rng, np.array([assume["ice_maker_share"][name] for name in ICE_MAKERS]), n)
    maker = np.where((maker == ICE_ROOM) & (family != _FRENCH_DOOR), HEATED, maker)
    kinds = np.array([assume["filter_kind_share"][name] for name in FILTER_KINDS[:OSMOSIS_FED]])
    kind = pick(rng, kinds, n)
    kind = np.where((family == _TOP_FREEZER) & (kind == IN_UNIT), NO_FILTER, kind)
    kind = np.where(places.supply[who] == OSMOSIS, OSMOSIS_FED, kind)
    dispensers = np.array([assume["dispenser_share"][name] for name in FAMILIES])
    frailty = rng.gamma(assume["frailty_shape"], 1 / assume["frailty_shape"], n)
    wear = np.array([assume["family_wear"][name] for name in FAMILIES])[family]
    places.family[who], places.ice_maker[who], places.filter_kind[who] = family, maker, kind
    places.dispenser[who] = rng.random(n) < dispensers[family]
    places.installed[who] = np.floor(installed)
    places.frailty[who] = frailty * wear
    _age_water_side(rng, places, who, now)
    _first_filter(rng, places, who, now)
    for name, value in (("grit", 0), ("ice", 0), ("tube_cold", 0), ("cause", -1), ("due", np.inf)):
        getattr(places, name)[who] = value
    for name in ("last_call", "trip_cause", "trip_part", "symptom"):
        getattr(places, name)[who] = -1
    places.unit[who] = ledger.add(
        "units",
        n,
        place=who,
        installed=places.installed[who],
        family=family,
        ice_maker=maker,
        filter_kind=kind,
        dispenser=places.dispenser[who],
        frailty=places.frailty[who],
    )


def _age_water_side(rng: np.random.Generator, places: Places, who: Ints, now: float) -> None:
    """Clog the screen and the saddle valve as they would be after the unit's years."""
    wear, n = load()["wear"], len(who)
    years = np.maximum(now - places.installed[who], 0) / calendar.YEAR_DAYS
    growth = wear["screen_growth"]["per_year"] * np.minimum(places.sediment[who], 2.5)
    kept = wear["aged"]["share"] * np.minimum(years, wear["aged"]["most_years"])
    places.screen[who] = wear["fixed_resistance"]["screen"] * np.exp(growth * kept)
    old = (places.shutoff[who] == SADDLE) & (years > 0)
    rate = wear["saddle_hole"]["growth_per_year"] * np.minimum(places.sediment[who], 2.0)
    places.hole[who] *= np.where(old, np.exp(rate * kept * rng.random(n)), 1.0)


def _first_filter(rng: np.random.Generator, places: Places, who: Ints, now: float) -> None:
    """Put the present filter in, at some point of the owner's interval; units without a filter get none."""
    interval, installed = places.interval[who], places.installed[who]
    due = np.where(np.isfinite(interval), interval, 0)
    last = np.where(np.isfinite(interval), now - rng.random(len(who)) * due, installed)
    last = np.floor(np.maximum(last, installed))
    fitted = np.isin(places.filter_kind[who], (IN_UNIT, IN_LINE, WHOLE_HOUSE))
    places.filter_day[who] = places.filter_before[who] = np.where(fitted, last, np.nan)
    places.next_change[who] = np.where(fitted & np.isfinite(interval), last + interval, np.inf)


def retire(rng: np.random.Generator, places: Places, start: float, end: float, ledger: Ledger) -> None:
    """Retire units that have come to their end in this step; most are followed by a new one."""
    assume = load()["households"]
    rate = assume["retire_rate"]
    standing = ~places.closed & (places.unit >= 0) & (places.busy_until < start)
    age = (start - places.installed) / calendar.YEAR_DAYS
    yearly = np.minimum(rate["at_ten_years"] * np.exp((age - 10) / rate["growth_years"]), rate["most"])
    goes = standing & (rng.random(len(places)) < np.nan_to_num(yearly) * (end - start) / calendar.YEAR_DAYS)
    places.retires = np.where(
        goes & np.isinf(places.retires), rng.uniform(start, end, len(goes)), places.retires
    )
    who = np.flatnonzero(standing & (places.retires < end))
    if not len(who):
        return
    day = np.floor(np.maximum(places.retires[who], places.busy_until[who]))
    known = chance(rng, assume["retirement_known"], len(who))
    ledger.add("retirements", len(who), unit=places.unit[who], day=day, known=known)
    followed = chance(rng, assume["replacement_share"], len(who))
    places.retires[who], places.due[who], places.cause[who] = np.inf, np.inf, -1
    places.closed[who[~followed]] = True
    new, day = who[followed], day[followed]
    place_units(rng, places, new, day + rng.integers(0, 4, len(new)), end, ledger)
    ledger.add("installs", len(new), place=new, unit=places.unit[new], day=places.installed[new])


def open_places(rng: np.random.Generator, places: Places, end: float, ledger: Ledger) -> None:
    """Bring new homes in whose opening day has come, each with a new unit."""
    who = np.flatnonzero((places.opens < end) & (places.unit < 0))
    if len(who):
        place_units(rng, places, who, places.opens[who], end, ledger)
        ledger.add("installs", len(who), place=who, unit=places.unit[who], day=places.installed[who])
