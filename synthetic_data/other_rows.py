"""Rows of the files beside calls: visits, checks, parts, units, filter changes, technicians, follow-ups."""

import numpy as np
import polars as pl

from synthetic_data.assumptions import load
from synthetic_data.columns import days_as_dates, days_as_times, numbered
from synthetic_data.diagnosis import FINDINGS
from synthetic_data.follow_ups import ANSWERS, follow_ups
from synthetic_data.ledger import Columns
from synthetic_data.names import depot_names
from synthetic_data.places import LOCATIONS, SHUTOFFS, SUPPLIES
from synthetic_data.readings import WATER, readings
from synthetic_data.record import Record
from synthetic_data.streams import Bools, Ints, chance, stream
from synthetic_data.trade import trade
from synthetic_data.units import FAMILIES, FILTER_KINDS, ICE_MAKERS
from synthetic_data.visits import RESULTS
from synthetic_data.wording import say


def _call_ids(rows: Ints) -> pl.Series:
    return numbered("C", rows + 1, 7)


def _misspelt() -> float:
    return float(load()["callers"]["misspelt_elsewhere"])


def _codes(names: tuple[str, ...], at: Ints, blank: np.ndarray) -> pl.Series:
    texts = pl.Series(names).gather(at.astype(np.int64))
    return pl.select(pl.when(pl.lit(pl.Series(~blank))).then(pl.lit(texts)).alias("code")).to_series()


def visit_rows(record: Record, seed: int, chunk: int, rows: slice) -> pl.DataFrame:
    """Rows of the visits file."""
    visits = {name: column[rows] for name, column in record.visits.items()}
    rng, n = stream(seed, f"visit rows {chunk}"), len(visits["call"])
    codes = record.history.crew.habits["codes"][visits["technician"]]
    forgotten = ~chance(rng, load()["office"]["written"]["left_at"], n)
    return pl.DataFrame(
        {
            "visit_id": numbered("V", np.arange(rows.start, rows.start + n) + 1, 7),
            "call_id": _call_ids(visits["call"]),
            "technician_id": numbered("T", visits["technician"] + 1, 3),
            "helper_id": numbered("T", visits["helper"] + 1, 3, blank=visits["helper"] < 0),
            "arrived_at": days_as_times(visits["arrived"]),
            "left_at": days_as_times(np.where(forgotten, np.nan, visits["left"])),
            "result": say(rng, "visit_result", RESULTS, visits["result"], codes, _misspelt()),
        }
    )


def noted_checks(record: Record, seed: int) -> Columns:
    """Checks that are written down: each technician notes those of some visits, and of others none.

    A pressure taken still and flowing is two rows.
    """
    checks = record.checks
    rng, habit = stream(seed, "checks noted"), record.history.crew.habits["checks"]
    technician = record.visits["technician"]
    noted = chance(rng, habit[technician], len(technician))
    rows = np.flatnonzero(noted[checks["visit"]])
    both = checks["check"][rows] == trade().check("pressure_static_flowing")
    both &= chance(rng, load()["checks"]["reading"]["flowing_too"], len(rows))
    rows = np.repeat(rows, 1 + both)
    kept = {name: column[rows] for name, column in checks.items()}
    kept["flowing"] = np.append(False, rows[1:] == rows[:-1])
    visit = kept["visit"]
    new = np.ones(len(visit), bool)
    new[1:] = visit[1:] != visit[:-1]
    first = np.maximum.accumulate(np.where(new, np.arange(len(visit)), 0))
    return kept | {"sequence": np.arange(len(visit)) - first + 1}


def check_rows(record: Record, noted: Columns, seed: int, chunk: int, rows: slice) -> pl.DataFrame:
    """Rows of the checks file."""
    checks = {name: column[rows] for name, column in noted.items()}
    rng, n, crew = stream(seed, f"check rows {chunk}"), len(checks["visit"]), record.history.crew
    technician, call = record.visits["technician"][checks["visit"]], record.visits["call"][checks["visit"]]
    names = ("cause", *WATER)
    at = {name: record.calls[name][call] for name in names}
    measures = {name: habit[technician] for name, habit in crew.measures.items()}
    codes = crew.habits["codes"][technician]
    noted_reading = chance(rng, crew.habits["readings"][technician], n)
    timed = chance(rng, crew.habits["minutes"][technician], n)
    with_call = chance(rng, load()["office"]["written"]["call_id_beside_visit"], n)
    frame = readings(rng, checks, at, measures, noted_reading)
    minutes = np.where(timed, np.maximum(np.round(checks["minutes"]), 1), np.nan)
    return pl.DataFrame(
        {
            "visit_id": numbered("V", checks["visit"] + 1, 7),
            "call_id": numbered("C", call + 1, 7, blank=~with_call),
            "sequence": checks["sequence"],
            "check": say(rng, "check", trade().checks, checks["check"], codes, _misspelt()),
            "reading": frame["reading"],
            "reading_unit": frame["reading_unit"],
            "state": frame["state"],
            "finding": say(rng, "finding", FINDINGS, checks["finding"], codes, 0.0),
            "minutes": pl.Series(minutes).fill_nan(None).cast(pl.Int64),
        }
    )


