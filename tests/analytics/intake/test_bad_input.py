"""Bad input is met with a clear message, or set aside with a reason; the rest of the file is loaded."""

import errno
from pathlib import Path

import pytest

from analytics.errors import BadFile, NeedsAnswer, StoreProblem
from analytics.intake import encodings, loading
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.analytics.intake.conftest import Load, NoMarts, Rows, calls

GOOD = "9,U,2026-03-01,no ice"


def reasons_by_line(rows: Rows) -> dict[int, str]:
    return dict(rows("select line, reason from loads.set_aside where rank = 1 order by line"))


def test_empty_file(load: Load) -> None:
    with pytest.raises(BadFile, match=r"calls\.csv is empty"):
        load("")


def test_only_blank_lines(load: Load) -> None:
    with pytest.raises(BadFile, match="no header line"):
        load("\n\n\n")


def test_header_only(load: Load) -> None:
    report = load(calls())
    assert (report.rows, report.loaded) == (0, 0)
    assert "no rows below its header" in report.to_text()


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match="There is no file"):
        load_files(Store(tmp_path), [tmp_path / "none.csv"])
    with pytest.raises(BadFile, match="is a folder"):
        load_files(Store(tmp_path), [tmp_path])


def test_wrong_file(load: Load) -> None:
    with pytest.raises(BadFile, match=r"does not look like records of service calls.*wind, waves"):
        load("wind,waves\n3,4\n", name="weather.csv")


def test_a_table_with_a_required_column_missing(load: Load) -> None:
    with pytest.raises(NeedsAnswer, match="looks like calls, but which column is unit_id"):
        load("call_id,opened_at,complaint\n1,2026-03-01,no ice\n")


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"PK\x03\x04" + bytes(range(256)) * 9, "workbook or an archive"),
        (b"%PDF-1.7\n" + bytes(range(256)) * 9, "PDF"),
        (b"\x1f\x8b\x08\x00" + bytes(range(256)) * 9, "compressed"),
        (bytes(range(1, 256)) * 40, "no text"),
        (b"\0" * 5000, "no text"),
    ],
)
def test_binary_file(load: Load, content: bytes, kind: str) -> None:
    with pytest.raises(BadFile, match=kind):
        load(content)


def test_nul_bytes(load: Load, rows: Rows) -> None:
    report = load(calls("1,U,2026-03-01,no\0 ice", GOOD))
    assert (report.loaded, report.reasons) == (1, {"nul_bytes": 1})
    assert reasons_by_line(rows) == {2: "nul_bytes"}


@pytest.mark.parametrize("quote", ["", '"'])
def test_a_field_of_five_megabytes(load: Load, rows: Rows, quote: str) -> None:
    report = load(calls(f"1,U,2026-03-01,{quote}{'x' * 5_000_000}{quote}", GOOD))
    assert (report.rows, report.loaded, report.reasons) == (2, 1, {"field_too_long": 1})
    assert rows(
        "select sum(len(field)) <= 10000 from (select unnest(fields) as field from loads.set_aside)"
    ) == [(True,)]


def test_a_quoted_field_of_five_megabytes_over_many_lines(load: Load) -> None:
    text = "\n".join(["x" * 99] * 50_000)
    report = load(calls(f'1,U,2026-03-01,"{text}"', GOOD))
    assert (report.rows, report.loaded, report.reasons) == (2, 1, {"field_too_long": 1})


def test_ragged_rows(load: Load, rows: Rows) -> None:
    report = load(calls("1,U,2026-03-01", GOOD, "2,U,2026-03-01,no ice,more"))
    assert (report.rows, report.loaded) == (3, 1)
    assert reasons_by_line(rows) == {2: "too_few_fields", 4: "too_many_fields"}


def test_an_unclosed_quote_loses_one_line_only(load: Load, rows: Rows) -> None:
    report = load(calls('1,U,2026-03-01,"no ice', "2,U,2026-03-01,no ice", '3,U,2026-03-01,"no, ice"', GOOD))
    assert (report.rows, report.loaded) == (4, 3)
    assert reasons_by_line(rows) == {2: "unclosed_quote"}


