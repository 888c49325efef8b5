"""Quantities and days in answers."""

from datetime import date

import pytest

from analytics.catalogue import load_catalogue
from analytics.intake.normalising import code_texts


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


def read(catalogue, field, *texts, **options):
    row = code_texts(catalogue, field, texts, **options).row(0, named=True)
    return row["codes"], row["number"], row["number_unit"], row["day"]


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("8 months", 8, "months"),
        ("2 yrs", 2, "years"),
        ("about a year", 1, "years"),
        ("year and a half ago", 1.5, "years"),
        ("one and a half years", 1.5, "years"),
        ("1 1/2 years", 1.5, "years"),
        ("half a year", 6, "months"),
        ("six months", 6, "months"),
        ("6-8 months", 7, "months"),
        ("3 or 4 months", 3.5, "months"),
        ("2 years 3 months", 27, "months"),
        ("a couple of weeks", 14, "days"),
        ("a few months", 3, "months"),
        ("last week", 7, "days"),
        ("last month", 1, "months"),
        ("1,5 years", 1.5, "years"),
        ("6m", 6, "months"),
        ("10 days ago or so", 10, "days"),
        ("over two years", 2, "years"),
    ],
)
def test_time_since_the_filter_was_changed(catalogue, text, number, unit):
    codes, found, found_unit, day = read(catalogue, "filter_last_changed", text)
    assert (codes, found_unit, day) == (["months"], unit, None)
    assert found == pytest.approx(number)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2025-03-03", date(2025, 3, 3)),
        ("3 Mar 2025", date(2025, 3, 3)),
        ("3rd of March 2025", date(2025, 3, 3)),
        ("March 3, 2025", date(2025, 3, 3)),
        ("March 3,2025", date(2025, 3, 3)),
        ("Mar 2025", date(2025, 3, 15)),
        ("Jan '23", date(2023, 1, 15)),
        ("03/2025", date(2025, 3, 15)),
        ("13/03/2025", date(2025, 3, 13)),
        ("03/13/25", date(2025, 3, 13)),
        ("5.5.2024", date(2024, 5, 5)),
        ("12/03/2025", None),  # the twelfth of March or the third of December: nobody said
        ("31/02/2025", None),  # no such day
        ("2019", None),
        ("in June", None),
    ],
)
def test_days(catalogue, text, day):
    assert read(catalogue, "filter_last_changed", text) == (["date"], None, None, day)


def test_order_of_day_and_month_is_settled_over_the_field(catalogue):
    assert read(catalogue, "filter_last_changed", "12/03/2025", "25/12/2024")[3] == date(2025, 3, 12)
    assert read(catalogue, "filter_last_changed", "12/03/2025", "12/25/2024")[3] == date(2025, 12, 3)
    assert read(catalogue, "filter_last_changed", "12/03/2025", "25/12/2024", "12/25/2024")[3] is None


def test_order_of_day_and_month_may_be_said(catalogue):
    assert read(catalogue, "filter_last_changed", "12/03/2025", day_first=True)[3] == date(2025, 3, 12)
    assert read(catalogue, "filter_last_changed", "12/03/2025", day_first=False)[3] == date(2025, 12, 3)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("never", "never"),
        ("never in 5 years", "never"),
        ("last autumn", "season"),
        ("when we moved in", "moved_in"),
        ("when the light came on", "light_came_on"),
        ("don't know", "dont_know"),
    ],
)
def test_answers_without_a_quantity(catalogue, text, code):
    assert read(catalogue, "filter_last_changed", text) == ([code], None, None, None)


@pytest.mark.parametrize(
    ("text", "code", "number", "unit"),
    [
        ("6 hours", "today", 0.25, "days"),
        ("3 days", "days", 3, "days"),
        ("since yesterday", "days", 1, "days"),
        ("2 weeks", "weeks", 14, "days"),
        ("five weeks", "months", 35, "days"),
        ("2 months", "months", 2, "months"),
        ("a year", "months", 1, "years"),
        ("weeks", "weeks", None, None),
        ("on and off for 3 months", "comes_and_goes", None, None),
        ("since new", "since_new", None, None),
    ],
)
def test_how_long_it_has_been_going_on(catalogue, text, code, number, unit):
    assert read(catalogue, "problem_duration", text) == ([code], number, unit, None)


@pytest.mark.parametrize(
    ("text", "code", "number", "unit"),
    [
        ("7", "years", 7, "years"),
        ("7 years", "years", 7, "years"),
        ("20 days", "new", 20, "days"),
        ("under a month", "new", 1, "months"),
        ("brand new", "new", None, None),
        ("came with the house", "came_with_house", None, None),
        ("came with the house 5 years ago", "came_with_house", None, None),
    ],
)
def test_age_of_the_unit(catalogue, text, code, number, unit):
    assert read(catalogue, "unit_age", text) == ([code], number, unit, None)


@pytest.mark.parametrize(
    ("text", "code", "celsius"),
    [
        ("0 F", "reading", -17.7778),  # NIST SP 811: t/degC = (t/degF - 32)/1.8
        ("5°F", "reading", -15),
        ("-18 C", "reading", -18),
        ("-18", "reading", -18),  # nothing is set to -18 °F
        ("5", "reading", None),  # of which scale, nobody said
        ("minus 20 celsius", "reading", -20),
        ("display says -18°C", "display_says", -18),
        ("set to 0 F", "display_says", -17.7778),
        ("rock hard", "food_hard", None),
        ("ice cream soft", "food_soft", None),
    ],
)
def test_freezer_temperature(catalogue, text, code, celsius):
    codes, number, unit, _ = read(catalogue, "freezer_temperature", text)
    assert codes == [code]
    assert number == (celsius if celsius is None else pytest.approx(celsius, abs=1e-3))
    assert unit == (None if celsius is None else "celsius")


def test_a_number_in_a_field_that_reads_none_is_no_quantity(catalogue):
    assert read(catalogue, "complaint", "no ice for 8 months") == (["no_ice"], None, None, None)
