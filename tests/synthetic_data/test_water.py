"""Pressure, flow, fill and blame, against values worked by hand."""

import numpy as np
import pytest

from synthetic_data.assumptions import load
from synthetic_data.filters import filter_resistance
from synthetic_data.places import OSMOSIS, QUARTER_TURN, SADDLE, TOWN, Places, settle
from synthetic_data.streams import stream
from synthetic_data.water import (
    blame_for_fill,
    fill_of,
    flowing_pressure,
    free_flow,
    hole_to_blame,
    line_resistance,
    normal_fill_ml,
    pressure_drip,
)

ONE = np.array([0])
NOW = 10_000.0


@pytest.fixture
def place() -> Places:
    """One sound place: 60 psi, a quarter-turn valve, a new filter."""
    one = settle(stream(3, "test"), 1, 4, 0.0, 1.0)
    one.supply[:], one.shutoff[:], one.pressure[:], one.line[:] = TOWN, QUARTER_TURN, 60.0, 4.0
    one.use[:], one.sediment[:], one.filter_kind[:], one.filter_day[:] = 1.0, 1.0, 0, NOW
    one.screen[:] = load()["wear"]["fixed_resistance"]["screen"]
    return one


def test_flow_is_the_root_of_pressure_over_resistance():
    # 36 psi over 9 psi/(L/min)^2: q = sqrt(36 / 9) = 2 L/min, by hand
    assert free_flow(np.array([36.0]), np.array([9.0])) == pytest.approx(2.0)


def test_a_healthy_line_fills_at_twenty_psi_and_no_more_at_sixty(place: Places):
    whole = line_resistance(place, ONE, NOW)
    assert fill_of(np.array([60.0]), whole) == pytest.approx(normal_fill_ml())
    assert fill_of(np.array([20.0]), whole) == pytest.approx(normal_fill_ml(), rel=0.01)
    assert fill_of(np.array([5.0]), whole) < 0.6 * normal_fill_ml()


def test_a_normal_fill_lies_in_the_range_of_the_trade():
    assert 100 <= normal_fill_ml() <= 140  # about 100 to 140 mL, from memory


def test_a_filter_restricts_more_the_longer_it_is_in(place: Places):
    days = np.array([0, 90, 183, 365, 730])
    resistance = [float(filter_resistance(place, ONE, NOW + day)[0]) for day in days]
    assert resistance == sorted(resistance)
    assert resistance[2] < 2 * resistance[0]  # sound at the advised 6 months (common practice)
    assert resistance[4] > 10 * resistance[0]  # chokes at two years
    place.sediment[:] = 4.0
    assert filter_resistance(place, ONE, NOW + 365) > resistance[3]


def test_without_a_filter_there_is_only_the_bypass(place: Places):
    place.filter_day[:] = np.nan
    assert filter_resistance(place, ONE, NOW + 3000) == load()["wear"]["fixed_resistance"]["bypass"]


@pytest.mark.parametrize("blamed", range(4))
def test_blame_falls_on_what_was_spoilt(place: Places, blamed: int):
    if blamed == 0:
        place.shutoff[:], place.hole[:] = SADDLE, 300.0
    elif blamed == 1:
        place.pressure[:], place.supply[:] = 4.0, OSMOSIS
    elif blamed == 2:
        place.filter_day[:] = NOW - 1500
    else:
        place.screen[:] = 300.0
    assert fill_of(place.pressure, line_resistance(place, ONE, NOW)) < 80
    assert blame_for_fill(place, ONE, NOW) == blamed


def test_low_pressure_and_a_clogged_saddle_valve_make_the_valve_seep(place: Places):
    assert pressure_drip(place, ONE) == 0
    place.pressure[:] = 15.0
    assert pressure_drip(place, ONE) > 0
    assert not hole_to_blame(place, ONE)
    place.pressure[:], place.shutoff[:], place.hole[:] = 60.0, SADDLE, 80.0
    assert flowing_pressure(place, ONE) < load()["wear"]["closing_pressure"]["least_psi"]
    assert pressure_drip(place, ONE) > 0
    assert hole_to_blame(place, ONE)
