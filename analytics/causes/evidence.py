"""What checks found so far: chances that each check shows each cause, pulled towards the catalogue, and
minutes."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.causes.facts import CheckFacts
from analytics.filters import Filters
from analytics.questions.reading import Reading

CATALOGUE_CHECKS = 20
"""Checks made that the catalogue's share counts as (our convention)."""
CATALOGUE_TIMES = 20
"""Times with minutes recorded that the catalogue's minutes count as (our convention)."""
FALSE_FINDINGS = 0.02
"""Share of false findings to start from (our convention, no source)."""
LEAST_EXCESS = 0.1
"""Share above the false findings from which a check that the catalogue does not name for a cause counts
for it."""
TRAVEL_MINUTES = 30.0
"""Travel of a second visit (our convention, no source); it is added to the measured minutes on site."""
SITE_MINUTES = 45.0
"""Minutes on site of a visit where none are recorded (our convention, no source)."""
PROVES_NOTHING = "proof_of_repair"

Floats = NDArray[np.float64]


def check_facts(
    read: Reading, catalogue: Catalogue, codes: Sequence[str], until: datetime | None = None
) -> CheckFacts:
    """Return what orders of checks rest on, as far as it was known at a time.

    Parameters
    ----------
    read : Reading
    catalogue : Catalogue
        Whose shares and minutes count as long as little was recorded.
    codes : sequence of str
        Causes that can be final.
    until : datetime, optional
        Episodes whose cause was known by then; all unless given.

    Notes
    -----
    Checks were made because their cause was suspected: their shares hold where they would be made again.
    """
    values = {"cutoffs": read.chosen(Filters()).values["cutoffs"], "until": until}
    rows = queries.frame(read.cursor, "causes/check_evidence", values)
    visit = queries.frame(read.cursor, "causes/second_visit").row(0, named=True)
    site = visit["minutes"] if visit["minutes"] is not None else SITE_MINUTES
    return facts_of(rows, catalogue, codes, site + TRAVEL_MINUTES)


def facts_of(
    rows: pl.DataFrame, catalogue: Catalogue, codes: Sequence[str], second_visit_minutes: float
) -> CheckFacts:
    """Return facts of checks from counts.

    Parameters
    ----------
    rows : DataFrame
        Columns check_code, cause, made, found, minutes_sum, minutes_made.
    catalogue : Catalogue
    codes : sequence of str
    second_visit_minutes : float
    """
    checks = [check for check in catalogue.checks.values() if check.code != PROVES_NOTHING]
    names = tuple(check.code for check in checks)
    made, found = (_counted(rows, name, names, codes) for name in ("made", "found"))
    named = np.array([[check.reveals.get(code, 0.0) for code in codes] for check in checks])
    false, reveals = _shares(made, found, named)
    return CheckFacts(
        codes=names,
        causes=tuple(codes),
        minutes=_minutes(rows, catalogue.checks, names),
        beside_minutes=np.array([check.beside_minutes for check in checks]),
        setups=tuple(tuple(name for name in (check.setup, check.setup_or) if name) for check in checks),
        setup_minutes={name: setup.minutes for name, setup in catalogue.setups.items()},
        reveals=reveals,
        false_findings=false,
        second_visit_minutes=second_visit_minutes,
    )


def _counted(rows: pl.DataFrame, name: str, checks: Sequence[str], codes: Sequence[str]) -> Floats:
    """Return counts by check and cause, shape (n, k)."""
    known = rows.filter(pl.col("check_code").is_in(list(checks)) & pl.col("cause").is_in(list(codes)))
    counts = np.zeros((len(checks), len(codes)))
    at_check = {code: n for n, code in enumerate(checks)}
    at_cause = {code: n for n, code in enumerate(codes)}
    where = [at_check[code] for code in known["check_code"]], [at_cause[code] for code in known["cause"]]
    np.add.at(counts, where, known[name].to_numpy())
    return counts


def _shares(made: Floats, found: Floats, named: Floats) -> tuple[Floats, Floats]:
    """Return false findings, shape (n,), and the chances of showing each cause, shape (n, k).

    False findings are counted where the cause is none that the check shows. A cause that the catalogue does
    not name for a check is taken to be shown by it where findings were far more than false ones, which are
    then counted anew.
    """
    shown = named > 0
    for _ in range(2):
        other = np.where(shown, 0.0, 1.0)
        false = ((found * other).sum(axis=1) + CATALOGUE_CHECKS * FALSE_FINDINGS) / (
            (made * other).sum(axis=1) + CATALOGUE_CHECKS
        )
        prior = np.where(named > 0, named, false[:, None])
        share = (found + CATALOGUE_CHECKS * prior) / (made + CATALOGUE_CHECKS)
        # a finding where the cause was there is the check's, unless it was a false one by chance
        excess = np.clip((share - false[:, None]) / (1 - false[:, None]), 0.0, 1.0)
        shown = (named > 0) | (excess >= LEAST_EXCESS)
    return false, np.where(shown, excess, 0.0)


def _minutes(rows: pl.DataFrame, checks: Mapping[str, Any], names: Sequence[str]) -> Floats:
    """Return minutes of each check, pulled towards those of the catalogue, shape (n,)."""
    sums = rows.group_by("check_code").agg(pl.col("minutes_sum", "minutes_made").sum())
    measured = {code: (total, times) for code, total, times in sums.iter_rows()}
    minutes = []
    for name in names:
        total, times = measured.get(name, (0.0, 0))
        minutes.append((total + CATALOGUE_TIMES * checks[name].minutes) / (times + CATALOGUE_TIMES))
    return np.array(minutes)
