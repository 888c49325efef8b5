"""The command line: output, exit codes, and one paragraph for every problem; mostly in this process."""

import json
import os
import subprocess
import sys
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import pytest

from analytics.cli import main

CALLS = """\
call_id,unit_id,opened_at,closed_at,complaint,root_cause,outcome,technician_id,depot
1,U1,2025-01-06 09:00,2025-01-06 12:00,no ice,fill tube frozen,repaired,T1,North
2,U1,2025-01-16 09:00,2025-01-16 12:00,no ice,water valve seeping,repaired,T2,North
3,U2,2025-01-07 09:00,2025-01-07 12:00,water on the floor,drain clogged,repaired,T1,South
4,U3,2025-02-20 09:00,2025-02-20 12:00,no ice,fill tube frozen,repaired,T2,South
5,U4,2025-03-01 09:00,2025-03-01 12:00,no ice,fill tube frozen,repaired,T2,North
"""
VISITS = """\
visit_id,call_id,technician_id,arrived_at,left_at,result
V1,1,T1,2025-01-06 10:00,2025-01-06 11:00,done
V2,2,T2,2025-01-16 10:00,2025-01-16 11:00,done
V3,3,T1,2025-01-07 10:00,2025-01-07 11:00,done
V4,4,T2,2025-02-20 10:00,2025-02-20 11:00,done
V5,5,T2,2025-03-01 10:00,2025-03-01 11:00,done
"""


