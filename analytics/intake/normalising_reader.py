"""Reads the texts of one field, step by step; see normalising.py for the order of the steps."""

from typing import Any

import polars as pl
from rapidfuzz import fuzz, process

from analytics.catalogue import Catalogue
from analytics.catalogues.folding import Folder, key
from analytics.intake.normalising_amounts import Amounts
from analytics.intake.normalising_dates import day_first
from analytics.intake.normalising_nearest import Nearest
from analytics.intake.normalising_phrases import Phrases
from analytics.intake.normalising_rules import Rules
from analytics.intake.normalising_spelling import Speller

SCHEMA: dict[str, Any] = {
    "field": pl.String,
    "text": pl.String,
    "codes": pl.List(pl.String),
    "how": pl.String,
    "score": pl.Float64,
    "same_again": pl.Boolean,
    "number": pl.Float64,
    "number_unit": pl.String,
    "day": pl.Date,
    "implied_field": pl.String,
    "implied_code": pl.String,
}
_UNKNOWN = "not recognised"
_NONE = pl.lit([], dtype=pl.List(pl.String))


class Reader:
    """Everything that reading one field needs, made once per catalogue.

    Parameters
    ----------
    catalogue : Catalogue
    field : str
        Coding field.
    """

    def __init__(self, catalogue: Catalogue, field: str) -> None:
        self._field = field
        self._reads = catalogue.fields[field].reads is not None
        self._amounts = Amounts(catalogue, field)
        self._codes = list(catalogue.coded(field))
        self._folder = Folder(catalogue.words, field)
        self._rules = Rules(catalogue, field)
        rows = [(phrase, [code]) for code in self._codes for phrase in catalogue.phrases(field, code)]
        frame = pl.DataFrame(
            rows, schema={"phrase": pl.String, "phrase_codes": pl.List(pl.String)}, orient="row"
        )
        keyed = frame.select("phrase_codes", key=self._folder.keys(frame["phrase"]))
        self._phrases = keyed.unique("key", maintain_order=True)
        self._inside = Phrases(catalogue, field, self._phrases)
        self._nearest = Nearest(self._phrases, catalogue.words.classes.get("not", ()))
        own = {word for text in self._phrases["key"] for word in text.split()} | self._rules.vocabulary
        plain = {*catalogue.words.plain, *catalogue.words.breaks, *self._rules.foreign_words}
        self._speller = Speller(own, self._folder.replacements, plain)

    def day_first(self, texts: pl.Series) -> bool | None:
        """Order of day and month that the texts themselves settle, or None."""
        return day_first(texts) if self._reads else None

    def read(self, texts: pl.Series, order: bool | None) -> pl.DataFrame:
        """Codings of distinct texts, in their order.

        Parameters
        ----------
        texts : series of str
        order : bool or None
            Order of day and month in dates written in figures.
        """
        whole = pl.DataFrame({"text": texts})
        known = pl.col("text").is_in(self._codes)
        exact = whole.filter(known).with_columns(codes=pl.concat_list("text"), how=pl.lit("code"))
        parts = [pl.DataFrame(schema=SCHEMA), exact]
        if exact.height < whole.height:
            parts += self._worded(whole.filter(~known), order)
        tidy = pl.concat(parts, how="diagonal").with_columns(
            pl.col("codes").fill_null(_NONE),
            field=pl.lit(self._field),
            how=pl.col("how").fill_null(_UNKNOWN),
            same_again=pl.col("same_again").fill_null(False),
        )
        return whole.join(tidy, on="text", how="left", maintain_order="left").select(
            pl.col(name).cast(kind) for name, kind in SCHEMA.items()
        )

    def _worded(self, texts: pl.DataFrame, order: bool | None) -> list[pl.DataFrame]:
        """Meaning of texts that are no code: those with a quantity, and the others."""
        amounts = self._amounts.read(texts["text"], order).with_columns(how=pl.lit("rule"))
        others = texts.filter(~pl.col("text").is_in(amounts["text"].implode()))
        others = others.with_columns(words=self._folder.words(others["text"]))
        found = self._words(others["words"].unique())
        return [amounts, others.join(found, on="words", how="left").drop("words")]

    def _words(self, words: pl.Series) -> pl.DataFrame:
        """Meaning of distinct folded texts: with their spelling mended, else by the nearest phrase."""
        frame = pl.DataFrame({"words": words, "mended": self._speller.mend(words)})
        read = frame.join(self._as_they_stand(frame["mended"].unique()), on="mended", how="left")
        score = process.cpdist(read["words"].to_list(), read["mended"].to_list(), scorer=fuzz.ratio)
        slip = self._speller.strange(read["words"]) & ~read["foreign"] & (read["how"] == _UNKNOWN)
        near = self._nearest.find(read.filter(slip)["key"]).rename({"codes": "near", "score": "nearness"})
        read = read.with_columns(score=pl.Series(score, dtype=pl.Float64), slip=slip)
        read = read.join(near, on="key", how="left")
        known, is_near = pl.col("how") != _UNKNOWN, pl.col("near").is_not_null() & pl.col("slip")
        mended = (pl.col("mended") != pl.col("words")) & known
        return read.select(
            "words",
            codes=pl.when(is_near).then("near").otherwise("codes"),
            how=pl.when(mended | is_near).then(pl.lit("fuzzy")).otherwise("how"),
            score=pl.when(mended).then("score").when(is_near).then("nearness"),
            same_again="same_again",
            implied_field="implied_field",
            implied_code="implied_code",
        )

    def _as_they_stand(self, words: pl.Series) -> pl.DataFrame:
        frame = pl.DataFrame({"mended": words})
        frame = frame.with_columns(key=key(pl.col("mended"))).join(
            self._phrases, on="key", how="left", maintain_order="left"
        )
        clauses = frame.select(clauses=self._folder.clauses(pl.col("mended")))["clauses"]
        foreign = self._rules.foreign(clauses)
        ruled = self._rules.apply(clauses)
        by_phrase = pl.col("phrase_codes").is_not_null()
        by_rule = ((pl.col("codes").list.len() > 0) | pl.col("same_again")) & ~pl.col("foreign")
        by_part = (pl.col("inside").list.len() > 0) & ~pl.col("foreign")
        whole = pl.concat([frame, ruled], how="horizontal")
        return whole.with_columns(inside=self._inside.apply(words), foreign=foreign).select(
            "mended",
            "key",
            "foreign",
            codes=pl.when(by_phrase)
            .then("phrase_codes")
            .when(by_rule)
            .then("codes")
            .when(by_part)
            .then("inside")
            .otherwise(_NONE),
            how=pl.when(by_phrase)
            .then(pl.lit("phrase"))
            .when(by_rule | by_part)
            .then(pl.lit("rule"))
            .otherwise(pl.lit(_UNKNOWN)),
            same_again=pl.col("same_again") & ~pl.col("foreign"),
            implied_field="implied_field",
            implied_code="implied_code",
        )
