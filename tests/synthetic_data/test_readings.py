"""Readings: in the limits of the trade on sound parts, outside them on failed ones."""

import csv
from pathlib import Path

import polars as pl
import pytest

from synthetic_data.wording import field_words
from tests.synthetic_data.tables import read, repairs


@pytest.fixture(scope="module")
def readings(fleet: Path) -> pl.DataFrame:
    """Readings with the check's code, beside the truth of their call."""
    code_of = {word: code for code, said in field_words("check").items() for word in (*said, code)}
    checks = (
        read(fleet, "checks")
        .drop("call_id")
        .join(read(fleet, "visits").select("visit_id", "call_id"), on="visit_id")
    )
    checks = checks.with_columns(code=pl.col("check").replace_strict(code_of, default=None))
    return checks.drop_nulls("reading").join(repairs(fleet), on="call_id")


def _number(readings: pl.DataFrame, code: str, unit: str) -> pl.DataFrame:
    chosen = readings.filter(pl.col("code") == code, pl.col("reading_unit") == unit)
    return chosen.with_columns(number=pl.col("reading").cast(pl.Float64, strict=False))


def test_good_coils_read_200_to_500_ohm_and_open_ones_read_open(readings: pl.DataFrame):
    coils = _number(readings, "valve_coil_ohms", "ohm")  # 200 to 500 ohm is a good coil: common practice
    assert coils["number"].drop_nulls().is_between(200, 500).all()
    failed = coils.filter(pl.col("true_cause") == "inlet_valve_open_coil")
    assert (failed["reading"] == "OL").all()
    falsely = coils.filter(pl.col("true_cause") != "inlet_valve_open_coil", pl.col("reading") == "OL")
    assert 0 < len(falsely) < 0.1 * len(coils)  # a meter on its 200-ohm range
    assert not falsely["finding"].is_in(["ok", "good", "no_fault", "no fault"]).any()


def test_pressures_say_whether_the_water_flowed_and_fall_when_it_does(readings: pl.DataFrame):
    psi = _number(readings, "pressure_static_flowing", "psi")
    assert set(psi["state"]) == {"still", "flowing"}
    assert (
        psi.filter(pl.col("state") == "flowing")["number"].mean()
        < psi.filter(pl.col("state") == "still")["number"].mean()
    )
    assert readings.filter(pl.col("code") != "pressure_static_flowing")["state"].null_count() > 0


def test_a_pressure_taken_both_ways_is_two_rows_of_one_visit(readings: pl.DataFrame):
    pressures = readings.filter(pl.col("code") == "pressure_static_flowing")
    states = (
        pressures.group_by("visit_id")
        .agg(pl.col("state").sort_by(pl.col("sequence").cast(int)))["state"]
        .to_list()
    )
    assert ["still", "flowing"] in states
    assert ["still"] in states


def test_the_bypass_gives_more_water_only_where_the_filter_is_clogged(readings: pl.DataFrame):
    both = _number(readings, "dispenser_catch", "mL").join(
        _number(readings, "filter_bypass_catch", "mL").select("visit_id", bypass="number"), on="visit_id"
    )
    ratio = both.with_columns(ratio=pl.col("bypass") / pl.col("number"))
    clogged = pl.col("true_cause") == "filter_restricted"
    assert ratio.filter(clogged)["ratio"].median() > 1.5  # over 1.5: filter restricted, from memory
    assert ratio.filter(~clogged)["ratio"].median() < 1.5


def test_freezers_stand_at_minus_18_unless_they_are_the_trouble(readings: pl.DataFrame):
    celsius = _number(readings, "freezer_temperature", "C")
    warm = pl.col("true_cause") == "freezer_warm"
    # -18 degrees C (0 F): US FDA consumer guidance on refrigerator thermometers
    assert celsius.filter(~warm)["number"].mean() == pytest.approx(-18, abs=0.5)
    assert celsius.filter(warm)["number"].mean() > -12


def test_readings_come_in_several_units_of_measure(readings: pl.DataFrame):
    assert {"C", "F", "psi", "kPa", "bar", "ohm", "kohm", "mL", "L/min", "drops", "V"} >= set(
        readings["reading_unit"]
    )
    assert {"C", "F", "psi", "ohm", "mL"} <= set(readings["reading_unit"])


def test_valves_that_seep_drip_in_the_test_and_others_do_not(readings: pl.DataFrame):
    drops = _number(readings, "valve_seep_test", "drops")
    seeping = pl.col("true_cause") == "inlet_valve_seeping"
    assert (drops.filter(seeping)["number"] > 0).all()
    assert (drops.filter(~seeping)["number"] == 0).all()


def test_sequence_counts_the_checks_noted_of_each_visit(fleet: Path):
    with (fleet / "checks.csv").open(newline="", encoding="utf-8") as file:
        seen: dict[str, int] = {}
        for row in csv.DictReader(file):
            seen[row["visit_id"]] = seen.get(row["visit_id"], 0) + 1
            assert int(row["sequence"]) == seen[row["visit_id"]]
