"""Rows set aside can be written out, mended and loaded; left as they are, they are set aside again."""

import csv
from pathlib import Path

import pytest

from analytics.errors import BadQuestion
from analytics.intake import set_aside
from analytics.intake.reasons import reasons
from tests.analytics.intake.conftest import Load, MemoryStore, Rows, calls

GERMAN = "Auftragsnr;Gerät;Eingang;Beschwerde\n"


def read(path: Path) -> list[list[str]]:
    with path.open(newline="", encoding="utf-8") as stream:
        return list(csv.reader(stream))


def test_round_trip_of_mended_rows(load: Load, store: MemoryStore, tmp_path: Path, rows: Rows) -> None:
    first = load(GERMAN + '1;U;28.02.2026;"no; ice"\n2;U;31.02.2026;"say ""no"", two\nlines"\n3;U\n')
    assert (first.loaded, first.set_aside) == (1, 2)
    out = tmp_path / "out.csv"
    assert set_aside.export(store.cursor(), out) == 2
    assert read(out) == [
        ["set_aside_file", "set_aside_line", "set_aside_reason",
         "Auftragsnr", "Gerät", "Eingang", "Beschwerde"],
        [
            "1", "3",
            "opened_at is no date in the order of this column: '31.02.2026'. Write it as 2026-03-01 14:05 or "
            "2026-03-01, or name the order of day and month in the mapping.",
            "2", "U", "31.02.2026", 'say "no", two\nlines',
        ],
        ["1", "5", reasons()["too_few_fields"].explain(), "3", "U"],
    ]  # fmt: skip
    mended = (
        out.read_text(encoding="utf-8")
        .replace("2,U,31.02.2026", "2,U,27.02.2026")
        .replace("3,U\n", "3,U,26.02.2026,leak\n")
    )
    mended = mended.replace("3,U\r\n", "3,U,26.02.2026,leak\r\n")
    second = load(mended, name="mended.csv")
    assert (second.rows, second.loaded, second.set_aside) == (2, 2, 0)
    assert rows("select complaint from records.calls where call_id = '2'") == [('say "no", two\nlines',)]


def test_rows_that_are_not_mended_are_set_aside_again(load: Load, store: MemoryStore, tmp_path: Path) -> None:
    first = load(
        calls("1,U,2099-01-01,a", "2,U", "3,U,2026-03-01,a,b", "4,U,2026-03-01,a", "4,U,2026-03-01,b")
    )
    set_aside.export(store.cursor(), tmp_path / "out.csv")
    again = load((tmp_path / "out.csv").read_text(), name="again.csv")
    assert again.rows == first.set_aside
    assert again.reasons == first.reasons


def test_all_reasons_of_a_row_stand_beside_it(load: Load, store: MemoryStore, tmp_path: Path) -> None:
    load(calls(",U,2099-01-01,a"))
    set_aside.export(store.cursor(), tmp_path / "out.csv")
    reason = read(tmp_path / "out.csv")[1][2]
    assert "call_id is empty" in reason
    assert "opened_at lies after the day of loading: '2099-01-01'" in reason


def test_only_one_file(load: Load, store: MemoryStore, tmp_path: Path) -> None:
    load(calls("1,U,never,a"))
    load("visit_id,call_id,arrived_at\nV,C,never\n", name="visits.csv")
    with pytest.raises(BadQuestion, match=r"Choose one: 1 \(calls.csv\), 2 \(visits.csv\)"):
        set_aside.export(store.cursor(), tmp_path / "out.csv")
    assert set_aside.export(store.cursor(), tmp_path / "out.csv", file_id=2) == 1
    assert read(tmp_path / "out.csv")[1][3:] == ["V", "C", "never"]


def test_nothing_to_write(load: Load, store: MemoryStore, tmp_path: Path) -> None:
    load(calls("1,U,2026-03-01,a"))
    with pytest.raises(BadQuestion, match="No row was set aside"):
        set_aside.export(store.cursor(), tmp_path / "out.csv")


def test_every_reason_has_a_sentence_and_a_way_out() -> None:
    for reason in reasons().values():
        text = reason.explain("opened_at", "x")
        assert "{" not in text
        assert len(reason.mend) > 10


def test_every_reason_that_is_set_is_explained() -> None:
    root = Path(__file__).parents[3]
    used = set()
    for path in (
        *root.joinpath("sql/staging").glob("*.sql"),
        *root.joinpath("analytics/intake").glob("*.py"),
    ):
        text = path.read_text(encoding="utf-8")
        used |= {code for code in reasons() if f"'{code}'" in text or f'"{code}"' in text}
    assert used == set(reasons())


def test_mended_rows_leave_the_list(load: Load, store: MemoryStore, tmp_path: Path, rows: Rows) -> None:
    load(calls("1,U,2026-03-01,a", "2,U,2026-02-31,b", "3,U"))
    assert set_aside.export(store.cursor(), tmp_path / "out.csv") == 2
    mended = (tmp_path / "out.csv").read_text().replace("2,U,2026-02-31", "2,U,2026-02-27")
    second = load(mended, name="mended.csv")
    assert (second.loaded, second.set_aside) == (1, 1)
    assert rows("select file_id, line from loads.mended order by all") == [(1, 3), (1, 4)]
    set_aside.export(store.cursor(), tmp_path / "left.csv")
    assert [row[:2] for row in read(tmp_path / "left.csv")[1:]] == [
        ["2", "3"]
    ]  # set aside anew, as its own row


def test_columns_of_another_kind_name_no_rows(load: Load, rows: Rows) -> None:
    load(calls("1,U,never,a"))
    load(
        "set_aside_file,set_aside_line,call_id,unit_id,opened_at,complaint\nx,2,5,U,2026-03-01,a\n1,77,6,U,2026-03-01,a\n"
    )
    assert rows("from loads.mended") == []
