"""While the demo is served, its model of causes is fitted beside it, once; stopping the demo stops that."""

import os
import signal
import subprocess
from pathlib import Path

import pytest

from analytics.causes.keeping import model_path
from analytics.commands import demo


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[subprocess.Popen]:
    """Return the processes that are begun, each of which only waits."""
    processes: list[subprocess.Popen] = []

    def begin(command: list[str], **options: int) -> subprocess.Popen:
        assert command[1:3] == ["-m", "analytics.cli"]
        assert command[-2:] == ["fit", "--json"]
        processes.append(started(["sleep", "60"], **options))
        return processes[-1]

    started = subprocess.Popen
    monkeypatch.setattr(demo.subprocess, "Popen", begin)
    return processes


def test_a_model_is_fitted_beside_and_ends_with_the_demo(
    tmp_path: Path, begun: list[subprocess.Popen], capsys: pytest.CaptureFixture[str]
) -> None:
    with demo.fitting_beside(tmp_path):
        assert begun[0].poll() is None
    assert begun[0].poll() is not None
    assert "are being learned" in capsys.readouterr().err


def test_told_to_stop_the_fit_is_stopped_too(tmp_path: Path, begun: list[subprocess.Popen]) -> None:
    before = signal.getsignal(signal.SIGTERM)
    with pytest.raises(SystemExit, match="143"), demo.fitting_beside(tmp_path):
        os.kill(os.getpid(), signal.SIGTERM)
    assert begun[0].poll() is not None
    assert signal.getsignal(signal.SIGTERM) is before


def test_a_model_that_is_there_is_not_fitted_again(tmp_path: Path, begun: list[subprocess.Popen]) -> None:
    model_path(tmp_path).write_bytes(b"")
    with demo.fitting_beside(tmp_path):
        assert begun == []
