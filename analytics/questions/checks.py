"""Which checks find the fault, what was not recorded, and how repairs fare by what proves them."""

from dataclasses import asdict, dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.errors import BadQuestion
from analytics.questions.check_ground import CHECKED, PROVED, UNCHECKED, CheckGround, Flags
from analytics.questions.check_proof import Proof, Valves, proof, valves
from analytics.questions.check_sums import check_figures, sums
from analytics.questions.labelling import labels
from analytics.questions.selecting import Selection
from analytics.rates import Counted, Rate, rate

CHECKED_BY = ("family", "symptom")
"""By what checks are grouped: the kind of complaint, or the symptom."""
NOT_RECOGNISED = "not recognised"

UNRECORDED_SCHEMA: dict[str, Any] = {
    "check": pl.String, "label": pl.String, "caution": pl.String, "calls": pl.Int64, "weighted": pl.Float64,
    "returns": pl.Int64, "minutes": pl.Float64, "untimed": pl.Int64,
}  # fmt: skip


@dataclass(frozen=True)
class NotRecorded:
    """Checks not recorded that could have shown the cause, on calls that came back within 30 days.

    Parameters
    ----------
    rate : Rate
        Calls on which no check that reveals the final cause was recorded, of those that came back with a
        check recorded and the final cause known.
    weighted : float
        Those calls, each weighted by the largest share of times that one of the checks reveals the cause.
    same_cause : int
        Of those calls, those on which the final cause was recorded all the same.
    returns, untimed : int
        Returns counted against them; visits of those that are not timed.
    minutes : float
        On site on those returns, as far as timed.
    checks : pl.DataFrame
        One row a check, most weighted first: check, label, caution, calls (on which it was missing), weighted
        (by the share revealed), returns, minutes, untimed (of those calls). A call stands under each check
        that could have shown it, so that they do not add up.
    technicians_left_out, calls_left_out : int
        Technicians who record checks on fewer than half of their visits, and their calls that would count.
    """

    rate: Rate
    weighted: float
    same_cause: int
    returns: int
    minutes: float
    untimed: int
    checks: pl.DataFrame
    technicians_left_out: int
    calls_left_out: int


