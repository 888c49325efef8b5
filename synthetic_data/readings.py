"""Readings: what the meter, gauge or cup shows at a check, in the technician's own unit of measure."""

import numpy as np
import polars as pl

from synthetic_data.ledger import Columns
from synthetic_data.streams import Bools, Floats, chance
from synthetic_data.trade import trade

_PSI_IN_KPA, _PSI_IN_BAR = 6.894757, 0.06894757
_DECIMALS = {
    "ohm": 0,
    "kohm": 2,
    "psi": 0,
    "kPa": 0,
    "bar": 1,
    "C": 0,
    "F": 0,
    "mL": 0,
    "L/min": 1,
    "drops": 0,
    "V": 0,
}


def _values(rng: np.random.Generator, checks: Columns, at: Columns) -> dict[str, tuple[Floats, str]]:
    """Reading of each check that has one, for every row, with its basic unit of measure."""
    facts, n = trade(), len(checks["check"])
    noise = np.exp(rng.normal(0, 0.06, n))
    cause = at["cause"]

    def has(code: str) -> Bools:
        return cause == facts.cause(code)

    flow = np.clip(at["door_l_per_min"], 0.02, 2.6)
    bypass = np.where(has("filter_restricted"), np.clip(flow * 2.2, 0.4, 2.4), flow * 1.1)
    line_end = np.sqrt(np.maximum(at["flowing_psi"], 0.5) / 9.0)
    drips = np.where(has("inlet_valve_seeping"), rng.integers(1, 15, n), 0)
    coil = np.where(has("inlet_valve_open_coil"), np.inf, rng.uniform(215, 480, n))
    heater = np.where(has("mould_heater_open"), np.inf, rng.normal(70, 4, n))
    dead = has("board_no_fill_signal") | has("harness_damaged")
    return {
        "freezer_temperature": (
            np.where(has("freezer_warm"), rng.normal(-8, 3, n), rng.normal(-18, 1.3, n)),
            "C",
        ),
        "dispenser_catch": (flow * noise * 1000 / 6, "mL"),
        "filter_bypass_catch": (bypass * noise * 1000 / 6, "mL"),
        "line_end_flow": (line_end * noise, "L/min"),
        "pressure_static_flowing": (at["pressure_psi"] * noise, "psi"),
        "valve_coil_ohms": (np.where(checks["false_open"], np.inf, coil), "ohm"),
        "valve_seep_test": (drips, "drops"),
        "fill_measure": (at["fill_ml"] * noise, "mL"),
        "heater_sensor_ohms": (heater, "ohm"),
        "valve_voltage_in_fill": (np.where(dead, rng.uniform(0, 4, n), rng.normal(118, 3, n)), "V"),
    }


def readings(
    rng: np.random.Generator, checks: Columns, at: Columns, measures: dict[str, Bools], noted: Bools
) -> pl.DataFrame:
    """Readings as texts, with unit of measure and state; all null where there is none.

    Parameters
    ----------
    checks : dict of str to array
        Rows of the record: check, false_open.
    at : dict of str to array
        What is true of the call of each row.
    measures : dict of str to Bools
        The technician's habits: fahrenheit, kilopascal, bar, kilohm.
    noted : Bools
        The technician notes readings on this occasion.

    Returns
    -------
    pl.DataFrame
        reading, reading_unit, state.
    """
    n, facts = len(noted), trade()
    value, unit = np.full(n, np.nan), np.full(n, "", dtype="U6")
    for code, (reading, basic) in _values(rng, checks, at).items():
        here = (checks["check"] == facts.check(code)) & noted
        value[here], unit[here] = reading[here], basic
    flowing = (checks["check"] == facts.check("pressure_static_flowing")) & chance(rng, 0.4, n)
    value = np.where(flowing & ~np.isnan(value), at["flowing_psi"], value)
    value, unit = _in_own_units(value, unit, measures)
    decimals = np.array([_DECIMALS[name] for name in _DECIMALS])
    names = np.array(list(_DECIMALS))
    order = np.argsort(names)
    places = decimals[order][np.searchsorted(names[order], np.where(unit == "", "C", unit))]
    finite = np.where(np.isfinite(value), value, 0)
    frame = pl.DataFrame(
        {"value": finite, "places": places, "unit": unit, "open": np.isinf(value), "has": ~np.isnan(value)}
    )
    text = pl.when(pl.col("places") == 0).then(pl.col("value").round(0).cast(pl.Int64).cast(pl.String))
    text = text.when(pl.col("places") == 1).then(pl.col("value").round(1).cast(pl.String))
    text = text.otherwise(pl.col("value").round(2).cast(pl.String))
    pressure = (checks["check"] == facts.check("pressure_static_flowing")) & ~np.isnan(value)
    state = pl.Series(np.where(pressure, np.where(flowing, "flowing", "still"), ""))
    return frame.select(
        pl.when("has").then(pl.when("open").then(pl.lit("OL")).otherwise(text)).alias("reading"),
        pl.when("has").then(pl.col("unit")).alias("reading_unit"),
        pl.lit(state).replace("", None).alias("state"),
    )


def _in_own_units(value: Floats, unit: np.ndarray, measures: dict[str, Bools]) -> tuple[Floats, np.ndarray]:
    for basic, habit, own, scale, shift in (
        ("C", "fahrenheit", "F", 1.8, 32.0),
        ("psi", "kilopascal", "kPa", _PSI_IN_KPA, 0.0),
        ("psi", "bar", "bar", _PSI_IN_BAR, 0.0),
        ("ohm", "kilohm", "kohm", 0.001, 0.0),
    ):
        here = (unit == basic) & measures[habit]
        value, unit = np.where(here, value * scale + shift, value), np.where(here, own, unit)
    return value, unit
