"""Rates of wear: rising with age, and never above the ceiling used to thin them."""

from datetime import date

import numpy as np
import pytest

from synthetic_data import calendar
from synthetic_data.places import Places
from synthetic_data.simulation import simulate
from synthetic_data.wear import hazard_ceiling, wear_faults, wear_hazards


@pytest.fixture(scope="module")
def places() -> Places:
    return simulate(2_000, 4, calendar.day_number(date(2026, 10, 31)) + 1.0, 500).places


def test_the_ceiling_is_never_exceeded(places: Places):
    who = np.flatnonzero(places.unit >= 0)
    for day in np.linspace(18_000, 21_000, 40):
        total = wear_hazards(places, who, day).sum(axis=1)
        assert (total <= hazard_ceiling(places, who, day)).all()


def test_a_ceiling_one_fifth_lower_would_be_exceeded(places: Places):
    who = np.flatnonzero(places.unit >= 0)
    exceeded = [
        (wear_hazards(places, who, day).sum(axis=1) > 0.8 * hazard_ceiling(places, who, day)).any()
        for day in np.linspace(18_000, 21_000, 40)
    ]
    assert any(exceeded)


def test_parts_that_wear_out_fail_more_often_with_age(places: Places):
    who = np.flatnonzero(places.unit >= 0)
    codes = wear_faults().codes
    young = wear_hazards(places, who, float(places.installed[who].max()) + 400).mean(axis=0)
    old = wear_hazards(places, who, float(places.installed[who].max()) + 400 + 5 * 365.25).mean(axis=0)
    for code in ("module_failed", "inlet_valve_open_coil", "freezer_warm"):
        assert old[codes.index(code)] > young[codes.index(code)]


def test_units_without_a_dispenser_have_no_dispenser_faults(places: Places):
    who = np.flatnonzero((places.unit >= 0) & ~places.dispenser)
    at = [wear_faults().codes.index(code) for code in ("auger_drive_failed", "dispenser_switch_failed")]
    assert (wear_hazards(places, who, 20_000.0)[:, at] == 0).all()


def test_summer_brings_warm_freezers_and_winter_frozen_lines(places: Places):
    who, codes = np.flatnonzero(places.unit >= 0), wear_faults().codes
    july = wear_hazards(places, who, calendar.day_number(date(2025, 7, 24)) + 0.0).mean(axis=0)
    january = wear_hazards(places, who, calendar.day_number(date(2025, 1, 20)) + 0.0).mean(axis=0)
    assert july[codes.index("freezer_warm")] > 1.5 * january[codes.index("freezer_warm")]
    assert january[codes.index("supply_line_fault")] > 1.5 * july[codes.index("supply_line_fault")]