@dataclass(frozen=True)
class Checks:
    """Which checks find the fault.

    Parameters
    ----------
    repairs : int
        Repairs chosen, whatever became of them.
    calls : int
        Of them, those with a check whose string of returns is 30 days past its last closing.
    too_soon, unfinished : int
        Repairs with a check for which it is not, and those of which no work was completed yet.
    made, not_recognised : int
        Checks made on `calls`, of those that reveal a cause; checks on them that were not recognised.
    checks : pl.DataFrame
        One row a check that reveals a cause, in order of the lower limit of finds an hour. Columns group,
        group_label (null here), check, label, caution; made (times), found (it found the fault that was
        the final cause of a call that stayed fixed), rate, low, high; cleared (it found no fault, where
        the final cause is known and the call stayed fixed), ruled_out (of them those whose final cause is
        not one that it reveals), with its rate and limits, and missed (the others); elsewhere (a fault,
        but not the final cause), unclear (neither finding), unknown (the final cause is not known, or the
        call did not stay fixed); timed (times with minutes), minutes (their mean), found_timed; per_hour
        (finds per hour of those minutes) with its limits, null below five units with a find.
    by : str or None
        One of `CHECKED_BY`, or None.
    groups : pl.DataFrame
        The same by group: group (code; null: not recognised) and group_label. A call with several symptoms
        counts under each.
    unrecorded : NotRecorded
    valves : Valves
    proof : tuple of Proof
        By how far the repair was proved, best first.
    """

    repairs: int
    calls: int
    too_soon: int
    unfinished: int
    made: int
    not_recognised: int
    checks: pl.DataFrame
    by: str | None
    groups: pl.DataFrame
    unrecorded: NotRecorded
    valves: Valves
    proof: tuple[Proof, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        plain = asdict(self)
        plain |= {
            "checks": self.checks.drop("group", "group_label").to_dicts(),
            "groups": self.groups.to_dicts(),
        }
        return plain | {"unrecorded": plain["unrecorded"] | {"checks": self.unrecorded.checks.to_dicts()}}


@dataclass(frozen=True)
class ChosenRepairs:
    """The repairs that are looked at; arrays of bool by row of the call.

    Parameters
    ----------
    chosen : array
        All of them.
    settled : array
        Those whose string of returns is 30 days past its last closing.
    completed, judged, came_back : array
        As in sql/metrics/checks_chosen.sql.
    told : dict of str to array
        By what the customer answered: works, partly, no.
    """

    chosen: Flags
    settled: Flags
    completed: Flags
    judged: Flags
    came_back: Flags
    told: dict[str, Flags]


def check_grouping(by: str | None) -> None:
    """Refuse a grouping by which checks are not given.

    Raises
    ------
    BadQuestion
        Naming those that there are.
    """
    if by is not None and by not in CHECKED_BY:
        raise BadQuestion(f"Checks can not be given by '{by}'. Choose one of {', '.join(CHECKED_BY)}.")


def groups_by(cursor: duckdb.DuckDBPyConnection, by: str) -> pl.DataFrame:
    """Return the groups of each combination of symptoms; columns symptom_set, group."""
    return queries.frame(cursor, "metrics/check_groups", {"by": by})


def chosen_repairs(
    cursor: duckdb.DuckDBPyConnection, ground: CheckGround, chosen: Selection, thirty_days: Selection
) -> ChosenRepairs:
    """Read which repairs are chosen; `thirty_days` is the same selection with a window of 30 days."""
    rows = queries.frame(cursor, "metrics/checks_chosen", chosen.values)
    bits = np.zeros(ground.size, dtype=np.uint8)
    bits[rows["row_id"].to_numpy()] = rows["bits"].to_numpy()
    names = ("chosen", "completed", "judged", "came_back", "works", "partly", "no")
    here = {name: bits & (1 << at) != 0 for at, name in enumerate(names)}
    return ChosenRepairs(
        chosen=here["chosen"],
        settled=here["chosen"] & settled(ground, thirty_days.values["cutoffs"]),
        completed=here["completed"],
        judged=here["judged"],
        came_back=here["came_back"],
        told={answer: here[answer] for answer in names[-3:]},
    )


def settled(ground: CheckGround, cutoffs: list[Any]) -> Flags:
    """Mark the calls whose string of returns is 30 days past its last closing, place by place."""
    by_place = np.array([None, *cutoffs], dtype="datetime64[us]")  # place 0: in no string; places begin at 1
    return ground.last_closed <= by_place[ground.place]


def checks(
    cursor: duckdb.DuckDBPyConnection,
    ground: CheckGround,
    here: ChosenRepairs,
    by: str | None,
    layout: Any = None,
) -> Checks:
    """Answer `Fleet.checks`; `layout` is the ground's laid out by `by`."""
    about = queries.frame(cursor, "lists/check_cautions").rename({"code": "check"})
    reveals = queries.frame(cursor, "metrics/reveals").select(pl.col("check_code").alias("check")).unique()
    about = about.join(reveals, on="check", how="semi")
    whole = check_figures(sums(ground.made, here.settled), about, {None: "all calls"})
    groups = whole.clear()
    if by is not None:
        words: dict[str | None, str] = {None: NOT_RECOGNISED}
        words.update(labels(cursor, "families" if by == "family" else "symptoms").items())
        groups = check_figures(sums(layout, here.settled), about, words)
    checked = ground.proof > UNCHECKED
    in_a_string = ~np.isnat(ground.last_closed)
    return Checks(
        repairs=_count(here.chosen),
        calls=_count(here.settled & checked),
        too_soon=_count(here.chosen & checked & in_a_string & ~here.settled),
        unfinished=_count(here.chosen & checked & ~in_a_string),
        made=int(whole["made"].sum()),
        not_recognised=_count(here.settled[ground.not_recognised]),
        checks=whole.with_columns(pl.lit(None, dtype=pl.String).alias("group_label")),
        by=by,
        groups=groups,
        unrecorded=not_recorded(ground, here, about),
        valves=valves(ground, here),
        proof=tuple(proof(ground, here, level) for level in (PROVED, CHECKED, UNCHECKED)),
    )


def not_recorded(ground: CheckGround, here: ChosenRepairs, about: pl.DataFrame) -> NotRecorded:
    """Count the checks not recorded on the calls chosen."""
    calls = _of(ground.unrecorded.calls, here.settled)
    left_out, counted = calls.filter("seldom"), calls.filter(~pl.col("seldom"))
    missing = counted.filter("missing")
    rows = (
        _of(ground.unrecorded.checks.filter(~pl.col("seldom")), here.settled)
        .group_by("check")
        .agg(
            pl.len().alias("calls"),
            pl.col("share").sum().alias("weighted"),
            pl.col("returns", "minutes", "untimed").sum(),
        )
        .join(about, on="check")
        .sort(pl.col("weighted").neg(), "label")
    )
    return NotRecorded(
        rate=rate(Counted(missing.height, counted.height, name="not_recorded")),
        weighted=float(missing["share"].sum()),
        same_cause=int(missing["same_cause"].sum()),
        returns=int(missing["returns"].sum()),
        minutes=float(missing["minutes"].sum()),
        untimed=int(missing["untimed"].sum()),
        checks=rows.select(UNRECORDED_SCHEMA.keys()).cast(UNRECORDED_SCHEMA),  # type: ignore[arg-type]
        technicians_left_out=len(np.unique(ground.technician[left_out["row_id"].to_numpy()])),
        calls_left_out=left_out.height,
    )


def _of(rows: pl.DataFrame, kept: Flags) -> pl.DataFrame:
    return rows.filter(pl.Series(kept[rows["row_id"].to_numpy()], dtype=pl.Boolean))


def _count(flags: NDArray[np.bool_]) -> int:
    return int(np.count_nonzero(flags))
