"""The run fails when a test could not run: the broken twins are suites with a test that is skipped."""

import subprocess
import sys
from pathlib import Path

import pytest

WHOLE = "def test_runs(): pass\n"
SKIPPED = WHOLE + "import pytest\n@pytest.mark.skip(reason='no browser')\ndef test_does_not(): pass\n"
SKIPPED_INSIDE = WHOLE + "import pytest\ndef test_does_not(): pytest.skip('no browser')\n"
MODULE_SKIPPED = "import pytest\npytest.importorskip('no_such_module_at_all')\ndef test_does_not(): pass\n"
EXPECTED_FAILURE = WHOLE + "import pytest\n@pytest.mark.xfail\ndef test_does_not(): assert False\n"


def run(folder: Path, text: str, *options: str) -> int:
    (folder / "conftest.py").write_text(Path(__file__).with_name("conftest.py").read_text())
    (folder / "test_first.py").write_text(WHOLE)
    (folder / "test_second.py").write_text(text)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *options, str(folder)]
    return subprocess.run(command, cwd=folder, capture_output=True, check=False).returncode


def test_run_without_skips_passes(tmp_path: Path) -> None:
    assert run(tmp_path, WHOLE, "--skips-fail") == 0


@pytest.mark.parametrize("text", [SKIPPED, SKIPPED_INSIDE, MODULE_SKIPPED, EXPECTED_FAILURE])
def test_run_with_a_skip_fails(tmp_path: Path, text: str) -> None:
    assert run(tmp_path, text, "--skips-fail") == 1
    assert run(tmp_path, text) == 0, "only the option makes it fail"


@pytest.mark.parametrize("text", [SKIPPED, MODULE_SKIPPED])
def test_run_with_a_skip_fails_in_worker_processes_too(tmp_path: Path, text: str) -> None:
    assert run(tmp_path, text, "--skips-fail", "-n", "2") == 1
