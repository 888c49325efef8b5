"""Generate a fleet: simulate until there are calls enough, bring them into a record, write it out."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from synthetic_data import calendar
from synthetic_data.dialects import Dialect, write_dialect
from synthetic_data.dialects import dialects as known_dialects
from synthetic_data.filters import FilterRule
from synthetic_data.record import Record, enough, record_of
from synthetic_data.simulation import place_count, simulate
from synthetic_data.write import write_canonical

UNTIL = date(2026, 10, 31)


def make_record(calls: int, seed: int, until: date, rule: FilterRule | None = None) -> Record:
    """Simulate a fleet with `calls` calls on record."""
    end_day = calendar.day_number(until) + 1.0
    places = place_count(calls)
    history = simulate(calls, seed, end_day, places, rule)
    while not enough(history, calls):
        places = int(places * 1.25) + 3
        history = simulate(calls, seed, end_day, places, rule)
    return record_of(history, calls, seed)


def generate(
    out_dir: Path | str,
    *,
    calls: int = 30_000,
    seed: int = 1,
    until: date = UNTIL,
    dialects: Sequence[str] = (),
    filter_rule: FilterRule | None = None,
) -> Path:
    """Write a demo fleet as CSV files.

    Parameters
    ----------
    out_dir : Path or str
        Folder, made when missing. Gets <table>.csv and truth/; each dialect gets a folder of its own.
    calls : int
        Calls on record over five years; the company grows with them.
    seed : int
        Same seed, same files, byte for byte.
    until : date
        Last day of the record.
    dialects : sequence of str
        Foreign dialects to write as well.
    filter_rule : FilterRule, optional
        A rule of changing filters that the fleet follows; see there how far chances stay the same.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    ValueError
        When calls or seed make no sense, or a dialect does not exist.
    """
    if calls < 1:
        raise ValueError(f"calls is {calls}; a fleet needs at least 1.")
    if seed < 0:
        raise ValueError(f"seed is {seed}; it must be 0 or more.")
    wanted = _found(dialects)
    out = Path(out_dir)
    out.mkdir(parents=True, exist_ok=True)
    record = make_record(calls, seed, until, filter_rule)
    write_canonical(record, seed, out)
    for dialect in wanted:
        write_dialect(record, seed, out, dialect)
    return out


def _found(names: Sequence[str]) -> list[Dialect]:
    """Dialects by name."""
    known = known_dialects()
    if strangers := [name for name in names if name not in known]:
        raise ValueError(f"no dialect {', '.join(strangers)}; there are {', '.join(known)}.")
    return [known[name] for name in names]
