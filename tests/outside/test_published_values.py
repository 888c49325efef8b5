"""Values published elsewhere, against what the program computes. The source stands beside each value.

Evidence: [published] read in the publication or a stored copy of it; [secondary] read in somebody's test file
or page that quotes it; [memory] remembered, and recomputed with statsmodels 0.15 or scipy 1.17.
"""

import math
from datetime import date
from functools import cache

import numpy as np
import polars as pl
import pytest
from scipy import constants, stats

from analytics.catalogue import load_catalogue
from analytics.questions.half_years import half_years
from analytics.statistics.intervals import wilson
from dashboard.figures import look

catalogue = cache(load_catalogue)

# Newcombe RG (1998), Two-sided confidence intervals for the single proportion: comparison of seven methods,
# Statistics in Medicine 17:857-872, Table I, method 3 (Wilson, no continuity correction), 95%. [secondary]
NEWCOMBE_1998 = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)]


@pytest.mark.parametrize(("numerator", "denominator", "low", "high"), NEWCOMBE_1998)
def test_wilson_gives_newcombes_table(numerator, denominator, low, high):
    found = wilson([numerator], [denominator])
    assert (round(found[0][0], 4), round(found[1][0], 4)) == (low, high)


def test_wilson_of_mendels_peas():
    # 682 of 925: Conover 1971, pp. 97-104, by the help page of R binom.test [memory]; limits by statsmodels.
    low, high = wilson([682], [925])
    assert (low[0], high[0]) == pytest.approx((0.707996, 0.764636), abs=5e-7)


def test_wilson_solves_the_equation_it_is_defined_by():
    # Wilson EB (1927), Journal of the American Statistical Association 22:209-212 [memory]: the limits are
    # the rates p at which |x/n - p| = z sqrt(p (1 - p) / n).
    counted, among = (grid.ravel() for grid in np.meshgrid(np.arange(1, 12), [13, 50, 400, 100_000]))
    for limit in wilson(counted, among):
        distance = np.abs(counted / among - limit)
        expected = stats.norm.ppf(0.975) * np.sqrt(limit * (1 - limit) / among)
        np.testing.assert_allclose(distance, expected, rtol=1e-9)


@pytest.mark.parametrize("among", [1, 2, 5, 20, 263, 1_000_000])
def test_limits_at_the_edges_are_exact(among):
    # No tiny negative number for none, no 1.0000000002 for all.
    low, high = wilson([0, among], [among, among])
    assert low[0] == 0.0
    assert high[1] == 1.0
    assert 0.0 < high[0] < 1.0
    assert 0.0 < low[1] < 1.0


def test_nothing_counted_gives_no_interval():
    low, high = wilson([0], [0])
    assert math.isnan(low[0])
    assert math.isnan(high[0])


# Newcombe RG (1998), Interval estimation for the difference between independent proportions: comparison of
# eleven methods, Statistics in Medicine 17:873-890, Table II, method 10, rows a, b, d and f. [secondary]
NEWCOMBE_1998_DIFFERENCES = [
    ((56, 70), (48, 80), 0.0524, 0.3339),
    ((9, 10), (3, 10), 0.1705, 0.8090),
    ((5, 56), (0, 29), -0.0381, 0.1926),
    ((0, 10), (0, 10), -0.2775, 0.2775),
]


def half_year(counted, among):
    """Six months with these counts in all: a call a month and the rest in the first, filled from there."""
    sizes = [among - 5, 1, 1, 1, 1, 1]
    return [(max(0, min(size, counted - sum(sizes[:n]))), size) for n, size in enumerate(sizes)]


@pytest.mark.parametrize(("now", "before", "low", "high"), NEWCOMBE_1998_DIFFERENCES)
def test_change_over_half_years_has_newcombes_interval(now, before, low, high):
    numerators, denominators = zip(*half_year(*before), *half_year(*now), strict=True)
    months = pl.date_range(date(2025, 1, 1), date(2025, 12, 1), "1mo", eager=True)
    frame = pl.DataFrame({"month": months, "numerator": numerators, "denominator": denominators})
    found = half_years(frame.with_columns(inside_window=0))
    assert (found.now.numerator, found.now.denominator) == now
    assert (found.before.numerator, found.before.denominator) == before
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)


# NIST Special Publication 811 (2008), appendix B.8 [memory], digits as given there.
NIST_811 = [
    (1, "psi", "kPa", 6.894757),
    (20, "psi", "kPa", 137.8951),
    (120, "psi", "kPa", 827.3709),
    (1, "bar", "kPa", 100.0),
    (1, "gal", "L", 3.785412),
    (1, "gpm", "L/min", 3.785412),
    (1, "inch", "mm", 25.4),
    (1, "fl oz", "mL", 29.57353),
    (1, "cup", "mL", 236.5882),
    (1, "pound", "kg", 0.4535924),
    (0, "°F", "°C", -17.77778),
    (32, "°F", "°C", 0.0),
    (40, "°F", "°C", 4.444444),
    (212, "°F", "°C", 100.0),
]


@pytest.mark.parametrize(("value", "given", "wanted", "published"), NIST_811)
def test_conversions_are_those_of_nist(value, given, wanted, published):
    assert catalogue().convert(value, given, wanted) == pytest.approx(published, rel=5e-7, abs=5e-6)


def test_conversions_are_those_of_scipy():
    # scipy.constants is kept apart from this project, and carries the exact definitions.
    convert = catalogue().convert
    assert convert(1, "psi", "kPa") == pytest.approx(constants.psi / constants.kilo, rel=1e-12)
    assert convert(1, "gal", "L") == pytest.approx(constants.gallon / constants.liter, rel=1e-12)
    assert convert(1, "fl oz", "L") == pytest.approx(constants.fluid_ounce / constants.liter, rel=1e-12)
    assert convert(1, "inch", "mm") == pytest.approx(constants.inch / constants.milli, rel=1e-12)
    assert convert(1, "pound", "kg") == pytest.approx(constants.pound, rel=1e-12)
    for degrees in (-40, 0, 32, 40, 212):
        celsius = constants.convert_temperature(degrees, "Fahrenheit", "Celsius")
        assert convert(degrees, "F", "C") == pytest.approx(celsius, abs=1e-9)


def test_there_and_back_is_where_it_began():
    for unit in catalogue().units.values():
        there = catalogue().convert(37.5, unit.code, unit.canonical)
        assert catalogue().convert(there, unit.canonical, unit.code) == pytest.approx(37.5, rel=1e-12)


def test_marks_have_colours_of_the_palette_for_colour_blind_readers():
    # Okabe M, Ito K (2008), Color Universal Design: blue and vermillion [secondary: package okabeito 0.99].
    assert (look.ACCENT.upper(), look.FLAG.upper()) == ("#0072B2", "#D55E00")
