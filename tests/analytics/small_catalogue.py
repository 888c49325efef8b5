"""Enough of a catalogue to tell families, causes and parts apart, as the tables of schema `catalogue`."""

from functools import cache

import polars as pl

_TABLES: dict[str, tuple[str, list[tuple]]] = {
    "about": ("code label hash", [("small", "small", "small")]),
    "families": (
        "code label bit",
        [("ice_making", "ice making", 1), ("water_at_door", "water at the door", 2), ("leak", "leak", 4)],
    ),
    "symptoms": (
        "code label family",
        [
            ("no_ice", "no ice", "ice_making"),
            ("little_ice", "too little ice", "ice_making"),
            ("water_slow", "water slow", "water_at_door"),
            ("leak_floor", "water on the floor", "leak"),
            ("filter_light", "filter light", None),
        ],
    ),
    "causes": (
        "code label flow_linked whose consequence can_be_final other_catalogue",
        [
            ("valve_seeping", "valve seeps", False, ["part"], False, True, False),
            ("tube_frozen", "fill tube frozen", False, [], True, True, False),
            ("filter_restricted", "filter clogged", True, ["owner"], False, True, False),
            ("module_failed", "module failed", False, ["part"], False, True, False),
            ("no_fault_found", "no fault found", False, [], False, False, False),
        ],
    ),
    "goes_deeper": ("cause than", [("valve_seeping", "tube_frozen")]),
    "checks": (
        "code label setup minutes caution",
        [("seep_test", "seep test", "R", 4.0, "b"), ("tube_look", "look at the tube", "B", 3.0, "b")],
    ),
    "reveals": (
        "check_code cause share",
        [("seep_test", "valve_seeping", 0.9), ("tube_look", "tube_frozen", 0.9)],
    ),
    "parts": (
        "code label is_filter water_side",
        [
            ("inlet_valve", "inlet valve", False, True),
            ("water_filter", "water filter", True, True),
            ("module", "module", False, False),
        ],
    ),
    "part_answers": (
        "part cause",
        [
            ("inlet_valve", "valve_seeping"),
            ("water_filter", "filter_restricted"),
            ("module", "module_failed"),
        ],
    ),
    "outcomes": (
        "code label work_done",
        [
            ("repaired", "repaired", True),
            ("cancelled", "cancelled", False),
            ("no_access", "no access", False),
            ("referred_on", "passed on", False),
            ("estimate_declined", "declined", False),
            ("part_on_order", "part on order", False),
            ("duplicate", "duplicate", False),
        ],
    ),
    "job_kinds": (
        "code label is_repair",
        [
            ("repair", "repair", True),
            ("install", "installation", False),
            ("maintenance", "upkeep", False),
            ("filter_visit", "filter", False),
        ],
    ),
    "visit_results": (
        "code label work_done let_in waits_for_part",
        [
            ("done", "done", True, True, False),
            ("no_access", "nobody home", False, False, False),
            ("part_on_order", "part on order", False, True, True),
        ],
    ),
    "levels": (
        "field code label",
        [
            ("finding", "fault", "fault"),
            ("finding", "no_fault", "no fault"),
            ("mould_state", "empty", "mould empty"),
            ("follow_up_answer", "works", "it works"),
        ],
    ),
    "units_of_measure": (
        "spelling quantity scale offset canonical_unit",
        [("psi", "pressure", 1.0, 0.0, "psi")],
    ),
}

SYMPTOMS = {code for code, *_ in _TABLES["symptoms"][1]}


class SmallCatalogue:
    """Stands in for a `Catalogue`."""

    def frames(self) -> dict[str, pl.DataFrame]:
        return dict(_frames())


@cache
def _frames() -> dict[str, pl.DataFrame]:
    return {
        name: pl.DataFrame(rows, schema=columns.split(), orient="row")
        for name, (columns, rows) in _TABLES.items()
    }
