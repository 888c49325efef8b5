"""The catalogue of an appliance: symptoms, causes, checks, parts, outcomes, and the words for them, as data.

The file is TOML (see docs/catalogue.md); this module reads it, checks it, and answers questions about it.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import polars as pl

from analytics.catalogues import checking, tables, units_of_measure
from analytics.catalogues.model import (
    Amount,
    Cause,
    Check,
    Coded,
    Family,
    Field,
    JobKind,
    Limit,
    Outcome,
    Part,
    Rule,
    Setup,
    Symptom,
    Unit,
    VisitResult,
    Words,
)
from analytics.catalogues.reading import Place, read_toml, record, records
from analytics.catalogues.spoken import read_words

ICE_AND_WATER = Path(__file__).with_name("catalogues") / "ice_and_water.toml"
FORMAT = 1

_TABLES: Mapping[str, type] = {
    "families": Family,
    "symptoms": Symptom,
    "causes": Cause,
    "setups": Setup,
    "checks": Check,
    "limits": Limit,
    "parts": Part,
    "outcomes": Outcome,
    "job_kinds": JobKind,
    "visit_results": VisitResult,
    "fields": Field,
}
_LISTS: Mapping[str, type] = {"amounts": Amount, "rules": Rule}
_OTHERS = ("format", "code", "label", "cautions", "levels", "abbreviations", "words", "healthy", "foreign")


@dataclass(frozen=True, kw_only=True, eq=False)
class Catalogue:
    """Everything a catalogue file holds, checked; each table by code, in the order of the file."""

    code: str
    label: str
    hash: str
    families: Mapping[str, Family]
    symptoms: Mapping[str, Symptom]
    causes: Mapping[str, Cause]
    setups: Mapping[str, Setup]
    cautions: Mapping[str, str]
    checks: Mapping[str, Check]
    limits: Mapping[str, Limit]
    parts: Mapping[str, Part]
    outcomes: Mapping[str, Outcome]
    job_kinds: Mapping[str, JobKind]
    visit_results: Mapping[str, VisitResult]
    levels: Mapping[str, Mapping[str, Coded]]
    fields: Mapping[str, Field]
    amounts: tuple[Amount, ...]
    rules: tuple[Rule, ...]
    words: Words
    units: Mapping[str, Unit]

    def coded(self, field: str) -> Mapping[str, Coded]:
        """Everything that a text of this field can stand for, by code.

        Raises
        ------
        KeyError
            When there is no such field.
        """
        source = self.fields[field].codes
        return getattr(self, source) if source else self.levels.get(field, {})

    def labels(self, field: str) -> dict[str, str]:
        """Labels of the codes of a field, in the order of the catalogue."""
        return {each.code: each.label for each in self.coded(field).values()}

    def phrases(self, field: str, code: str) -> tuple[str, ...]:
        """Every phrase that stands for a code: code, label, its own, and those common to all fields."""
        each = self.coded(field)[code]
        common = self.words.common_phrases.get(code, ())
        return tuple(dict.fromkeys((code.replace("_", " "), each.label, *each.phrases, *common)))

    def frames(self) -> dict[str, pl.DataFrame]:
        """One frame for each table of sql/schema/catalogue.sql."""
        return tables.frames(self)

    def convert(self, value: float, from_unit: str, to_unit: str) -> float:
        """Bring a value into another unit of the same quantity; both as written ("psi", "kPa", "°F").

        Raises
        ------
        BadQuestion
            When a unit is not known, or the two measure different things.
        """
        return units_of_measure.convert(self.units, value, from_unit, to_unit)


def load_catalogue(path: Path | None = None) -> Catalogue:
    """Read and check a catalogue file; without a path that of the ice and water side.

    Raises
    ------
    BadCatalogue
        When the file does not hold together; the message names the file and the key.
    """
    return _ice_and_water() if path is None else _read(Path(path))


@cache
def _ice_and_water() -> Catalogue:
    """Read this program's own file once a process: what is read can not be changed."""
    return _read(ICE_AND_WATER)


def _read(file: Path) -> Catalogue:
    raw = read_toml(file)
    place = Place(str(file))
    if unknown := sorted(set(raw) - {*_TABLES, *_LISTS, *_OTHERS}):
        raise place.wrong(
            f"unknown key '{unknown[0]}'.", f"Known: {', '.join(sorted((*_TABLES, *_LISTS, *_OTHERS)))}."
        )
    if raw.get("format") != FORMAT:
        raise place.below("format").wrong(
            f"found {raw.get('format')!r}.", f"This version reads format {FORMAT}."
        )
    for name in ("code", "label"):
        if not isinstance(raw.get(name), str):
            raise place.below(name).wrong(f"found {raw.get(name)!r}.", "A text is wanted here.")
    values: dict[str, Any] = {
        name: MappingProxyType(records(kind, raw.get(name, {}), place.below(name)))
        for name, kind in _TABLES.items()
    }
    for name, kind in _LISTS.items():
        entries = enumerate(raw.get(name, []), 1)
        values[name] = tuple(record(kind, entry, place.below(name, str(n))) for n, entry in entries)
    levels = {
        field: MappingProxyType(records(Coded, table, place.below("levels", field)))
        for field, table in raw.get("levels", {}).items()
    }
    catalogue = Catalogue(
        code=raw["code"],
        label=raw["label"],
        hash=_hash(file),
        cautions=MappingProxyType(dict(raw.get("cautions", {}))),
        levels=MappingProxyType(levels),
        words=read_words(raw, place),
        units=units_of_measure.read_units(),
        **values,
    )
    checking.check(catalogue, str(file))
    return catalogue


def _hash(file: Path) -> str:
    shared = sorted(Path(__file__).with_name("catalogues").glob("*.toml"))
    digest = hashlib.sha256(file.read_bytes())
    for each in (s for s in shared if s.name in ("everyday_words.toml", "units_of_measure.toml")):
        digest.update(each.read_bytes())
    return digest.hexdigest()
