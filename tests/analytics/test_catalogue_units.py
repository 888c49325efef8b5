"""Units of measure against published conversions.

Source: NIST Special Publication 811 (2008), appendix B: 1 psi = 6.894757 kPa, 1 US gallon = 3.785412 L,
t/degC = (t/degF - 32)/1.8; scipy.constants agrees.
"""

import duckdb
import pytest
from scipy import constants

from analytics.catalogue import load_catalogue
from analytics.catalogues.units_of_measure import read_units
from analytics.errors import BadCatalogue, BadQuestion


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


@pytest.mark.parametrize(
    ("value", "written", "wanted", "expected"),
    [
        (20, "psi", "kPa", 137.895146),
        (30, "PSI", "kpa", 206.842719),
        (120, "psig", "kPa", 827.370875),
        (1, "gal", "L", 3.785411784),
        (0.5, "gallon", "litres", 1.892705892),
        (0, "°F", "°C", -17.777778),
        (32, "deg F", "C", 0),
        (40, "F", "degC", 4.444444),
        (212, "f", "celsius", 100),
        (-18, "°C", "°F", -0.4),
        (0.3, "kohm", "Ω", 300),
        (100, "kPa", "bar", 1),
        (1, "inch", "mm", 25.4),
        (1, "gpm", "L/min", 3.785411784),
        (2, "h", "minutes", 120),
    ],
)
def test_published_conversions(catalogue, value, written, wanted, expected):
    assert catalogue.convert(value, written, wanted) == pytest.approx(expected, abs=5e-7)


def test_factors_agree_with_scipy(catalogue):
    assert catalogue.convert(1, "psi", "kPa") * 1000 == pytest.approx(constants.psi, rel=1e-12)
    assert catalogue.convert(1, "gal", "L") / 1000 == pytest.approx(constants.gallon, rel=1e-12)
    assert catalogue.convert(1, "fl oz", "mL") / 1e6 == pytest.approx(constants.fluid_ounce, rel=1e-12)
    assert catalogue.convert(1, "lb", "kg") == pytest.approx(constants.lb, rel=1e-12)


def test_there_and_back(catalogue):
    for unit in catalogue.units.values():
        there = catalogue.convert(7.5, unit.code, unit.canonical)
        assert catalogue.convert(there, unit.canonical, unit.code) == pytest.approx(7.5)


def test_pressure_is_no_temperature(catalogue):
    with pytest.raises(BadQuestion, match="psi measures pressure and degF temperature"):
        catalogue.convert(1, "psi", "degF")


def test_unknown_unit_is_named(catalogue):
    with pytest.raises(BadQuestion, match="'furlong'"):
        catalogue.convert(1, "furlong", "mm")


def test_frame_converts_in_sql_as_documented(catalogue):
    units = catalogue.frames()["units_of_measure"]
    assert units["spelling"].is_unique().all()
    rows = duckdb.sql("""
        with readings (value, written) as (
            values (68.9475729, 'kPa'), (50, 'PSI'), (32, '°F'), (0.3, 'K Ohm')
        )
        select value * scale + "offset" as canonical, canonical_unit
        from readings
        join units on spelling = lower(replace(replace(replace(written, ' ', ''), '.', ''), '_', ''))
    """).fetchall()
    assert sorted((round(value, 5), unit) for value, unit in rows) == [
        (0.0, "degC"),
        (10.0, "psi"),
        (50.0, "psi"),
        (300.0, "ohm"),
    ]


def test_spelling_of_two_units_is_refused(tmp_path):
    file = tmp_path / "units.toml"
    file.write_text(
        '[a]\ncanonical = "x"\nx = { scale = 1.0, spellings = ["q"] }\n'
        'y = { scale = 2.0, spellings = ["Q"] }\n'
    )
    with pytest.raises(BadCatalogue, match="'q' also means x"):
        read_units(file)
