"""Small fleets drawn by hypothesis, made to hit edges: ties, gaps of exactly W days, overlaps."""

from datetime import date, datetime, timedelta

from hypothesis import strategies as st

OWN_NAMES = ("call_id", "unit_id", "visit_id", "source", "depot")
BASE = datetime(2025, 1, 6, 8, 0)
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
    "visit_work_done": {"done"},
}
COMPLAINTS = (
    ("no_ice",),
    ("no_ice",),
    ("small_cubes",),
    ("leak_floor",),
    ("no_ice", "leak_floor"),
    ("water_slow", "leak_floor"),
    (),
)
OUTCOMES = (
    ("repaired",) * 8 + ("part_on_order",) * 3 + ("cancelled", "no_access", "duplicate", "explained", None)
)
CAUSES = (
    "fill_tube_frozen",
    "inlet_valve_seeping",
    "filter_restricted",
    "module_failed",
    "no_fault_found",
    None,
)
JOB_KINDS = ("repair",) * 8 + (None, "install", "maintenance")
FILTER_KINDS = ("in_unit", "in_unit", "in_line", "bypass_or_none", "reverse_osmosis", "dont_know", None)
DEPOTS = {"first office": ("north", "south"), "second office": ("east", None)}
MINUTE = timedelta(minutes=1)
# Around the edges of the bands: three months are 91.3125 days, twelve are 365.25.
CHANGE_DAYS = tuple((BASE - timedelta(days=days)).date() for days in (0, 1, 91, 92, 182, 183, 365, 366, 600))


def as_written(at: datetime, timed: bool) -> date:
    """A time as it is known: to the minute, or only the day."""
    return at if timed else at.date()


@st.composite
def openings(draw, closings, closings_elsewhere):
    """An opening time: a few crowded days, or an earlier closing and a gap at the edge of a window."""
    hang_on = draw(st.sampled_from(("unit", "unit", "unit", "unit", "unit", "fleet", "none", "none")))
    if hang_on == "unit" and closings:
        gap = timedelta(days=draw(st.sampled_from((0, 0, 1, 3, *WINDOWS, 30))))
        return draw(st.sampled_from(closings)) + gap + draw(st.sampled_from((0, 0, -1, 1, 600))) * MINUTE
    if hang_on == "fleet" and closings_elsewhere:
        gap = timedelta(days=draw(st.sampled_from((14, 14, 15))))
        return draw(st.sampled_from(closings_elsewhere)) + gap + draw(st.sampled_from((0, 0, 1))) * MINUTE
    return BASE + timedelta(days=draw(st.integers(0, 40)), hours=draw(st.sampled_from((0, 0, 4, 15))))


@st.composite
def calls(draw, number: int, unit_of: dict, closings: dict, timed_share: int):
    unit_id = draw(st.sampled_from(sorted(unit_of)))
    source, depot = unit_of[unit_id]
    elsewhere = [at for other, times in closings.items() if other != unit_id for at in times]
    opened = draw(openings(closings.setdefault(unit_id, []), elsewhere))
    open_for = draw(st.sampled_from((0, 1, 60, 240, 24 * 60, 5 * 24 * 60, 20 * 24 * 60))) * MINUTE
    closed = opened + open_for
    if closings[unit_id] and draw(st.integers(0, 9)) == 0:
        closed = max(closed, closings[unit_id][-1])
    if draw(st.integers(0, 9)) == 0:
        closed = None
    opened_timed, closed_timed = (draw(st.integers(0, 9)) < timed_share for _ in range(2))
    if closed is not None:
        closings[unit_id].append(closed)
    return {
        "call_id": f"C{number:02d}",
        "unit_id": unit_id,
        "source": source,
        "depot": depot,
        "opened": as_written(opened, opened_timed),
        "closed": None if closed is None else as_written(closed, closed_timed),
        "symptoms": list(draw(st.sampled_from(COMPLAINTS))),
        "says_return_trip": draw(st.integers(0, 4)) == 0,
        "says_same": draw(st.integers(0, 2)) == 0,
        "cause": draw(st.sampled_from(CAUSES)),
        "outcome": draw(st.sampled_from(OUTCOMES)),
        "technician": draw(st.sampled_from(("T1", "T2", None))),
        "job_kind": draw(st.sampled_from(JOB_KINDS)),
        "closing_recorded": True,
        "outcome_recorded": True,
        "filter_answer": draw(st.sampled_from((None, None, "never", opened.date(), *CHANGE_DAYS))),
        "duration_days": draw(st.sampled_from((None, None, 1, 7, 30, 100))),
    }


