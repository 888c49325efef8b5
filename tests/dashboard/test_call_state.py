"""What stands in the address of a call, and the rows it is saved as."""

import csv
import io
import tomllib
from pathlib import Path
from typing import Any

import pytest

from analytics.intake import contract
from tests.dashboard.fake_pack import fake_pack
from tests.dashboard.javascript import answer
from tests.dashboard.test_call_readings import UNITS

FILES = ("call_readings.js", "call_state.js", "call_rows.js")
STATE = {
    "said": {"mould_state": "hollow", "symptom:no_ice": "yes", "filter_age_days": "243.5", "supply_type": ""},
    "found": {"valve_coil_ohms": "no_fault", "dispenser_catch": "fault"},
    "read": {"valve_coil": {"text": "260", "unit": "ohm"}, "freezer_air": {"text": "-18", "unit": "degC"}},
    "sheet": {"valve_coil": {"low": 180, "high": None, "unit": "ohm"}},
}
NAMES_AND_NOTES = {"text": "ask for the neighbour, 555 0101", "unit": "ohm"}


def test_address_restores_the_state() -> None:
    search = answer(FILES, "serviceCalls.state.toSearch(state, '?unit=U1&depot=north')", state=STATE)
    assert search.startswith("?unit=U1&depot=north&said=mould_state*hollow")
    again = answer(FILES, "serviceCalls.state.fromSearch(search)", search=search)
    assert again == STATE


def test_text_that_is_no_reading_stays_out_of_the_address() -> None:
    state = STATE | {"read": {"valve_coil": NAMES_AND_NOTES}}
    search = answer(FILES, "serviceCalls.state.toSearch(state, '')", state=state)
    assert "neighbour" not in search
    assert "555" not in search


@pytest.mark.parametrize(
    "search",
    [
        "?said=x",
        "?said=*x",
        "?found=valve_coil_ohms*splendid",
        "?read=valve_coil*abc*ohm",
        "?read=valve_coil*1",
        "?sheet=a*b",
        "?said=<script>*<b>",
        "?read=valve_coil*" + "9" * 400 + "*ohm",
    ],
)
def test_nonsense_in_an_address_is_left_out(search: str) -> None:
    found = answer(FILES, "serviceCalls.state.fromSearch(search)", search=search)
    assert found == {"said": {}, "found": {}, "read": {}, "sheet": {}}


@pytest.mark.parametrize(
    ("said", "count"),
    [
        ({}, 0),
        ({"mould_state": "dont_know", "supply_type": ""}, 0),
        ({"symptom:no_ice": "yes", "symptom:leak_floor": "yes"}, 1),
        ({"symptom:no_ice": "yes", "mould_state": "hollow"}, 2),
    ],
)
def test_not_knowing_is_no_answer_and_the_complaint_is_one(said: dict[str, str], count: int) -> None:
    assert answer(FILES, "serviceCalls.state.answered({said})", said=said) == count


def rows(table: str, **who: str) -> list[dict[str, str]]:
    typed = {"call_id": "N1", "unit_id": "U1", "technician_id": "T1", "root_cause": "", "notes": ""} | who
    expressions = {
        "calls": "serviceCalls.rows.csv(serviceCalls.rows.CALLS, [serviceCalls.rows.callRow(who, state)])",
        "checks": """serviceCalls.rows.csv(serviceCalls.rows.CHECKS, serviceCalls.rows.checkRows(
            who.call_id, state, pack.checks, c => serviceCalls.readings.readingsOf(c, {}, units)))""",
    }
    text = answer(FILES, expressions[table], who=typed, state=STATE, pack=fake_pack(), units=UNITS)
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "") or who
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_call_is_one_open_row_of_the_contract() -> None:
    (row,) = rows("calls")
    assert set(row) <= columns("calls")
    assert row["closed_at"] == ""
    assert (row["complaint"], row["mould_state"]) == ("no ice", "hollow")
    assert row["filter_last_changed"] == "8 months"
    assert row["supply_type"] == ""


def test_checks_are_rows_in_the_order_made_with_each_reading() -> None:
    found = rows("checks")
    assert set(found[0]) <= columns("checks")
    assert [(r["sequence"], r["check"], r["reading"], r["reading_unit"], r["finding"]) for r in found] == [
        ("1", "valve_coil_ohms", "260", "ohm", "no_fault"),
        ("2", "dispenser_catch", "", "", "fault"),
        ("3", "freezer_temperature", "-18", "degC", ""),
    ]


def test_text_is_quoted_and_not_run_by_a_spreadsheet() -> None:
    hostile = '=cmd()|" x", line\nand another'
    (row,) = rows("calls", notes=hostile, unit_id="+1 2")
    assert row["notes"] == "'" + hostile
    assert row["unit_id"] == "'+1 2"


def formula_is_made_harmless(replaced: tuple[str, str] | None = None) -> None:
    found = answer(FILES, "serviceCalls.rows.csv(['a'], [{a: '=1+1'}])", replaced)
    assert found == "a\r\n'=1+1\r\n"


def test_formula_left_as_it_is_would_be_caught() -> None:
    formula_is_made_harmless()
    with pytest.raises(AssertionError):
        formula_is_made_harmless(('text = "\'" + text;', ""))


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, "0 days"), (7, "7 days"), (21, "3 weeks"), (243.5, "8 months"), (3287.3, "9 years")],
)
def test_amounts_are_said_as_people_say_them(days: float, words: str) -> None:
    assert answer(FILES, "serviceCalls.rows.inWords(days)", days=days) == words


def columns(table: str) -> set[str]:
    file = Path(contract.__file__).with_name("contract.toml")
    return set(tomllib.loads(file.read_text(encoding="utf-8"))[table]["columns"])


def test_every_intake_answer_of_the_contract_is_written() -> None:
    file = Path(contract.__file__).with_name("contract.toml")
    calls: dict[str, Any] = tomllib.loads(file.read_text(encoding="utf-8"))["calls"]["columns"]
    asked = [name for name, each in calls.items() if each["meaning"].startswith("intake answer")]
    assert answer(FILES, "serviceCalls.rows.INTAKE") == asked
