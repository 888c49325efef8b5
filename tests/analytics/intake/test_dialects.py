"""Separator, quote sign and header line are decided by known header words, never by the values."""

import pytest

from analytics.intake import dialect
from analytics.intake.headers import plain
from tests.analytics.intake.conftest import Load, Rows, calls

HEADER = "call_id,unit_id,opened_at,complaint"


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_every_separator(load: Load, rows: Rows, separator: str) -> None:
    text = calls("1,U,2026-03-01,no ice").replace(",", separator)
    assert load(text).loaded == 1
    assert rows("select separator from loads.files") == [(separator,)]


@pytest.mark.parametrize("quote", ['"', "'"])
def test_both_quote_signs(load: Load, rows: Rows, quote: str) -> None:
    load(calls(f"{quote}1{quote},U,2026-03-01,{quote}no ice, {quote}{quote}none{quote}{quote}{quote}"))
    assert rows("select complaint from records.calls") == [(f"no ice, {quote}none{quote}",)]


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_a_quoted_field_may_hold_line_ends(load: Load, rows: Rows, line_end: str) -> None:
    text = calls('1,U,2026-03-01,"no ice', "", 'since Monday"', "2,U,2026-03-02,leak").replace("\n", line_end)
    assert load(text).loaded == 2
    assert rows("select call_id, line, complaint from records.calls order by line") == [
        ("1", 2, f"no ice{line_end}{line_end}since Monday"),
        ("2", 5, "leak"),
    ]


def test_mixed_line_ends(load: Load, rows: Rows) -> None:
    text = f"{HEADER}\r\n1,U,2026-03-01,a\n2,U,2026-03-01,b\r3,U,2026-03-01,c\r\n"
    assert load(text).loaded == 3
    assert rows("select call_id, line from records.calls order by line") == [("1", 2), ("2", 3), ("3", 4)]


def test_other_separators_in_the_values_do_not_matter(load: Load, rows: Rows) -> None:
    lines = [f"{n};U;2026-03-01;a, b, c | d, e, f, g" for n in range(50)]
    assert load(calls(*lines, header="call_id;unit_id;opened_at;complaint")).loaded == 50
    assert rows("select distinct complaint from records.calls") == [("a, b, c | d, e, f, g",)]


def test_a_bare_quote_inside_a_field_is_text(load: Load, rows: Rows) -> None:
    load(calls('1,U,2026-03-01,the 5" tube'))
    assert rows("select complaint from records.calls") == [('the 5" tube',)]


def test_no_line_end_at_the_end(load: Load) -> None:
    assert load(calls("1,U,2026-03-01,no ice", "2,U,2026-03-01,no ice").rstrip("\n")).loaded == 2


def test_the_mapping_can_name_the_separator(load: Load) -> None:
    text = calls("1:U:2026-03-01:no ice", header="call_id:unit_id:opened_at:complaint")
    assert load(text, mapping='separator = ":"').loaded == 1


def test_header_names_over_several_lines(load: Load, rows: Rows) -> None:
    header = 'call_id,unit_id,opened_at,"complaint\n(as said)"'
    load(calls("1,U,2026-03-01,no ice", header=header))
    assert rows("select line from records.calls") == [(3,)]


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("Geräte-Nr. ", "geratenr"),
        ("CALL_ID", "callid"),
        ("Numéro d'appel", "numerodappel"),
        ("Straße", "strasse"),
        ("CallID", "callid"),
    ],
)
def test_headers_are_compared_plain(written: str, expected: str) -> None:
    assert plain(written) == expected


def test_an_odd_first_row_does_not_tip_the_balance() -> None:
    found = dialect.decide("call_id,unit_id,opened_at,complaint\n1;2;3;4;5;6;7;8;9\n")
    assert (found.separator, found.known_words) == (",", 4)


def test_without_known_words_the_widths_decide() -> None:
    found = dialect.decide("a;b;c\n1;2;3,5\n4;5;6,1\n")
    assert (found.separator, found.header) == (";", ("a", "b", "c"))
