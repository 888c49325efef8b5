"""What to look at this week, and what people decide about it: the facade as far as it is about reviewing."""

import re
from collections.abc import Sequence
from dataclasses import replace

import polars as pl

from analytics import queries
from analytics.decisions import SCHEMA, Decision, Decisions
from analytics.errors import BadQuestion, StoreProblem, UnknownRecord
from analytics.filters import CHOSEN_BY, Filters
from analytics.fleet_comparing import FleetComparing
from analytics.hand_sorting import hand_sorting
from analytics.questions.review import Review, narrowed, returns_since, review

_GROUP_KEY = re.compile(r"(technician|depot|part|product_family):(.*):\d{4}-W\d{2}", re.DOTALL)


class FleetReview(FleetComparing):
    """Questions and decisions about what to look at; see `analytics.fleet.Fleet`."""

    def this_week(self, filters: Filters) -> Review:
        """Say what to look at: returns of late, third trips, open calls, repairs without proof, groups.

        Parameters
        ----------
        filters : Filters
            Window, match, date and depots hold; depots not for groups, which are compared with each other.

        Returns
        -------
        Review
            With what was decided on each row; where the decisions can not be read it says why.
        """
        read = self._read()
        asked = Filters(filters.window_days, filters.match, filters.as_of)
        then = Filters(as_of=filters.as_of)
        whole = read.once(("this week", then), lambda: review(read.cursor, read.chosen(then)))
        if whole.until is None:
            return whole
        returns = read.once(
            ("returns of this week", asked),
            lambda: returns_since(read.cursor, read.chosen(asked), whole),
        )
        found = narrowed(whole, returns, self.worth_a_look(asked), filters.depots)
        try:
            lists = {kind: self._decided(kind, rows) for kind, rows in found.lists.items()}
        except StoreProblem as error:
            lists = {kind: _joined(kind, rows, None) for kind, rows in found.lists.items()}
            return replace(found, lists=lists, problem=str(error))
        return replace(found, lists=lists)

    def decide(self, made: Sequence[Decision]) -> None:
        """Keep decisions, all of them or none. No figure depends on them.

        Raises
        ------
        UnknownRecord
            When one is about a call or group that is not in the records.
        BadQuestion
            When a sorting does not exist, or something else than a return is sorted or remarked on.
        StoreProblem
            When they can not be written.
        """
        for each in made:
            if each.matter != "reviewed" and each.kind != "return":
                raise BadQuestion("Only returns are sorted, and only returns carry a technician's remark.")
            if each.matter == "sorted" and each.value and each.value not in self.sortings():
                raise BadQuestion(
                    f"Returns are not sorted as '{each.value}'. Choose one of {', '.join(self.sortings())}."
                )
        self._check_known(made)
        self._decisions().add(made)

    def with_remarks(self, returns: pl.DataFrame) -> pl.DataFrame:
        """Add to returns how they were sorted by hand, and the technician's own remark.

        Parameters
        ----------
        returns : pl.DataFrame
            With a column return_call_id.

        Returns
        -------
        pl.DataFrame
            With columns sorted (code), remark and remark_by; null where nothing was said.

        Raises
        ------
        StoreProblem
            When the decisions can not be read.
        """
        keyed = returns.with_columns(key=pl.col("return_call_id"))
        drop = ("key", "reviewed_at", "note", "reviewed_by")
        return self._decided("return", keyed).drop(drop)

    def sortings(self) -> dict[str, str]:
        """Return the ways to sort a return by hand: words by code."""
        return dict(hand_sorting().labels)

    def _decisions(self) -> Decisions:
        return Decisions(self._store.folder)

    def _decided(self, kind: str, rows: pl.DataFrame) -> pl.DataFrame:
        return _joined(kind, rows, self._decisions().current(kind, rows["key"].to_list()))

    def _check_known(self, made: Sequence[Decision]) -> None:
        calls = {each.key for each in made if each.kind != "group"}
        found = queries.frame(self._read().cursor, "review/known_calls", {"call_ids": sorted(calls)})
        if unknown := sorted(calls - set(found["call_id"])):
            raise UnknownRecord(f"There is no call '{unknown[0][:40]}' in the data as loaded.")
        for each in made:
            if each.kind == "group" and not self._is_group(each.key):
                raise UnknownRecord(
                    f"There is no group '{each.key[:60]}'. A group is named like depot:NORTH:2026-W09, as "
                    "`service-calls this-week` prints it."
                )

    def _is_group(self, key: str) -> bool:
        named = _GROUP_KEY.fullmatch(key)
        return named is not None and named[2] in set(self.choices()[CHOSEN_BY[named[1]]]["value"])


def _joined(kind: str, rows: pl.DataFrame, decided: pl.DataFrame | None) -> pl.DataFrame:
    """Put beside each row of a list what was decided on it; rows still to look at come first."""
    known = pl.DataFrame(schema=SCHEMA) if decided is None else decided
    of = {matter: known.filter(matter=matter) for matter in ("reviewed", "sorted", "remark")}
    marks = of["reviewed"].select("key", pl.col("made_at").alias("reviewed_at"), "note", reviewed_by="who")
    result = rows.join(marks, on="key", how="left", maintain_order="left")
    if kind == "return":
        sortings = of["sorted"].select("key", sorted="value")
        remarks = of["remark"].select("key", remark="value", remark_by="who")
        for each in (sortings, remarks):
            result = result.join(each, on="key", how="left", maintain_order="left")
    return result.sort(pl.col("reviewed_at").is_not_null(), maintain_order=True)
