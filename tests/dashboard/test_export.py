"""Export against the list of OWASP, CSV Injection: cells beginning with = + - @, tab, CR or LF."""

import csv
import io
import json
from datetime import date, datetime

import polars as pl
import pytest
from flask.testing import FlaskClient

from dashboard.export import safe_csv
from tests.dashboard.fake_fleet import FORMULA

PAYLOADS = ["=1+1", "+1+1", "-1+1", "@SUM(1,1)", "\t=1+1", "\r=1+1", "\n=1+1"]
MUST_STAY = ["12-34", "a=b", " =1+1", "", "no ice", "x\ny"]


def cells(frame: pl.DataFrame) -> list[list[str]]:
    return list(csv.reader(io.StringIO(safe_csv(frame), newline="")))[1:]


@pytest.mark.parametrize("payload", PAYLOADS)
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe(payload: str) -> None:
    assert cells(pl.DataFrame({"complaint": [payload]})) == [["'" + payload]]


@pytest.mark.parametrize("text", MUST_STAY)
def test_other_text_stays_as_it_is(text: str) -> None:
    assert cells(pl.DataFrame({"complaint": [text], "b": ["."]})) == [[text, "."]]


def test_numbers_and_dates_are_no_text() -> None:
    frame = pl.DataFrame(
        {"n": [-3.5], "i": [-7], "d": [date(2026, 3, 1)], "t": [datetime(2026, 3, 1, 14, 5)]}
    )
    assert cells(frame) == [["-3.5", "-7", "2026-03-01", "2026-03-01 14:05"]]


def test_lists_are_joined_and_made_safe_too() -> None:
    assert cells(pl.DataFrame({"symptoms": [["=1", "no_ice"], []], "n": [1, 2]})) == [
        ["'=1; no_ice", "1"],
        ["", "2"],
    ]


def test_calls_are_exported_whole_and_safely(client: FlaskClient) -> None:
    answer = client.get("/export.csv?table=calls&subset=came_back")
    assert answer.status_code == 200
    assert answer.mimetype == "text/csv"
    assert 'filename="calls-42.csv"' in answer.headers["Content-Disposition"]
    rows = list(csv.reader(io.StringIO(answer.text.removeprefix("﻿"), newline="")))
    assert rows[0][0] == "call_id"
    assert len(rows) == 1 + 4480, "more than one piece is fetched"
    assert len({row[0] for row in rows[1:]}) == 4480
    assert rows[1][0] == "'" + FORMULA


TABLES = (
    "returns", "groups", "waits", "silent_sample", "months", "spoiled", "loads", "files", "set_aside",
    "phrases", "recording", "compared", "repeat_units", "recurrences", "first_visits", "aboard",
    "second_trips", "costs", "costed_returns", "checks", "checks_by", "checks_not_recorded",
    "valve_evidence", "proof", "wrong_turns", "first_thoughts", "parts_not_cause",
    "habits", "habits_fared",
)  # fmt: skip


@pytest.mark.parametrize("table", TABLES)
def test_every_table_can_be_kept(client: FlaskClient, table: str) -> None:
    answer = client.get(f"/export.csv?table={table}")
    assert answer.status_code == 200
    assert len(answer.text.splitlines()) > 1


@pytest.mark.parametrize(
    "chart",
    [
        "months",
        "groups",
        "waits",
        "spoiled",
        "funnel",
        "recurrences",
        "first_visits",
        "aboard",
        "costs",
        "checks",
        "proof",
        "wrong_turns",
    ],
)
def test_every_chart_can_be_kept(client: FlaskClient, chart: str) -> None:
    figure = json.loads(client.get(f"/figure.json?chart={chart}").text)
    assert figure["data"]
    assert figure["layout"]["title"]["text"]
    assert figure["layout"]["title"]["subtitle"]["text"].endswith("data as loaded on 3 Jul 2026")


@pytest.mark.parametrize(
    "address",
    [
        "/export.csv",
        "/export.csv?table=passwords",
        "/export.csv?table=../../etc",
        "/figure.json?chart=pie",
        "/export.csv?table=calls&depot=nowhere",
    ],
)
def test_what_can_not_be_kept_is_refused_in_words(client: FlaskClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 400
    assert "Choose one of" in answer.text or "There is no depot" in answer.text
