"""Which few things to have so that most needs are met whole, each with all that it asks for."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

CANDIDATES = 200
"""Needs that a step is taken from; the rarer ones change nothing worth the time of looking at them."""


def greedy_cover(needs: ArrayLike, counts: ArrayLike, most: int) -> list[tuple[list[int], int]]:
    """Choose things step by step, each step the one that meets most further needs for a thing added.

    Parameters
    ----------
    needs : array-like of bool, shape (needs, things)
        Which things each need asks for; each at least one.
    counts : array-like of int, shape (needs,)
        How often each need occurs.
    most : int
        Things to choose at most.

    Returns
    -------
    list of (list of int, int)
        Each step: the things it adds, more than one where they only help together, and how many needs are
        met from then on, in all. Ends when nothing more is gained.

    Notes
    -----
    A step adds what is lacking of one of the needs, of the `CANDIDATES` that occur most. Where each need
    asks for one thing, the choice is the best there is; else it is a good one, not always the best (budgeted
    maximum coverage: Khuller S, Moss A, Naor J (1999), Information Processing Letters 70:39-45, from memory).
    Ties go to fewer things, then to those that come first.

    Examples
    --------
    >>> greedy_cover([[True, False], [False, True], [True, True]], [9, 2, 4], most=2)
    [([0], 9), ([1], 15)]
    """
    asked, often = np.asarray(needs, dtype=bool), np.asarray(counts, dtype=np.float64)
    steps: list[tuple[list[int], int]] = []
    if not asked.size:
        return steps
    likely = asked[np.argsort(-often, kind="stable")[:CANDIDATES]]
    aboard = np.zeros(asked.shape[1], dtype=bool)
    while True:
        lacking = likely & ~aboard
        added = lacking.sum(axis=1)
        gain = _met(asked, often, likely | aboard) - _met(asked, often, aboard[None, :])
        useful = (added > 0) & (added + aboard.sum() <= most) & (gain > 0)
        if not useful.any():
            return steps
        worth = np.where(useful, gain / np.maximum(added, 1), -1.0)
        chosen = _first(np.flatnonzero(worth == worth.max()), added, lacking)
        aboard |= lacking[chosen]
        steps.append((np.flatnonzero(lacking[chosen]).tolist(), int(_met(asked, often, aboard[None, :])[0])))


def _met(asked: NDArray[np.bool_], often: NDArray[np.float64], loads: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return how many needs each load meets, shape (loads,)."""
    # bits and not a product of matrices, whose threads wait for each other on a busy machine
    wanted, lacking = np.packbits(asked, axis=1), np.packbits(~loads, axis=1)
    missing = np.zeros((len(asked), len(loads)), dtype=np.uint8)
    for byte in range(wanted.shape[1]):
        missing |= wanted[:, byte, None] & lacking[None, :, byte]
    # whole numbers as floats: several times as fast, and exact up to 2 ** 53
    return (often @ (missing == 0).astype(np.float64)).astype(np.int64)


def _first(tied: NDArray[np.int64], added: NDArray[np.int64], lacking: NDArray[np.bool_]) -> int:
    """Return the need whose step is taken among those worth the same."""

    def order(need: int) -> tuple[int, Sequence[int]]:
        return int(added[need]), np.flatnonzero(lacking[need]).tolist()

    return int(min(tied.tolist(), key=order))
