"""Applies the catalogue's rules to folded texts: every rule is one regular expression over a whole column."""

import polars as pl

from analytics.catalogue import Catalogue
from analytics.catalogues import patterns
from analytics.catalogues.folding import CLAUSE

REMARKS = {"same_again": pl.Boolean, "implied_field": pl.String, "implied_code": pl.String}


class Rules:
    """The rules of one field, ready to be applied.

    Parameters
    ----------
    catalogue : Catalogue
    field : str
        Coding field.
    """

    def __init__(self, catalogue: Catalogue, field: str) -> None:
        classes = catalogue.words.classes
        mine = [rule for rule in catalogue.rules if rule.field == field]
        self._several = catalogue.fields[field].several
        self._healthy = patterns.union(catalogue.words.healthy.get(field, ()), classes)
        self._foreign = patterns.union(catalogue.words.foreign.get(field, ()), classes)
        self._tests = [
            (
                [patterns.union(rule.any, classes), *(patterns.regex(p, classes) for p in rule.all)],
                patterns.union(rule.none, classes),
                rule,
            )
            for rule in mine
        ]
        self._yields: dict[str, set[str]] = {}
        for rule in mine:
            if rule.code and rule.yields_to:
                self._yields.setdefault(rule.code, set()).update(rule.yields_to)
        if catalogue.fields[field].codes == "causes":
            for cause in catalogue.causes.values():
                for than in cause.goes_deeper_than:
                    self._yields.setdefault(than, set()).add(cause.code)
        written = [p for rule in mine for p in (*rule.any, *rule.all, *rule.none)]
        self.vocabulary = patterns.vocabulary([*written, *catalogue.words.healthy.get(field, ())], classes)

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
        frame = pl.DataFrame({"clauses": clauses})
        text = pl.col("clauses")
        if self._foreign:
            frame = frame.with_columns(
                clauses=pl.when(text.str.contains(self._foreign)).then(pl.lit("")).otherwise(text)
            )
        if self._healthy:
            frame = frame.with_columns(text.str.replace_all(self._healthy, f" {CLAUSE} "))
        found: dict[str, pl.Expr] = {}
        same, implied = pl.lit(False), []
        columns = []
        for number, (wanted, unwanted, rule) in enumerate(self._tests):
            test = pl.all_horizontal([text.str.contains(each) for each in wanted])
            columns.append(
                (test & ~text.str.contains(unwanted) if unwanted else test).alias(f"rule_{number}")
            )
            hit = pl.col(f"rule_{number}")
            if rule.code:
                found[rule.code] = found[rule.code] | hit if rule.code in found else hit
            same = same | hit if rule.same_again else same
            if rule.implied_field:
                implied.append((hit, rule.implied_field, rule.implied_code))
        return (
            frame.select(columns).select(
                codes=self._codes(found),
                same_again=same if columns else pl.repeat(False, len(clauses)),
                implied_field=_first([(hit, field) for hit, field, _ in implied], len(clauses)),
                implied_code=_first([(hit, code) for hit, _, code in implied], len(clauses)),
            )
            if columns
            else _nothing(len(clauses))
        )

    def _codes(self, found: dict[str, pl.Expr]) -> pl.Expr:
        if not found:
            return pl.lit([], dtype=pl.List(pl.String))
        kept = []
        for code, hit in found.items():
            for stronger in sorted(self._yields.get(code, set()) & found.keys()):
                hit = hit & ~found[stronger]
            kept.append(pl.when(hit).then(pl.lit(code)))
        codes = pl.concat_list(kept).list.drop_nulls()
        if self._several:
            return codes
        return pl.when(codes.list.len() == 1).then(codes).otherwise(pl.lit([], dtype=pl.List(pl.String)))


def _first(choices: list[tuple[pl.Expr, str | None]], height: int) -> pl.Expr:
    if not choices:
        return pl.repeat(None, height, dtype=pl.String)
    return pl.coalesce([pl.when(hit).then(pl.lit(value)) for hit, value in choices])


def _nothing(height: int) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "codes": [[]] * height,
            "same_again": [False] * height,
            "implied_field": [None] * height,
            "implied_code": [None] * height,
        },
        schema={"codes": pl.List(pl.String), **REMARKS},
    )