def test_an_unclosed_quote_that_a_later_row_seems_to_close(load: Load, rows: Rows) -> None:
    report = load(calls('1,U,2026-03-01,"no ice', "2,U,2026-03-01,no ice", '3,U,2026-03-01,no ice"', GOOD))
    assert reasons_by_line(rows) == {2: "unclosed_quote"}
    assert (report.rows, report.loaded) == (4, 3)


def test_an_unclosed_quote_on_the_last_line(load: Load, rows: Rows) -> None:
    report = load(calls(GOOD, '1,U,2026-03-01,"no ice'))
    assert (report.rows, report.loaded) == (2, 1)
    assert reasons_by_line(rows) == {3: "unclosed_quote"}


def test_text_behind_a_closing_quote(load: Load, rows: Rows) -> None:
    load(calls('1,U,2026-03-01,"no" ice', GOOD))
    assert reasons_by_line(rows) == {2: "text_after_quote"}


def test_duplicate_headers(load: Load) -> None:
    with pytest.raises(BadFile, match="2 columns named 'complaint'"):
        load(calls("1,U,2026-03-01,no ice,x", header="call_id,unit_id,opened_at,complaint,complaint"))


def test_duplicate_headers_that_are_not_used_are_only_mentioned(load: Load) -> None:
    report = load(
        calls("1,U,2026-03-01,no ice,a,b", header="call_id,unit_id,opened_at,complaint,Extra,Extra")
    )
    assert report.loaded == 1
    assert "columns not used: Extra, Extra" in report.messages


def test_headers_twice(load: Load, rows: Rows) -> None:
    header = "call_id,unit_id,opened_at,complaint"
    report = load(calls(header, GOOD, header))
    assert (report.rows, report.loaded, report.reasons) == (3, 1, {"repeated_header": 2})
    assert reasons_by_line(rows) == {2: "repeated_header", 4: "repeated_header"}


def test_headers_twice_in_a_table_where_anything_is_an_id(load: Load, rows: Rows) -> None:
    report = load("unit_id,depot\nU1,North\nunit_id,depot\n", name="units.csv")
    assert (report.loaded, report.reasons) == (1, {"repeated_header": 1})


@pytest.mark.parametrize(
    ("day", "reason"),
    [
        ("2099-01-01", "after_today"),
        ("1899-12-31", "too_old"),
        ("1970-01-01", "too_old"),
        ("2026-02-30", "not_a_date"),
        ("", "missing_value"),
        ("soon", "not_a_date"),
        ("infinity", "not_a_date"),
    ],
)
def test_impossible_dates(load: Load, rows: Rows, day: str, reason: str) -> None:
    report = load(calls(f"1,U,{day},no ice", GOOD))
    assert (report.loaded, report.reasons) == (1, {reason: 1})
    found = rows("select column_name, found, fields from loads.set_aside")
    assert found == [("opened_at", day or None, ["1", "U", day, "no ice"])]


def test_units_live_long(load: Load) -> None:
    report = load("unit_id,installed_on\nU1,1974-06-01\nU2,1949-06-01\n", name="units.csv")
    assert (report.loaded, report.reasons) == (1, {"too_old": 1})


def test_closed_before_opened(load: Load, rows: Rows) -> None:
    header = "call_id,unit_id,opened_at,closed_at,complaint"
    report = load(
        calls(
            "1,U,2026-03-02 10:00,2026-03-02 09:00,no ice",
            "2,U,2026-03-02 10:00,2026-03-02,a day without time is not before",
            "3,U,2026-03-02,2026-03-01 23:00,no ice",
            header=header,
        )
    )
    assert reasons_by_line(rows) == {2: "closed_before_opened", 4: "closed_before_opened"}
    assert report.loaded == 1


def test_left_before_arrived(load: Load, rows: Rows) -> None:
    load("visit_id,call_id,arrived_at,left_at\nV,C,2026-03-01 10:00,2026-03-01 09:00\n", name="visits.csv")
    assert reasons_by_line(rows) == {2: "left_before_arrived"}


