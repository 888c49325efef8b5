"""Mends the spelling of single words: each distinct word once, against the words that the catalogue knows."""

import numpy as np
import polars as pl
from rapidfuzz import process
from rapidfuzz.distance import OSA

SHORTEST = 4  # shorter words are too easily taken for one another
LEAST_SIMILARITY = 0.75  # one slip in four letters, two in eight
MARGIN = 0.02  # ahead of the next word, or it is anybody's guess
_BLOCK = 20_000  # distinct words compared at once: bounds the memory


class Speller:
    """Knows the words of one field.

    Parameters
    ----------
    targets : set of str
        Words that a misspelt one may be mended to.
    known : set of str
        Words that stand as they are.
    """

    def __init__(self, targets: set[str], known: set[str]) -> None:
        self._targets = sorted(t for t in targets if len(t) >= SHORTEST - 1 and t.isalpha())
        self._known = sorted(known | targets)
        self._swapped = _swapped({t for t in targets if 2 < len(t) <= SHORTEST}, known | targets)

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
        if not self._targets:
            return words
        each = pl.DataFrame({"word": words.str.split(" ")}).with_row_index("row").explode("word")
        strange = each.select(pl.col("word").unique()).filter(
            pl.col("word").str.contains(r"^[a-z]{3,}$") & ~pl.col("word").is_in(self._known)
        )["word"]
        mended = self._mended(strange)
        each = each.with_columns(pl.col("word").replace(mended["word"], mended["instead"]))
        return each.group_by("row", maintain_order=True).agg(pl.col("word").str.join(" "))["word"]

    def _mended(self, strange: pl.Series) -> pl.DataFrame:
        frame = pl.DataFrame({"word": strange})
        short = frame.join(self._swapped, on="word")
        rest = frame.join(short, on="word", how="anti").filter(pl.col("word").str.len_chars() >= SHORTEST)
        near = self._nearest(rest["word"])
        glued = self._parted(rest.join(near, on="word", how="anti"))
        return pl.concat([short, near, glued])

    def _parted(self, words: pl.DataFrame) -> pl.DataFrame:
        """Two known words written as one; where several cuts would do, the longest first word."""
        longest = words["word"].str.len_chars().max() or 0
        cuts = []
        for at in range(2, int(longest) - 1):  # type: ignore[arg-type]
            left, right = pl.col("word").str.slice(0, at), pl.col("word").str.slice(at)
            both = left.is_in(self._known) & right.is_in(self._known) & (right.str.len_chars() >= 2)
            cuts.append(pl.when(both).then(pl.concat_str(left, right, separator=" ")))
        if not cuts:
            return words.head(0).with_columns(instead=pl.lit(None, dtype=pl.String))
        return words.with_columns(instead=pl.coalesce(cuts[::-1])).filter(pl.col("instead").is_not_null())

    def _nearest(self, unknown: pl.Series) -> pl.DataFrame:
        parts = [self._block(unknown[start : start + _BLOCK]) for start in range(0, len(unknown), _BLOCK)]
        nothing = pl.DataFrame(schema={"word": pl.String, "instead": pl.String})
        return pl.concat([nothing, *parts])

    def _block(self, unknown: pl.Series) -> pl.DataFrame:
        likeness = process.cdist(
            unknown.to_list(),
            self._targets,
            scorer=OSA.normalized_similarity,
            score_cutoff=LEAST_SIMILARITY,
            dtype=np.float32,
        )
        best = likeness.argmax(axis=1)
        top = likeness[np.arange(len(best)), best]
        likeness[np.arange(len(best)), best] = 0
        clear = (top > 0) & (top - likeness.max(axis=1) >= MARGIN)
        instead = pl.Series(np.asarray(self._targets, dtype=object)[best].astype(str))
        frame = pl.DataFrame({"word": unknown, "instead": instead, "clear": clear})
        return frame.filter("clear").select("word", "instead")


def _swapped(short: set[str], known: set[str]) -> pl.DataFrame:
    """Every way to swap two neighbours in a short word, where that names one word only."""
    rows = [(w[:i] + w[i + 1] + w[i] + w[i + 2 :], w) for w in sorted(short) for i in range(len(w) - 1)]
    frame = pl.DataFrame(rows, schema={"word": pl.String, "instead": pl.String}, orient="row")
    return frame.filter(~pl.col("word").is_in(sorted(known))).unique("word", keep="none")
