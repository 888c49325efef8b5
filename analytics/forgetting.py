"""Forgetting a technician, a household or a unit: out of records, decisions and audit, bytes and all."""

import json
import re
import sqlite3
from dataclasses import dataclass

import duckdb

from analytics import audit_lines, queries
from analytics.audit import Audit
from analytics.catalogue import load_catalogue
from analytics.decisions import Decisions
from analytics.errors import BadQuestion
from analytics.intake.changing import Changing
from analytics.marts import build_marts
from analytics.store import Store
from analytics.technician_codes import SHORTEST_IN_TEXT, TechnicianCodes, mention

KINDS = ("technician", "household", "unit")
GONE = "(forgotten)"


@dataclass(frozen=True)
class Forgotten:
    """What there was.

    Parameters
    ----------
    calls : int
        Of the technician or household, which stay without it; of the unit, which are gone.
    decisions : int
        That were taken away.
    """

    calls: int
    decisions: int


def calls_of(store: Store, kind: str, number: str) -> list[str]:
    """Return the calls of a technician, household or unit, as loaded.

    Raises
    ------
    BadQuestion
        When there is no such kind, or the number is blank.
    """
    if kind not in KINDS:
        raise BadQuestion(f"'{kind}' can not be forgotten. Choose one of {', '.join(KINDS)}.")
    if not number.strip():
        raise BadQuestion(f"Say which {kind}, by its number as loaded.")
    if not store.exists():
        return []
    values = {"kind": kind, "id": number}
    return queries.frame(store.reader().cursor(), "store/forgotten_calls", values)["call_id"].to_list()


def forget(store: Store, kind: str, number: str, who: str) -> Forgotten:
    """Take a technician, household or unit out of everything the store keeps.

    Parameters
    ----------
    store : Store
        Its other generations are removed: they hold what is forgotten, and can not be gone back to.
    kind, number : str
        One of `KINDS`, and its number as loaded.
    who : str
        Who does it; the audit keeps that something was forgotten, and not what.

    Raises
    ------
    BadQuestion, StoreProblem
        Decisions go first: where the records then can not be written, forgetting again finishes it.
    """
    calls = calls_of(store, kind, number)
    ids = [number, *(calls if kind == "unit" else [])]
    decisions = _forget_decisions(store, kind, number, ids)

    def change(connection: duckdb.DuckDBPyConnection) -> None:
        queries.run(connection, f"store/forget_{kind}", {"id": number})
        named = {"ids": ids, "mention": mention(ids)}
        queries.run(connection, "store/forget_mentions", named)
        build_marts(connection, load_catalogue(), "all")
        queries.run(connection, "store/checkpoint")

    store.rewrite(change)
    if kind == "technician":
        TechnicianCodes(store.folder).forget([number])  # last: a copy of before may have been in the making
    Changing(store, lambda _: None).forget()
    Audit(store.folder).note(who, "forgot", f"a {kind}")
    return Forgotten(len(calls), decisions)


def _forget_decisions(store: Store, kind: str, number: str, ids: list[str]) -> int:
    kept = Decisions(store.folder)
    with kept.erasing() as connection:
        if connection is None:
            return 0
        group = f"technician:{number}:" if kind == "technician" else ""
        values = {"ids": json.dumps(ids), "group": group}
        gone = connection.execute(queries.statement("decisions/forget"), values).rowcount
        for each in ids:
            _rewrite_mentions(connection, each)
        if audit_lines.is_made(connection):
            connection.execute(queries.statement("access/forget_in_audit"), values)
    return gone


def _rewrite_mentions(connection: sqlite3.Connection, number: str) -> None:
    """Take a number out of what people wrote."""
    if len(number) < SHORTEST_IN_TEXT:
        return
    found = connection.execute(queries.statement("decisions/mentions"), {"id": number}).fetchall()
    whole = re.compile(rf"(?<![A-Za-z0-9_]){re.escape(number)}(?![A-Za-z0-9_])")
    for row, *texts in found:
        value, note, who = (whole.sub(GONE, text) for text in texts)
        values = {"number": row, "value": value, "note": note, "who": who}
        connection.execute(queries.statement("decisions/rewrite"), values)
