"""A fleet of a few hand-written records in memory: rows go straight into records.*, then the marts are built.

Times are written as in files: "2026-03-01 14:05", or "2026-03-01" where only the date is known.
"""

import re
from collections.abc import Iterable
from datetime import datetime
from importlib import resources
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.fleet import Fleet
from analytics.marts import build_marts
from tests.analytics.small_catalogue import SYMPTOMS, SmallCatalogue
from tests.building import parsed_once

CODED = {
    "calls": {
        "complaint": "complaint",
        "root_cause": "root_cause",
        "first_diagnosis": "root_cause",
        "outcome": "outcome",
        "job_kind": "job_kind",
        "payer": "payer",
        "callback_flag": "callback_flag",
        "filter_last_changed": "filter_last_changed",
        "filter_kind": "filter_kind",
        "supply_type": "supply_type",
        "problem_duration": "problem_duration",
        "unit_age": "unit_age",
        "mould_state": "mould_state",
        "dispenser_flow": "dispenser_flow",
        "fill_tube_ice": "fill_tube_ice",
        "switch_on": "switch_on",
        "freezer_temperature": "freezer_temperature",
        "shutoff_valve": "shutoff_valve",
        "what_changed": "what_changed",
        "where_it_stands": "where_it_stands",
        "already_tried": "already_tried",
    },
    "visits": {"result": "visit_result"},
    "checks": {"check": "check", "finding": "finding", "state": "check_state"},
    "parts": {"part": "part"},
    "units": {
        "filter_kind": "filter_kind",
        "water_supply": "supply_type",
        "shutoff_valve": "shutoff_valve",
        "location": "where_it_stands",
        "ice_maker_kind": "ice_maker_kind",
    },
    "follow_ups": {"answer": "follow_up_answer"},
}
SEASONS = re.compile(r"spring|summer|autumn|winter|christmas|holidays")
LENGTH = re.compile(r"(\d+) (days|weeks|months|years)")
CELSIUS = re.compile(r"(-?\d+) celsius")
IMPLIED = re.compile(r"implies (\w+)=(\w+)")


def moment(text: str | None) -> tuple[datetime | None, bool | None]:
    """Return a time as written, and whether it has a time of day."""
    return (None, None) if text is None else (datetime.fromisoformat(text), len(text) > 10)


