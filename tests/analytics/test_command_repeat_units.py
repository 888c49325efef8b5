"""The command repeat-units: its words, and the same numbers as JSON."""

import json
from argparse import Namespace
from pathlib import Path

import pytest

from analytics import fleet, store
from analytics.commands import repeat_units
from analytics.errors import BadQuestion
from tests.analytics.small_fleet import SmallFleet


@pytest.fixture
def loud(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty units, of which U0 rang five times; three of them for a frozen tube."""
    small = SmallFleet()
    for n in range(30):
        small.call(f"C{n}", f"U{n}", opened=f"2026-01-{n + 1:02d} 09:00")
    for n in range(4):
        cause = "tube_frozen" if n else None
        small.call(f"D{n}", "U0", opened=f"2026-0{n + 2}-01 09:00", root_cause=cause)
    small.ends("2026-12-31 12:00")
    built = small.build()
    monkeypatch.setattr(store, "Store", lambda _: built)
    monkeypatch.setattr(fleet, "Fleet", lambda _: built.fleet)


def run(**options: object) -> None:
    repeat_units.run(Namespace(data=Path(), **({"by": None, "limit": 10, "json": False} | options)))


@pytest.mark.usefixtures("loud")
def test_units_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    run(by="shutoff_valve")
    words = capsys.readouterr().out
    assert "34 repair calls" in words
    assert "U0: 5 calls" in words
    assert "fill tube frozen (3), cause not recorded (2)" in words
    assert "Next: The same cause keeps coming back" in words
    assert "not yet known" in words


@pytest.mark.usefixtures("loud")
def test_units_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    run(json=True, limit=1, by="shutoff_valve")
    found = json.loads(capsys.readouterr().out)
    assert (found["units"], found["calls"], found["listed"], len(found["list"])) == (30, 34, 1, 1)
    assert (found["list"][0]["unit_id"], found["list"][0]["calls"]) == ("U0", 5)
    assert [group["label"] for group in found["groups"]] == ["not recorded"]


@pytest.mark.usefixtures("loud")
def test_so_many_can_not_be_listed() -> None:
    with pytest.raises(BadQuestion):
        run(limit=-1)
