"""Streams of chance: one seed, one independent stream for each named purpose."""

import zlib

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]
Ints = NDArray[np.integer]
Bools = NDArray[np.bool_]


def stream(seed: int, name: str) -> np.random.Generator:
    """Return the stream of a purpose; the same seed and name give the same numbers.

    Parameters
    ----------
    seed : int
        Seed of the fleet, 0 or more.
    name : str
        Purpose, such as "water" or "callers".
    """
    return np.random.Generator(np.random.SFC64(np.random.SeedSequence([seed, zlib.crc32(name.encode())])))


def pick(rng: np.random.Generator, weights: Floats, size: int) -> Ints:
    """Draw `size` indices with the given weights (one row of weights for all)."""
    edges = np.cumsum(weights, dtype=np.float64)
    drawn = np.searchsorted(edges, rng.random(size) * edges[-1], side="right")
    return np.minimum(drawn, len(edges) - 1)


def pick_rows(rng: np.random.Generator, weights: Floats) -> Ints:
    """Draw one index for each row of weights, shape (n, options)."""
    edges = np.cumsum(weights, axis=1, dtype=np.float32)
    drawn = rng.random((len(weights), 1), dtype=np.float32) * edges[:, -1:]
    return np.minimum((edges <= drawn).sum(axis=1), weights.shape[1] - 1)


def chance(rng: np.random.Generator, share: Floats | float, size: int) -> Bools:
    """Draw true with the given share, for each of `size` rows."""
    return rng.random(size, dtype=np.float32) < share


def logistic(x: Floats) -> Floats:
    """Share belonging to a logit."""
    return 1.0 / (1.0 + np.exp(-x))