class SmallFleet:
    """Records in memory. Add rows, `build`, then ask `fleet` or look at a mart.

    Texts are coded by rule: codes joined by "+" stand for themselves, a text that begins with "?" is not
    recognised, nor is a complaint in no catalogue; "same again" says it is the trouble of the call before;
    lengths and ISO dates are read in answers about time, degrees in that about the freezer. A complaint
    "no_ice+implies mould_state=empty" gives that answer away.
    """

    def __init__(self) -> None:
        self._connection = duckdb.connect()
        self._waiting: dict[str, list[dict[str, Any]]] = {}
        folder = resources.files("sql").joinpath("schema")
        with parsed_once():
            for file in sorted(file.name for file in folder.iterdir() if file.name.endswith(".sql")):
                queries.run(self._connection, f"schema/{file.removesuffix('.sql')}")
        self._connection.execute("create temp table touched_units (unit_id varchar)")
        self.catalogue = SmallCatalogue()
        self.fleet = Fleet(self)
        self._line = 0

    # what Fleet needs of a store
    def reader(self) -> "SmallFleet":
        return self

    def now(self) -> tuple[duckdb.DuckDBPyConnection, None]:
        return self.connection.cursor(), None

    def current(self) -> None:
        return None

    def _add(self, table: str, row: dict[str, Any]) -> None:
        self._line += 1
        provenance = {"source": "main", "file_id": 1, "line": self._line, "row_hash": self._line}
        self._insert(f"records.{table}", provenance | row)

    @property
    def connection(self) -> duckdb.DuckDBPyConnection:
        """The database, with every row added so far in it."""
        while self._waiting:
            table, rows = self._waiting.popitem()
            columns = list(dict.fromkeys(name for row in rows for name in row))
            names = ", ".join(f'"{name}"' for name in columns)
            places = f"({', '.join('?' for _ in columns)})"
            for some in [rows[start : start + 100] for start in range(0, len(rows), 100)]:
                values = [row.get(name) for row in some for name in columns]
                text = f"insert into {table} ({names}) values {', '.join([places] * len(some))}"
                self._connection.execute(text, values)
        return self._connection

    def _insert(self, table: str, row: dict[str, Any]) -> None:
        """Add a row; many go in with one statement, for to plan one takes longer than to run it."""
        self._waiting.setdefault(table, []).append(row)

    def call(
        self,
        call_id: str,
        unit_id: str = "U1",
        opened: str = "2026-03-01 09:00",
        closed: str | None = "",
        complaint: str | None = "no_ice",
        outcome: str | None = "repaired",
        **columns: Any,
    ) -> None:
        """Add a call; without `closed` it is closed two hours after it was opened, None leaves it open."""
        opened_at, opened_has_time = moment(opened)
        if closed == "":
            closed = (
                opened if not opened_has_time else f"{opened[:10]} {int(opened[11:13]) + 2:02d}{opened[13:]}"
            )
        closed_at, closed_has_time = moment(closed)
        self._add(
            "calls",
            {
                "call_id": call_id,
                "unit_id": unit_id,
                "opened_at": opened_at,
                "opened_has_time": opened_has_time,
                "closed_at": closed_at,
                "closed_has_time": closed_has_time,
                "closing_recorded": True,
                "outcome_recorded": True,
                "complaint": complaint,
                "outcome": outcome,
            }
            | columns,
        )

    def visit(
        self,
        visit_id: str,
        call_id: str,
        arrived: str = "2026-03-01 10:00",
        left: str | None = None,
        result: str | None = "done",
        **columns: Any,
    ) -> None:
        arrived_at, has_time = moment(arrived)
        self._add(
            "visits",
            {
                "visit_id": visit_id,
                "call_id": call_id,
                "arrived_at": arrived_at,
                "arrived_has_time": has_time,
                "left_at": moment(left)[0],
                "result": result,
            }
            | columns,
        )

    def check(self, check: str, finding: str = "no_fault", **columns: Any) -> None:
        self._add("checks", {"check": check, "finding": finding, "occurrence": 1} | columns)

    def part(self, part: str, **columns: Any) -> None:
        self._add("parts", {"part": part, "occurrence": 1, "quantity": 1.0} | columns)

    def unit(self, unit_id: str = "U1", **columns: Any) -> None:
        self._add("units", {"unit_id": unit_id} | columns)

    def filter_change(self, changed_on: str, unit_id: str = "U1") -> None:
        self._add("filter_changes", {"unit_id": unit_id, "changed_on": moment(changed_on)[0]})

    def follow_up(self, call_id: str, asked_on: str, answer: str) -> None:
        self._add("follow_ups", {"call_id": call_id, "asked_on": moment(asked_on)[0], "answer": answer})

    def ends(self, at: str, source: str = "main") -> None:
        """Say that the calls of a source were extracted at a time, which is then its end of observation."""
        row = {
            "file_id": 1,
            "load_id": 1,
            "table_name": "calls",
            "source": source,
            "extracted_on": moment(at)[0],
            "extracted_from": "given",
            "full_extract": False,
            "header": [],
        }
        row |= dict.fromkeys(["file_name", "sha256", "reading_hash", "encoding", "separator", "mapping"], "")
        counts = ["rows", "loaded", "updated", "repeated_exact", "repeated_older", "set_aside", "withdrawn"]
        self._insert("loads.files", row | dict.fromkeys(counts, 0))

    def withdraw(self, table: str, **key: Any) -> None:
        (name, value), *_ = key.items()
        self.connection.execute(f"update records.{table} set withdrawn_by = 2 where {name} = ?", [value])

    def build(self, touched: Iterable[str] | None = None) -> "SmallFleet":
        """Code the texts and build the marts, of all units or of some."""
        self.connection.execute("truncate texts.codings")
        for row in self._codings():
            self._insert("texts.codings", row)
        if touched is not None:
            self.connection.execute("truncate touched_units")
            self.connection.executemany("insert into touched_units values (?)", [[unit] for unit in touched])
        with parsed_once():
            build_marts(self.connection, self.catalogue, "all" if touched is None else "touched_units")
        return self

    def _codings(self) -> Iterable[dict[str, Any]]:
        done: set[tuple[str, str]] = set()
        for table, columns in CODED.items():
            written = ", ".join(f'"{column}"' for column in columns)
            texts = self.connection.execute(
                "select distinct field, written from (select unnest(?) as field, "
                f"unnest([{written}]) as written from records.{table}) where written is not null",
                [list(columns.values())],
            ).fetchall()
            for field, text in texts:
                if (field, text) not in done:
                    done.add((field, text))
                    yield {"field": field, "text": text} | self._coding(field, text)

    def _coding(self, field: str, text: str) -> dict[str, Any]:
        number = unit = day = None
        codes = [] if text.startswith("?") else text.split("+")
        if field == "complaint":
            codes = [code for code in codes if code in SYMPTOMS]
        elif field in ("filter_last_changed", "problem_duration", "unit_age"):
            if found := LENGTH.fullmatch(text):
                number, unit = float(found[1]), found[2]
                codes = ["time_ago" if field == "filter_last_changed" else unit]
            elif SEASONS.search(text):
                codes = ["season"]
            elif re.fullmatch(r"\d{4}-\d\d-\d\d", text):
                day, codes = moment(text)[0], ["date"]
        elif field == "freezer_temperature" and (found := CELSIUS.fullmatch(text)):
            number, unit, codes = float(found[1]), "celsius", ["reading"]
        implied = IMPLIED.search(text) if field == "complaint" else None
        return {
            "codes": codes,
            "how": "code" if codes else "not recognised",
            "same_again": field == "complaint" and "same again" in text,
            "number": number,
            "number_unit": unit,
            "day": day,
            "implied_field": implied[1] if implied else None,
            "implied_code": implied[2] if implied else None,
        }

    def row(self, call_id: str) -> dict[str, Any]:
        """Return one row of marts.calls, with what the selection adds for 30 days and the same family."""
        selection = "marts.selection(4, [null], null, null, null, [], [], [], [], [], [])"
        found = self.connection.sql(f"from {selection} where call_id = ?", params=[call_id]).pl()
        return found.row(0, named=True)

    def table(self, text: str) -> pl.DataFrame:
        return self.connection.sql(text).pl()

    def charged(self, match: str = "family", window_days: int = 30) -> set[tuple[str, str]]:
        """Return the pairs (call, return) that count in a window."""
        bit = 1 << (7, 14, 30, 60, 90).index(window_days)
        rows = self.connection.execute(
            "select charged_call_id, return_call_id from marts.returns "
            "where match = ? and (window_bits & ?) <> 0",
            [match, bit],
        )
        return set(rows.fetchall())


def snapshot(fleet: SmallFleet) -> dict[str, list[tuple[Any, ...]]]:
    """Return every mart as sorted rows, to compare two builds."""
    tables = ("calls", "returns", "episodes", "visits", "choices", "unrecognised")
    return {
        name: sorted(fleet.connection.execute(f"from marts.{name}").fetchall(), key=repr) for name in tables
    }