def test_unknown_unit_of_measure(load: Load, rows: Rows) -> None:
    report = load(
        "call_id,check,reading,reading_unit\nC,pressure,60,psi\nC,pressure,60,furlong\n", name="checks.csv"
    )
    assert (report.loaded, report.reasons) == (1, {"unknown_unit": 1})
    assert rows("select line, found from loads.set_aside") == [(3, "furlong")]
    assert "psi" in report.to_text()
    assert "kPa" in report.to_text()


def test_two_different_rows_with_one_id(load: Load, rows: Rows) -> None:
    report = load(calls("1,U,2026-03-01,no ice", GOOD, "1,U,2026-03-02,no ice", GOOD))
    assert (report.rows, report.loaded, report.repeated_exact) == (4, 1, 1)
    assert reasons_by_line(rows) == {2: "two_rows_one_id", 4: "two_rows_one_id"}


def test_missing_values(load: Load, rows: Rows) -> None:
    load(calls(",U,2026-03-01,no ice", "2, ,2026-03-01,no ice", ",,,"))
    assert rows("select line, rank, reason, column_name from loads.set_aside order by line, rank") == [
        (2, 1, "missing_value", "call_id"),
        (3, 1, "missing_value", "unit_id"),
        (4, 1, "missing_value", "call_id"),
        (4, 2, "missing_value", "unit_id"),
        (4, 3, "missing_value", "opened_at"),
    ]


def test_checks_without_visit_or_call(load: Load, rows: Rows) -> None:
    report = load("visit_id,check\nV1,level\n,level\n", name="checks.csv")
    assert (report.loaded, report.reasons) == (1, {"missing_value": 1})


def test_numbers_that_are_none(load: Load, rows: Rows) -> None:
    report = load(
        "call_id,sequence,check,minutes\nC,1,a,nan\nC,2,a,inf\nC,1.5,a,5\nC,x,a,5\nC,3,a,1e1\n",
        name="checks.csv",
    )
    assert report.loaded == 1
    assert reasons_by_line(rows) == {
        2: "not_a_number", 3: "not_a_number", 4: "not_a_whole_number", 5: "not_a_number",
    }  # fmt: skip


def test_blank_lines_are_no_rows(load: Load, rows: Rows) -> None:
    report = load(
        "\ncall_id,unit_id,opened_at,complaint\n\n1,U,2026-03-01,no ice\n\n   \n2,U,2026-03-02,no ice\n\n\n"
    )
    assert (report.rows, report.loaded) == (2, 2)
    assert rows("select line from records.calls order by line") == [(4,), (7,)]


def test_lines_above_the_header_are_passed_over(load: Load, rows: Rows) -> None:
    report = load("Calls of March\nprinted 1 April\n" + calls(GOOD))
    assert rows("select line from records.calls") == [(4,)]
    assert any("the header is line 3" in message for message in report.messages)


def test_no_space_left_for_a_copy(tmp_path: Path, marts: NoMarts, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    store = Store(tmp_path / "data")
    good, wide = tmp_path / "good.csv", tmp_path / "wide.csv"
    good.write_text(calls(GOOD))
    wide.write_bytes(calls("1,U,2026-03-01,no ice").encode("utf-16"))
    load_files(store, [good])
    before = store.current()
    monkeypatch.setattr(encodings, "write_copy", full)
    with pytest.raises(StoreProblem, match=r"(?i)space"):
        load_files(store, [wide])
    assert store.current() == before
    assert [path.name for path in (tmp_path / "data").iterdir() if "tmp" in path.name] == []
    monkeypatch.undo()
    monkeypatch.setattr(loading, "build_marts", lambda *_, **__: None)
    assert load_files(store, [wide]).files[0].loaded == 1


def test_many_bad_rows(load: Load) -> None:
    lines = [f"{n},U,someday,no ice" for n in range(20_000)] + [f"{n},U" for n in range(20_000)]
    report = load(calls(*lines, GOOD))
    assert (report.rows, report.loaded) == (40_001, 1)
    assert report.reasons == {"not_a_date": 20_000, "too_few_fields": 20_000}
