"""What the calls of a phrase say about its meaning: it means what its calls turn out like.

The calls in which a phrase stands turned out to be something, or were about something. They are compared
with the calls in which the meaning of the same field is known: a phrase whose calls are mostly frozen fill
tubes is likely to mean a complaint of which frozen fill tubes are a good part, and unlikely to mean one that
they hardly ever cause.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
import polars as pl
from scipy.special import logsumexp

KINDS = ("cause", "symptom")
TRIALS = 300
"""Texts whose meaning is known, on which it is tried how far calls tell it."""
PULL = 10.0
"""Calls' worth of the field's average by which the shares of each meaning are pulled towards it."""
CAP = 30.0
"""No phrase counts as more calls than this: those of one phrase are not so many independent draws."""
LABELS = 3
"""Meanings that a phrase is learnt from as, at most."""
HALF = 3.0
"""In learning, a phrase of so many calls weighs half as much as one whose meaning is known."""
SPEAKS = np.log(2.0)
"""The calls are named as a reason for a meaning where they make it at least twice as likely."""
MISTAKEN = 0.02
"""Share of the texts whose meaning is known that may have been taken wrongly."""
TRUST = np.linspace(0.0, 1.0, 21)
"""How far calls may be believed."""


@dataclass(frozen=True)
class Turned:
    """What the calls of a phrase turned out to be, or were about, most often.

    Parameters
    ----------
    kind, fact : str
        Which of `KINDS`, and the code of it that is the most frequent.
    calls, known : int
        Calls that have it, of those of which anything of this kind is known.
    """

    kind: str
    fact: str
    calls: int
    known: int


@dataclass(frozen=True)
class Alike:
    """What in the calls of a phrase speaks most for a meaning.

    Parameters
    ----------
    phrase, meaning, others : Turned
        The same kind and fact, in the calls of the phrase, in those that are known to have the meaning, and
        in those that are known to have another.
    """

    phrase: Turned
    meaning: Turned
    others: Turned


class CallEvidence:
    """Compares the calls of phrases with those of each meaning.

    Parameters
    ----------
    facts : pl.DataFrame
        As sql/lists/phrase_facts.sql gives them.

    Attributes
    ----------
    trust : dict of str to float
        By kind, how far its facts are believed, 0 to 1: what makes texts whose meaning is known likeliest,
        each compared with the calls of the others. Whom a customer rang before says little about what it
        turned out to be, and then it is near 0.

    Notes
    -----
    The logarithm of the likelihood of a multinomial: naive Bayes, linear in the counts (Manning, Raghavan and
    Schuetze 2008, Introduction to Information Retrieval, section 13.2; from memory), each share pulled
    towards the average of the field by `PULL` calls, and the counts scaled by `CAP` / (`CAP` + calls). The
    settings were chosen on phrases that are not among those measured, see docs/phrases_measured.md.
    """

    def __init__(self, facts: pl.DataFrame) -> None:
        known = facts.filter(pl.col("code").is_not_null())
        self.codes: list[str] = known["code"].unique().sort().to_list()
        self._row = {code: at for at, code in enumerate(self.codes)}
        self._facts: dict[str, list[str]] = {}
        self._counts: dict[str, np.ndarray] = {}
        self._logs: dict[str, np.ndarray] = {}
        of_codes = known.group_by("code", "kind", "text").agg(pl.col("known_calls").first())
        self._known = {
            (code, kind): calls
            for code, kind, calls in of_codes.group_by("code", "kind").agg(pl.col("known_calls").sum()).rows()
        }
        for (kind,), part in known.group_by("kind", maintain_order=True):
            self._learn(str(kind), part)
        phrases = facts.filter(pl.col("code").is_null())
        self._known_of = {
            (text, kind): calls
            for text, kind, calls in phrases.select("text", "kind", "known_calls").unique().rows()
        }
        self._phrases = _by_text(phrases)
        self.trust = dict.fromkeys(self._logs, 1.0)
        self._try(known.filter(pl.col("text").is_not_null()))

    def _learn(self, kind: str, part: pl.DataFrame) -> None:
        names = part["fact"].unique().sort().to_list()
        at = {name: place for place, name in enumerate(names)}
        counts = np.zeros((len(self.codes), len(names)))
        for code, fact, calls in part.select("code", "fact", "calls").rows():
            counts[self._row[code], at[fact]] += calls
        self._facts[kind], self._counts[kind] = names, counts
        self._logs[kind] = _logs(counts, counts.sum(axis=0) / counts.sum())

    def _try(self, trials: pl.DataFrame) -> None:
        """Find how far to believe each kind, on texts whose meaning is known, left out one by one."""
        right = [
            self._row[code]
            for code in trials.group_by("text").agg(pl.col("code").first()).sort("text")["code"]
        ]
        if not right:
            return
        speaks = {kind: np.zeros((len(right), len(self.codes))) for kind in self._logs}
        for at, (_, kinds) in enumerate(sorted(_by_text(trials).items())):
            for kind, facts in kinds.items():
                speaks[kind][at] = self._speaks(kind, facts, own=right[at])
        rows = np.arange(len(right))
        best = -np.inf
        for trust in product(TRUST, repeat=len(speaks)):
            total = sum(
                (far * each for far, each in zip(trust, speaks.values(), strict=True)),
                np.zeros((len(right), len(self.codes))),
            )
            shares = np.exp(total[rows, right] - logsumexp(total, axis=1))
            fits = float(np.log((1 - MISTAKEN) * shares + MISTAKEN / len(self.codes)).mean())
            if fits > best:
                best, self.trust = fits, dict(zip(speaks, map(float, trust), strict=True))

    def _speaks(self, kind: str, facts: dict[str, int], own: int | None = None) -> np.ndarray:
        """How much calls with these facts speak for each meaning; `own`: that of which they are some."""
        drawn = np.array([facts.get(name, 0) for name in self._facts[kind]], dtype=float)
        found: np.ndarray = self._logs[kind] @ drawn
        if own is not None:
            counts = self._counts[kind]
            found[own] = _logs(counts[own] - drawn, counts.sum(axis=0) / counts.sum()) @ drawn
        return found * (CAP / (CAP + drawn.sum()))

    def support(self, text: str) -> np.ndarray:
        """How much the calls of a phrase speak for each meaning: logarithms, shape (codes,)."""
        total = np.zeros(len(self.codes))
        for kind, facts in self._phrases.get(text, {}).items():
            if self.trust.get(kind):
                total += self.trust[kind] * self._speaks(kind, facts)
        return total

    def labelled(self) -> list[tuple[str, str, float]]:
        """Return phrases with meanings that their calls speak for, and what each weighs; a known text: 1."""
        rows: list[tuple[str, str, float]] = []
        for text, kinds in self._phrases.items():
            speaks = self.support(text)
            if not speaks.any():
                continue
            calls = max(self._known_of[text, kind] for kind in kinds)
            beyond = np.exp(speaks - logsumexp(speaks)) - 1 / len(self.codes)
            weights = beyond * (calls / (calls + HALF))
            likeliest = np.argsort(-weights, kind="stable")[:LABELS]
            rows += [(text, self.codes[at], float(weights[at])) for at in likeliest if weights[at] > 0]
        return rows

    def turned_out(self, text: str) -> list[Turned]:
        """Return what the calls of a phrase turned out to be and were about most often, where that tells."""
        found = []
        for kind in (each for each in KINDS if self.trust.get(each)):
            if facts := self._phrases.get(text, {}).get(kind):
                most = max(facts, key=lambda name: (facts[name], name))
                found.append(Turned(kind, most, facts[most], self._known_of[text, kind]))
        return found

    def alike(self, text: str, code: str) -> Alike | None:
        """Return what in the calls of a phrase speaks most for a meaning; None when nothing does."""
        row = self._row.get(code)
        if row is None or self.support(text)[row] < SPEAKS:
            return None
        speaks = [
            (
                self.trust.get(kind, 0.0) * float(self._logs[kind][row, at]) * facts[name],
                kind,
                name,
                int(self._counts[kind][row, at]),
            )
            for kind, facts in self._phrases[text].items()
            for at, name in enumerate(self._facts.get(kind, ()))
            if name in facts and self._counts[kind][row, at]
        ]
        most, kind, name, calls = max(speaks, default=(0.0, "", "", 0))
        if most <= 0:
            return None
        everywhere = int(self._counts[kind][:, self._facts[kind].index(name)].sum())
        known = sum(of for (_, each), of in self._known.items() if each == kind)
        return Alike(
            Turned(kind, name, self._phrases[text][kind][name], self._known_of[text, kind]),
            Turned(kind, name, calls, self._known[code, kind]),
            Turned(kind, name, everywhere - calls, known - self._known[code, kind]),
        )


def _logs(counts: np.ndarray, average: np.ndarray) -> np.ndarray:
    """Logarithms of the shares of each fact against the average, pulled towards it."""
    pulled = (counts + PULL * average) / (counts.sum(axis=-1, keepdims=True) + PULL)
    return np.asarray(np.log(pulled / average))


def _by_text(facts: pl.DataFrame) -> dict[str, dict[str, dict[str, int]]]:
    found: dict[str, dict[str, dict[str, int]]] = {}
    for text, kind, fact, calls in facts.select("text", "kind", "fact", "calls").rows():
        found.setdefault(text, {}).setdefault(kind, {})[fact] = calls
    return found
