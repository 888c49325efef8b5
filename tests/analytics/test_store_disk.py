"""A disk that is full, refuses, or has damaged a file: one clear sentence, the way out, and nothing lost."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from analytics.errors import StoreProblem
from analytics.store import Store
from analytics.store_pointer import POINTER

INSERT = (
    "insert into records.technicians "
    "select md5(i::varchar), null, null, 's', 1, i, i, null from range($n) t(i)"
)
LOAD = """
import sys
from analytics.errors import StoreProblem
from analytics.store import Store
{before}
store = Store(sys.argv[1])
try:
    with store.writing() as draft:
        draft.connection.execute({insert!r}, {{"n": int(sys.argv[2])}})
except StoreProblem as problem:
    print(problem)
{after}
"""


def load(folder: Path, rows: int) -> None:
    """Load in this process."""
    with Store(folder).writing() as draft:
        draft.connection.execute(INSERT, {"n": rows})


def run(folder: Path, rows: int, before: str = "", after: str = "", shell: str = "") -> str:
    """Load in a process of its own and return what it printed: the problem, if there was one."""
    command = [
        sys.executable,
        "-c",
        LOAD.format(before=before, after=after, insert=INSERT),
        str(folder),
        str(rows),
    ]
    if shell:
        own_mounts = ["--mount"] if os.geteuid() == 0 else ["--user", "--map-root-user", "--mount"]
        command = ["unshare", *own_mounts, "sh", "-c", shell, "sh", *command]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def rows(folder: Path) -> int:
    return Store(folder).reader().cursor().execute("select count(*) from records.technicians").fetchone()[0]


@pytest.fixture
def loaded(tmp_path: Path) -> Path:
    folder = tmp_path / "store"
    load(folder, 100)
    return folder


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


LIMIT = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({0}, {0}))"


@pytest.mark.parametrize("limit_bytes", [0, 64, 100_000, 2_000_000, 8_000_000])
def test_no_more_bytes_may_be_written(loaded: Path, limit_bytes: int) -> None:
    """A limit of the process stands in for a full disk at every step: lock, copy, data, checkpoint."""
    before = names(loaded)
    assert "No space left for the store" in run(loaded, 1_000_000, before=LIMIT.format(limit_bytes))
    assert names(loaded) == before
    assert rows(loaded) == 100
    load(loaded, 10)
    assert rows(loaded) == 110


def test_full_disk(tmp_path: Path) -> None:
    """A real small disk, in a mount namespace of its own."""
    mount = f'mount -t tmpfs -o size=6m none {tmp_path} && exec "$@"'
    after = """
cursor = store.reader().cursor()
print(cursor.execute("select count(*) from records.technicians").fetchone())
"""
    fill = "with Store(sys.argv[1]).writing() as draft: pass"
    printed = run(tmp_path / "store", 1_000_000, before=fill, after=after, shell=mount)
    assert "No space left for the store" in printed
    assert "Make room" in printed
    assert printed.endswith("(0,)\n")


def test_folder_that_can_not_be_written(loaded: Path) -> None:
    before = names(loaded)
    for path in (loaded, *loaded.iterdir()):
        path.chmod(0o555 if path.is_dir() else 0o444)
    for parent in loaded.parents:
        if parent.stat().st_mode & 0o777 == 0o700:  # pytest's own folders, which nobody else may enter
            parent.chmod(0o755)
    nobody = "import os\nif os.geteuid() == 0: os.seteuid(65534)"
    printed = run(
        loaded, 10, before=nobody, after="print(store.reader().cursor().execute('select 42').fetchone())"
    )
    assert "can not be read or written" in printed
    assert printed.endswith("(42,)\n"), "reading works all the same"
    assert names(loaded) == before


def test_folder_that_can_not_be_read(loaded: Path) -> None:
    for parent in loaded.parents:
        if parent.stat().st_mode & 0o777 == 0o700:
            parent.chmod(0o755)
    loaded.chmod(0o000)
    nobody = "import os\nif os.geteuid() == 0: os.seteuid(65534)"
    ask = "try: store.reader().cursor()\nexcept StoreProblem as problem: print(problem)"
    assert run(loaded, 10, before=nobody, after=ask).count("can not be read or written") == 2
    loaded.chmod(0o700)


def test_data_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for folder in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(StoreProblem, match="is not a folder"), Store(folder).writing():
            pass
        with pytest.raises(StoreProblem, match="is not a folder"):
            Store(folder).reader().cursor()


def truncate(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def overwrite_start(path: Path) -> None:
    with path.open("r+b") as file:
        file.write(b"no database at all" * 1000)


@pytest.mark.parametrize("damage", [truncate, overwrite_start, Path.unlink])
def test_damaged_generation_names_the_way_back(loaded: Path, damage) -> None:
    run(loaded, 10)
    damage(loaded / "generation-000002.duckdb")
    with pytest.raises(StoreProblem, match="go-back"):
        Store(loaded).reader().cursor()
    with pytest.raises(StoreProblem, match="go-back"), Store(loaded).writing():
        pass
    assert Store(loaded).go_back().number == 1
    assert rows(loaded) == 100
    load(loaded, 10)
    assert rows(loaded) == 110


def test_damage_inside_is_found_when_read(loaded: Path) -> None:
    """The blocks are damaged, the head of the file is not: the checksums in it tell."""
    path = loaded / "generation-000001.duckdb"
    with path.open("r+b") as file:
        file.seek(12_288)
        file.write(os.urandom(path.stat().st_size - 12_288))
    with pytest.raises(StoreProblem, match="go-back"):
        Store(loaded).reader().cursor()


@pytest.mark.parametrize(
    "text", ["", "generation-000001.duckdb", 'file = "calls.csv"\nschema_version = 1', "\0\xff"]
)
def test_damaged_pointer(loaded: Path, text: str) -> None:
    (loaded / POINTER).write_text(text)
    with pytest.raises(StoreProblem, match="pointer file"):
        Store(loaded).current()
    Store(loaded).go_back()
    assert rows(loaded) == 100


def test_lost_pointer_is_no_empty_store(loaded: Path) -> None:
    (loaded / POINTER).unlink()
    with pytest.raises(StoreProblem, match="has lost its pointer"), Store(loaded).writing():
        pass
    assert (loaded / "generation-000001.duckdb").exists()
    Store(loaded).go_back()
    assert rows(loaded) == 100


def test_going_back_without_a_folder(tmp_path: Path) -> None:
    with pytest.raises(StoreProblem, match="There is no folder"):
        Store(tmp_path / "none").go_back()
    assert not (tmp_path / "none").exists()
