"""An invented fleet whose office writes half of its complaints, causes and parts in words of its own.

Assumptions: 12,000 calls, seed 5. Of the complaints with one true symptom, half are written in the office's
words for it and a tenth in one of the phrases of `tests/outside/phrases_held_out.csv`; of the causes, half
in the office's words for the cause that was named; of the parts, half; which, is drawn call by call and
independently. Of the phrases for one meaning the first is the most frequent (weights 1, 1/2, 1/3, ...).
None of them is taken as recognised. Nor is a quarter of the texts of some other fields, by a
hash of the text; those are in words that resemble the catalogue's.
"""

import csv
import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from analytics.catalogue import Catalogue
from analytics.fleet import Fleet
from analytics.intake import coding
from analytics.intake.loading import load_files
from analytics.store import Store
from synthetic_data import generate
from synthetic_data.wording import field_words
from tests.outside.test_phrases import half

CALLS, SEED = 12_000, 5
OWN_WORDS = Path(__file__).with_name("jargon_held_out.csv")
OWN, HELD_OUT = 0.5, 0.1
FIELDS = ("complaint", "root_cause", "part")
OTHERS = ("outcome", "check", "visit_result", "mould_state", "already_tried", "what_changed", "shutoff_valve")

Phrases = list[tuple[str, str]]


def own_words(field: str, which: str | None = None) -> Phrases:
    """Phrases of the office for one field, each with its code; `which` half, as in test_phrases."""
    with OWN_WORDS.open(encoding="utf-8", newline="") as file:
        rows = [(row["text"], row["codes"]) for row in csv.DictReader(file) if row["field"] == field]
    return [row for row in rows if which in (None, half(row[0]))]


def build(folder: Path, held_out: Phrases) -> None:
    """Make the fleet, write it in the office's words, and load it."""
    generate(folder / "files", calls=CALLS, seed=SEED)
    rng = np.random.default_rng(SEED)
    calls = _read(folder / "files" / "calls.csv")
    truth = _read(folder / "files" / "truth" / "calls.csv")
    assert calls["call_id"].to_list() == truth["call_id"].to_list()
    plain = truth["second_symptom"].is_null() & (truth["said_same_again"] == "false")
    symptom = pl.select(pl.when(plain).then(truth["symptom"])).to_series()
    complaint = _written(rng, calls["complaint"], symptom, own_words("complaint"), OWN)
    complaint = _written(rng, complaint, symptom, held_out, HELD_OUT)
    cause = _written(rng, calls["root_cause"], truth["named_cause"], own_words("root_cause"), OWN)
    calls.with_columns(complaint.alias("complaint"), cause.alias("root_cause")).write_csv(
        folder / "files" / "calls.csv"
    )
    parts = _read(folder / "files" / "parts.csv")
    meant = {word: code for code, words in field_words("part").items() for word in (code, *words)}
    code = parts["part"].replace_strict(meant, default=None, return_dtype=pl.String)
    part = _written(rng, parts["part"], code, own_words("part"), OWN)
    parts.with_columns(part.alias("part")).write_csv(folder / "files" / "parts.csv")
    unread = {field: {text for text, _ in own_words(field)} for field in FIELDS}
    unread["complaint"] |= {text for text, _ in held_out}
    with _not_recognised(unread) as others:
        load_files(Store(folder / "store"), sorted((folder / "files").glob("*.csv")))
    (folder / "others.json").write_text(json.dumps(others), encoding="utf-8")


def fleet_of(folder: Path) -> Fleet:
    """Return the fleet that was built into a folder."""
    return Fleet(Store(folder / "store"))


def others_of(folder: Path) -> dict[str, Phrases]:
    """Return the texts of other fields that were taken as not recognised, and what they mean."""
    read = json.loads((folder / "others.json").read_text(encoding="utf-8"))
    return {field: [(text, code) for text, code in rows] for field, rows in read.items()}


def _read(path: Path) -> pl.DataFrame:
    return pl.read_csv(path, infer_schema=False)


def _written(
    rng: np.random.Generator, before: pl.Series, codes: pl.Series, phrases: Phrases, share: float
) -> pl.Series:
    """Write a share of the texts that are there in phrases of their code, the first the most frequent."""
    texts: list[str | None] = before.to_list()
    for code in sorted({code for _, code in phrases}):
        mine = [text for text, each in phrases if each == code]
        at = ((codes == code).fill_null(False) & before.is_not_null()).arg_true().to_numpy()
        at = at[rng.random(len(at)) < share]
        weights = 1.0 / np.arange(1, len(mine) + 1)
        drawn = rng.choice(len(mine), len(at), p=weights / weights.sum())
        for place, phrase in zip(at, drawn, strict=True):
            texts[place] = mine[phrase]
    return pl.Series(texts, dtype=pl.String)


def _quarter(text: str) -> bool:
    return hashlib.sha256(text.encode()).digest()[0] % 4 == 0


@contextmanager
def _not_recognised(unread: dict[str, set[str]]) -> Iterator[dict[str, Phrases]]:
    """Take texts as not recognised while files are loaded: those given, and a quarter in other fields."""
    known, others = coding.code_texts, dict[str, Phrases]()

    def code_texts(catalogue: Catalogue, field: str, texts: list[str], **how: bool | None) -> pl.DataFrame:
        found = known(catalogue, field, texts, **how)
        hide = unread.get(field)
        if hide is None and field in OTHERS:
            said = found.filter(
                ~pl.col("how").is_in(["code", "not recognised"]), pl.col("codes").list.len() == 1
            )
            rows = said.select("text", pl.col("codes").list.first()).rows()
            mine = [(text, code) for text, code in rows if _quarter(text)]
            others.setdefault(field, []).extend(mine)
            hide = {text for text, _ in mine}
        hidden = pl.col("text").is_in(list(hide or ()))
        return found.with_columns(
            pl.when(hidden).then(pl.lit("not recognised")).otherwise("how").alias("how"),
            pl.when(hidden).then(pl.lit([], dtype=pl.List(pl.String))).otherwise("codes").alias("codes"),
            pl.when(hidden).then(False).otherwise("same_again").alias("same_again"),
            *(pl.when(~hidden).then(name).alias(name) for name in ("implied_field", "implied_code", "score")),
        )

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(coding, "code_texts", code_texts)
        yield others