def part_rows(record: Record, seed: int, chunk: int, rows: slice) -> pl.DataFrame:
    """Rows of the parts file."""
    parts = {name: column[rows] for name, column in record.parts.items()}
    rng, n = stream(seed, f"part rows {chunk}"), len(parts["visit"])
    codes = record.history.crew.habits["codes"][record.visits["technician"][parts["visit"]]]
    call = record.visits["call"][parts["visit"]]
    written = load()["office"]["written"]
    priced = chance(rng, written["part_cost"], n)
    return pl.DataFrame(
        {
            "visit_id": numbered("V", parts["visit"] + 1, 7),
            "call_id": numbered("C", call + 1, 7, blank=~chance(rng, written["call_id_beside_visit"], n)),
            "part": say(rng, "part", trade().parts, parts["part"], codes, _misspelt()),
            "quantity": parts["quantity"].astype(np.int64),
            "cost": pl.Series(np.where(priced, parts["cost"], np.nan)).fill_nan(None),
        }
    )


def unit_rows(record: Record, seed: int) -> pl.DataFrame:
    """Rows of the units file; some facts are not known of some units."""
    rng, kept = stream(seed, "unit rows"), np.flatnonzero(record.unit_row >= 0)
    units = {name: column[kept] for name, column in record.units.items()}
    places, place, n = record.history.places, units["place"], len(kept)
    shutoff = record.history.places_at_start["shutoff"][place]
    end = record.history.end_day

    def unknown(fact: str) -> Bools:
        return ~chance(rng, load()["office"]["unit_facts"][fact], n)

    retired = np.where(units["retirement_known"] & (units["retired"] < end), units["retired"], np.nan)
    return pl.DataFrame(
        {
            "unit_id": numbered("U", np.arange(n) + 1, 6),
            "installed_on": days_as_dates(np.where(unknown("installed_on"), np.nan, units["installed"])),
            "product_family": _codes(FAMILIES, units["family"], unknown("product_family")),
            "ice_maker_kind": _codes(ICE_MAKERS, units["ice_maker"], unknown("ice_maker_kind")),
            "filter_kind": _codes(FILTER_KINDS, units["filter_kind"], unknown("filter_kind")),
            "water_supply": _codes(SUPPLIES, places.supply[place], unknown("water_supply")),
            "shutoff_valve": _codes(SHUTOFFS, shutoff, unknown("shutoff_valve")),
            "location": _codes(LOCATIONS, places.location[place], unknown("location")),
            "household_id": numbered("H", places.household[place] + 1, 6),
            "depot": depot_names(record.history.depots).gather(places.depot[place].astype(np.int64)),
            "retired_on": days_as_dates(retired),
        }
    )


def filter_change_rows(record: Record, seed: int) -> pl.DataFrame:
    """Rows of the filter changes file: the changes that the office knows of."""
    changes = record.filter_changes
    return pl.DataFrame(
        {
            "unit_id": numbered("U", record.unit_row[changes["unit"]] + 1, 6),
            "changed_on": days_as_dates(changes["day"].astype(float)),
        }
    )


def technician_rows(record: Record, seed: int) -> pl.DataFrame:
    """Rows of the technicians file."""
    crew = record.history.crew
    return pl.DataFrame(
        {
            "technician_id": numbered("T", np.arange(len(crew.depot)) + 1, 3),
            "depot": depot_names(record.history.depots).gather(crew.depot.astype(np.int64)),
            "started_on": days_as_dates(crew.started),
        }
    )


def follow_up_rows(record: Record, seed: int) -> pl.DataFrame:
    """Rows of the follow-ups file."""
    asked = follow_ups(record, seed)
    rng = stream(seed, "follow-up rows")
    return pl.DataFrame(
        {
            "call_id": _call_ids(asked["call"]),
            "asked_on": days_as_dates(asked["day"]),
            "answer": say(
                rng,
                "follow_up_answer",
                ANSWERS,
                asked["answer"],
                load()["office"]["written"]["answer_as_code"],
                0.0,
            ),
            "source": pl.Series(["telephone", "text message"]).gather(asked["by"].astype(np.int64)),
        }
    )
