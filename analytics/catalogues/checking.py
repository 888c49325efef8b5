"""Checks that a catalogue holds together: every reference points to something, no phrase to two things."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

import polars as pl

from analytics.catalogues import patterns
from analytics.catalogues.folding import Folder
from analytics.catalogues.model import READS, STANDINGS, WHOSE
from analytics.errors import BadCatalogue

if TYPE_CHECKING:
    from analytics.catalogue import Catalogue


def check(catalogue: Catalogue, file: str) -> None:
    """Refuse a catalogue that does not hold together.

    Raises
    ------
    BadCatalogue
        Naming the file, the key and what is legal, for the first thing wrong.
    """
    for where, found, legal in _references(catalogue):
        if found not in legal:
            raise BadCatalogue(f"{file}: {where}: '{found}' is not known. Legal: {', '.join(sorted(legal))}.")
    for where, wrong in _values(catalogue):
        raise BadCatalogue(f"{file}: {where}: {wrong}")
    for field in catalogue.fields:
        _phrases_are_apart(catalogue, field, file)
        _patterns_can_occur(catalogue, field, file)


def _references(c: Catalogue) -> Iterator[tuple[str, str, Collection[str]]]:
    for s in c.symptoms.values():
        if s.family is not None:
            yield f"symptoms.{s.code}.family", s.family, c.families.keys()
    for cause in c.causes.values():
        for than in cause.goes_deeper_than:
            yield f"causes.{cause.code}.goes_deeper_than", than, c.causes.keys() - {cause.code}
        for whose in cause.whose:
            yield f"causes.{cause.code}.whose", whose, set(WHOSE)
    for each in c.checks.values():
        yield f"checks.{each.code}.caution", each.caution, c.cautions.keys()
        for name in ("setup", "setup_or"):
            if (setup := getattr(each, name)) is not None:
                yield f"checks.{each.code}.{name}", setup, c.setups.keys()
        for cause_code in each.reveals:
            yield f"checks.{each.code}.reveals", cause_code, c.causes.keys()
    for limit in c.limits.values():
        yield f"limits.{limit.code}.unit", limit.unit, c.units.keys()
        if limit.check is not None:
            yield f"limits.{limit.code}.check", limit.check, c.checks.keys()
        if limit.also is not None:
            yield f"limits.{limit.code}.also.unit", str(limit.also.get("unit")), c.units.keys()
    for part in c.parts.values():
        for cause_code in part.answers:
            yield f"parts.{part.code}.answers", cause_code, c.causes.keys()
    for field in c.fields.values():
        if field.reads is not None:
            yield f"fields.{field.code}.reads", field.reads, set(READS)
    for number, rule in enumerate(c.rules, 1):
        yield f"rules.{number}.field", rule.field, c.fields.keys()
        for code in (rule.code, *rule.yields_to):
            if code is not None:
                yield f"rules.{number}.code", code, c.coded(rule.field).keys()
        if rule.implied_field is not None:
            yield f"rules.{number}.implied_field", rule.implied_field, c.fields.keys()
            yield f"rules.{number}.implied_code", str(rule.implied_code), c.coded(rule.implied_field).keys()
    for number, amount in enumerate(c.amounts, 1):
        yield f"amounts.{number}.field", amount.field, c.fields.keys()
        yield f"amounts.{number}.code", amount.code, c.coded(amount.field).keys()
        yield f"amounts.{number}.kind", amount.kind, {*READS, "day"}
        if amount.bare is not None:
            yield f"amounts.{number}.bare", amount.bare, {"days", "months", "years"}
    for field_code in c.levels:
        yield f"levels.{field_code}", field_code, c.fields.keys()
    for table in ("symptoms", "causes", "setups", "checks", "limits", "parts"):
        for row in getattr(c, table).values():
            yield f"{table}.{row.code}.standing", row.standing, STANDINGS.keys()


def _values(c: Catalogue) -> Iterator[tuple[str, str]]:
    bits = [f.bit for f in c.families.values()]
    for family in c.families.values():
        if family.bit < 1 or family.bit & (family.bit - 1):
            yield f"families.{family.code}.bit", f"{family.bit} is not a power of two."
        if bits.count(family.bit) > 1:
            yield f"families.{family.code}.bit", f"{family.bit} stands under two families."
    for each in c.checks.values():
        if each.minutes < 0 or each.beside_minutes < 0:
            yield f"checks.{each.code}.minutes", "minutes can not be negative."
        for cause, share in each.reveals.items():
            if not 0 < share <= 1:
                yield f"checks.{each.code}.reveals.{cause}", f"{share} is no share: above 0, at most 1."
    for limit in c.limits.values():
        if limit.low is not None and limit.high is not None and limit.low > limit.high:
            yield f"limits.{limit.code}", f"low {limit.low} lies above high {limit.high}."
    for number, rule in enumerate(c.rules, 1):
        for pattern in (*rule.any, *rule.all, *rule.none):
            if wrong := patterns.problem(pattern, c.words.classes):
                yield f"rules.{number} ({rule.field}, '{pattern}')", wrong
        if rule.code is None and rule.implied_field is None and not rule.same_again:
            yield f"rules.{number}", "the rule gives nothing: add code, same_again or implied_field."
    for name in ("healthy", "foreign"):
        for field_code, written in getattr(c.words, name).items():
            for pattern in written:
                if wrong := patterns.problem(pattern, c.words.classes):
                    yield f"{name}.{field_code} ('{pattern}')", wrong
    for code, words in c.words.classes.items():
        if not words:
            yield f"words.{code}", "the class holds no word."


def _phrases_are_apart(catalogue: Catalogue, field: str, file: str) -> None:
    rows = [
        (each.code, phrase)
        for each in catalogue.coded(field).values()
        for phrase in catalogue.phrases(field, each.code)
    ]
    folder = Folder(catalogue.words, field)
    frame = pl.DataFrame(rows, schema=["code", "phrase"], orient="row")
    frame = frame.with_columns(key=folder.keys(frame["phrase"]))
    double = frame.group_by("key", maintain_order=True).agg(
        pl.col("code").unique(maintain_order=True), "phrase"
    )
    double = double.filter(pl.col("code").list.len() > 1)
    if double.height:
        first = double.row(0, named=True)
        raise BadCatalogue(
            f"{file}: {field}: the phrase '{first['phrase'][0]}' stands under two codes,"
            f" {' and '.join(first['code'])} (compared as '{first['key']}'). Leave it under one of them."
        )
    if (empty := frame.filter(pl.col("key") == "")).height:
        raise BadCatalogue(
            f"{file}: {field}: the phrase '{empty['phrase'][0]}' holds no word that can be compared."
        )


def _patterns_can_occur(catalogue: Catalogue, field: str, file: str) -> None:
    gone = Folder(catalogue.words, field).replacements
    bare = dict.fromkeys(catalogue.words.classes, ())
    written = [
        p for rule in catalogue.rules if rule.field == field for p in (*rule.any, *rule.all, *rule.none)
    ]
    for table in (catalogue.words.healthy, catalogue.words.foreign):
        written += table.get(field, ())
    for pattern in written:
        if words := sorted(patterns.vocabulary([pattern], bare) & gone.keys()):
            instead = (
                f"write '{gone[words[0]]}'" if gone[words[0]] else "leave it out: it is dropped as a filler"
            )
            raise BadCatalogue(
                f"{file}: {field}: the pattern '{pattern}' waits for '{words[0]}', which no folded text"
                f" holds; {instead}."
            )
