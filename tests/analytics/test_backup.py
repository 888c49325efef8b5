"""A backup restored elsewhere gives the same figures, decisions, model and mappings, or is refused."""

import os
import shutil
import sqlite3
import subprocess
import sys
import tarfile
import threading
from pathlib import Path

import pytest

from analytics import cli, store_backup
from analytics.decisions import FILE, Decision, Decisions
from analytics.errors import StoreProblem
from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.intake.mapping import Mapping
from analytics.intake.saved_mappings import SavedMappings
from analytics.store import Store
from analytics.store_backup import back_up
from analytics.store_restoring import look_into, restore

HEADER = ["call_id", "unit_id", "opened_at", "closed_at", "complaint", "outcome"]
MODEL = b"stands for the file of a model" * 1000


def calls(folder: Path, first: int, count: int) -> Path:
    path = folder / f"calls_{first}.csv"
    rows = (
        f"C{i},U{i % 40},2025-01-{i % 27 + 1:02} 09:00,2025-01-{i % 27 + 1:02} 12:00,no ice,repaired"
        for i in range(first, first + count)
    )
    path.write_text("\n".join([",".join(HEADER), *rows, ""]))
    return path


def remark(number: int) -> Decision:
    return Decision("remark", "return", f"C{number}", "the tube was kinked")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with two loads, decisions, a model, a mapping, and what a backup has no use for."""
    place = tmp_path_factory.mktemp("made")
    folder = place / "store"
    for first in (0, 150):
        load_files(Store(folder), [calls(place, first, 150)], source="office")
    Decisions(folder).add([remark(n) for n in range(30)])
    (folder / "causes.skops").write_bytes(MODEL)
    SavedMappings(folder).save(HEADER, "office", Mapping())
    (folder / "uploads" / "x").mkdir(parents=True)
    (folder / "uploads" / "x" / "file").write_text("not kept yet")
    (folder / "reader-1.tmp").mkdir()
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "store"))


def told(folder: Path) -> dict[str, object]:
    """What a person would miss if it were not there."""
    return {
        "figures": Fleet(Store(folder)).figures(Filters()).to_dict(),
        "generation": Store(folder).current().number,
        "decisions": Decisions(folder).history("return").rows(),
        "model": (folder / "causes.skops").read_bytes(),
        "mapping": SavedMappings(folder).recognise(HEADER),
    }


def check_comes_back(folder: Path, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "backup.tar")
    restore(tmp_path / "backup.tar", tmp_path / "elsewhere")
    assert told(tmp_path / "elsewhere") == told(folder)


def test_everything_comes_back_elsewhere_and_the_next_load_works(folder: Path, tmp_path: Path) -> None:
    check_comes_back(folder, tmp_path)
    there = tmp_path / "elsewhere"
    names = {path.name for path in there.iterdir()} - {f"{FILE}-wal", f"{FILE}-shm"}
    assert names == {"current", "generation-000002.duckdb", FILE, "causes.skops", "mappings"}
    load_files(Store(there), [calls(tmp_path, 300, 10)], source="office")
    Decisions(there).add([remark(99)])
    assert Fleet(Store(there)).figures(Filters()).counts["calls"] == 310
    assert Store(there).current().number == 3
    assert Decisions(there).history("return").height == 31


@pytest.mark.parametrize("forgotten", [FILE, "causes.skops", "mappings"])
def test_a_backup_that_leaves_something_out_is_caught(
    folder: Path, tmp_path: Path, forgotten: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_backup, "LEFT_OUT", store_backup.LEFT_OUT | {forgotten})
    with pytest.raises((AssertionError, FileNotFoundError)):
        check_comes_back(folder, tmp_path)


def test_a_backup_of_the_bare_file_of_decisions_would_lose_the_latest(folder: Path, tmp_path: Path) -> None:
    """The twin of SQLite's own copy: what is still in the log beside the file is missed by `cp`."""
    with sqlite3.connect(folder / FILE) as reader:  # someone reads, so that the log is not folded in
        reader.execute("select count(*) from decisions").fetchone()
        Decisions(folder).add([remark(77)])
        bare = tmp_path / "bare"
        bare.mkdir()
        (bare / FILE).write_bytes((folder / FILE).read_bytes())
        back_up(folder, tmp_path / "backup.tar")
    restore(tmp_path / "backup.tar", tmp_path / "elsewhere")
    assert Decisions(tmp_path / "elsewhere").history("return").height == 31
    assert Decisions(bare).history("return").height < 31


def test_backups_while_decisions_and_loads_go_on_are_whole(folder: Path, tmp_path: Path) -> None:
    stop = threading.Event()

    def work() -> None:
        for number in range(1000, 2000):
            if stop.is_set():
                return
            Decisions(folder).add([remark(number), remark(number + 5000)])

    def load() -> None:
        for first in (1000, 2000):
            load_files(Store(folder), [calls(tmp_path, first, 100)], source="office")

    threads = [threading.Thread(target=work), threading.Thread(target=load)]
    for thread in threads:
        thread.start()
    for number in range(3):
        back_up(folder, tmp_path / f"{number}.tar")
        restore(tmp_path / f"{number}.tar", tmp_path / f"r{number}")
    stop.set()
    for thread in threads:
        thread.join()
    for number in range(3):
        found = told(tmp_path / f"r{number}")
        assert (len(found["decisions"]) - 30) % 2 == 0, "half of a decision was kept"
        assert found["figures"]["counts"]["calls"] in {300, 400, 500}


def test_only_the_owner_may_read_a_backup(folder: Path, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "backup.tar")
    assert (tmp_path / "backup.tar").stat().st_mode & 0o077 == 0


