"""The careful reader and DuckDB read the same records; an unclosed quote costs its own line and no other."""

import csv
import io
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.intake import lines, staging
from analytics.intake.careful import Rejected, records
from analytics.intake.contract import tables
from analytics.intake.reading import Reading
from tests.analytics.intake.conftest import Load, Rows, calls

HEADER = ("unit_id", "product_family", "depot")


def reading(path: Path = Path("x"), separator: str = ",", quote: str = '"') -> Reading:
    return Reading(
        table=tables()["units"], path=path, header=HEADER, columns={name: n for n, name in enumerate(HEADER)},
        skipped_lines=1, separator=separator, quote=quote, line_end="\n", today=date(2026, 3, 1),
    )  # fmt: skip


def read(text: str) -> list[tuple[int, list[str] | str]]:
    """Line and fields of each record, or line and reason."""
    source = io.StringIO("header\n" + text, newline="")
    return [
        (each.line, each.reason) if isinstance(each, Rejected) else (int(each[-1]), each[:-1])
        for each in records(source, reading())
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1,a,b\n", [(2, ["1", "a", "b"])]),
        ('1,"a\n\nb",c\n2,d,e\n', [(2, ["1", "a\n\nb", "c"]), (5, ["2", "d", "e"])]),
        ("1,a,b\r2,c,d\r\n3,e,f", [(2, ["1", "a", "b"]), (3, ["2", "c", "d"]), (4, ["3", "e", "f"])]),
        ('1,"a,b\n2,c,d\n3,e,f\n', [(2, "unclosed_quote"), (3, ["2", "c", "d"]), (4, ["3", "e", "f"])]),
        ('1,"a,b\n2,"c",d\n', [(2, "unclosed_quote"), (3, ["2", "c", "d"])]),
        ('1,"a"b,c\n2,c,d\n', [(2, "text_after_quote"), (3, ["2", "c", "d"])]),
        ('1,a,"b\n2,c,d\n3,e,f"\n', [(2, ["1", "a", "b\n2,c,d\n3,e,f"])]),
        ('1,"a\nb"\n2,c,d\n', [(2, "too_few_fields"), (4, ["2", "c", "d"])]),
        ("unit_id,product_family,depot\n", [(2, "repeated_header")]),
        ("\n  \n1,a,b\n", [(4, ["1", "a", "b"])]),
        ('"1","",""\n', [(2, ["1", "", ""])]),
        ("1,a\0,b\n", [(2, "nul_bytes")]),
        ('1, "a" ,"b"  \n', [(2, ["1", "a", "b"])]),
        (' "1","a, ""b"" " ,b\n', [(2, ["1", 'a, "b" ', "b"])]),
        ('1,"a\n" ,b\n2,c,d\n', [(2, ["1", "a\n", "b"]), (4, ["2", "c", "d"])]),
        ('1, "a,b\n2,"c" x,d\n', [(2, ["1", ' "a', "b"]), (3, "text_after_quote")]),
        ('1,"a"\t,b\n', [(2, "text_after_quote")]),
        ("1,a,b,\n", [(2, "too_many_fields")]),
    ],
)
def test_records(text: str, expected: list) -> None:
    assert read(text) == expected


@pytest.mark.parametrize("end", ["", "2,2026-03-02,b\n"])
def test_a_quote_does_not_swallow_rows_that_a_date_gives_away(end: str) -> None:
    dated = replace(
        reading(), header=("unit_id", "installed_on", "depot"), columns={"unit_id": 0, "installed_on": 1}
    )
    lines = io.StringIO('header\n1,2026-03-01,"a\n' + end + '3,2026-03-03,c"\n', newline="")
    found = list(records(lines, dated))
    assert isinstance(found[0], Rejected)
    assert (found[0].line, found[0].reason) == (2, "unclosed_quote")
    assert found[-1][0] == "3"  # type: ignore[index]


@pytest.mark.parametrize("row", ['1, "a" ,"b"  ', ' "1",a,"b, ""c""" ', "1,a,b,", '1,a,b,""', "1,a, b c,,"])
@pytest.mark.parametrize("behind", ["", '2,"c"d,e\n'])
def test_a_row_is_kept_in_the_same_way_whatever_stands_elsewhere(
    row: str, behind: str, load: Load, rows: Rows
) -> None:
    """A malformed row sends the whole file to the careful reader; the others come out of it as without."""
    load(f"unit_id,product_family,depot\n{row}\n3,f,g\n{behind}", name="units.csv", table="units")
    loaded = rows("select line, unit_id, product_family, depot from records.units where line = 2")
    aside = rows("select reason from loads.set_aside where line = 2")
    if row.startswith(("1,a,b,", "1,a, b")):
        assert (loaded, aside) == ([], [("too_many_fields",)])
    else:
        assert (len(loaded), aside) == (1, [])
        assert loaded[0][1:] == (("1", "a", 'b, "c"') if row.startswith(" ") else ("1", "a", "b"))


