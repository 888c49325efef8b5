"""Puts a drawn fleet into the tables of the store as a load would leave it, words coded, marts not built."""

from datetime import datetime

import polars as pl

from tests.outside.plain_reference import has_time, moment

PROVENANCE = {"file_id": 1, "line": 1, "row_hash": 1, "withdrawn_by": None}
CODED = {"root_cause": "cause", "outcome": "outcome", "job_kind": "job_kind"}


def complaint_text(call: dict) -> str:
    """Words for a complaint, one text per meaning."""
    text = " and ".join(call["symptoms"]) or "something"
    return text + " same again" * call["says_same"] + " return trip" * call["says_return_trip"]


def coding(field: str, text: str, codes: list[str], same_again=False, day=None, number=None) -> dict:
    return {
        "field": field,
        "text": text,
        "codes": codes,
        "how": "code" if codes else "not recognised",
        "same_again": same_again,
        "day": day,
        "number": number,
        "number_unit": None if number is None else "days",
    }


def codings(fleet: dict) -> list[dict]:
    """What each text of the fleet means."""
    found = {}
    for call in fleet["calls"]:
        text = complaint_text(call)
        found["complaint", text] = coding("complaint", text, call["symptoms"], call["says_same"])
        for field, column in CODED.items():
            if call[column] is not None:
                found[field, call[column]] = coding(field, call[column], [call[column]])
        if (thought := call.get("first_diagnosis")) is not None:
            found["root_cause", thought] = coding("root_cause", thought, [thought])
        answer, days = call["filter_answer"], call["duration_days"]
        if answer is not None:
            codes, day = (["never"], None) if answer == "never" else (["date"], answer)
            found["filter_last_changed", str(answer)] = coding(
                "filter_last_changed", str(answer), codes, day=day
            )
        if days is not None:
            found["problem_duration", days] = coding(
                "problem_duration", f"{days} days", ["days"], number=days
            )
    for field, word in [("visit_result", visit["result"]) for visit in fleet["visits"]] + [
        ("part", part["part"]) for part in fleet["parts"]
    ]:
        if word is not None:
            found[field, word] = coding(field, word, [word])
    for check in fleet.get("checks", []):
        found["check", check["check"]] = coding("check", check["check"], [check["check"]])
        if check["finding"] is not None:
            found["finding", check["finding"]] = coding("finding", check["finding"], [check["finding"]])
    for unit in fleet["units"]:
        kind = unit["filter_kind"]
        if kind is not None:
            found["filter_kind", kind] = coding("filter_kind", kind, [kind])
    return list(found.values())


def call_row(call: dict) -> dict:
    closed = call["closed"]
    return PROVENANCE | {
        "call_id": call["call_id"],
        "unit_id": call["unit_id"],
        "opened_at": moment(call["opened"]),
        "opened_has_time": has_time(call["opened"]),
        "closed_at": None if closed is None else moment(closed),
        "closed_has_time": None if closed is None else has_time(closed),
        "closing_recorded": call["closing_recorded"],
        "outcome_recorded": call["outcome_recorded"],
        "complaint": complaint_text(call),
        "root_cause": call["cause"],
        "first_diagnosis": call.get("first_diagnosis"),
        "outcome": call["outcome"],
        "technician_id": call["technician"],
        "depot": call["depot"],
        "job_kind": call["job_kind"],
        "filter_last_changed": str(call["filter_answer"]) if call["filter_answer"] else None,
        "problem_duration": f"{call['duration_days']} days" if call["duration_days"] else None,
        "source": call["source"],
    }


def visit_row(visit: dict) -> dict:
    return PROVENANCE | {
        "visit_id": visit["visit_id"],
        "call_id": visit["call_id"],
        "technician_id": visit["technician"],
        "helper_id": visit["helper"],
        "arrived_at": moment(visit["arrived"]),
        "arrived_has_time": has_time(visit["arrived"]),
        "left_at": visit["left"],
        "result": visit["result"],
        "source": visit["source"],
    }


def part_row(part: dict) -> dict:
    return PROVENANCE | part | {"occurrence": 1, "quantity": 1.0}


def check_row(check: dict) -> dict:
    return PROVENANCE | check | {"occurrence": 1}


def unit_row(unit: dict) -> dict:
    return PROVENANCE | {
        "unit_id": unit["unit_id"],
        "installed_on": unit["installed"],
        "retired_on": unit["retired"],
        "filter_kind": unit["filter_kind"],
        "source": unit["source"],
    }


def file_row(number: int, source: str, extracted: datetime | None) -> dict:
    """The load report of one file of calls, as far as the marts look at it."""
    counts = ("rows", "loaded", "updated", "repeated_exact", "repeated_older", "set_aside", "withdrawn")
    return dict.fromkeys(counts, 0) | {
        "file_id": number,
        "load_id": 1,
        "file_name": f"{number}.csv",
        "sha256": str(number),
        "reading_hash": str(number),
        "table_name": "calls",
        "source": source,
        "extracted_on": extracted,
        "extracted_from": "given" if extracted else "unknown",
        "full_extract": False,
        "encoding": "utf-8",
        "separator": ",",
        "header": ["call_id"],
        "mapping": "",
    }


def insert(connection, table: str, rows: list[dict]) -> None:
    if rows:
        frame = pl.DataFrame(rows, infer_schema_length=None)  # noqa: F841 - read by its name
        connection.execute(f"insert into {table} by name select * from frame")


def put(connection, fleet: dict) -> None:
    """Write a fleet into fresh tables of the store."""
    sources = sorted({call["source"] for call in fleet["calls"]})
    extracted = fleet["extracted"]
    insert(connection, "loads.files", [file_row(n, s, extracted.get(s)) for n, s in enumerate(sources, 1)])
    insert(connection, "records.calls", [call_row(call) for call in fleet["calls"]])
    insert(connection, "records.visits", [visit_row(visit) for visit in fleet["visits"]])
    insert(connection, "records.parts", [part_row(part) for part in fleet["parts"]])
    insert(connection, "records.checks", [check_row(check) for check in fleet.get("checks", [])])
    insert(connection, "records.units", [unit_row(unit) for unit in fleet["units"]])
    insert(connection, "records.filter_changes", [PROVENANCE | change for change in fleet["changes"]])
    insert(connection, "texts.codings", codings(fleet))
