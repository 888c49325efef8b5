"""The command line of the demo fleet."""

import subprocess
import sys
from pathlib import Path

import pytest

from synthetic_data.__main__ import main
from synthetic_data.assumptions import as_table


def test_a_fleet_is_written_from_the_command_line(tmp_path: Path):
    out = tmp_path / "new" / "fleet"
    command = [
        sys.executable,
        "-m",
        "synthetic_data",
        "--out",
        str(out),
        "--calls",
        "60",
        "--until",
        "2020-05-31",
    ]
    done = subprocess.run(
        [*command, "--dialect", "five_columns_dates_only"], capture_output=True, text=True, check=True
    )
    assert "60 calls up to 2020-05-31" in done.stdout
    assert (out / "truth" / "calls.csv").exists()
    assert (out / "five_columns_dates_only" / "service calls.csv").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--calls", "0"], "at least 1"),
        (["--dialect", "martian"], "there are"),
        (["--until", "yesterday"], "--until"),
    ],
)
def test_bad_options_are_refused_in_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture, words: list, said: str
):
    with pytest.raises(SystemExit) as stop:
        main(["--out", str(tmp_path), *words])
    assert stop.value.code == 2
    assert said in capsys.readouterr().err


def test_the_table_of_assumptions_is_written(tmp_path: Path):
    assert main(["--assumptions", str(tmp_path / "page.md")]) == 0
    assert (tmp_path / "page.md").read_text(encoding="utf-8") == as_table()