@st.composite
def visits_to(draw, call, first_number: int):
    made, at = [], datetime.fromisoformat(str(call["opened"])) + timedelta(hours=draw(st.integers(0, 30)))
    for offset in range(draw(st.sampled_from((0, 1, 1, 1, 2, 2, 3)))):
        at += draw(st.sampled_from((0, 15, 60, 60, 61, 26 * 60))) * MINUTE * (offset > 0)
        stay = draw(st.sampled_from((None, 15, 60, 60, 150)))
        made.append(
            {
                "visit_id": f"V{first_number + offset:03d}",
                "call_id": call["call_id"],
                "source": call["source"],
                "technician": draw(st.sampled_from(("T1", "T2", "T3"))),
                "helper": draw(st.sampled_from((None, None, "T3"))),
                "arrived": at,
                "left": None if stay is None else at + stay * MINUTE,
                "result": draw(
                    st.sampled_from(("done", "done", "no_access", "part_on_order", "inconclusive"))
                ),
            }
        )
    return made


@st.composite
def fleets(draw, max_calls: int = 10, sources: int = 2, timed_share: int = 8):
    """Calls, visits and units of a small fleet, and the depot and source that each unit belongs to.

    `timed_share`: how many of ten times have a time of day.
    """
    offices = sorted(DEPOTS)[:sources]
    unit_of = {}
    for number in range(draw(st.integers(1, 3))):
        source = draw(st.sampled_from(offices))
        unit_of[f"U{number}"] = (source, draw(st.sampled_from(DEPOTS[source])))
    closings: dict = {}
    drawn = [draw(calls(n, unit_of, closings, timed_share)) for n in range(draw(st.integers(3, max_calls)))]
    if draw(st.integers(0, 4)) == 0:
        drawn = [call | {"outcome_recorded": False, "outcome": None} for call in drawn]
    made = []
    if draw(st.integers(0, 5)) > 0:
        for call in drawn:
            made += draw(visits_to(call, len(made)))
    units = [
        {
            "unit_id": unit_id,
            "source": unit_of[unit_id][0],
            "installed": draw(st.sampled_from((None, date(2021, 5, 1), date(2023, 1, 2)))),
            "retired": draw(st.sampled_from((None, None, BASE.date() + timedelta(days=35)))),
            "filter_kind": draw(st.sampled_from(FILTER_KINDS)),
        }
        for unit_id in sorted(unit_of)
        if draw(st.integers(0, 5)) > 0
    ]
    days_of_calls = [datetime.fromisoformat(str(call["opened"])).date() for call in drawn]
    changes = [
        {"unit_id": unit_id, "source": unit_of[unit_id][0], "changed_on": changed}
        for unit_id in sorted(unit_of)
        for changed in draw(st.sets(st.sampled_from((*CHANGE_DAYS, *days_of_calls)), max_size=2))
    ]
    extracted = {
        source: draw(st.sampled_from((None, None, None, BASE + timedelta(days=draw(st.integers(100, 200))))))
        for source in offices
    }
    extracted = {source: at for source, at in extracted.items() if at is not None}
    return {"calls": drawn, "visits": made, "units": units, "changes": changes, "extracted": extracted}


def beside(fleets_drawn: list[dict]) -> dict:
    """Several fleets as one, each with sources, depots, units and calls of its own."""
    together: dict = {"calls": [], "visits": [], "units": [], "changes": [], "extracted": {}}
    for number, fleet in enumerate(fleets_drawn):
        for table in ("calls", "visits", "units", "changes"):
            for row in fleet[table]:
                own = {name: f"{number} {row[name]}" for name in OWN_NAMES if row.get(name) is not None}
                together[table].append(row | own)
        together["extracted"] |= {f"{number} {source}": at for source, at in fleet["extracted"].items()}
    return together
