"""Later files correct earlier ones; older ones change nothing; what can not be told is asked for."""

from datetime import date, datetime
from pathlib import Path

import pytest

from analytics.catalogue import Catalogue
from analytics.errors import BadFile, BadQuestion, NeedsAnswer
from analytics.intake import extraction
from analytics.intake.loading import load_files
from tests.analytics.intake.conftest import Load, MemoryStore, NoMarts, Rows, calls

OLD = calls("1,U1,2026-03-01,no ice", "2,U2,2026-03-01,no ice")
NEW = calls("1,U1,2026-03-01,water on floor", "2,U2,2026-03-01,no ice")
ONE, TWO, THREE = date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 4)


def complaint(rows: Rows, call_id: str = "1") -> list[str]:
    return [
        row[0]
        for row in rows(
            f"select complaint from records.calls where call_id = '{call_id}' and withdrawn_by is null"
        )
    ]


def test_a_later_file_updates(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    report = load(NEW, extracted=TWO)
    assert (report.rows, report.updated, report.repeated_exact) == (2, 1, 1)
    assert complaint(rows) == ["water on floor"]
    assert rows("select count(*), count(distinct call_id) from records.calls") == [(2, 2)]


def test_an_older_file_changes_nothing(load: Load, rows: Rows) -> None:
    load(NEW, extracted=TWO)
    report = load(OLD, extracted=ONE)
    assert (report.updated, report.repeated_older, report.repeated_exact) == (0, 1, 1)
    assert complaint(rows) == ["water on floor"]


def test_a_file_of_the_same_day_changes_nothing(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    assert load(NEW, extracted=ONE).repeated_older == 1
    assert complaint(rows) == ["no ice"]


def test_the_date_can_stand_in_the_file_name(load: Load, rows: Rows) -> None:
    load(NEW, name="calls_2026-03-03.csv")
    assert load(OLD, name="calls_2026-03-02.csv").repeated_older == 1
    assert load(OLD, name="calls_2026-03-04.csv").updated == 1
    assert rows("select distinct extracted_from from loads.files") == [("file name",)]


def test_the_date_can_stand_in_the_mapping(load: Load) -> None:
    load(OLD, mapping="extracted = 2026-03-02")
    assert load(NEW, mapping="extracted = 2026-03-03T06:00:00").updated == 1


def test_the_date_in_a_name_is_not_believed_against_the_rows(load: Load, rows: Rows) -> None:
    report = load(OLD, name="calls_from_2026-01-01.csv")
    assert report.loaded == 2
    assert any("date in the file name" in message for message in report.messages)
    assert rows("select extracted_on, extracted_from from loads.files") == [(None, "unknown")]


def test_without_any_date_the_newer_can_not_be_told(load: Load, rows: Rows) -> None:
    load(OLD)
    report = load(NEW)
    assert (report.updated, report.reasons, report.repeated_exact) == (0, {"newer_unknown": 1}, 1)
    assert complaint(rows) == ["no ice"]
    assert "--extracted" in report.to_text()


def test_a_file_is_later_than_a_date_when_it_has_rows_from_after_it(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    assert load(NEW).reasons == {"newer_unknown": 1}  # it ends on 1 March, and can be from any day since
    assert load(calls("1,U1,2026-03-01,leak", "3,U3,2026-03-05,no ice")).updated == 1  # it ends on 5 March
    assert complaint(rows) == ["leak"]


def test_rows_after_the_given_extraction_are_set_aside(load: Load, rows: Rows) -> None:
    report = load(calls("1,U1,2026-03-02 23:00,no ice", "2,U1,2026-03-03 01:00,no ice"), extracted=ONE)
    assert (report.loaded, report.reasons) == (1, {"after_extraction": 1})


def test_a_row_seen_again_in_a_later_file_is_as_young_as_that(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    load(OLD, extracted=THREE)
    assert load(NEW, extracted=TWO).repeated_older == 1
    assert complaint(rows) == ["no ice"]
    assert rows("select distinct file_id from records.calls") == [(2,)]


def test_several_files_of_one_load_follow_their_dates(store: MemoryStore, tmp_path: Path, rows: Rows) -> None:
    paths = []
    for day, text in (("2026-03-03", NEW), ("2026-03-02", OLD)):
        paths.append(tmp_path / f"calls_{day}.csv")
        paths[-1].write_text(text)
    reports = load_files(store, paths).files  # type: ignore[arg-type]
    assert [(each.loaded, each.repeated_older, each.repeated_exact) for each in reports] == [
        (2, 0, 0),
        (0, 1, 1),
    ]
    assert complaint(rows) == ["water on floor"]


def test_another_source_can_not_overwrite(load: Load, rows: Rows) -> None:
    load(OLD, source="north", extracted=ONE)
    report = load(NEW, source="south", extracted=TWO)
    assert (report.repeated_exact, report.reasons) == (1, {"other_source": 1})
    assert complaint(rows) == ["no ice"]
    assert rows("select found from loads.set_aside") == [("north",)]


def test_a_full_extract_withdraws_what_is_gone(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    report = load(calls("1,U1,2026-03-01,no ice"), extracted=TWO, full_extract=True)
    assert (report.rows, report.repeated_exact, report.withdrawn) == (1, 1, 1)
    assert rows("select call_id, withdrawn_by from records.calls order by 1") == [("1", None), ("2", 2)]
    assert rows("select withdrawn from loads.files order by file_id") == [(0,), (1,)]


def test_a_withdrawn_row_comes_back_with_a_later_file(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    load(calls("1,U1,2026-03-01,no ice"), extracted=TWO, full_extract=True)
    assert load(OLD, extracted=date(2026, 3, 2), name="again.csv").already_loaded
    older = load(calls("2,U2,2026-03-01,leak"), extracted=ONE)
    assert older.repeated_older == 1
    assert complaint(rows, "2") == []
    back = load(calls("2,U2,2026-03-01,no ice"), extracted=THREE)
    assert back.updated == 1
    assert complaint(rows, "2") == ["no ice"]


def test_a_full_extract_spares_other_sources_and_newer_rows(load: Load, rows: Rows) -> None:
    load(calls("N,U,2026-03-01,no ice"), source="north", extracted=ONE)
    load(calls("S,U,2026-03-01,no ice"), source="south", extracted=ONE)
    load(calls("L,U,2026-03-03,no ice"), source="north", extracted=THREE)
    report = load(calls("A,U,2026-03-01,no ice"), source="north", extracted=TWO, full_extract=True)
    assert report.withdrawn == 1
    assert rows("select call_id from records.calls where withdrawn_by is not null") == [("N",)]


def test_rows_set_aside_in_a_full_extract_are_not_gone(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    report = load(
        calls("1,U1,2026-03-01,no ice", "2,U2,never,no ice", "3,U3"), extracted=TWO, full_extract=True
    )
    assert (report.set_aside, report.withdrawn) == (2, 0)


def test_ragged_rows_in_a_full_extract_are_not_gone(load: Load, rows: Rows) -> None:
    load(OLD, extracted=ONE)
    report = load(calls("1,U1,2026-03-01,no ice", "2,U2,2026-03-01"), extracted=TWO, full_extract=True)
    assert (report.reasons, report.withdrawn) == ({"too_few_fields": 1}, 0)


def test_a_full_extract_needs_its_date(load: Load) -> None:
    load(OLD, extracted=ONE)
    with pytest.raises(NeedsAnswer, match="--extracted"):
        load(calls("1,U1,2026-03-01,no ice"), full_extract=True)


def test_an_empty_full_extract_is_refused(load: Load) -> None:
    load(OLD, extracted=ONE)
    with pytest.raises(BadFile, match="would withdraw all 2 known calls"):
        load(calls(), full_extract=True, extracted=TWO)


def test_a_first_full_extract_needs_nothing(load: Load) -> None:
    assert load(OLD, full_extract=True).loaded == 2


class TestFarAfterOthers:
    """A timestamp more than 14 days after all others of its source is set aside."""

    def days(self, *days: int) -> str:
        return calls(
            *(f"{n},U,{date.fromordinal(date(2026, 1, 1).toordinal() + d)},x" for n, d in enumerate(days))
        )

    @pytest.mark.parametrize(("last", "aside"), [(18 + 14, 0), (18 + 15, 1)])
    def test_the_limit_is_fourteen_days(self, load: Load, last: int, aside: int) -> None:
        assert load(self.days(*range(19), last), today=date(2026, 6, 1)).set_aside == aside

    def test_two_of_them_years_apart(self, load: Load) -> None:
        assert load(self.days(*range(30), 100, 400), today=date(2030, 1, 1)).reasons == {
            "far_after_others": 2
        }

    def test_not_where_the_extraction_is_given(self, load: Load) -> None:
        assert load(self.days(*range(30), 100), extracted=date(2026, 5, 1)).set_aside == 0

    def test_not_in_a_file_of_a_few_calls(self, load: Load) -> None:
        assert load(self.days(0, 40)).set_aside == 0

    def test_earlier_files_of_the_source_count(self, load: Load, rows: Rows) -> None:
        load(self.days(*range(30)))
        report = load(calls("X,U,2026-03-20 10:00,x"))
        assert report.reasons == {"far_after_others": 1}
        assert rows("select column_name, found from loads.set_aside") == [("opened_at", "2026-03-20 10:00")]
        assert load(calls("X,U,2026-03-20 10:00,x"), source="other").set_aside == 0


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("calls_2026-03-01.csv", datetime(2026, 3, 1)), ("2026-13-01.csv", None),
        ("calls_20260301.csv", None), ("x2026-03-01y.csv", datetime(2026, 3, 1)), ("12026-03-01.csv", None),
    ],
)  # fmt: skip
def test_only_a_whole_iso_date_in_a_name_counts(name: str, expected: datetime | None) -> None:
    assert extraction.of_file(name, None, None).at == expected


def test_an_extraction_that_has_not_come_is_refused(load: Load) -> None:
    with pytest.raises(
        BadQuestion, match=r"By --extracted .* 2026-03-02, which is after today \(2026-03-01\)"
    ):
        load(OLD, extracted=ONE, today=date(2026, 3, 1))
    with pytest.raises(BadQuestion, match="By the mapping"):
        load(OLD, mapping="extracted = 2026-03-02", today=date(2026, 3, 1))


def test_a_file_name_from_the_future_tells_nothing(load: Load, rows: Rows) -> None:
    load(OLD, name="calls_2027-01-01.csv", today=date(2026, 3, 5))
    assert rows("select extracted_from from loads.files") == [("unknown",)]


def test_touched_units_are_those_before_and_after(load: Load, store: MemoryStore, marts: NoMarts) -> None:
    touched: list[list[tuple[str]]] = []

    def note(connection, catalogue, which, **_):  # type: ignore[no-untyped-def]
        if which != "all":
            touched.append(sorted(set(connection.sql("select unit_id from touched_units").fetchall())))
            connection.execute("drop table touched_units")

    marts.build_marts = note  # type: ignore[method-assign]
    load(OLD, extracted=ONE)
    load(calls("1,U9,2026-03-01,no ice"), extracted=TWO)
    load("visit_id,call_id,arrived_at\nV2,2,2026-03-01\n", name="visits.csv", extracted=TWO)
    load("visit_id,check\nV2,level\n", name="checks.csv", extracted=TWO)
    load("call_id,part\n1,inlet_valve\n", name="parts.csv", extracted=TWO)
    load("unit_id,changed_on\nU7,2026-01-01\n", name="filter_changes.csv", extracted=TWO)
    load(calls("1,U9,2026-03-01,no ice"), extracted=THREE, full_extract=True)
    assert touched == [
        [("U1",), ("U9",)], [("U2",)], [("U2",)], [("U9",)], [("U7",)], [("U2",)],
    ]  # fmt: skip


def test_a_file_updates_another_of_the_same_first_load(
    store: MemoryStore, tmp_path: Path, catalogue: Catalogue, rows: Rows
) -> None:
    paths = [tmp_path / "calls_2026-03-02.csv", tmp_path / "calls_2026-03-03.csv"]
    for path, content in zip(paths, (OLD, NEW), strict=True):
        path.write_text(content)
    reports = load_files(store, paths, today=date(2026, 12, 31), catalogue=catalogue).files  # type: ignore[arg-type]
    assert (reports[0].loaded, reports[1].updated, reports[1].repeated_exact) == (2, 1, 1)
    assert rows("select call_id, complaint, file_id from records.calls order by all") == [
        ("1", "water on floor", 2),
        ("2", "no ice", 2),
    ]


def test_a_full_extract_withdraws_rows_of_an_earlier_file_of_the_same_first_load(
    store: MemoryStore, tmp_path: Path, catalogue: Catalogue, rows: Rows
) -> None:
    paths = [tmp_path / "calls_2026-03-02.csv", tmp_path / "calls_2026-03-03.csv"]
    for path, content in zip(paths, (OLD, calls("2,U2,2026-03-01,no ice")), strict=True):
        path.write_text(content)
    files = load_files(
        store,  # type: ignore[arg-type]
        paths,
        full_extract=True,
        today=date(2026, 12, 31),
        catalogue=catalogue,
    ).files
    assert [each.withdrawn for each in files] == [0, 1]
    assert rows("select call_id from records.calls where withdrawn_by is null") == [("2",)]
