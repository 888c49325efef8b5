"""The table and its certain columns are told by plain headers, unless the values contradict."""

from collections import Counter

import pytest

from analytics.errors import BadFile, BadQuestion, NeedsAnswer
from analytics.intake.contract import tables
from analytics.intake.headers import plain
from tests.analytics.intake.conftest import Load, Rows, calls


@pytest.mark.parametrize("table", tables().values(), ids=lambda table: table.name)
def test_a_header_word_means_one_column_only(table) -> None:  # type: ignore[no-untyped-def]
    words = [word for column in table.columns.values() for word in {plain(column.name), *column.headers}]
    assert [word for word, times in Counter(words).items() if times > 1] == []


@pytest.mark.parametrize(
    "header",
    [
        "call,unit,date,complaint,what was found",
        "Call ID;Appliance No.;Date Reported;Problem;Cause",
        "Auftragsnr.;Gerät;Eingang;Beschwerde;Ursache",
        "N° intervention;Appareil;Date d'appel;Panne;Constat",
        "No. llamada;Equipo;Fecha;Avería;Causa",
    ],
)
def test_five_columns_in_several_languages(load: Load, rows: Rows, header: str) -> None:
    separator = ";" if ";" in header else ","
    report = load(calls(separator.join(["1", "U", "2026-03-28", "no ice", "nff"]), header=header))
    assert (report.table, report.loaded, report.messages) == ("calls", 1, [])
    assert rows("select call_id, unit_id, complaint, root_cause from records.calls") == [
        ("1", "U", "no ice", "nff")
    ]


def test_two_headers_for_one_column_are_not_used(load: Load) -> None:
    report = load(
        calls("1,U,2026-03-01,no ice,T1,T2", header="call_id,unit_id,opened_at,complaint,Tech,Technician")
    )
    assert "not used, since any of them could be technician_id: Tech, Technician" in report.messages


def test_our_own_name_comes_before_a_word_for_it(load: Load) -> None:
    report = load(calls("1,U,2026-03-01,no ice,x", header="call_id,unit_id,opened_at,complaint,Problem"))
    assert report.messages == ["columns not used: Problem"]


def test_values_can_speak_against_a_header(load: Load) -> None:
    lines = [f"{n},U,2026-03-01,no ice,everyone" for n in range(9)]
    report = load(calls(*lines, header="call_id,unit_id,opened_at,complaint,Closed"))
    assert report.messages == [
        "not used as closed_at: 'Closed', since only 0% of its values look like a date or time"
    ]


def test_values_can_speak_against_a_required_column(load: Load) -> None:
    with pytest.raises(
        NeedsAnswer, match="opened_at could be Date, but only 0% of its values look like a date"
    ):
        load(calls("1,U,Monday,no ice", header="Call No,Unit,Date,Complaint"))


def test_values_do_not_speak_against_our_own_names(load: Load) -> None:
    assert load(calls("1,U,Monday,no ice")).reasons == {"not_a_date": 1}


def test_a_table_known_by_one_id_alone_is_not_certain(load: Load) -> None:
    with pytest.raises((NeedsAnswer, BadFile)):
        load("Technician,Wind,Waves\nT1,2,3\n", name="some.csv")


def test_the_nearest_table_is_named_when_a_column_is_missing(load: Load) -> None:
    with pytest.raises(NeedsAnswer, match="looks like calls, but which column is complaint can not be told"):
        load("call_id,unit_id,opened_at,depot,payer\n1,U,2026-03-01,N,x\n", name="some.csv")


def test_the_table_can_be_named(load: Load) -> None:
    assert load("unit_id\nU\n", name="some.csv", table="units").table == "units"
    with pytest.raises(BadQuestion, match=r"'unit' is no table\. Choose one of calls, visits"):
        load("unit_id\nU\n", table="unit")


def test_columns_of_an_export_of_set_aside_rows_are_passed_over(load: Load) -> None:
    header = "set_aside_line,set_aside_reason,call_id,unit_id,opened_at,complaint"
    report = load(calls("7,why,1,U,2026-03-01,no ice", header=header))
    assert (report.loaded, report.messages) == (1, [])