def test_the_parts_come_back_as_readable_as_they_were(folder: Path, tmp_path: Path) -> None:
    (folder / FILE).chmod(0o640)
    (folder / "causes.skops").chmod(0o604)
    back_up(folder, tmp_path / "backup.tar")
    restore(tmp_path / "backup.tar", tmp_path / "r")
    assert [(tmp_path / "r" / name).stat().st_mode & 0o777 for name in (FILE, "causes.skops")] == [
        0o640,
        0o604,
    ]


def test_nothing_is_overwritten(folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "backup.tar"
    back_up(folder, target)
    before = target.read_bytes()
    with pytest.raises(StoreProblem, match="already there"):
        back_up(folder, target)
    assert target.read_bytes() == before
    with pytest.raises(StoreProblem, match="is not empty"):
        restore(target, folder)
    with pytest.raises(StoreProblem, match="folder of the store itself"):
        back_up(folder, folder / "backup.tar")
    assert not list(tmp_path.glob("*.part"))


def flip(path: Path) -> None:
    with path.open("r+b") as file:
        file.seek(path.stat().st_size // 3)
        byte = file.read(1)
        file.seek(-1, os.SEEK_CUR)
        file.write(bytes([byte[0] ^ 1]))


def cut_short(path: Path) -> None:
    os.truncate(path, path.stat().st_size * 2 // 3)


def empty(path: Path) -> None:
    path.write_bytes(b"")


def something_else(path: Path) -> None:
    path.write_bytes(b"call_id,unit_id\n" * 2000)


def climbing(path: Path) -> None:
    """One that would write above its folder."""
    with tarfile.open(path) as tar:
        contents = tar.extractfile(store_backup.CONTENTS).read().replace(b"causes.skops", b"../../evil")
    with tarfile.open(path, "w") as tar:
        for name in ("../../evil", store_backup.CONTENTS):
            (path.parent / "part").write_bytes(contents)
            tar.add(path.parent / "part", name)


@pytest.mark.parametrize("damage", [flip, cut_short, empty, something_else, climbing, Path.unlink])
def test_a_damaged_backup_is_refused_whole(folder: Path, tmp_path: Path, damage) -> None:
    target = tmp_path / "backup.tar"
    back_up(folder, target)
    damage(target)
    with pytest.raises(StoreProblem, match=r"backup\.tar .*Nothing was changed"):
        look_into(target)
    with pytest.raises(StoreProblem, match=r"backup\.tar .*Nothing was changed"):
        restore(target, tmp_path / "elsewhere")
    assert not (tmp_path / "elsewhere").exists()
    assert not list(tmp_path.glob(".*restoring"))


def test_a_store_that_is_damaged_inside_is_not_backed_up(folder: Path, tmp_path: Path) -> None:
    path = Store(folder).current().path
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(size // 2)
        file.write(os.urandom(size - size // 2))
    with pytest.raises(StoreProblem, match="go-back"):
        back_up(folder, tmp_path / "backup.tar")
    assert [each.name for each in tmp_path.iterdir() if "backup" in each.name] == []


def test_a_damaged_file_of_decisions_is_told(folder: Path, tmp_path: Path) -> None:
    sqlite3.connect(folder / FILE).execute("pragma wal_checkpoint(truncate)")
    path = folder / FILE
    with path.open("r+b") as file:
        file.seek(4096)
        file.write(b"\xff" * (path.stat().st_size - 4096))
    with pytest.raises(StoreProblem, match=r"decisions.*damaged"):
        back_up(folder, tmp_path / "backup.tar")
    assert not (tmp_path / "backup.tar").exists()


def test_no_room_for_the_backup_or_for_what_is_restored(folder: Path, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "backup.tar")
    limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, 300_000))\n"
    start = "import sys; from analytics import cli; sys.exit(cli.main(sys.argv[1:]))"
    for words in (
        ["backup", "--data", str(folder), str(tmp_path / "second.tar")],
        ["restore", "--data", str(tmp_path / "elsewhere"), str(tmp_path / "backup.tar")],
    ):
        done = subprocess.run(
            [sys.executable, "-c", limit + start, *words], capture_output=True, text=True, timeout=60
        )
        assert done.returncode == 6, done.stderr
        assert "service-calls: " in done.stderr
        assert "backup" in done.stderr
    assert sorted(path.name for path in tmp_path.iterdir() if "calls_" not in path.name) == [
        "backup.tar",
        "store",
    ]


def test_a_backup_of_another_version_is_refused(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    back_up(folder, tmp_path / "backup.tar")
    monkeypatch.setattr("analytics.store_opening.SCHEMA_VERSION", 10_000)
    with pytest.raises(StoreProblem, match="is of version"):
        restore(tmp_path / "backup.tar", tmp_path / "elsewhere")
    assert not (tmp_path / "elsewhere").exists()


def test_an_empty_store_has_nothing_to_back_up(tmp_path: Path) -> None:
    with pytest.raises(StoreProblem, match="Nothing has been loaded"):
        back_up(tmp_path / "none", tmp_path / "backup.tar")


def test_commands(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "there").mkdir()  # an empty folder is as good as none
    assert cli.main(["backup", "--data", str(folder), str(tmp_path / "b.tar")]) == 0
    assert "generation 2, 300 calls" in capsys.readouterr().out
    assert cli.main(["restore", "--data", str(tmp_path / "there"), str(tmp_path / "b.tar")]) == 0
    assert "300 calls" in capsys.readouterr().out
    assert cli.main(["restore", "--data", str(tmp_path / "there"), str(tmp_path / "b.tar")]) == 6
    assert "is not empty" in capsys.readouterr().err