def test_one_row_with_a_separator_too_many_is_no_custom_of_the_file(load: Load) -> None:
    report = load("unit_id,product_family,depot\n1,a, b,\n", name="units.csv", table="units")
    assert (report.loaded, report.reasons) == (0, {"too_many_fields": 1})


def test_names_in_quotes_with_spaces_around_them(load: Load, rows: Rows) -> None:
    load('"unit_id" , "product_family" ,"depot"\n"1" , "a" ,"b"\n', name="units.csv")
    assert rows("select unit_id, product_family, depot from records.units") == [("1", "a", "b")]
    assert rows("select header from loads.files") == [(["unit_id", "product_family", "depot"],)]


@pytest.mark.parametrize("behind", ["", '4,"c"d,e,\n'])
def test_a_separator_behind_every_row_is_no_field_too_many(behind: str, load: Load, rows: Rows) -> None:
    report = load(
        f'unit_id,product_family,depot\n1,a,b,\n2,"c, d",,\n3,f,g,""\n{behind}',
        name="units.csv",
        table="units",
    )
    assert (report.loaded, report.set_aside) == (3, 1 if behind else 0)
    assert any("ends with a separator" in said for said in report.messages)
    assert rows("select product_family, depot from records.units where line = 3") == [("c, d", None)]


def test_a_record_is_not_looked_for_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines, "LONGEST_RECORD", 1000)
    found = read('x,"a,b\n' + "".join(f"{n},a,b\n" for n in range(1000)))
    assert found[0] == (2, "unclosed_quote")
    assert len(found) == 1001


def test_many_unclosed_quotes_take_linear_time() -> None:
    bad = "".join(f'{n},"a,b\n' for n in range(50_000))
    found = read(bad)
    assert len(found) == 50_000
    assert {reason for _, reason in found} == {"unclosed_quote"}


CELL = st.text(st.sampled_from('ab,;"\n\r \té0'), max_size=8)
ROWS = st.lists(
    st.tuples(st.integers(0, 10**6).map(str), CELL, CELL),
    min_size=1,
    max_size=30,
    unique_by=lambda row: row[0],
)


@settings(max_examples=60, deadline=None)
@given(
    rows=ROWS,
    separator=st.sampled_from([",", ";", "\t", "|"]),
    quote=st.sampled_from(['"', "'"]),
    line_end=st.sampled_from(["\n", "\r\n"]),
)
def test_what_a_csv_writer_writes_is_read_as_it_was(
    rows: list[tuple[str, str, str]],
    separator: str,
    quote: str,
    line_end: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    out = io.StringIO(newline="")
    writer = csv.writer(
        out, delimiter=separator, quotechar=quote, lineterminator=line_end, quoting=csv.QUOTE_ALL
    )
    writer.writerows([HEADER, *rows])
    found = list(records(io.StringIO(out.getvalue(), newline=""), reading(separator=separator, quote=quote)))
    assert [tuple(each[:-1]) for each in found if not isinstance(each, Rejected)] == rows


def test_both_ways_load_the_same(load: Load, rows: Rows, monkeypatch: pytest.MonkeyPatch) -> None:
    header = "call_id,unit_id,opened_at,closed_at,complaint,outcome,notes"
    lines = [f'{n},U{n % 7},2026-03-{n % 28 + 1:02} 10:0{n % 10},,"no ice, ""{n}""",,"a"' for n in range(500)]
    text = calls(*lines, "x,U,never,,,,", header=header)
    load(text)
    monkeypatch.setattr(staging, "_at_once", lambda *_: None)
    load(text, source="again", name="again.csv")
    columns = "call_id, line, opened_at, closed_at, complaint, outcome, notes, row_hash"
    assert rows("select count(*) from records.calls") == [(500,)]
    again = rows('select "rows", repeated_exact, set_aside from loads.files order by file_id')
    assert again == [(501, 0, 1), (501, 500, 1)]
    assert rows(f"select {columns} from records.calls where call_id = '7'")[0][1] == 9
    assert rows("select distinct line, reason, fields from loads.set_aside") == [
        (502, "not_a_date", ["x", "U", "never", "", "", "", ""])
    ]
