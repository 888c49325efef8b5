"""Files that are brought: they arrive whole or not at all, under names that nobody chose, and do not stay."""

import os
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest

from analytics.errors import BadFile, StoreProblem, UnknownRecord
from analytics.intake import uploads
from analytics.intake.uploads import MOST_BYTES, RECEIVED, Uploads, clean_name

NAMES = [
    ("march.csv", "march.csv"),
    ("../../etc/passwd", "passwd"),
    ("..\\..\\boot.ini", "boot.ini"),
    ("/absolute/calls.csv", "calls.csv"),
    ("C:\\exports\\Juni 2026.csv", "Juni 2026.csv"),
    ("a\x00b\n.csv", "ab.csv"),
    ("..", "a file without a name"),
    ("", "a file without a name"),
    ("<b>bold</b>.csv", "b>.csv"),
]


def endless(_: int) -> bytes:
    return b"x" * 1000


def nothing_left(brought: Uploads) -> bool:
    return not brought.folder.exists() or list(brought.folder.iterdir()) == []


@pytest.mark.parametrize(("name", "shown"), NAMES)
def test_a_name_is_shown_and_is_no_path(tmp_path: Path, name: str, shown: str) -> None:
    kept = Uploads(tmp_path).receive(name, 3, BytesIO(b"a;b").read)
    assert kept.name == clean_name(name) == shown
    written = [path.relative_to(tmp_path).parts for path in tmp_path.rglob("*") if path.is_file()]
    assert sorted(written) == [("uploads", kept.token, each) for each in ("about.json", RECEIVED)]


def test_it_is_written_as_it_comes(tmp_path: Path) -> None:
    asked: list[int] = []

    def read(most: int) -> bytes:
        asked.append(most)
        return b"x" * 700_000 if len(asked) <= 3 else b""

    kept = Uploads(tmp_path).receive("big.csv", 2_100_000, read)
    assert (tmp_path / "uploads" / kept.token / RECEIVED).stat().st_size == 2_100_000
    assert len(asked) == 4
    assert max(asked) <= 1024 * 1024, "no more than a megabyte is held at once"


@pytest.mark.parametrize("size", [0, -1, MOST_BYTES + 1])
def test_nothing_and_too_much_are_refused_before_a_byte_is_read(tmp_path: Path, size: int) -> None:
    def read(most: int) -> bytes:
        raise AssertionError("nothing is to be read")

    with pytest.raises(BadFile, match=r"calls\.csv"):
        Uploads(tmp_path).receive("calls.csv", size, read)
    assert nothing_left(Uploads(tmp_path))


def broken_off(most: int) -> bytes:
    raise OSError("the line broke off")


def cancelled(brought: Uploads, read: Callable[[int], bytes]) -> None:
    with pytest.raises((BadFile, OSError)):
        brought.receive("calls.csv", 5_000, read)
    assert nothing_left(brought)


@pytest.mark.parametrize("read", [BytesIO(b"too short").read, endless, broken_off])
def test_what_does_not_arrive_whole_leaves_nothing(tmp_path: Path, read: Callable[[int], bytes]) -> None:
    cancelled(Uploads(tmp_path), read)


def test_a_partial_file_that_is_left_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "remove", lambda path: None)
    with pytest.raises(AssertionError):
        cancelled(Uploads(tmp_path), BytesIO(b"too short").read)


def test_a_full_disk_is_said_before_a_byte_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    full = os.statvfs_result((4096, 4096, 10, 0, 0, 0, 0, 0, 0, 255))
    monkeypatch.setattr(uploads.shutil, "disk_usage", lambda _: type("Usage", (), {"free": full.f_bfree})())
    with pytest.raises(StoreProblem, match="Make room"):
        Uploads(tmp_path).receive("calls.csv", 5, BytesIO(b"12345").read)
    assert nothing_left(Uploads(tmp_path))


def test_no_more_than_twenty_wait(tmp_path: Path) -> None:
    brought = Uploads(tmp_path)
    for nth in range(uploads.MOST_WAITING):
        brought.receive(f"{nth}.csv", 3, BytesIO(b"a;b").read)
    with pytest.raises(StoreProblem, match="drop one"):
        brought.receive("one more.csv", 3, BytesIO(b"a;b").read)
    assert len(brought.waiting()) == uploads.MOST_WAITING


@pytest.mark.parametrize("token", ["", "..", "../uploads", "a" * 31, "A" * 32, "a" * 32 + "/..", "a" * 33])
def test_a_token_that_is_none_leads_nowhere(tmp_path: Path, token: str) -> None:
    brought = Uploads(tmp_path)
    for ask in (brought.about, brought.place, brought.drop, lambda each: brought.read(each, "about")):
        with pytest.raises(UnknownRecord):
            ask(token)


def left_after(tmp_path: Path, age: timedelta) -> int:
    brought = Uploads(tmp_path)
    brought.receive("old.csv", 3, BytesIO(b"a;b").read)
    (brought.folder / ("0" * 32)).mkdir()  # a transfer that was killed
    later = Uploads(tmp_path, now=lambda: datetime.now(UTC) + age)
    later.tidy()
    return len(list(brought.folder.iterdir()))


def test_what_lies_for_a_day_is_removed_and_the_rest_stays(tmp_path: Path) -> None:
    assert left_after(tmp_path / "young", timedelta(hours=23)) == 2
    assert left_after(tmp_path / "old", timedelta(hours=25)) == 0


def test_tidying_that_never_removes_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "KEPT_FOR", timedelta(days=1000))
    assert left_after(tmp_path, timedelta(hours=25)) != 0
