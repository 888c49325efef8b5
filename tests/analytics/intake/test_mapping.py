"""A mapping says what one sender's columns and words mean; mistakes in it are named with their key."""

from datetime import date
from pathlib import Path

import pytest

from analytics.errors import BadMapping, NeedsAnswer
from analytics.intake.mapping import Mapping, TableMapping
from tests.analytics.intake.conftest import Load, NoMarts, Rows, calls

FULL = """sender = "north"
encoding = "cp1252"
separator = ";"
extracted = 2026-03-02

[calls]
ignored = ["Note"]

[calls.columns]
call_id = "Ref."
unit_id = "Kühlgerät"
opened_at = "When"
complaint = "What they say"
outcome = "End"

[calls.dates]
opened_at = "day first"

[calls.units]
unit_age = "year"

[words.outcome]
"erl." = ["repaired"]
"""
FOREIGN = """Ref.;Kühlgerät;When;What they say;End;Note
1;U;01.03.2026;no ice;ERL. ;x
2;U;02.03.2026;no ice;sonst;y
"""


def test_a_foreign_file_loads_with_its_mapping(load: Load, rows: Rows) -> None:
    report = load(FOREIGN.encode("cp1252"), mapping=FULL)
    assert (report.loaded, report.source) == (2, "north")
    assert rows("select call_id, unit_id, month(opened_at), outcome from records.calls order by line") == [
        ("1", "U", 3, "ERL. "),
        ("2", "U", 3, "sonst"),
    ]
    assert rows("select extracted_on::date, extracted_from, header[2] from loads.files") == [
        (date(2026, 3, 2), "mapping", "Kühlgerät")
    ]


def test_words_of_the_mapping_are_settled_whatever_their_case(load: Load, rows: Rows) -> None:
    load(FOREIGN.encode("cp1252"), mapping=FULL)
    assert rows("select codes, how from texts.codings where field = 'outcome' order by text") == [
        (["repaired"], "settled"),
        ([], "not recognised"),
    ]


def test_a_word_settled_later_holds_for_all_files_before(load: Load, rows: Rows, marts: NoMarts) -> None:
    header = "call_id,unit_id,opened_at,complaint,outcome"
    load(calls("1,U,2026-03-01,no ice,sonst", header=header))
    load(calls("2,U,2026-03-02,no ice,sonst", header=header), mapping='[words.outcome]\nsonst = "adjusted"')
    assert rows("select codes, how from texts.codings where field = 'outcome'") == [(["adjusted"], "settled")]
    assert marts.asked == ["all", "all"]


def test_two_meanings_of_one_word_are_said(load: Load, rows: Rows) -> None:
    header = "call_id,unit_id,opened_at,complaint,outcome"
    load(calls("1,U,2026-03-01,no ice,NA", header=header), mapping='[words.outcome]\nNA = "no_access"')
    report = load(
        calls("2,U,2026-03-02,no ice,NA", header=header), mapping='[words.outcome]\nNA = "cancelled"'
    )
    assert any("'NA' meant no_access" in message for message in report.messages)
    assert rows("select codes from texts.codings where field = 'outcome'") == [(["cancelled"],)]


def test_it_is_read_back_as_written() -> None:
    mapping = Mapping.from_toml(FULL)
    assert Mapping.from_toml(mapping.to_toml()) == mapping
    odd = Mapping(
        sender='a "b" \\ \n',
        tables={"visits": TableMapping(columns={"visit_id": 'x "y"'}, ignored=("ä\t",))},
        words={"outcome": {'say "no"\x7f': ("no_access", "cancelled")}},
    )
    assert Mapping.from_toml(odd.to_toml()) == odd


def test_a_partial_mapping_leaves_the_rest_to_the_headers(load: Load, rows: Rows) -> None:
    load(
        "Call No,Unit,When,Complaint\n1,U,2026-03-01,no ice\n", mapping='[calls.columns]\nopened_at = "When"'
    )
    assert rows("select call_id, opened_at::date from records.calls") == [("1", date(2026, 3, 1))]


def test_ignored_columns_are_not_used(load: Load, rows: Rows) -> None:
    text = calls("1,U,2026-03-01,no ice,x", header="call_id,unit_id,opened_at,complaint,notes")
    load(text, mapping='[calls]\nignored = ["notes"]')
    assert rows("select notes from records.calls") == [(None,)]


def test_a_mapping_of_several_tables_serves_each_file(load: Load, rows: Rows) -> None:
    mapping = '[calls.columns]\ncall_id = "K"\n[visits.columns]\nvisit_id = "B"\ncall_id = "K"\n'
    assert load("K,unit_id,opened_at,complaint\n1,U,2026-03-01,x\n", mapping=mapping).table == "calls"
    assert load("B,K,arrived_at\n1,1,2026-03-01\n", mapping=mapping, name="v.csv").table == "visits"


def test_a_header_that_the_file_lacks(load: Load) -> None:
    with pytest.raises(NeedsAnswer, match=r"calls\.opened_at from a column 'Whenever', which the file lacks"):
        load(calls("1,U,2026-03-01,x"), table="calls", mapping='[calls.columns]\nopened_at = "Whenever"')


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("sender = ", "is no TOML"),
        ('colour = "red"', "unknown key 'colour'. Known: sender"),
        ("sender = 3", "sender is 3"),
        ('separator = ";;"', "one character"),
        ('extracted = "2026-03-01"', "write a date without quotes"),
        ("[calls.colums]", "unknown key 'calls.colums'"),
        ('[calls.columns]\nwho = "x"', "calls.columns names 'who'. It can be one of call_id"),
        ('[calls.columns]\ncall_id = "x"\nunit_id = "x"', "gives 'x' to two columns"),
        ("[calls.columns]\ncall_id = 3", "calls.columns.call_id is 3"),
        ('[calls.dates]\nopened_at = "dmy"', "calls.dates.opened_at is 'dmy'; \"year first\""),
        ('[calls.dates]\ncomplaint = "day first"', "calls.dates names 'complaint'"),
        ('[parts.decimals]\ncost = "dot"', "parts.decimals.cost is 'dot'"),
        ('[checks.units]\nreading = "furlong"', "checks.units.reading: 'furlong' is no unit"),
        ('[words.colour]\n"x" = "y"', "words.colour is no coded field"),
        ('[words.outcome]\n"x" = 3', "a code or a list of codes is wanted"),
        ("calls = 3", "calls is 3"),
        ("words = 3", "words is 3"),
        ("[calls]\ncolumns = 3", "calls.columns is 3"),
        ('[calls]\nignored = "x"', "calls.ignored is 'x'"),
    ],
)
def test_mistakes_are_named(text: str, problem: str) -> None:
    with pytest.raises(BadMapping) as caught:
        Mapping.from_toml(text, name="north.toml")
    assert problem in str(caught.value)
    assert "north.toml" in str(caught.value)


def test_a_code_that_the_catalogue_lacks(load: Load) -> None:
    with pytest.raises(
        BadMapping, match=r"'x' to mean fixed, which is no code of outcome\. It can be one of repaired"
    ):
        load(calls("1,U,2026-03-01,x"), mapping='[words.outcome]\nx = "fixed"')


def test_a_mapping_that_can_not_be_read(tmp_path: Path) -> None:
    with pytest.raises(BadMapping, match="can not be read"):
        Mapping.read(tmp_path / "none.toml")
    (tmp_path / "x.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(BadMapping, match="no UTF-8"):
        Mapping.read(tmp_path / "x.toml")
