"""The truth behind the record, kept in files of its own: what nobody in the office knows."""

from pathlib import Path

import numpy as np
import polars as pl

from synthetic_data.columns import days_as_dates, days_as_times, numbered
from synthetic_data.filters import CHANGED_BY
from synthetic_data.ledger import Columns
from synthetic_data.names import depot_names
from synthetic_data.places import SHUTOFFS, SUPPLIES
from synthetic_data.record import Record
from synthetic_data.trade import trade


def _codes(names: tuple[str, ...], at: np.ndarray) -> pl.Series:
    """Codes by number, null for -1."""
    return pl.Series([*names, None], dtype=pl.String).gather(
        np.where(at < 0, len(names), at).astype(np.int64)
    )


def true_calls(record: Record, said: list[Columns]) -> pl.DataFrame:
    """One row a call: true cause, symptoms meant, water and filter as they were, whether it was mended."""
    calls, facts = record.calls, trade()
    second = np.concatenate([one["second"] for one in said])
    same = np.concatenate([one["said_same"] for one in said])
    repair = calls["job"] == 0
    return pl.DataFrame(
        {
            "call_id": numbered("C", np.arange(len(second)) + 1, 7),
            "unit_id": numbered("U", record.unit_row[calls["unit"]] + 1, 6),
            "true_cause": _codes(facts.causes, calls["cause"]),
            "named_cause": _codes(facts.causes, np.where(repair, calls["named"], -1)),
            "shown_by_a_check": calls["shown"],
            "symptom": _codes(facts.symptoms, calls["symptom"]),
            "second_symptom": _codes(facts.symptoms, second),
            "said_same_again": same,
            "began_at": days_as_times(np.where(calls["cause"] >= 0, calls["began"], np.nan)),
            "failed_visits_before": calls["tries"],
            "follows_call_id": numbered("C", calls["last_call"] + 1, 7, blank=calls["last_call"] < 0),
            "return_trip": calls["trip"],
            "duplicate": calls["twice"],
            "mended": calls["mended"],
            "fill_ml": np.round(calls["fill_ml"].astype(float), 1),
            "door_l_per_min": np.round(calls["door_l_per_min"].astype(float), 3),
            "pressure_psi": np.round(calls["pressure_psi"].astype(float), 1),
            "flowing_psi": np.round(calls["flowing_psi"].astype(float), 1),
            "tube_frozen": calls["frozen"],
            "filter_changed_on": days_as_dates(calls["filter_day"]),
            "owner_changed_filter_in_trouble": calls["own_change"],
        }
    )


def true_units(record: Record) -> pl.DataFrame:
    """One row a unit: its water, its owner's habit, its proneness to trouble and its real end."""
    kept = np.flatnonzero(record.unit_row >= 0)
    units = {name: column[kept] for name, column in record.units.items()}
    places, start, place = record.history.places, record.history.places_at_start, units["place"]
    interval = start["interval"][place]
    return pl.DataFrame(
        {
            "unit_id": numbered("U", np.arange(len(kept)) + 1, 6),
            "installed_on": days_as_dates(units["installed"]),
            "retired_on": days_as_dates(units["retired"]),
            "pressure_psi": np.round(start["usual_pressure"][place].astype(float), 1),
            "water_supply": _codes(SUPPLIES, places.supply[place]),
            "shutoff_valve": _codes(SHUTOFFS, start["shutoff"][place]),
            "line_resistance": np.round(places.line[place].astype(float), 2),
            "sediment": np.round(start["sediment"][place].astype(float), 3),
            "hardness_mg_per_l": np.round(start["hardness"][place].astype(float), 0),
            "filter_interval_days": pl.Series(
                np.where(np.isfinite(interval), np.round(interval), np.nan)
            ).fill_nan(None),
            "proneness": np.round(units["frailty"].astype(float), 3),
        }
    )


def true_technicians(record: Record) -> pl.DataFrame:
    """One row a technician and group of causes: skill as a logit, and the habits of writing down."""
    crew, groups = record.history.crew, trade().groups
    n = len(crew.depot)
    technician, group = np.repeat(np.arange(n), len(groups)), np.tile(np.arange(len(groups)), n)
    return pl.DataFrame(
        {
            "technician_id": numbered("T", technician + 1, 3),
            "depot": depot_names(record.history.depots).gather(crew.depot[technician].astype(np.int64)),
            "causes": _codes(groups, group),
            "skill_logit": np.round(crew.skill[technician, group], 3),
            "thoroughness": np.round(crew.thorough[technician], 3),
            "handful": np.round(crew.handful[technician], 3),
            **{f"writes_{name}": np.round(habit[technician], 3) for name, habit in crew.habits.items()},
        }
    )


def true_filter_changes(record: Record) -> pl.DataFrame:
    """One row a filter change, by whom, and whether the office knows of it."""
    changes = record.true_filter_changes
    return pl.DataFrame(
        {
            "unit_id": numbered("U", record.unit_row[changes["unit"]] + 1, 6),
            "changed_on": days_as_dates(changes["day"].astype(float)),
            "changed_by": _codes(CHANGED_BY, changes["by"]),
            "known_to_office": changes["known"].astype(bool),
        }
    )


def write_truth(record: Record, said: list[Columns], folder: Path) -> None:
    """Write calls.csv, units.csv, technicians.csv and filter_changes.csv of the truth."""
    for name, frame in (
        ("calls", true_calls(record, said)),
        ("units", true_units(record)),
        ("technicians", true_technicians(record)),
        ("filter_changes", true_filter_changes(record)),
    ):
        frame.write_csv(folder / f"{name}.csv", datetime_format="%Y-%m-%d %H:%M", date_format="%Y-%m-%d")
