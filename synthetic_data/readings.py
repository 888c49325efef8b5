"""Readings: what the meter, gauge or cup shows at a check, in the technician's own unit of measure."""

import numpy as np
import polars as pl

from synthetic_data.assumptions import load
from synthetic_data.ledger import Columns
from synthetic_data.streams import Bools, Floats, Ints
from synthetic_data.trade import trade

# Facts of the call that a reading needs.
WATER = ("door_l_per_min", "bypass_l_per_min", "line_end_l_per_min", "pressure_psi", "flowing_psi", "fill_ml")
UNITS = ("C", "F", "psi", "kPa", "bar", "ohm", "kohm", "mL", "L/min", "drops", "V")
_DECIMALS = np.array([0, 0, 0, 0, 1, 0, 2, 0, 1, 0, 0])
# Basic unit, habit that changes it, own unit, factor, shift. 1 psi = 6.894757 kPa: NIST SP 811, app. B.8.
_OWN = (
    ("C", "fahrenheit", "F", 1.8, 32.0),
    ("psi", "kilopascal", "kPa", 6.894757, 0.0),
    ("psi", "bar", "bar", 0.06894757, 0.0),
    ("ohm", "kilohm", "kohm", 0.001, 0.0),
)
_CATCH_ML = 1000 / 6  # a catch of 10 s at 1 L/min


def _values(rng: np.random.Generator, checks: Columns, at: Columns) -> dict[str, tuple[Floats, str]]:
    """Reading of each check that has one, for every row, with its basic unit of measure."""
    facts, assume, n = trade(), load()["checks"]["reading"], len(checks["check"])
    noise = np.exp(rng.normal(0, load()["checks"]["reading_noise"], n))

    def has(*codes: str) -> Bools:
        return np.isin(at["cause"], [facts.cause(code) for code in codes])

    warm, sound = (
        rng.normal(assume["warm"], assume["warm_sd"], n),
        rng.normal(assume["sound"], assume["sound_sd"], n),
    )
    drops = rng.integers(1, assume["drops_most"] + 1, n)
    coil = rng.uniform(assume["coil_low"], assume["coil_high"], n)
    open_coil = has("inlet_valve_open_coil") | checks["false_open"]
    heater = rng.normal(assume["heater"], assume["heater_sd"], n)
    dead, mains = rng.uniform(0, assume["dead_most"], n), rng.normal(assume["mains"], assume["mains_sd"], n)
    return {
        "freezer_temperature": (np.where(has("freezer_warm"), warm, sound), "C"),
        "dispenser_catch": (at["door_l_per_min"] * noise * _CATCH_ML, "mL"),
        "filter_bypass_catch": (at["bypass_l_per_min"] * noise * _CATCH_ML, "mL"),
        "line_end_flow": (at["line_end_l_per_min"] * noise, "L/min"),
        "pressure_static_flowing": (at["pressure_psi"] * noise, "psi"),
        "valve_coil_ohms": (np.where(open_coil, np.inf, coil), "ohm"),
        "valve_seep_test": (np.where(has("inlet_valve_seeping"), drops, 0), "drops"),
        "fill_measure": (at["fill_ml"] * noise, "mL"),
        "heater_sensor_ohms": (np.where(has("mould_heater_open"), np.inf, heater), "ohm"),
        "valve_voltage_in_fill": (np.where(has("board_no_fill_signal", "harness_damaged"), dead, mains), "V"),
    }


def readings(
    rng: np.random.Generator, checks: Columns, at: Columns, measures: dict[str, Bools], noted: Bools
) -> pl.DataFrame:
    """Readings as texts, with unit of measure and state; all null where there is none.

    Parameters
    ----------
    checks : dict of str to array
        Rows of the record: check, false_open, flowing (the pressure was taken with the water on).
    at : dict of str to array
        What is true of the call of each row: cause, and the facts in WATER.
    measures : dict of str to Bools
        The technician's habits: fahrenheit, kilopascal, bar, kilohm.
    noted : Bools
        The technician notes readings on this occasion.

    Returns
    -------
    pl.DataFrame
        reading ("OL" for an open circuit), reading_unit, state (still or flowing, of pressures).
    """
    n, facts = len(noted), trade()
    value: Floats = np.full(n, np.nan)
    unit: Ints = np.zeros(n, np.int64)
    for code, (reading, basic) in _values(rng, checks, at).items():
        here = (checks["check"] == facts.check(code)) & noted
        value[here], unit[here] = reading[here], UNITS.index(basic)
    pressure = (checks["check"] == facts.check("pressure_static_flowing")) & noted
    flowing = pressure & checks["flowing"]
    value = np.where(flowing, at["flowing_psi"], value)
    value, unit = _in_own_units(value, unit, measures)
    frame = pl.DataFrame({"value": value, "decimals": _DECIMALS[unit], "unit": pl.Series(UNITS).gather(unit)})
    state = pl.Series(["still", "flowing", None]).gather(np.where(pressure, flowing, 2).astype(np.int64))
    known = ~pl.col("value").is_nan()
    return frame.select(
        pl.when(known).then(_text()).alias("reading"),
        pl.when(known).then("unit").alias("reading_unit"),
        state.alias("state"),
    )


def _text() -> pl.Expr:
    """Value with its decimals; an infinite one is an open circuit."""
    value, decimals = pl.col("value"), pl.col("decimals")
    finite = pl.when(value.is_finite()).then(value)
    return pl.coalesce(
        pl.when(value.is_infinite()).then(pl.lit("OL")),
        pl.when(decimals == 0).then(finite.round(0).cast(pl.Int64).cast(pl.String)),
        *(pl.when(decimals == places).then(finite.round(places).cast(pl.String)) for places in (1, 2)),
    )


def _in_own_units(value: Floats, unit: Ints, measures: dict[str, Bools]) -> tuple[Floats, Ints]:
    for basic, habit, own, scale, shift in _OWN:
        here = (unit == UNITS.index(basic)) & measures[habit]
        value = np.where(here, value * scale + shift, value)
        unit = np.where(here, UNITS.index(own), unit)
    return value, unit
