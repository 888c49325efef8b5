"""What checks found so far, by cause, and their minutes, both pulled towards the catalogue."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Self

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.causes.facts import CheckFacts
from analytics.causes.keeping import KeptModel
from analytics.causes.van_parts import PartFacts
from analytics.filters import Filters
from analytics.questions.reading import Reading

CATALOGUE_CHECKS = 20
"""Checks made that the catalogue's share counts as (our convention)."""
CATALOGUE_TIMES = 20
"""Times with minutes recorded that the catalogue's minutes count as (our convention)."""
FALSE_FINDINGS = 0.02
"""Share of false findings to start from (our convention, no source)."""
LEAST_EXCESS = 0.1
"""Share above false findings from which a check counts for a cause the catalogue does not name."""
TRAVEL_MINUTES = 30.0
"""Travel of a second visit (our convention, no source); it is added to the measured minutes on site."""
SITE_MINUTES = 45.0
"""Minutes on site of a visit where none are recorded (our convention, no source)."""
COUNTS: Mapping[str, Any] = {
    "check_code": pl.String,
    "cause": pl.String,
    "made": pl.Int64,
    "found": pl.Int64,
    "minutes_sum": pl.Float64,
    "minutes_made": pl.Int64,
}
PROVES_NOTHING = "proof_of_repair"

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Evidence:
    """Counts that facts of checks are made from, and what a second visit costs.

    Parameters
    ----------
    rows : DataFrame
        Columns check_code, cause, made, found, minutes_sum, minutes_made.
    second_visit_minutes : float
    """

    rows: pl.DataFrame
    second_visit_minutes: float

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        made = self.rows.group_by("check_code").agg(pl.col("made").sum()).sort("check_code")
        return {
            "rows": [list(row) for row in self.rows.select(list(COUNTS)).iter_rows()],
            "second_visit_minutes": self.second_visit_minutes,
            "made": dict(made.iter_rows()),
        }

    @classmethod
    def of_dict(cls, values: Mapping[str, Any]) -> Self:
        """Return what `to_dict` gave."""
        rows = pl.DataFrame(values["rows"], schema=COUNTS, orient="row")
        return cls(rows, values["second_visit_minutes"])


def evidence(read: Reading, until: datetime | None = None) -> Evidence:
    """Read what checks found so far, or until a time.

    Parameters
    ----------
    read : Reading
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
    return Evidence(rows, site + TRAVEL_MINUTES)


def part_costs(read: Reading) -> dict[str, float]:
    """Return the mean cost of each part that has one recorded."""
    costs = queries.frame(read.cursor, "causes/part_costs").select("part", "cost")
    return dict(costs.iter_rows())


def facts_kept(catalogue: Catalogue, kept: KeptModel) -> tuple[CheckFacts, PartFacts]:
    """Return what orders of checks and parts to bring rest on, as kept with a model."""
    found = Evidence.of_dict(kept.about["checks"])
    costs: Mapping[str, float] = kept.about["part_costs"]
    codes = kept.model.codes
    answers = {code: (part.answers, costs.get(code)) for code, part in catalogue.parts.items()}
    answered = {cause for part in catalogue.parts.values() for cause in part.answers}
    without = [code for code in codes if code not in answered and "part" not in catalogue.causes[code].whose]
    return facts_of(found, catalogue, codes), PartFacts.of(answers, codes, without)


def facts_of(found: Evidence, catalogue: Catalogue, codes: Sequence[str]) -> CheckFacts:
    """Return facts of checks: what was counted, pulled towards what the catalogue says.

    Parameters
    ----------
    found : Evidence
    catalogue : Catalogue
    codes : sequence of str
        Causes that can be final.
    """
    rows = found.rows
    checks = [check for check in catalogue.checks.values() if check.code != PROVES_NOTHING]
    names = tuple(check.code for check in checks)
    made, findings = (_counted(rows, name, names, codes) for name in ("made", "found"))
    named = np.array([[check.reveals.get(code, 0.0) for code in codes] for check in checks])
    false, reveals = _shares(made, findings, named)
    return CheckFacts(
        codes=names,
        causes=tuple(codes),
        minutes=_minutes(rows, catalogue.checks, names),
        beside_minutes=np.array([check.beside_minutes for check in checks]),
        setups=tuple(tuple(name for name in (check.setup, check.setup_or) if name) for check in checks),
        setup_minutes={name: setup.minutes for name, setup in catalogue.setups.items()},
        reveals=reveals,
        false_findings=false,
        second_visit_minutes=found.second_visit_minutes,
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
