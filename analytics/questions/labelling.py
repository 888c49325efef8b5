"""Words for codes: labels of the catalogue, and of groups."""

from datetime import date

import duckdb

from analytics import queries

NOT_RECORDED = "not recorded"
_NOTHING = {
    "symptom": "not recognised",
    "cause": "blank or not recognised",
    "part": "no part",
    "month": "open",
}
_CATALOGUE_FIELD = {"symptom": "symptoms", "cause": "causes", "part": "parts"}


def labels(cursor: duckdb.DuckDBPyConnection, field: str) -> dict[str, str]:
    """Answer `Fleet.labels`."""
    return dict(queries.frame(cursor, "lists/labels", {"field": field}).iter_rows())


def group_labels(
    cursor: duckdb.DuckDBPyConnection, by: str, groups: list[str | None]
) -> dict[str | None, str]:
    """Return the words for each group of a grouping; ids and names of senders stand for themselves."""
    known = labels(cursor, _CATALOGUE_FIELD[by]) if by in _CATALOGUE_FIELD else {}
    return {group: _label(by, group, known) for group in groups}


def _label(by: str, group: str | None, known: dict[str, str]) -> str:
    if group is None:
        return _NOTHING.get(by, NOT_RECORDED)
    if by == "month":
        return f"{date.fromisoformat(group):%b %Y}"
    return known.get(group, group)
