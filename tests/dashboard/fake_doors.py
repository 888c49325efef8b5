"""Doors of a store in a folder, with a clock that can be turned and hashes that take no time."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher

from analytics import passwords
from analytics.doors import Doors

GOOD = "correct horse battery"
ROLES = ("look", "settle", "manage")


class Clock:
    """Tells the time that the test sets."""

    def __init__(self) -> None:
        self.at = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def later(self, **by: float) -> None:
        self.at += timedelta(**by)


def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep passwords with as little work as can be: tests are about who is let in."""
    monkeypatch.setattr(passwords, "HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    passwords._nobody.cache_clear()
    monkeypatch.setattr(passwords, "_nobody", lambda: passwords.HASHER.hash("nobody"))


def doors_with_everybody(folder: Path, clock: Clock) -> Doors:
    """Return doors with one account a role, named after it."""
    doors = Doors(folder, clock)
    for role in ROLES:
        doors.accounts.add(role, role, GOOD, "test")
    return doors
