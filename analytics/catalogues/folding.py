"""Brings texts to the form in which they are compared: lower case, plain letters, whole words, no fillers."""

import polars as pl

from analytics.catalogues.model import Words

READ = 2_000  # characters of a text that are read; what a caller says is said by then
CLAUSE = ";"  # stands for a comma, a full stop, or a word such as "but"


def folded(text: pl.Expr) -> pl.Expr:
    """Lower case without accents or apostrophes; clause marks become `;`, other marks spaces.

    Parameters
    ----------
    text : polars expression of texts

    Returns
    -------
    polars expression
        Words and `;`, each parted by one space. A text of question marks only becomes "?".
    """
    plain = text.str.slice(0, READ).str.to_lowercase().str.normalize("NFKD").str.replace_all(r"\p{M}", "")
    letters = plain.str.replace_all(r"['’‘`´]", "").str.replace_all(r"\b([a-z])[./]([a-z])\b\.?", "$1$2")
    marks = (
        letters.str.replace_all(r"&", " and ")
        .str.replace_all(r"[.,;:!?()\[\]{}|\r\n]| [-–—]+ |—", " ; ")
        .str.replace_all(r"[^a-z0-9;]+", " ")
        .str.replace_all(r"(?:; )+", "; ")
        .str.strip_chars(" ;")
    )
    return pl.when(text.str.contains(r"^[?\s]+$")).then(pl.lit("?")).otherwise(marks)


def key(words: pl.Expr) -> pl.Expr:
    """Form in which phrases are compared: the words without clause marks."""
    return words.str.replace_all(r" ?; ?", " ").str.strip_chars()


class Folder:
    """Folds the texts of one field, with the abbreviations that hold there.

    Parameters
    ----------
    words : Words
        Fillers, clause breaks and abbreviations of the catalogue.
    field : str
        Coding field.
    """

    def __init__(self, words: Words, field: str) -> None:
        fillers = set(words.fillers)
        long = {
            short: text for short, (text, only) in words.abbreviations.items() if not only or field in only
        }
        self.replacements = dict.fromkeys(fillers - long.keys(), "")
        for short, text in long.items():
            self.replacements[short] = " ".join(w for w in text.split() if w not in fillers)
        self._breaks = rf" ({'|'.join(words.breaks)}) "

    def words(self, texts: pl.Series) -> pl.Series:
        """Folded texts with abbreviations written out and fillers dropped, unless nothing would be left.

        Parameters
        ----------
        texts : series of str

        Returns
        -------
        series of str, of the same length
        """
        whole = pl.DataFrame({"text": texts}).select(whole=folded(pl.col("text"))).with_row_index("row")
        each = whole.select("row", word=pl.col("whole").str.split(" ")).explode("word")
        each = each.with_columns(pl.col("word").replace(self.replacements)).filter(pl.col("word") != "")
        joined = each.group_by("row").agg(pl.col("word").str.join(" "))
        both = whole.join(joined, on="row", how="left", maintain_order="left")
        tidy = pl.col("word").str.replace_all(r"(?:; )+", "; ").str.strip_chars(" ;")
        return both.select(words=pl.when(tidy.fill_null("") != "").then(tidy).otherwise(pl.col("whole")))[
            "words"
        ]

    def keys(self, texts: pl.Series) -> pl.Series:
        """Form in which whole phrases are compared."""
        return pl.DataFrame({"words": self.words(texts)}).select(key=key(pl.col("words")))["key"]

    def clauses(self, words: pl.Expr) -> pl.Expr:
        """Form that rules read: words padded by spaces, a clause mark before words such as "but"."""
        padded = pl.concat_str(pl.lit(" "), words, pl.lit(" "))
        return padded.str.replace_all(self._breaks, f" {CLAUSE} $1 ")
