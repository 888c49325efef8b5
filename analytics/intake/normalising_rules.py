"""Applies the catalogue's rules to folded texts: every rule is a regular expression over a whole column."""

from functools import cached_property, reduce
from operator import or_

import polars as pl

from analytics.catalogue import Catalogue
from analytics.catalogues import patterns
from analytics.catalogues.folding import CLAUSE
from analytics.catalogues.model import Rule

_CODES = pl.List(pl.String)
_NO_CODES = pl.lit([], dtype=_CODES)


class Rules:
    """The rules of one field, ready to be applied.

    Parameters
    ----------
    catalogue : Catalogue
    field : str
        Coding field.
    """

    def __init__(self, catalogue: Catalogue, field: str) -> None:
        self._classes = catalogue.words.classes
        self._rules = [rule for rule in catalogue.rules if rule.field == field]
        self._several = catalogue.fields[field].several
        self._healthy = patterns.union(catalogue.words.healthy.get(field, ()), self._classes)
        self._foreign = patterns.union(catalogue.words.foreign.get(field, ()), self._classes)
        self._deeper: dict[str, set[str]] = {}
        if catalogue.fields[field].codes == "causes":
            for cause in catalogue.causes.values():
                for than in cause.goes_deeper_than:
                    self._deeper.setdefault(than, set()).add(cause.code)
        written = [p for rule in self._rules for p in (*rule.any, *rule.all, *rule.none)]
        written += catalogue.words.healthy.get(field, ())
        self.vocabulary = patterns.vocabulary(written, self._classes)
        self.foreign_words = patterns.vocabulary(catalogue.words.foreign.get(field, ()), self._classes)

    def foreign(self, clauses: pl.Series) -> pl.Series:
        """Whether each text is about something that this catalogue does not know."""
        if not self._foreign:
            return pl.repeat(False, len(clauses), eager=True)
        return clauses.str.contains(self._foreign)

    def apply(self, clauses: pl.Series) -> pl.DataFrame:
        """Codes and remarks that the rules find in each text.

        Parameters
        ----------
        clauses : series of str
            Folded words with clause marks, padded by spaces.

        Returns
        -------
        frame with codes (list of str), same_again, implied_field, implied_code, a row per text
        """
        text = pl.col("clauses")
        frame = pl.DataFrame({"clauses": clauses})
        if self._healthy:
            frame = frame.with_columns(text.str.replace_all(self._healthy, f" {CLAUSE} "))
        return frame.with_columns(**self._hits).select(**self._found)

    @cached_property
    def _hits(self) -> dict[str, pl.Expr]:
        """Whether each rule is met, under its number; made once, for the rules stay."""
        text = pl.col("clauses")
        hits = {str(number): self._test(rule, text) for number, rule in enumerate(self._rules)}
        return {"never": pl.lit(False)} | hits

    @cached_property
    def _found(self) -> dict[str, pl.Expr]:
        implied = [(n, rule) for n, rule in enumerate(self._rules) if rule.implied_field]
        same = [pl.col(str(n)) for n, rule in enumerate(self._rules) if rule.same_again]
        return {
            "codes": self._codes(),
            "same_again": reduce(or_, same, pl.col("never")),
            "implied_field": _first([(n, rule.implied_field) for n, rule in implied]),
            "implied_code": _first([(n, rule.implied_code) for n, rule in implied]),
        }

    def _test(self, rule: Rule, text: pl.Expr) -> pl.Expr:
        wanted = [
            patterns.union(rule.any, self._classes),
            *(patterns.regex(p, self._classes) for p in rule.all),
        ]
        test = pl.all_horizontal([text.str.contains(each) for each in wanted])
        return test & ~text.str.contains(patterns.union(rule.none, self._classes)) if rule.none else test

    def _codes(self) -> pl.Expr:
        raw: dict[str, pl.Expr] = {}
        for number, rule in enumerate(self._rules):
            if rule.code:
                raw[rule.code] = raw.get(rule.code, pl.col("never")) | pl.col(str(number))
        kept: dict[str, pl.Expr] = {}
        for number, rule in enumerate(self._rules):
            if rule.code:
                stronger = {*rule.yields_to, *self._deeper.get(rule.code, ())} & raw.keys()
                hit = pl.col(str(number)) & ~reduce(
                    or_, [raw[code] for code in sorted(stronger)], pl.col("never")
                )
                kept[rule.code] = kept.get(rule.code, pl.col("never")) | hit
        if not kept:
            return pl.when("never").then(_NO_CODES).otherwise(_NO_CODES)
        codes = pl.concat_list(
            [pl.when(hit).then(pl.lit(code)) for code, hit in kept.items()]
        ).list.drop_nulls()
        if self._several:
            return codes
        return pl.when(codes.list.len() == 1).then(codes).otherwise(_NO_CODES)


def _first(choices: list[tuple[int, str | None]]) -> pl.Expr:
    found = [pl.when(pl.col(str(number))).then(pl.lit(value)) for number, value in choices]
    return pl.coalesce([*found, pl.when("never").then(pl.lit(""))])
