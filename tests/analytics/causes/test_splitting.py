"""What is learned from was known before what is judged on began."""

from datetime import datetime, timedelta

import polars as pl
import pytest

from analytics.causes import training as module
from analytics.causes.training import Split, Training, recent, split
from tests.analytics.causes.made_episodes import episodes


def check_nothing_learned_after(share: float = 0.2) -> None:
    rows = episodes(200).with_columns(
        learned_at=pl.col("opened_at") + pl.when(pl.int_range(pl.len()) % 3 == 0).then(pl.duration(days=3))
        .otherwise(pl.duration(hours=5))
    )  # fmt: skip
    parts = module.split(rows, share)
    assert parts.later.height == pytest.approx(200 * share, abs=1)
    assert parts.later["opened_at"].min() == parts.at
    assert parts.earlier["learned_at"].max() <= parts.at
    left_out = rows.join(pl.concat([parts.earlier, parts.later]), on="call_id", how="anti")
    assert left_out.height > 10, "known too late to be learned from, opened too early to be judged on"
    assert ((left_out["opened_at"] < parts.at) & (left_out["learned_at"] > parts.at)).all()
    assert not set(parts.earlier["call_id"]) & set(parts.later["call_id"])


@pytest.mark.parametrize("share", [0.1, 0.2, 0.5])
def test_nothing_learned_after_the_cut_is_learned_from(share: float) -> None:
    check_nothing_learned_after(share)


def test_a_split_by_opening_alone_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    def by_opening(rows: pl.DataFrame, share: float) -> Split:
        at = split(rows, share).at
        return Split(at, rows.filter(pl.col("opened_at") < at), rows.filter(pl.col("opened_at") >= at))

    monkeypatch.setattr(module, "split", by_opening)
    with pytest.raises(AssertionError):
        check_nothing_learned_after()


def test_by_hand() -> None:
    """Opened on the 1st, 2nd, ... 10th, known five days later: cut on the 9th, three known by then."""
    days = [datetime(2026, 1, 1) + timedelta(days=n) for n in range(10)]
    rows = pl.DataFrame({"opened_at": days, "learned_at": [day + timedelta(days=5) for day in days]})
    parts = split(rows)
    assert parts.at == datetime(2026, 1, 9)
    assert (parts.earlier.height, parts.later.height) == (4, 2)  # the 4th was known on the 9th


def test_the_latest_are_taken() -> None:
    rows = episodes(20).sample(20, shuffle=True, seed=1)
    assert recent(rows, 3)["call_id"].to_list() == ["000017", "000018", "000019"]


def test_counts() -> None:
    rows = episodes(10).with_columns(confirmed=pl.int_range(pl.len()) < 7)
    found = Training(rows, mature=16, no_fault_found=4, not_recognised=2, data_of=None)
    assert (found.confirmed.height, found.probable.height) == (7, 3)
    assert found.counts() == {
        "mature": 16, "learned_from": 7, "probable": 3, "no_fault_found": 4, "not_recognised": 2,
    }  # fmt: skip
