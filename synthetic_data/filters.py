"""Filters: restriction that grows with use and sediment; owners who change them late or never."""

from dataclasses import dataclass

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.ledger import Ledger
from synthetic_data.places import Places
from synthetic_data.streams import Bools, Floats, Ints, chance

OWNER, TECHNICIAN, OWNER_IN_TROUBLE, SOMEBODY_ELSE = range(4)
CHANGED_BY = ("owner", "technician", "owner_in_trouble", "somebody_else")
_IN_UNIT = 0


@dataclass(frozen=True)
class FilterRule:
    """A rule of changing filters that a fleet is made to follow; with neither, owners do as they do.

    A fleet with any rule, also the empty one, draws its chances anew each month and those of owners' changes
    apart, so that two fleets of one seed that differ in the rule meet the same chances for as long as may be.

    Parameters
    ----------
    planned_days : int, optional
        Every filter is changed at this age, instead of when its owner would.
    at_visit_days : int, optional
        Filters older than this are changed as well on every visit that is let in.
    """

    planned_days: int | None = None
    at_visit_days: int | None = None

    def __post_init__(self) -> None:
        for days in (self.planned_days, self.at_visit_days):
            if days is not None and days < 31:
                raise ValueError(f"a filter can be changed every {days} days only from 31 days on.")

    def settle(self, places: Places) -> None:
        """Make owners keep the plan."""
        if self.planned_days is not None:
            places.interval[:] = self.planned_days


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


def change_at_visit(places: Places, who: Ints, day: Floats, rule: FilterRule | None, ledger: Ledger) -> Bools:
    """Change the filters that a rule finds too old on visits; return at which places."""
    if rule is None or rule.at_visit_days is None:
        return np.zeros(len(who), bool)
    old = np.floor(day) - filter_at(places, who, day) > rule.at_visit_days
    put_in(places, who[old], day[old], TECHNICIAN, np.ones(int(old.sum()), bool), ledger)
    return old


def owners_change(
    rng: np.random.Generator,
    places: Places,
    end: float,
    ledger: Ledger,
    rule: FilterRule | None = None,
) -> Ints:
    """Let the owners whose day has come change their filters.

    Parameters
    ----------
    end : float
        Changes due before this day.
    rule : FilterRule, optional
        A plan is kept to the day.

    Returns
    -------
    Ints
        Places where the new filter gives trouble (badly seated, wrong kind, air in the line).
    """
    assume = load()["filters"]
    keeps_plan = rule is not None and rule.planned_days is not None
    spread = 0.0 if keeps_plan else assume["interval"]["log_sd_time"]
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
