"""A slice of the study of killed work, and versions that are not atomic and are caught."""

from pathlib import Path

import pytest

from tests.studies.killed import strike


@pytest.mark.parametrize(("kind", "moments"), [("load", 3), ("refit", 6), ("review", 8)])
def test_nothing_kept_is_lost_and_nothing_half_is_seen(kind: str, moments: int, tmp_path: Path) -> None:
    tally = strike(kind, moments, seed=4, place=tmp_path)
    assert tally.moments == moments


@pytest.mark.parametrize("kind", ["refit", "review"])
def test_what_is_not_atomic_is_caught(kind: str, tmp_path: Path) -> None:
    with pytest.raises(Exception, match=r"can not be read as a model|half of a decision"):
        strike(kind, 12, seed=4, place=tmp_path, broken=True)
