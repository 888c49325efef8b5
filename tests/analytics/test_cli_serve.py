"""`demo` and `serve` as processes: what is served follows each load; invented calls stay apart."""

import json
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from analytics.causes.keeping import model_path
from tests.analytics.test_cli import run as run_here

HEADER = "call_id,unit_id,opened_at,closed_at,complaint,root_cause\n"
ONE = "1,U1,2025-01-06 09:00,2025-01-06 12:00,no ice,fill tube frozen\n"
OTHER = "2,U2,2025-01-07 09:00,2025-01-07 12:00,no ice,fill tube frozen\n"


def command(folder: Path, *words: str | Path) -> list[str]:
    return [sys.executable, "-m", "analytics.cli", "--data", str(folder / "store"), *map(str, words)]


def run(folder: Path, *words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command(folder, *words), capture_output=True, text=True, check=False, timeout=120)


def load(folder: Path, name: str, rows: str) -> None:
    """Load in this process: another than the one that serves."""
    (folder / name).write_text(HEADER + rows)
    assert run_here("load", folder / name, folder=folder).returncode == 0


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def get(port: int, path: str) -> str:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=30) as answer:
        return answer.read().decode("utf-8-sig")


@contextmanager
def serving(folder: Path, *words: str) -> Iterator[int]:
    """Serve the store on a free port until the block ends."""
    port = free_port()
    with subprocess.Popen(
        command(folder, *words, "--port", str(port)),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    ) as server:
        try:
            wait_for(port, server)
            yield port
        finally:
            server.terminate()


def wait_for(port: int, server: subprocess.Popen[str]) -> None:
    for _ in range(300):
        assert server.poll() is None, server.stderr.read()
        try:
            get(port, "/")
            return
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.1)
    raise AssertionError("the dashboard did not answer within 30 seconds")


def test_a_load_shows_at_the_next_request(tmp_path: Path) -> None:
    load(tmp_path, "first.csv", ONE)
    with serving(tmp_path, "serve") as port:
        assert len(get(port, "/export.csv?table=calls").splitlines()) == 2
        load(tmp_path, "second.csv", OTHER)
        assert len(get(port, "/export.csv?table=calls").splitlines()) == 3
        run_here("go-back", folder=tmp_path)
        assert len(get(port, "/export.csv?table=calls").splitlines()) == 2


def test_an_empty_store_is_served_until_something_is_loaded(tmp_path: Path) -> None:
    with serving(tmp_path, "serve") as port:
        load(tmp_path, "first.csv", ONE)
        assert len(get(port, "/export.csv?table=calls").splitlines()) == 2


def test_port_that_is_taken(tmp_path: Path) -> None:
    load(tmp_path, "first.csv", ONE)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        done = run(tmp_path, "serve", "--port", str(taken.getsockname()[1]))
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "another port" in done.stderr


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict]:
    folder = tmp_path_factory.mktemp("demo")
    done = run(folder, "demo", "--calls", "1500", "--no-serve", "--json")
    assert done.returncode == 0, done.stderr
    return folder, json.loads(done.stdout)


def test_demo_has_figures_to_show(demo: tuple[Path, dict]) -> None:
    figures = demo[1]
    for name in ("callback_rate", "first_time_fix_rate"):
        assert 0 < figures[name]["numerator"] < figures[name]["denominator"]
        assert figures[name]["low"] < figures[name]["rate"] < figures[name]["high"]


def test_demo_again_is_the_same_and_serves(demo: tuple[Path, dict]) -> None:
    folder, figures = demo
    again = run_here("demo", "--calls", "1500", "--no-serve", "--json", folder=folder)
    assert json.loads(again.stdout) == figures
    # Where a model is, none is fitted beside, which would go on after the server is terminated.
    model_path(folder / "store").write_bytes(b"")
    with serving(folder, "demo", "--calls", "1500") as port:
        assert "<title>" in get(port, "/")


def test_demo_is_not_mixed_with_another_fleet(demo: tuple[Path, dict]) -> None:
    done = run_here("demo", "--calls", "1600", "--no-serve", folder=demo[0])
    assert done.returncode == 6
    assert "another demo fleet" in done.stderr


def test_demo_is_not_mixed_with_real_records(tmp_path: Path) -> None:
    load(tmp_path, "first.csv", ONE)
    done = run_here("demo", "--no-serve", folder=tmp_path)
    assert done.returncode == 6
    assert "records of yours" in done.stderr
