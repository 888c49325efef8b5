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
        unknown = each.select(pl.col("word").unique()).filter(
            (pl.col("word").str.len_chars() >= SHORTEST)
            & pl.col("word").str.contains(r"^[a-z]+$")
            & ~pl.col("word").is_in(self._known)
        )["word"]
        mended = self._nearest(unknown)
        each = each.with_columns(pl.col("word").replace(mended["word"], mended["instead"]))
        return each.group_by("row", maintain_order=True).agg(pl.col("word").str.join(" "))["word"]

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
