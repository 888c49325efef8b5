"""Wording: the words people use for a code, the code itself, and their typing errors."""

import tomllib
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
import polars as pl

from synthetic_data.streams import Floats, Ints, stream

TYPING_ERRORS = 3  # misspelt forms kept of each phrase


@cache
def words(file: str) -> dict[str, Any]:
    """Phrases of one file: code or question to phrases."""
    text = resources.files("synthetic_data").joinpath(f"words/{file}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def field_words(field: str) -> dict[str, list[str]]:
    """Phrases of a field, by code, whichever file has them."""
    for file in ("findings", "answers"):
        if field in words(file):
            return words(file)[field]
    raise KeyError(f"no words for the field {field!r} in synthetic_data/words/")


def misspell(phrase: str, rng: np.random.Generator) -> str:
    """One typing error: a letter dropped, doubled, or swapped with the next; short phrases stay right."""
    letters = [at for at in range(1, len(phrase) - 1) if phrase[at].isalpha() and phrase[at - 1].isalpha()]
    if len(letters) < 4:
        return phrase
    at = letters[int(rng.integers(len(letters)))]
    kind = int(rng.integers(3))
    if kind == 0:
        return phrase[:at] + phrase[at + 1 :]
    if kind == 1:
        return phrase[:at] + phrase[at] + phrase[at:]
    return phrase[:at] + phrase[at + 1] + phrase[at] + phrase[at + 2 :]


class Phrases:
    """Phrases for numbered levels, drawn by number.

    Parameters
    ----------
    levels : sequence of sequences of str
        Phrases of each level.

    Notes
    -----
    Texts are laid out flat, each phrase followed by its misspelt forms, so that drawing is one look-up.
    """

    def __init__(self, levels: list[list[str]], name: str) -> None:
        rng = stream(0, f"typing errors of {name}")  # the same in every fleet: people make the same mistakes
        flat = [
            form
            for phrases in levels
            for phrase in phrases
            for form in (phrase, *(misspell(phrase, rng) for _ in range(TYPING_ERRORS)))
        ]
        self.texts = pl.Series(flat, dtype=pl.String)
        self.counts = np.array([len(phrases) for phrases in levels])
        self.firsts = np.concatenate([[0], np.cumsum(self.counts)[:-1]])

    def draw(
        self, rng: np.random.Generator, level: Ints, misspelt: float, *, among: int | None = None
    ) -> Ints:
        """Positions in `texts` of phrases for the given levels.

        Parameters
        ----------
        misspelt : float
            Share with a typing error.
        among : int, optional
            Draw among the first so many phrases of the level only.
        """
        counts = self.counts if among is None else np.minimum(self.counts, among)
        phrase = self.firsts[level] + (rng.random(len(level)) * counts[level]).astype(np.int64)
        wrong = rng.random(len(level)) < misspelt
        form = np.where(wrong, rng.integers(1, TYPING_ERRORS + 1, len(level)), 0)
        return phrase * (TYPING_ERRORS + 1) + form


@cache
def _spoken(field: str, codes: tuple[str, ...]) -> tuple[Phrases, pl.Series]:
    return Phrases([field_words(field)[code] for code in codes], field), pl.Series(codes, dtype=pl.String)


def say(
    rng: np.random.Generator,
    field: str,
    codes: tuple[str, ...],
    level: Ints,
    as_code: Floats | float,
    misspelt: float,
) -> pl.Series:
    """Write levels as codes or in words.

    Parameters
    ----------
    field : str
        Field, as in synthetic_data/words/.
    codes : tuple of str
        Codes of the field; `level` counts in it, and -1 gives null.
    as_code : Floats or float
        Share written as the code, for each row or for all.
    misspelt : float
        Share of the spoken with a typing error.
    """
    phrases, code_texts = _spoken(field, codes)
    both = pl.concat([phrases.texts, code_texts])
    known = np.maximum(level, 0)
    at = phrases.draw(rng, known, misspelt)
    at = np.where(rng.random(len(level)) < as_code, len(phrases.texts) + known, at)
    return gather(both, at, level < 0)


def gather(texts: pl.Series, at: Ints, blank: np.ndarray) -> pl.Series:
    """Look texts up by position; null where `blank`."""
    positions = (
        pl.Series(at.astype(np.uint32)).scatter(np.flatnonzero(blank), None)
        if blank.any()
        else pl.Series(at.astype(np.uint32))
    )
    return texts.gather(positions)
