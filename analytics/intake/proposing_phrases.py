"""Proposals for what a phrase means: from the words of texts whose meaning is known, by a linear model.

Character n-grams (2 to 4 letters inside words) weighed by tf-idf, and a logistic regression over the codes;
learnt from the phrases of the catalogue and from the texts of this store that were recognised as one code.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from rapidfuzz import fuzz, process
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.linear_model import LogisticRegression

from analytics.catalogue import Catalogue

LETTERS = (2, 4)
STRENGTH = 10.0
ROUNDS = 100
MOST_TEXTS = 4_000
"""Texts of a store that are learnt from: more made no proposal better and the page slower."""


@dataclass(frozen=True)
class Proposal:
    """One meaning that a phrase may have.

    Parameters
    ----------
    code : str
    share : float
        Of the model: 0 to 1 over all codes of the field.
    """

    code: str
    share: float


class Proposer:
    """The likeliest meanings of phrases of one field.

    Parameters
    ----------
    texts : sequence of str
        Texts whose meaning is known.
    codes : sequence of str
        Their codes, one a text.
    """

    def __init__(self, texts: Sequence[str], codes: Sequence[str]) -> None:
        self._only = codes[0] if len(set(codes)) == 1 else None
        self._empty = not codes
        if self._empty or self._only:
            return
        self._letters = TfidfVectorizer(analyzer="char_wb", ngram_range=LETTERS, sublinear_tf=True, min_df=1)
        self._model = LogisticRegression(C=STRENGTH, max_iter=ROUNDS)
        self._model.fit(self._letters.fit_transform([text.lower() for text in texts]), list(codes))

    def propose(self, texts: Sequence[str], most: int = 3) -> list[list[Proposal]]:
        """Return the likeliest meanings of each text, likeliest first."""
        if self._empty or not texts:
            return [[] for _ in texts]
        if self._only:
            return [[Proposal(self._only, 1.0)] for _ in texts]
        shares = self._model.predict_proba(self._letters.transform([text.lower() for text in texts]))
        best = np.argsort(-shares, axis=1, kind="stable")[:, :most]
        codes = self._model.classes_
        return [
            [Proposal(str(codes[at]), float(row[at])) for at in order]
            for row, order in zip(shares, best, strict=True)
        ]


def catalogue_phrases(catalogue: Catalogue, field: str) -> list[tuple[str, str]]:
    """Return the phrases of the catalogue for one field, each with its code."""
    return [(phrase, code) for code in catalogue.coded(field) for phrase in catalogue.phrases(field, code)]


def nearest(phrases: Sequence[tuple[str, str]], text: str, most: int = 3) -> list[str]:
    """Return the codes whose phrases are nearest to a text by the plain edit ratio, nearest first."""
    ratios = process.cdist([text.lower()], [phrase.lower() for phrase, _ in phrases], scorer=fuzz.ratio)[0]
    order = np.argsort(-ratios, kind="stable")
    return list(dict.fromkeys(phrases[at][1] for at in order))[:most]
