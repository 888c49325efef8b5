"""Dates are settled per column over the whole file, and asked for where they can be read in two ways."""

from datetime import datetime

import pytest

from analytics.errors import NeedsAnswer
from analytics.intake import dates
from tests.analytics.intake.conftest import Load, Rows, calls

MORNING = datetime(2026, 3, 1, 9, 5)
DAY = datetime(2026, 3, 1)
DAY_FIRST = '[calls.dates]\nopened_at = "day first"'
MONTH_FIRST = '[calls.dates]\nopened_at = "month first"'


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("2026-03-01", DAY),
        ("2026-03-01 09:05", MORNING),
        ("2026-03-01 9:05:30", MORNING.replace(second=30)),
        ("2026-03-01T09:05:30", MORNING.replace(second=30)),
        ("2026-03-01T09:05:30Z", MORNING.replace(second=30)),
        ("2026-03-01 09:05:30.250", MORNING.replace(second=30, microsecond=250_000)),
        ("2026-03-01T09:05+02:00", MORNING),
        ("2026-03-01 09:05 +0200", MORNING),
        ("2026/03/01", DAY),
        ("2026.03.01 09:05", MORNING),
        ("20260301", DAY),
        ("1 Mar 2026", DAY),
        ("01-Mar-26 9:05 AM", MORNING),
        ("1 March 2026, 09:05", MORNING),
        ("Mar 1, 2026", DAY),
    ],
)
def test_dates_that_need_no_answer(load: Load, rows: Rows, written: str, expected: datetime) -> None:
    assert load(calls(f'1,U,"{written}",no ice')).loaded == 1
    assert rows("select opened_at from records.calls") == [(expected,)]


@pytest.mark.parametrize("sign", ["/", ".", "-"])
@pytest.mark.parametrize(
    ("year", "clock"), [("2026", ""), ("26", ""), ("2026", " 09:05"), ("26", " 9:05 AM")]
)
@pytest.mark.parametrize("order", ["day first", "month first"])
def test_one_value_decides_the_column(
    load: Load, rows: Rows, sign: str, year: str, clock: str, order: str
) -> None:
    parts = ("01", "03") if order == "day first" else ("03", "01")
    decider = ("28", "02") if order == "day first" else ("02", "28")
    lines = [f"{n},U,{sign.join((*parts, year))}{clock},no ice" for n in range(600)]
    load(calls(*lines, f"9999,U,{sign.join((*decider, year))}{clock},no ice"))
    opened = MORNING if clock else DAY
    assert rows("select distinct opened_at from records.calls where call_id <> '9999'") == [(opened,)]
    assert rows("select opened_at from records.calls where call_id = '9999'") == [
        (opened.replace(month=2, day=28),)
    ]


@pytest.mark.parametrize("written", ["01/03/2026", "1.3.26 09:05", "03-04-2026"])
def test_an_ambiguous_column_is_asked_for(load: Load, written: str) -> None:
    with pytest.raises(NeedsAnswer) as caught:
        load(calls(f"1,U,{written},no ice"))
    message = str(caught.value)
    assert "opened_at" in message
    assert f"Line 2 has '{written}'" in message
    assert DAY_FIRST in message


def test_all_open_columns_are_asked_for_at_once(load: Load) -> None:
    with pytest.raises(NeedsAnswer, match=r"(?s)opened_at = .*closed_at = "):
        load(calls("1,U,1/3/2026,2/3/2026,no ice", header="call_id,unit_id,opened_at,closed_at,complaint"))


def test_another_column_is_a_hint_and_no_proof(load: Load) -> None:
    with pytest.raises(
        NeedsAnswer, match="In the same file opened_at is day first, which may or may not hold"
    ):
        load(calls("1,U,28/2/2026,1/3/2026,no ice", header="call_id,unit_id,opened_at,closed_at,complaint"))


@pytest.mark.parametrize(("mapping", "month"), [(DAY_FIRST, 3), (MONTH_FIRST, 1)])
def test_the_answer_stands_in_the_mapping(load: Load, rows: Rows, mapping: str, month: int) -> None:
    load(calls("1,U,01/03/2026,no ice"), mapping=mapping)
    assert rows("select month(opened_at) from records.calls") == [(month,)]


def test_an_answer_against_a_value_sets_that_value_aside(load: Load, rows: Rows) -> None:
    report = load(calls("1,U,01/03/2026,no ice", "2,U,02/28/2026,no ice"), mapping=DAY_FIRST)
    assert (report.loaded, report.reasons) == (1, {"not_a_date": 1})


def test_a_column_that_contradicts_itself_is_asked_for(load: Load) -> None:
    with pytest.raises(
        NeedsAnswer, match="1 values are dates only with the day first, 2 only with the month first"
    ):
        load(calls("1,U,28/02/2026,a", "2,U,02/28/2026,a", "3,U,03/30/2026,a"))


def test_the_same_number_twice_needs_no_answer(load: Load, rows: Rows) -> None:
    load(calls("1,U,03/03/2026,no ice"))
    assert rows("select opened_at from records.calls") == [(datetime(2026, 3, 3),)]


def test_foreign_dates_far_below_the_first_rows_are_settled_too(load: Load, rows: Rows) -> None:
    lines = [f"{n},U,2026-03-01 09:05,no ice" for n in range(2000)]
    report = load(calls(*lines, "9998,U,28.02.2026,no ice", "9999,U,01.02.2026,no ice"))
    assert report.loaded == 2002
    assert rows("select opened_at from records.calls where call_id = '9999'") == [(datetime(2026, 2, 1),)]


def test_ambiguous_dates_far_below_the_first_rows_are_asked_for(load: Load) -> None:
    lines = [f"{n},U,2026-03-01 09:05,no ice" for n in range(2000)]
    with pytest.raises(NeedsAnswer, match=r"Line 2002 has '01\.02\.2026'"):
        load(calls(*lines, "9999,U,01.02.2026,no ice"))


def test_several_ways_of_writing_in_one_column(load: Load, rows: Rows) -> None:
    report = load(calls("1,U,2026-03-01,a", "2,U,28.02.2026 10:00,a", "3,U,1.3.26,a", "4,U,Mar 1 2026,a"))
    assert report.loaded == 4
    assert rows("select count(distinct opened_at::date) from records.calls") == [(2,)]


def test_an_offset_from_utc_is_said(load: Load) -> None:
    report = load(calls("1,U,2026-03-01T09:05:00Z,no ice"))
    assert any("offset from UTC" in message for message in report.messages)


def test_dates_of_the_answers_follow_the_dates_of_the_file(load: Load, rows: Rows) -> None:
    load(
        calls(
            "1,U,28/02/2026,no ice,03/01/2026",
            header="call_id,unit_id,opened_at,complaint,filter_last_changed",
        )
    )
    assert rows("select day from texts.codings where field = 'filter_last_changed'") == [
        (datetime(2026, 1, 3).date(),)
    ]


def test_iso_dates_are_no_evidence_for_day_or_month() -> None:
    decision = dates.decide(
        [dates.Shape("9999-99-99", 5, "2026-03-28", 2), dates.Shape("99/99/9999", 1, "01/02/2026", 7)]
    )
    assert decision.order is None
    assert decision.open


def test_garbage_is_no_evidence(load: Load) -> None:
    with pytest.raises(NeedsAnswer, match="no value of the whole column has a day above 12"):
        load(calls("1,U,01/03/2026,a", "2,U,45/77/2026,a"))
