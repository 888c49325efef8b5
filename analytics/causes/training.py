"""What a model of causes learns from: mature strings of returns, by what is known of how they ended."""

from dataclasses import dataclass
from datetime import datetime

import polars as pl

from analytics import queries
from analytics.causes.answers import ANSWERS, UNIT_FACTS
from analytics.causes.features import SEASON
from analytics.filters import Filters
from analytics.questions.reading import Reading

MOST_JUDGED_FROM = 200_000
"""Recent episodes that selection and evaluation work on at most."""
LATER_SHARE = 0.2
"""Share of the episodes, the latest, that is kept to judge on; and again of the others, to choose on."""


LEVELS = (*ANSWERS, *UNIT_FACTS, SEASON)
NO_EPISODE = pl.DataFrame(
    schema={"opened_at": pl.Datetime, "final_cause": pl.String, "confirmed": pl.Boolean}
)


@dataclass(frozen=True)
class Training:
    """Mature episodes, and how many of them teach nothing.

    Parameters
    ----------
    episodes : DataFrame
        Rows of sql/causes/training.sql with a final cause, in order of opening.
    mature : int
        Mature episodes in all.
    no_fault_found : int
        Of them, those that ended with "no fault found".
    not_recognised : int
        Of them, those whose last cause is blank, not recognised, or one that is never final.
    data_of : datetime or None
        End of observation, the latest of all places.
    """

    episodes: pl.DataFrame
    mature: int
    no_fault_found: int
    not_recognised: int
    data_of: datetime | None

    @property
    def confirmed(self) -> pl.DataFrame:
        """The episodes whose final cause is confirmed: what is learned from."""
        return self.episodes.filter("confirmed")

    @property
    def probable(self) -> pl.DataFrame:
        """The episodes whose final cause is only probable: judged apart, not learned from."""
        return self.episodes.filter(~pl.col("confirmed"))

    def counts(self) -> dict[str, int]:
        """Return how many mature episodes there are, by what becomes of them."""
        confirmed = self.confirmed.height
        return {
            "mature": self.mature,
            "learned_from": confirmed,
            "probable": self.episodes.height - confirmed,
            "no_fault_found": self.no_fault_found,
            "not_recognised": self.not_recognised,
        }


@dataclass(frozen=True)
class Split:
    """Earlier episodes to learn from, and later ones.

    Parameters
    ----------
    at : datetime
        The later ones were opened at or after it; of the earlier ones the cause was known before it.
    earlier, later : DataFrame
    """

    at: datetime
    earlier: pl.DataFrame
    later: pl.DataFrame


def training(read: Reading, since: datetime | None = None) -> Training:
    """Read what there is to learn from, as far as its window has passed, opened after `since`."""
    chosen = read.chosen(Filters())
    values = {"cutoffs": chosen.values["cutoffs"], "since": since}
    mature, not_found, parts = 0, 0, []
    for rows in queries.batches(read.cursor, "causes/training", values):
        unknown = pl.col("final_cause").is_null()
        mature += rows.height
        not_found += rows.filter(unknown & (pl.col("last_cause") == "no_fault_found")).height
        parts.append(rows.filter(~unknown).with_columns(pl.col(LEVELS).cast(pl.Categorical)))
    known = pl.concat(parts).sort("opened_at", "call_id") if parts else NO_EPISODE
    ends = [end.ends_at for end in chosen.ends]
    return Training(known, mature, not_found, mature - known.height - not_found, max(ends, default=None))


def split(episodes: pl.DataFrame, share: float = LATER_SHARE) -> Split:
    """Divide episodes at a moment, so that nothing that was learned after it is learned from.

    Parameters
    ----------
    episodes : DataFrame
        Columns opened_at and learned_at; at least two rows.
    share : float
        Share of the episodes that comes later.
    """
    opened = episodes["opened_at"].sort()
    at: datetime = opened[int(len(opened) * (1 - share))]
    return Split(at, episodes.filter(pl.col("learned_at") <= at), episodes.filter(pl.col("opened_at") >= at))


def recent(episodes: pl.DataFrame, most: int = MOST_JUDGED_FROM) -> pl.DataFrame:
    """Return the latest so many episodes, in order of opening."""
    return episodes.sort("opened_at", "call_id").tail(most)
