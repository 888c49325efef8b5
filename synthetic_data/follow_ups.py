"""Follow-ups: some of the silent are asked whether it works now."""

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.calls import CANCELLED
from synthetic_data.ledger import Columns
from synthetic_data.record import Record
from synthetic_data.streams import chance, stream

WORKS, PARTLY, NO, NOT_REACHED = range(4)
ANSWERS = ("works", "partly", "no", "not_reached")


def follow_ups(record: Record, seed: int) -> Columns:
    """Whom the office asks, on which day, and what they answer.

    Only calls with work done, and of a unit that has not rung again before the day of asking.

    Returns
    -------
    dict of str to array
        call (row), day, answer (0 works, 1 partly, 2 no, 3 not reached), by (how it was asked).
    """
    assume, rng, calls = load()["office"]["follow_up"], stream(seed, "follow-ups"), record.calls
    n = len(calls["opened"])
    closed = np.where(np.isnan(calls["closed"]), np.inf, calls["closed"])
    day = np.floor(closed + rng.uniform(assume["low_days"], assume["high_days"], n))
    silent = day < _next_call(record)
    worked = (calls["outcome"] >= 0) & (calls["outcome"] < CANCELLED) & (calls["job"] == 0)
    asked = np.flatnonzero(worked & silent & (day < record.history.end_day) & chance(rng, assume["share"], n))
    works = calls["mended"][asked] ^ chance(rng, assume["mistaken"], len(asked))
    partly = chance(rng, assume["partly"], len(asked))
    answer = np.where(works, WORKS, np.where(partly, PARTLY, NO))
    answer = np.where(chance(rng, assume["not_reached"], len(asked)), NOT_REACHED, answer)
    return {
        "call": asked,
        "day": day[asked],
        "answer": answer,
        "by": chance(rng, load()["office"]["asked_by_text"], len(asked)),
    }


def _next_call(record: Record) -> np.ndarray:
    """When the unit of each call rings next; infinity when it does not."""
    calls = record.calls
    order = np.lexsort((calls["opened"], calls["unit"]))
    later = np.full(len(order), np.inf)
    same = calls["unit"][order][1:] == calls["unit"][order][:-1]
    later[order[:-1][same]] = calls["opened"][order[1:][same]]
    return later
