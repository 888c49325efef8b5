"""Filters: restriction that grows with use and sediment; owners who change them late or never."""

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.ledger import Ledger
from synthetic_data.places import Places
from synthetic_data.streams import Bools, Floats, Ints, chance

OWNER, TECHNICIAN, OWNER_IN_TROUBLE, SOMEBODY_ELSE = range(4)
CHANGED_BY = ("owner", "technician", "owner_in_trouble", "somebody_else")
_IN_UNIT = 0


def new_filter_resistance() -> float:
    """Resistance of a new filter, psi per (L/min)^2."""
    return float(load()["filters"]["new_resistance"])


def filter_at(places: Places, who: Ints | slice, now: float | Floats) -> Floats:
    """Day the filter went in that is in place on a day, nan without one."""
    latest = places.filter_day[who]
    return np.where(latest <= now, latest, places.filter_before[who])


def filter_resistance(places: Places, who: Ints | slice, now: float | Floats) -> Floats:
    """Resistance of the filter, psi per (L/min)^2, by its age, the use made of it and the water.

    Without a filter it is the bypass.
    """
    assume, fixed = load()["filters"], load()["wear"]["fixed_resistance"]
    clogging = assume["clogging"]
    share = np.where(places.filter_kind[who] == _IN_UNIT, 1.0, assume["in_line_share"]).astype(np.float32)
    age = np.maximum(now - filter_at(places, who, now), 0).astype(np.float32)
    load_days = age * places.use[who] * np.sqrt(places.sediment[who]) * share
    grown = assume["new_resistance"] * (1 + (load_days / clogging["days"]) ** int(clogging["power"]))
    return np.where(np.isnan(age), fixed["bypass"], np.minimum(grown, assume["most_resistance"]))


def put_in(places: Places, who: Ints, day: Floats, by: int, known: Bools, ledger: Ledger) -> None:
    """Record filter changes and put the new filters in.

    Parameters
    ----------
    day : Floats
        Day of each change.
    by : int
        Number in CHANGED_BY.
    known : Bools
        Whether the office knows of the change.
    """
    day = np.floor(day)
    ledger.add("filter_changes", len(who), unit=places.unit[who], day=day, by=by, known=known)
    latest = places.filter_day[who]
    places.filter_before[who], places.filter_day[who] = np.fmin(latest, day), np.fmax(latest, day)
    late = np.isfinite(places.interval[who])
    places.next_change[who] = np.where(late, day + places.interval[who], np.inf)


def owners_change(rng: np.random.Generator, places: Places, start: float, end: float, ledger: Ledger) -> Ints:
    """Let the owners whose day has come change their filters.

    Returns
    -------
    Ints
        Places where the new filter gives trouble (badly seated, wrong kind, air in the line).
    """
    assume = load()["filters"]
    spread = assume["interval"]["log_sd_time"]
    who = np.flatnonzero((places.next_change < end) & ~places.closed)
    if not len(who):
        return who
    known = chance(rng, assume["owner_change_recorded"], len(who))
    put_in(places, who, np.maximum(places.next_change[who], places.installed[who]), OWNER, known, ledger)
    places.next_change[who] = places.filter_day[who] + places.interval[who] * np.exp(
        rng.normal(0, spread, len(who))
    )
    trouble = assume["fit_trouble"]
    return who[chance(rng, trouble["owner"] + trouble["new_filter_taste"], len(who))]
