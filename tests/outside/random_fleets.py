"""Small random fleets, made to hit edges: ties, gaps of exactly W days, the same minute, overlaps.

Every choice goes through a function `pick` that takes a sequence and returns one of its items: that of a
seeded random generator (the same fleets at every run), or that of hypothesis (which makes a failing fleet
small).
"""

import random
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from hypothesis import strategies as st

Pick = Callable[[Sequence], Any]
OWN_NAMES = ("call_id", "unit_id", "visit_id", "source", "depot")
BASE = datetime(2025, 1, 6, 8, 0)
MINUTE = timedelta(minutes=1)
WINDOWS = (7, 14, 30, 60, 90)
VOCABULARY = {
    "family_of": {
        "no_ice": "ice making",
        "small_cubes": "ice making",
        "leak_floor": "leak",
        "water_slow": "water at the door",
    },
    "no_work": {"cancelled", "no_access", "referred_on", "estimate_declined", "part_on_order", "duplicate"},
    "repair_kinds": {"repair"},
    "can_be_final": {"fill_tube_frozen", "inlet_valve_seeping", "filter_restricted", "module_failed"},
    "deeper": {("inlet_valve_seeping", "fill_tube_frozen")},
    "visit_work_done": {"done", None},
}
COMPLAINTS = (
    *(("no_ice",), ("no_ice",), ("small_cubes",), ("leak_floor",)),
    *(("no_ice", "leak_floor"), ("water_slow", "leak_floor"), ()),
)
OUTCOMES = (
    ("repaired",) * 9 + ("part_on_order",) * 3 + ("cancelled", "no_access", "duplicate", "explained", None)
)
CAUSES = (
    "fill_tube_frozen",
    "inlet_valve_seeping",
    "filter_restricted",
    "module_failed",
    "no_fault_found",
    None,
)
JOB_KINDS = ("repair",) * 9 + (None, "install", "maintenance")
FILTER_KINDS = ("in_unit", "in_unit", "in_line", "bypass_or_none", "reverse_osmosis", "dont_know", None)
RESULTS = ("done", "done", "done", "no_access", "part_on_order", "inconclusive", None)
# Around the edges of the bands: three months are 91.3125 days, twelve are 365.25.
FILTER_AGES = (0, 1, 30, 91, 92, 182, 183, 273, 274, 365, 366, 547, 548, 600)
DEPOTS = {"first office": ("north", "south"), "second office": ("east", None)}


def _one_in(pick: Pick, many: int) -> bool:
    return pick(range(many)) == 0


def _opening(pick: Pick, own_closings: list, closings_elsewhere: list) -> datetime:
    """A few crowded days, or an earlier closing and a gap at the edge of a window."""
    hang_on = pick(("unit", "unit", "unit", "unit", "unit", "fleet", "none", "none"))
    if hang_on == "unit" and own_closings:
        gap = timedelta(days=pick((0, 0, 1, 3, *WINDOWS, 30)))
        return pick(own_closings) + gap + pick((0, 0, -1, 1, 600)) * MINUTE
    if hang_on == "fleet" and closings_elsewhere:
        return pick(closings_elsewhere) + timedelta(days=pick((14, 14, 15))) + pick((0, 0, 1)) * MINUTE
    return BASE + timedelta(days=pick(range(41)), hours=pick((0, 0, 4, 15)))


def _as_written(at: datetime, timed: bool) -> date:
    """A time as it is known: to the minute, or only the day."""
    return at if timed else at.date()


def _call(pick: Pick, number: int, unit_of: dict, closings: dict, timed_share: int) -> dict:
    unit_id = pick(sorted(unit_of))
    own = closings.setdefault(unit_id, [])
    opened = _opening(
        pick, own, [at for other, times in closings.items() if other != unit_id for at in times]
    )
    closed = opened + pick((0, 1, 60, 240, 24 * 60, 5 * 24 * 60, 20 * 24 * 60)) * MINUTE
    if own and _one_in(pick, 8):
        closed = max(opened, own[-1])
    still_open = _one_in(pick, 10)
    if not still_open:
        own.append(closed)
    told = opened.date() - timedelta(days=pick(FILTER_AGES))
    return {
        "call_id": f"C{number:02d}",
        "unit_id": unit_id,
        "source": unit_of[unit_id][0],
        "depot": unit_of[unit_id][1],
        "opened": _as_written(opened, pick(range(10)) < timed_share),
        "closed": None if still_open else _as_written(closed, pick(range(10)) < timed_share),
        "symptoms": list(pick(COMPLAINTS)),
        "says_return_trip": _one_in(pick, 5),
        "says_same": _one_in(pick, 3),
        "cause": pick(CAUSES),
        "outcome": pick(OUTCOMES),
        "technician": pick(("T1", "T2", None)),
        "job_kind": pick(JOB_KINDS),
        "closing_recorded": True,
        "outcome_recorded": True,
        "filter_answer": pick((None, None, "never", told)),
        "duration_days": pick((None, None, 1, 7, 30, 100)),
    }