def run(*words: str | Path, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the command line in this process, on a store in `folder`: to begin another takes seconds."""
    command = ["--data", str(folder / "store"), *map(str, words)]
    out, err = StringIO(), StringIO()
    with chdir(folder), redirect_stdout(out), redirect_stderr(err):
        code = main(command)
    return subprocess.CompletedProcess(command, code, out.getvalue(), err.getvalue())


def run_process(*words: str | Path, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the command line as a user does, as a process of its own."""
    command = [sys.executable, "-m", "analytics.cli", "--data", str(folder / "store"), *map(str, words)]
    return subprocess.run(
        command, capture_output=True, text=True, cwd=folder, check=False, stdin=subprocess.DEVNULL
    )


def assert_problem(done: subprocess.CompletedProcess[str], code: int) -> str:
    """One paragraph on standard error, nothing on standard output, and this exit code."""
    assert (done.returncode, done.stdout) == (code, "")
    assert done.stderr.startswith("service-calls: ")
    assert done.stderr.count("\n") == 1
    assert "Traceback" not in done.stderr
    return done.stderr


def write(folder: Path, **texts: str) -> list[Path]:
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text)
    return [folder / f"{name}.csv" for name in texts]


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("loaded")
    done = run_process("load", *write(folder, calls=CALLS, visits=VISITS), folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    return folder


def test_load_reports_what_became_of_every_row(tmp_path: Path) -> None:
    twice = CALLS + "6,U9,not a day,,no ice,,,T1,North\n"
    files = write(tmp_path, calls=twice, visits=VISITS)
    done = run("load", "--json", *files, folder=tmp_path)
    assert done.returncode == 0
    calls, visits = json.loads(done.stdout)["files"]
    parts = ("rows", "loaded", "updated", "repeated", "set_aside")
    assert [calls[part] for part in parts] == [6, 5, 0, 0, 1]
    assert [visits[part] for part in parts] == [5, 5, 0, 0, 0]
    again = json.loads(run("load", "--json", *files, folder=tmp_path).stdout)["files"]
    assert [each["loaded"] + each["updated"] for each in again] == [0, 0]


def test_figures(loaded: Path) -> None:
    """By hand: the end is 1 March 12:00; calls 1 to 3 have been followed for 30 days, call 1 came back."""
    figures = json.loads(run("figures", "--json", folder=loaded).stdout)
    callbacks = figures["callback_rate"]
    assert [callbacks[key] for key in ("numerator", "denominator", "inside_window")] == [1, 3, 2]
    assert callbacks["rate"] == pytest.approx(1 / 3)
    assert 0 < callbacks["low"] < 1 / 3 < callbacks["high"] < 1
    # Call 2 is itself a callback; of 1 and 3, call 1 came back.
    fixed = figures["first_time_fix_rate"]
    assert [fixed[key] for key in ("numerator", "denominator")] == [1, 2]


def test_figures_by_depot_and_filtered(loaded: Path) -> None:
    figures = json.loads(run("figures", "--json", "--by", "depot", folder=loaded).stdout)
    groups = {each["group"]: each["callback_rate"] for each in figures["groups"]}
    assert {name: (rate["numerator"], rate["denominator"]) for name, rate in groups.items()} == {
        "North": (1, 2),
        "South": (0, 1),
    }
    south = json.loads(run("figures", "--json", "--depot", "South", folder=loaded).stdout)["callback_rate"]
    assert (south["numerator"], south["denominator"]) == (0, 1)


def test_figures_with_another_window_and_day(loaded: Path) -> None:
    week = json.loads(run("figures", "--json", "--window", "7", folder=loaded).stdout)["callback_rate"]
    assert (week["numerator"], week["denominator"], week["inside_window"]) == (0, 4, 1)
    early = run("figures", "--json", "--as-of", "2025-02-10", folder=loaded)
    rate = json.loads(early.stdout)["callback_rate"]
    assert (rate["numerator"], rate["denominator"], rate["inside_window"]) == (1, 2, 1)


def test_figures_for_people(loaded: Path) -> None:
    text = run("figures", "--by", "depot", folder=loaded).stdout
    assert "1 of 3" in text
    assert "33" not in text, "no bare percentage of fewer than 5 calls"
    assert "2 calls are too young to say" in text


def test_comparison_of_depots_and_of_people(loaded: Path) -> None:
    depots = json.loads(run("compare", "--json", folder=loaded).stdout)
    assert (depots["by"], depots["came_back"], depots["calls"]) == ("depot", 1, 3)
    assert {each["group"]: (each["came_back"], each["calls"]) for each in depots["groups"]} == {
        "North": (1, 2),
        "South": (0, 1),
    }
    people = run("compare", "--by", "technician", folder=loaded).stdout
    assert people.startswith("Figures about people are evidence for a conversation")
    assert "too few calls" in people
    assert (
        "not fit for pay"
        in json.loads(run("compare", "--json", "--by", "technician", folder=loaded).stdout)["can_not_say"]
    )
    assert "Nothing to review" in run("compare", "--worth-a-look", folder=loaded).stdout
    assert json.loads(run("compare", "--worth-a-look", "--json", folder=loaded).stdout) == {"groups": []}
    said = assert_problem(run("compare", "--by", "technician", "--period", "week", folder=loaded), 2)
    assert "Choose year" in said


@pytest.mark.parametrize(
    "words", [("--depot", "Nort"), ("--technician", "T9"), ("--symptom", "no ice at all")]
)
def test_value_that_no_call_has(loaded: Path, words: tuple[str, str]) -> None:
    said = assert_problem(run("figures", *words, folder=loaded), 2)
    assert f"'{words[1]}'. Choose from " in said


@pytest.mark.parametrize(
    "command", ["loads", "phrases", "set-aside", "how-soon", "silence", "compare", "filter-age"]
)
def test_reports_for_people_and_programs(loaded: Path, command: str) -> None:
    assert isinstance(json.loads(run(command, "--json", folder=loaded).stdout), dict)
    done = run(command, folder=loaded)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout


def test_rows_set_aside_are_exported_mended_and_loaded(tmp_path: Path) -> None:
    run(
        "load",
        *write(tmp_path, calls=CALLS.replace("2025-03-01 09:00", "the first of March")),
        folder=tmp_path,
    )
    done = run("set-aside", "--out", tmp_path / "mend.csv", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    text = (tmp_path / "mend.csv").read_text()
    (tmp_path / "mend.csv").write_text(text.replace("the first of March", "2025-03-01 09:00"))
    report = json.loads(run("load", "--json", tmp_path / "mend.csv", folder=tmp_path).stdout)["files"][0]
    assert (report["rows"], report["loaded"]) == (1, 1)


def test_proposal_loads_the_file_it_was_made_from(tmp_path: Path) -> None:
    foreign = CALLS.replace(
        "call_id,unit_id,opened_at,closed_at,complaint", "Call No,Serial No,Opened,Closed,Problem"
    )
    (file,) = write(tmp_path, foreign=foreign)
    done = run("propose", file, folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    (tmp_path / "mapping.toml").write_text(done.stdout)
    as_json = json.loads(run("propose", "--json", file, folder=tmp_path).stdout)
    assert (as_json["certain"], as_json["mapping"]) == (True, done.stdout)
    report = run("load", "--json", "--mapping", tmp_path / "mapping.toml", file, folder=tmp_path)
    assert json.loads(report.stdout)["files"][0]["loaded"] == 5


def test_going_back(tmp_path: Path) -> None:
    first, second = CALLS.splitlines()[:3], CALLS.splitlines()[:1] + CALLS.splitlines()[3:]
    for number, lines in enumerate((first, second)):
        (file,) = write(tmp_path, **{f"calls{number}": "\n".join(lines) + "\n"})
        assert run("load", file, folder=tmp_path).returncode == 0
    back = json.loads(run("go-back", "--json", folder=tmp_path).stdout)
    assert back["generation"] == 1
    loads = json.loads(run("loads", "--json", folder=tmp_path).stdout)
    assert [file["file_name"] for file in loads["files"]] == ["calls0.csv"]


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        ((), 2, "required: COMMAND"),
        (("teach",), 2, "invalid choice: 'teach'"),
        (("figures", "--windw", "30"), 2, "--windw"),
        (("figures", "--window", "31"), 2, "Choose one of 7, 14, 30, 60, 90"),
        (("figures", "--match", "all"), 2, "invalid choice: 'all'"),
        (("figures", "--as-of", "03/04/2025"), 2, "write it as 2026-03-01"),
        (("figures", "--by", "moon"), 2, "invalid choice: 'moon'"),
        (("load", "--extracted", "soon", "x.csv"), 2, "write it as 2026-03-01"),
        (("load", "none.csv"), 3, "none.csv"),
        (("load", "--mapping", "none.toml", "none.csv"), 5, "none.toml"),
        (("figures",), 6, "Nothing has been loaded"),
        (("loads",), 6, "Nothing has been loaded"),
        (("phrases",), 6, "Nothing has been loaded"),
        (("set-aside",), 6, "Nothing has been loaded"),
        (("go-back",), 6, "no folder"),
        (("serve", "--port", "0"), 2, "numbers from 1 to 65535"),
        (("serve", "--host", "0.0.0.0"), 2, "--behind-proxy"),
        (("serve", "--host", "::"), 2, "--behind-proxy"),
        (("serve", "--host", "example.org"), 2, "--behind-proxy"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_problem(tmp_path: Path, words: tuple[str, ...], code: int, message: str) -> None:
    assert message in assert_problem(run(*words, folder=tmp_path), code)


def test_a_process_says_and_returns_the_same(loaded: Path, tmp_path: Path) -> None:
    """What the tests above see of `main` is what a user sees of the process."""
    for words, folder in ((("figures", "--by", "depot"), loaded), (("loads",), tmp_path)):
        alone, here = run_process(*words, folder=folder), run(*words, folder=folder)
        assert (alone.returncode, alone.stdout, alone.stderr) == (here.returncode, here.stdout, here.stderr)
    assert "invalid choice: 'teach'" in assert_problem(run_process("teach", folder=tmp_path), 2)


def test_file_that_needs_an_answer(tmp_path: Path) -> None:
    ambiguous = (
        CALLS.replace("2025-01-06", "06/01/2025")
        .replace("2025-01-07", "07/01/2025")
        .replace("2025-", "20250")
    )
    rows = [line for line in ambiguous.splitlines() if "20250" not in line]
    (file,) = write(tmp_path, calls="\n".join(rows) + "\n")
    assert "opened_at" in assert_problem(run("load", file, folder=tmp_path), 4)


def test_damaged_store(tmp_path: Path) -> None:
    run("load", *write(tmp_path, calls=CALLS), folder=tmp_path)
    os.truncate(tmp_path / "store" / "generation-000001.duckdb", 20_000)
    assert "is damaged" in assert_problem(run("figures", folder=tmp_path), 6)


def test_fault_of_the_program_is_told_as_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    def fail(arguments: object) -> None:
        raise RuntimeError("a fault")

    monkeypatch.setattr("analytics.commands.loads.run", fail)
    assert main(["loads"]) == 70
    assert "A fault in this program" in capsys.readouterr().err


def test_interruption(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture) -> None:
    def interrupt(arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("analytics.commands.loads.run", interrupt)
    assert main(["loads"]) == 130
    assert capsys.readouterr().err.count("\n") == 1


def test_output_cut_short_by_its_reader(loaded: Path) -> None:
    words = f"{sys.executable} -m analytics.cli --data {loaded / 'store'} figures --json | head -c 1"
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", words], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""


def test_folder_of_the_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SERVICE_CALLS_DATA", raising=False)
    for words, folder in (
        (["loads"], tmp_path / "data"),
        (["--data", "one", "loads"], tmp_path / "one"),
        (["loads", "--data", "two"], tmp_path / "two"),
    ):
        assert main(words) == 6
        assert str(folder) in capsys.readouterr().err
    monkeypatch.setenv("SERVICE_CALLS_DATA", str(tmp_path / "three"))
    assert main(["loads"]) == 6
    assert str(tmp_path / "three") in capsys.readouterr().err


def test_progress_is_reported_when_asked_for(tmp_path: Path) -> None:
    done = run("load", "--progress", *write(tmp_path, calls=CALLS), folder=tmp_path)
    stages = done.stderr.split("\n")
    assert [stage for stage in ("copying", "checkpoint", "pointer") if stage not in stages] == []


@pytest.mark.parametrize(("given", "steps"), [("None", 10), ("sys.argv[1:]", 0)])
def test_a_long_command_steps_back_where_the_process_is_its_own(given: str, steps: int) -> None:
    """Another program that calls it keeps its priority."""
    script = (
        "import os, sys; from analytics import cli; from analytics.commands import load\n"
        f"before = os.nice(0); load.run = lambda _: print(os.nice(0) - before)\ncli.main({given})"
    )
    command = [sys.executable, "-c", script, "load", "calls.csv"]
    assert int(subprocess.run(command, capture_output=True, text=True, timeout=60).stdout) == steps
