"""Proposals for what a phrase means: from the words of calls that are understood, by a linear model.

Character n-grams (2 to 4 letters inside words) weighed by tf-idf, and a logistic regression over the codes;
learnt from the phrases of the catalogue, from the texts of this store that were recognised as one code, and
from texts that were not, labelled by what their calls turned out to be. What the calls of the phrase itself
turned out to be then counts beside its words.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from rapidfuzz import fuzz, process

from analytics.catalogue import Catalogue
from analytics.intake.phrase_evidence import Alike, CallEvidence, Turned

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


@dataclass(frozen=True)
class Meaning:
    """A meaning proposed for a phrase, and what speaks for it.

    Parameters
    ----------
    code : str
    alike : Alike or None
        What in the calls of the phrase speaks for it.
    like : str
        The phrase of the catalogue with this meaning that is nearest by its letters.
    """

    code: str
    alike: Alike | None
    like: str


@dataclass(frozen=True)
class Understood:
    """What is known of a phrase that nobody recognised.

    Parameters
    ----------
    turned_out : list of Turned
        What its calls turned out to be and were about most often, as far as known.
    meanings : list of Meaning
        Those proposed, likeliest first; last that of the nearest phrase, where it is another.
    """

    turned_out: list[Turned]
    meanings: list[Meaning]


class Proposer:
    """The likeliest meanings of phrases of one field.

    Parameters
    ----------
    texts : sequence of str
        Texts whose meaning is known.
    codes : sequence of str
        Their codes, one a text.
    evidence : CallEvidence, optional
        What the calls of phrases turned out to be; without it, words alone count.
    """

    def __init__(
        self, texts: Sequence[str], codes: Sequence[str], evidence: CallEvidence | None = None
    ) -> None:
        labelled = evidence.labelled() if evidence else []
        texts = [*texts, *(text for text, _, _ in labelled)]
        weights = [*[1.0] * len(codes), *(weight for *_, weight in labelled)]
        codes = [*codes, *(code for _, code, _ in labelled)]
        self._evidence = evidence
        self._only = codes[0] if len(set(codes)) == 1 else None
        self._empty = not codes
        if self._empty or self._only:
            return
        # Only here: to read it takes a quarter of a second, which every command would wait for.
        from sklearn.feature_extraction.text import TfidfVectorizer
        from sklearn.linear_model import LogisticRegression

        self._letters = TfidfVectorizer(analyzer="char_wb", ngram_range=LETTERS, sublinear_tf=True, min_df=1)
        self._model = LogisticRegression(C=STRENGTH, max_iter=ROUNDS)
        letters = self._letters.fit_transform([text.lower() for text in texts])
        self._model.fit(letters, codes, sample_weight=weights)

    def propose(self, texts: Sequence[str], most: int = 3) -> list[list[Proposal]]:
        """Return the likeliest meanings of each text, likeliest first."""
        if self._empty or not texts:
            return [[] for _ in texts]
        if self._only:
            return [[Proposal(self._only, 1.0)] for _ in texts]
        codes = self._model.classes_
        logs = self._model.predict_log_proba(self._letters.transform([text.lower() for text in texts]))
        if self._evidence and self._evidence.codes:
            known = {code: at for at, code in enumerate(self._evidence.codes)}
            at = np.array([known.get(str(code), -1) for code in codes])
            speaks = np.array([self._evidence.support(text) for text in texts])
            logs = logs + np.where(at >= 0, speaks[:, at], 0.0)
        shares = np.exp(logs - logs.max(axis=1, keepdims=True))
        shares /= shares.sum(axis=1, keepdims=True)
        best = np.argsort(-shares, axis=1, kind="stable")[:, :most]
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


def understood(
    proposer: Proposer,
    evidence: CallEvidence,
    phrases: Sequence[tuple[str, str]],
    texts: Sequence[str],
    most: int = 3,
) -> list[Understood]:
    """Return what is known of phrases: the likeliest meanings, with what speaks for each.

    Parameters
    ----------
    phrases : sequence of (str, str)
        Those of the catalogue, as `catalogue_phrases` gives them.
    """
    found = []
    for text, proposed in zip(texts, proposer.propose(texts, most), strict=True):
        codes = dict.fromkeys([*(each.code for each in proposed), *nearest(phrases, text, 1)])
        meanings = [
            Meaning(code, evidence.alike(text, code), _most_like(phrases, code, text)) for code in codes
        ]
        found.append(Understood(evidence.turned_out(text), meanings))
    return found


def _most_like(phrases: Sequence[tuple[str, str]], code: str, text: str) -> str:
    mine = [phrase for phrase, each in phrases if each == code]
    return max(mine, key=lambda phrase: fuzz.ratio(phrase.lower(), text.lower()), default="")
