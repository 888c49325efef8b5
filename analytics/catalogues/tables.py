"""A catalogue as Polars frames: one for each table of sql/schema/catalogue.sql, of its columns and types."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import polars as pl

if TYPE_CHECKING:
    from analytics.catalogue import Catalogue

_TEXT, _TRUTH, _NUMBER = pl.String, pl.Boolean, pl.Float64

SCHEMAS: Mapping[str, dict[str, Any]] = {
    "about": {"code": _TEXT, "label": _TEXT, "hash": _TEXT},
    "families": {"code": _TEXT, "label": _TEXT, "bit": pl.Int32},
    "symptoms": {"code": _TEXT, "label": _TEXT, "family": _TEXT},
    "causes": {
        "code": _TEXT,
        "label": _TEXT,
        "flow_linked": _TRUTH,
        "whose": pl.List(_TEXT),
        "consequence": _TRUTH,
        "can_be_final": _TRUTH,
        "other_catalogue": _TRUTH,
    },
    "goes_deeper": {"cause": _TEXT, "than": _TEXT},
    "checks": {"code": _TEXT, "label": _TEXT, "setup": _TEXT, "minutes": _NUMBER, "caution": _TEXT},
    "reveals": {"check_code": _TEXT, "cause": _TEXT, "share": _NUMBER},
    "parts": {"code": _TEXT, "label": _TEXT, "is_filter": _TRUTH, "water_side": _TRUTH},
    "part_answers": {"part": _TEXT, "cause": _TEXT},
    "outcomes": {"code": _TEXT, "label": _TEXT, "work_done": _TRUTH},
    "job_kinds": {"code": _TEXT, "label": _TEXT, "is_repair": _TRUTH},
    "visit_results": {
        "code": _TEXT,
        "label": _TEXT,
        "work_done": _TRUTH,
        "let_in": _TRUTH,
        "waits_for_part": _TRUTH,
    },
    "levels": {"field": _TEXT, "code": _TEXT, "label": _TEXT},
    "units_of_measure": {
        "spelling": _TEXT,
        "quantity": _TEXT,
        "scale": _NUMBER,
        "offset": _NUMBER,
        "canonical_unit": _TEXT,
    },
}


def frames(catalogue: Catalogue) -> dict[str, pl.DataFrame]:
    """Return every table of the schema `catalogue` by its name."""
    c = catalogue
    rows: dict[str, Iterable[tuple[Any, ...]]] = {
        "about": [(c.code, c.label, c.hash)],
        "goes_deeper": [(cause.code, than) for cause in c.causes.values() for than in cause.goes_deeper_than],
        "reveals": [(k.code, cause, share) for k in c.checks.values() for cause, share in k.reveals.items()],
        "part_answers": [(part.code, cause) for part in c.parts.values() for cause in part.answers],
        "levels": [
            (field, each.code, each.label) for field, levels in c.levels.items() for each in levels.values()
        ],
        "units_of_measure": [
            (spelling, unit.quantity, unit.scale, unit.offset, unit.canonical)
            for unit in c.units.values()
            for spelling in unit.spellings
        ],
    }
    for name in (
        "families",
        "symptoms",
        "causes",
        "checks",
        "parts",
        "outcomes",
        "job_kinds",
        "visit_results",
    ):
        rows[name] = [
            tuple(getattr(r, column) for column in SCHEMAS[name]) for r in getattr(c, name).values()
        ]
    return {
        name: pl.DataFrame([list(map(_plain, row)) for row in rows[name]], schema=schema, orient="row")
        for name, schema in SCHEMAS.items()
    }


def _plain(value: object) -> object:
    return list(value) if isinstance(value, tuple) else value
