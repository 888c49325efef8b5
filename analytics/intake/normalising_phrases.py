"""Finds phrases of the catalogue inside longer texts: "not enough ice, sorry" holds "not enough ice"."""

import polars as pl

from analytics.catalogue import Catalogue

_SHORTEST_WORD = 3  # a phrase of one shorter word ("on", "ok") says too little inside other words


class Phrases:
    """The phrases of one field, looked for inside texts.

    Parameters
    ----------
    catalogue : Catalogue
    field : str
        Coding field.
    phrases : frame with key (str) and phrase_codes (list of str)
        Folded phrases. Single words count only in the answers to a question.
    """

    def __init__(self, catalogue: Catalogue, field: str, phrases: pl.DataFrame) -> None:
        free = catalogue.fields[field].codes is not None  # answers are short; complaints and notes are not
        words = pl.col("key").str.count_matches(" ") + 1
        long_enough = (words > 1) | ((pl.col("key").str.len_chars() >= _SHORTEST_WORD) & pl.lit(not free))
        usable = phrases.filter(long_enough)
        self._several = catalogue.fields[field].several
        self._padded = [_padded(key) for key in usable["key"]]
        self._codes = dict(zip(self._padded, usable["phrase_codes"].list.first(), strict=True))
        self._not = [w for w in catalogue.words.classes.get("not", ()) if " " not in w]

    def apply(self, words: pl.Series) -> pl.Series:
        """Codes of the phrases that each text holds; empty where it also holds a negation, or they disagree.

        Parameters
        ----------
        words : series of str
            Folded words, with clause marks.

        Returns
        -------
        series of list of str, of the same length
        """
        if not self._padded:
            return pl.Series([[]] * len(words), dtype=pl.List(pl.String))
        text = pl.concat_str(pl.lit(" "), pl.col("words").str.replace_all(" ", "  "), pl.lit(" "))
        frame = pl.DataFrame({"words": words}).with_row_index("row").with_columns(text=text)
        found = frame.with_columns(phrase=pl.col("text").str.extract_many(self._padded, leftmost=True))
        left = pl.col("text").str.replace_many(self._padded, [" "], leftmost=True)
        refused = left.str.contains(f" (?:{'|'.join(self._not)}) ") if self._not else pl.lit(False)
        found = found.filter(~refused).select("row", "phrase").explode("phrase").drop_nulls()
        codes = found.with_columns(code=pl.col("phrase").replace_strict(self._codes, return_dtype=pl.String))
        each = codes.group_by("row", maintain_order=True).agg(
            codes=pl.col("code").unique(maintain_order=True)
        )
        if not self._several:
            each = each.filter(pl.col("codes").list.len() == 1)
        joined = frame.select("row").join(each, on="row", how="left", maintain_order="left")
        return joined.select(pl.col("codes").fill_null(pl.lit([], dtype=pl.List(pl.String))))["codes"]


def _padded(key: str) -> str:
    return f" {key.replace(' ', '  ')} "