def _visits_to(pick: Pick, call: dict, first_number: int) -> list[dict]:
    made: list[dict] = []
    at = datetime.fromisoformat(str(call["opened"])) + timedelta(hours=pick(range(31)))
    for offset in range(pick((0, 1, 1, 1, 2, 2, 3))):
        at += pick((0, 15, 60, 60, 61, 26 * 60)) * MINUTE * (offset > 0)
        stay = pick((None, 15, 60, 60, 150))
        made.append(
            {
                "visit_id": f"V{first_number + offset:03d}",
                "call_id": call["call_id"],
                "source": call["source"],
                "technician": pick(("T1", "T2", "T3")),
                "helper": pick((None, None, "T3")),
                "arrived": _as_written(at, not _one_in(pick, 10)),
                "left": None if stay is None else at + stay * MINUTE,
                "result": pick(RESULTS),
            }
        )
    return made


def _unit(pick: Pick, unit_id: str, source: str) -> dict:
    return {
        "unit_id": unit_id,
        "source": source,
        "installed": pick((None, date(2021, 5, 1), date(2023, 1, 2))),
        "retired": pick((None, None, BASE.date() + timedelta(days=35))),
        "filter_kind": pick(FILTER_KINDS),
    }


def _filter_changes(pick: Pick, unit_id: str, source: str, calls: list[dict]) -> list[dict]:
    days = {
        datetime.fromisoformat(str(pick(calls)["opened"])).date() - timedelta(days=pick(FILTER_AGES))
        for _ in range(pick((0, 1, 2)))
    }
    return [{"unit_id": unit_id, "source": source, "changed_on": on} for on in sorted(days)]


def fleet(pick: Pick, sources: int = 2, timed_share: int = 8) -> dict:
    """Calls, visits, units and filter changes of a small fleet, and extraction dates of some of its sources.

    `timed_share`: how many of ten times have a time of day.
    """
    offices = sorted(DEPOTS)[:sources]
    unit_of = {
        f"U{n}": (source, pick(DEPOTS[source])) for n in range(pick((1, 2, 3))) for source in [pick(offices)]
    }
    closings: dict = {}
    calls = [_call(pick, n, unit_of, closings, timed_share) for n in range(pick(range(3, 11)))]
    if _one_in(pick, 5):
        calls = [call | {"outcome_recorded": False, "outcome": None} for call in calls]
    if _one_in(pick, 8):
        calls = [call | {"closing_recorded": False, "closed": None} for call in calls]
    visits: list[dict] = []
    if not _one_in(pick, 6):
        for call in calls:
            visits += _visits_to(pick, call, len(visits))
    units = [_unit(pick, unit_id, unit_of[unit_id][0]) for unit_id in sorted(unit_of) if not _one_in(pick, 6)]
    changes = [
        row
        for unit_id in sorted(unit_of)
        for row in _filter_changes(pick, unit_id, unit_of[unit_id][0], calls)
    ]
    extracted = {
        source: BASE + timedelta(days=pick(range(100, 201))) for source in offices if _one_in(pick, 4)
    }
    parts = [
        {
            "visit_id": visit["visit_id"],
            "source": visit["source"],
            "part": pick(("water_filter", "inlet_valve")),
        }
        for visit in visits
        if _one_in(pick, 4)
    ]
    found = {"calls": calls, "visits": visits, "parts": parts, "units": units, "changes": changes}
    return found | {"extracted": extracted}


def beside(fleets_drawn: list[dict]) -> dict:
    """Several fleets as one, each with sources, depots, units and calls of its own."""
    tables = ("calls", "visits", "parts", "units", "changes")
    together: dict = {table: [] for table in tables} | {"extracted": {}}
    for number, one in enumerate(fleets_drawn):
        for table in tables:
            for row in one[table]:
                own = {name: f"{number} {row[name]}" for name in OWN_NAMES if row.get(name) is not None}
                together[table].append(row | own)
        together["extracted"] |= {f"{number} {source}": at for source, at in one["extracted"].items()}
    return together


def fixed_fleets(seeds: range, **how: int) -> dict:
    """The fleets of some seeds, side by side: the same at every run."""
    return beside([fleet(random.Random(seed).choice, **how) for seed in seeds])


@st.composite
def fleets(draw, **how: int) -> dict:
    """A strategy of hypothesis for the same fleets."""
    return fleet(lambda options: draw(st.sampled_from(options)), **how)
