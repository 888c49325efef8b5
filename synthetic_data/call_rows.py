"""Rows of the calls file."""

import numpy as np
import polars as pl

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.callers import complaints
from synthetic_data.calls import JOBS, OUTCOMES
from synthetic_data.columns import days_as_times, numbered
from synthetic_data.intake import Asked, answers
from synthetic_data.ledger import Columns
from synthetic_data.names import depot_names
from synthetic_data.places import Places
from synthetic_data.record import Record
from synthetic_data.streams import Ints, chance, stream
from synthetic_data.trade import trade
from synthetic_data.wording import say, words

PAYERS = ("warranty", "contract", "customer", "goodwill", "unknown")


def asked_about(record: Record, rows: slice) -> Asked:
    """The calls of some rows with the facts of their units and places."""
    calls = {name: column[rows] for name, column in record.calls.items()}
    unit = {name: column[calls["unit"]] for name, column in record.units.items()}
    places: Places = record.history.places
    place = {name: getattr(places, name)[calls["place"]] for name in ("supply", "location", "household")}
    place["shutoff"] = record.history.places_at_start["shutoff"][calls["place"]]
    calls["dispenser"] = unit["dispenser"]
    return Asked(calls, unit, place)


def _payer(rng: np.random.Generator, asked: Asked) -> Ints:
    assume, n = load()["office"]["payer"], len(asked)
    years = (asked.calls["opened"] - asked.unit["installed"]) / calendar.YEAR_DAYS
    home = stream(0, "contracts").random(1009)[asked.place["household"] % 1009]
    contract = home < assume["contract"]  # the same home, the same contract
    payer = np.where(years < assume["warranty_years"], 0, np.where(contract, 1, 2))
    payer = np.where((asked.calls["tries"] > 0) & chance(rng, assume["goodwill_on_return"], n), 3, payer)
    return np.where(chance(rng, assume["unknown"], n), 4, payer)


def _flags(rng: np.random.Generator, asked: Asked) -> pl.Series:
    """The office's own mark for callbacks: often forgotten, at times wrong, absent where a depot has none."""
    traits = [one["flags_callbacks"] for one in load()["households"].under("depot").values()]
    marks = np.array(traits)[asked.calls["depot"] % len(traits)]
    n = len(asked)
    back = (asked.calls["tries"] > 0) & ~asked.calls["trip"]
    flagged = np.where(back, chance(rng, marks, n), chance(rng, load()["office"]["false_flag"], n))
    texts = pl.Series(["no", "yes"]).gather(flagged.astype(np.int64))
    return pl.select(pl.when(pl.lit(pl.Series(marks > 0))).then(pl.lit(texts)).alias("flag")).to_series()


def _notes(rng: np.random.Generator, asked: Asked, technician: Ints, habit: np.ndarray) -> pl.Series:
    texts = words("notes")["technician"]
    noted = (asked.calls["job"] == 0) & (technician >= 0) & chance(rng, habit, len(asked))
    picked = pl.Series(texts).gather(rng.integers(0, len(texts), len(asked)))
    return pl.select(pl.when(pl.lit(pl.Series(noted))).then(pl.lit(picked)).alias("notes")).to_series()


def _with_odd_causes(rng: np.random.Generator, texts: pl.Series) -> pl.Series:
    """Replace a few causes by remarks that name none."""
    odd = np.flatnonzero(
        chance(rng, load()["technicians"]["odd_cause"], len(texts)) & texts.is_not_null().to_numpy()
    )
    remarks = pl.Series(words("notes")["odd_cause"])
    return texts.scatter(odd, remarks.gather(rng.integers(0, len(remarks), len(odd))))


def _habit(record: Record, name: str, technician: Ints, otherwise: float) -> np.ndarray:
    habit = record.history.crew.habits[name]
    return np.where(technician >= 0, habit[np.maximum(technician, 0)], otherwise)


def call_rows(record: Record, seed: int, chunk: int, rows: slice) -> tuple[pl.DataFrame, Columns]:
    """Rows of the calls file, and what was said in them for the truth file.

    Parameters
    ----------
    chunk : int
        Number of the chunk: each has streams of its own.
    rows : slice
        Rows of the record.
    """
    asked, rng = asked_about(record, rows), stream(seed, f"call rows {chunk}")
    calls, n = asked.calls, len(asked)
    text, second, same = complaints(rng, calls)
    technician, causes = calls["technician"], trade().causes
    written, misspelt = load()["office"]["written"], load()["callers"]["misspelt_elsewhere"]
    codes = _habit(record, "codes", technician, written["office_codes"])
    writes = chance(rng, _habit(record, "cause", technician, written["office_cause"]), n)
    repair = calls["job"] == 0
    cause = np.where(repair & writes, calls["written_cause"], -1)
    # a phone repair is written by the office; a blank diagnosis stays blank whatever was thought
    first = np.where(repair & chance(rng, written["first_diagnosis"], n) & writes, calls["first_named"], -1)
    outcome = np.where(
        chance(rng, _habit(record, "outcome", technician, written["office_outcome"]), n), calls["outcome"], -1
    )
    job = np.where(repair & ~chance(rng, written["job_kind"], n), -1, calls["job"])
    payer = np.where(chance(rng, written["payer"], n), _payer(rng, asked), -1)
    depot = depot_names(record.history.depots).gather(calls["depot"].astype(np.int64))
    frame = pl.DataFrame(
        {
            "call_id": numbered("C", np.arange(rows.start, rows.start + n) + 1, 7),
            "unit_id": numbered("U", record.unit_row[calls["unit"]] + 1, 6),
            "opened_at": days_as_times(calls["opened"]),
            "closed_at": days_as_times(calls["closed"]),
            "complaint": text,
            "root_cause": _with_odd_causes(rng, say(rng, "root_cause", causes, cause, codes, misspelt)),
            "first_diagnosis": say(rng, "root_cause", causes, first, codes, misspelt),
            "outcome": say(rng, "outcome", OUTCOMES, outcome, codes, misspelt),
            "technician_id": numbered(
                "T", technician + 1, 3, blank=(technician < 0) | ~chance(rng, written["technician"], n)
            ),
            "depot": depot,
            "job_kind": say(rng, "job_kind", JOBS, job, written["job_as_code"], 0.0),
            "payer": say(rng, "payer", PAYERS, payer, written["job_as_code"], misspelt),
            "household_id": numbered("H", asked.place["household"] + 1, 6),
            "callback_flag": _flags(rng, asked),
            **answers(rng, asked),
            "notes": _notes(rng, asked, technician, _habit(record, "notes", technician, 0.0)),
        }
    )
    return frame, {"second": second, "said_same": same}
