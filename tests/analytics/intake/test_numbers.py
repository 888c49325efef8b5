"""Decimal signs are settled over the whole column; units come from columns, headers or mappings."""

import pytest

from analytics.errors import BadMapping, NeedsAnswer
from analytics.intake import numbers
from tests.analytics.intake.conftest import Load, Rows, calls


def parts(*costs: str) -> str:
    lines = [f'{n},inlet_valve,1,"{cost}"' for n, cost in enumerate(costs)]
    return calls(*lines, header="call_id,part,quantity,cost")


def checks(*readings: str, header: str = "reading") -> str:
    lines = [f'{n},pressure,"{reading}"' for n, reading in enumerate(readings)]
    return calls(*lines, header=f"call_id,check,{header}")


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (["12.5", "3"], [12.5, 3]),
        (["12,5", "3"], [12.5, 3]),
        (["12,5", "1,250"], [12.5, 1.25]),
        (["12.5", "1,250.75"], [12.5, 1250.75]),
        (["12,5", "1.250,75", "1.250"], [12.5, 1250.75, 1250]),
        (["1,250.5", "1,250"], [1250.5, 1250]),
        (["1,250,000"], [1_250_000]),
        (["12,5", "12.5"], [12.5, 12.5]),
        (["-3.5", "+2", ".5"], [-3.5, 2, 0.5]),
        (["€ 12,50", "$3"], [12.5, 3]),
        (["0,125"], [0.125]),
    ],
)
def test_decimal_signs(load: Load, rows: Rows, written: list[str], expected: list[float]) -> None:
    assert load(parts(*written), name="parts.csv").loaded == len(written)
    assert [row[0] for row in rows("select cost from records.parts order by line")] == pytest.approx(expected)


def test_a_comma_that_can_be_both_is_asked_for(load: Load) -> None:
    with pytest.raises(NeedsAnswer, match="Line 2 has '1,250'") as caught:
        load(parts("1,250", "3"), name="parts.csv")
    assert '[parts.decimals]\ncost = "comma"' in str(caught.value)


@pytest.mark.parametrize(("sign", "cost"), [("comma", 1.25), ("point", 1250)])
def test_the_answer_stands_in_the_mapping(load: Load, rows: Rows, sign: str, cost: float) -> None:
    load(parts("1,250"), name="parts.csv", mapping=f'[parts.decimals]\ncost = "{sign}"')
    assert rows("select cost from records.parts") == [(cost,)]


def test_commas_far_below_the_first_rows_count(load: Load, rows: Rows) -> None:
    report = load(parts(*["7"] * 2000, "12,5"), name="parts.csv")
    assert report.loaded == 2001
    assert rows("select max(cost) from records.parts") == [(12.5,)]


def test_readings_with_a_comma_far_below_the_first_rows_count(load: Load, rows: Rows) -> None:
    load(checks(*["7"] * 2000, "12,5"), name="checks.csv")
    assert rows("select max(reading) from records.checks") == [(12.5,)]


def test_signs_that_contradict_each_other_and_leave_one_open() -> None:
    assert numbers.decide(numbers.Signs(rows=3, comma=1, point=1, unclear=1)) is None
    assert numbers.decide(numbers.Signs(rows=0, comma=0, point=0, unclear=0)) == "point"


def test_a_unit_behind_the_number(load: Load, rows: Rows) -> None:
    load(checks("60 psi", "4,1 bar", "OL", "3 of 5", "350"), name="checks.csv")
    assert rows("select reading, reading_text, reading_unit from records.checks order by line") == [
        (60.0, "60 psi", "psi"),
        (4.1, "4,1 bar", "bar"),
        (None, "OL", None),
        (None, "3 of 5", None),
        (350.0, "350", None),
    ]


def test_a_unit_in_the_header(load: Load, rows: Rows) -> None:
    load(checks("60", "", header="Reading [kPa]"), name="checks.csv")
    assert rows("select reading, reading_unit from records.checks order by line") == [
        (60.0, "kPa"),
        (None, None),
    ]


def test_a_unit_in_the_mapping_comes_before_that_of_the_header(load: Load, rows: Rows) -> None:
    load(checks("60", header="Reading [kPa]"), name="checks.csv", mapping='[checks.units]\nreading = "bar"')
    assert rows("select reading_unit from records.checks") == [("bar",)]


def test_minutes_in_hours(load: Load, rows: Rows) -> None:
    load("call_id,check,Minutes (h)\nC,level,0.5\n", name="checks.csv")
    assert rows("select minutes from records.checks") == [(30.0,)]


@pytest.mark.parametrize(
    ("header", "written", "kept", "number", "unit"),
    [
        ("freezer_temperature (°F)", "5", "5 degF", -15.0, "celsius"),
        ("freezer_temperature", "-18", "-18", -18.0, "celsius"),
        ("unit_age (years)", "7", "7 year", 7.0, "years"),
        ("unit_age (years)", "new", "new", None, None),
    ],
)
def test_answers_in_figures_take_the_unit_of_their_column(
    load: Load, rows: Rows, header: str, written: str, kept: str, number: float | None, unit: str | None
) -> None:
    load(calls(f"1,U,2026-03-01,no ice,{written}", header=f"call_id,unit_id,opened_at,complaint,{header}"))
    column = header.split()[0]
    assert rows(f"select {column} from records.calls") == [(kept,)]
    found = rows(f"select number, number_unit from texts.codings where field = '{column}'")
    assert found == [(pytest.approx(number) if number else number, unit)]


def test_a_unit_that_measures_something_else(load: Load) -> None:
    with pytest.raises(BadMapping, match=r"unit_age is 'psi'\. It can be one of min, s, h, day"):
        load(calls("1,U,2026-03-01,no ice"), mapping='[calls.units]\nunit_age = "psi"')


def test_equal_checks_of_one_file_are_counted(load: Load, rows: Rows) -> None:
    text = "visit_id,sequence,check,reading\nV,1,level,1\nV,1,level,1\nV,1,level,2\nV,2,level,1\n"
    assert load(text, name="checks.csv").loaded == 4
    assert rows("select line, occurrence from records.checks order by line") == [
        (2, 1),
        (3, 2),
        (4, 3),
        (5, 1),
    ]
    again = load(text + "V,1,level,2\n", name="checks.csv")
    assert (again.repeated_exact, again.loaded) == (4, 1)
    assert rows("select max(occurrence), count(*) from records.checks") == [(4, 5)]


def test_a_part_without_quantity_is_one(load: Load, rows: Rows) -> None:
    load("call_id,part\nC,inlet_valve\n", name="parts.csv")
    assert rows("select quantity, cost from records.parts") == [(1.0, None)]
