"""Mends the spelling of single words: each distinct word once, against the words that the catalogue knows.

The limits were chosen on the catalogue's own words with one slip each (a letter left out, doubled, swapped
or struck beside): 92 % were mended right and 0.4 % wrong; an everyday word that the lists below do not hold
is mended wrongly one time in four, which is what the list of plain words is for.
"""

from collections.abc import Mapping

import numpy as np
import polars as pl
from rapidfuzz import process
from rapidfuzz.distance import OSA

SHORTEST = 4  # shorter words are too easily taken for one another
LONGEST = 24  # longer ones are no words
LONG_ENOUGH_TO_DROP = 6  # a filler that is misspelt is dropped too, when it is no short word
LEAST_SIMILARITY = 0.75  # one slip in four letters, two in eight
MARGIN = 0.02  # ahead of the next word, or it is anybody's guess
_BLOCK = 4_096  # distinct words compared at once: bounds the memory
_WORD = rf"^[a-z]{{3,{LONGEST}}}$"


class Speller:
    """Knows the words of one field.

    Parameters
    ----------
    targets : set of str
        Words that a misspelt one may be mended to.
    instead : mapping of str to str
        Abbreviations and fillers with what folding writes for them, empty where it drops them.
    plain : set of str
        Further words that stand as they are.
    """

    def __init__(self, targets: set[str], instead: Mapping[str, str], plain: set[str]) -> None:
        results = {
            short: long for short, long in instead.items() if long or len(short) >= LONG_ENOUGH_TO_DROP
        }
        results |= {word: word for word in targets}
        results = {w: r for w, r in results.items() if len(w) >= SHORTEST - 1 and w.isascii() and w.isalpha()}
        known = plain | targets | instead.keys()
        self._targets = sorted(results)
        self._results = np.array([results[word] for word in self._targets], dtype=object)
        self._known = pl.Series(sorted(known), dtype=pl.String).implode()
        self._swapped = _swapped({w: r for w, r in results.items() if len(w) <= SHORTEST}, known)

    def mend(self, words: pl.Series) -> pl.Series:
        """Texts with their unknown words replaced by the known word that is clearly nearest.

        Parameters
        ----------
        words : series of str
            Folded words, with clause marks.

        Returns
        -------
        series of str, of the same length
        """
        each = pl.DataFrame({"word": words.str.split(" ")}).with_row_index("row").explode("word")
        strange = each.filter(self._strange())["word"].unique()
        if strange.is_empty():
            return words
        mended = self._mended(strange)
        each = each.with_columns(pl.col("word").replace(mended["word"], mended["instead"]))
        joined = each.group_by("row", maintain_order=True).agg(pl.col("word").str.join(" "))
        return joined.select(words=pl.col("word").str.replace_all(" +", " ").str.strip_chars(" ;"))["words"]

    def strange(self, words: pl.Series) -> pl.Series:
        """Whether a text holds an unknown word, so that a slip may explain why it is not understood."""
        each = pl.DataFrame({"word": words.str.split(" ")}).with_row_index("row").explode("word")
        each = each.with_columns(strange=self._strange())  # not inside the groups: there it costs a gigabyte
        return each.group_by("row", maintain_order=True).agg(pl.col("strange").any())["strange"]

    def _strange(self) -> pl.Expr:
        return pl.col("word").str.contains(_WORD) & ~pl.col("word").is_in(self._known)

    def _mended(self, strange: pl.Series) -> pl.DataFrame:
        frame = pl.DataFrame({"word": strange})
        short = frame.join(self._swapped, on="word")
        rest = frame.join(short, on="word", how="anti").filter(pl.col("word").str.len_chars() >= SHORTEST)
        near = self._nearest(rest["word"])
        glued = self._parted(rest.join(near, on="word", how="anti"))
        return pl.concat([short, near, glued])

    def _nearest(self, unknown: pl.Series) -> pl.DataFrame:
        nothing = pl.DataFrame(schema={"word": pl.String, "instead": pl.String})
        if not self._targets:
            return nothing
        starts = range(0, len(unknown), _BLOCK)
        return pl.concat([nothing, *(self._block(unknown[start : start + _BLOCK]) for start in starts)])

    def _block(self, unknown: pl.Series) -> pl.DataFrame:
        likeness = process.cdist(
            unknown.to_list(),
            self._targets,
            scorer=OSA.normalized_similarity,
            score_cutoff=LEAST_SIMILARITY,
            dtype=np.float32,
        )
        rows, best = np.arange(len(unknown)), likeness.argmax(axis=1)
        top = likeness[rows, best]
        likeness[rows, best] = 0
        clear = (top > 0) & (top - likeness.max(axis=1) >= MARGIN)
        instead = pl.Series(self._results[best].tolist(), dtype=pl.String)
        return pl.DataFrame({"word": unknown, "instead": instead}).filter(pl.Series(clear))

    def _parted(self, words: pl.DataFrame) -> pl.DataFrame:
        """Two known words written as one; where several cuts would do, the longest first word."""
        if words.is_empty():  # spares trying every cut
            return words.with_columns(instead=pl.lit(None, pl.String))
        cuts = []
        for at in range(2, LONGEST - 1):
            left, right = pl.col("word").str.slice(0, at), pl.col("word").str.slice(at)
            both = left.is_in(self._known) & right.is_in(self._known) & (right.str.len_chars() >= 2)
            cuts.append(pl.when(both).then(pl.concat_str(left, right, separator=" ")))
        return words.with_columns(instead=pl.coalesce(cuts[::-1])).filter(pl.col("instead").is_not_null())


def _swapped(short: Mapping[str, str], known: set[str]) -> pl.DataFrame:
    """Every way to swap two neighbours in a short word, where that names one word only."""
    rows = [
        (w[:i] + w[i + 1] + w[i] + w[i + 2 :], r) for w, r in sorted(short.items()) for i in range(len(w) - 1)
    ]
    frame = pl.DataFrame(rows, schema={"word": pl.String, "instead": pl.String}, orient="row")
    return frame.filter(~pl.col("word").is_in(sorted(known))).unique("word", keep="none")
