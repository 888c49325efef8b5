"""Runs one load or fit in a process of its own and watches its memory."""

import json
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import psutil

SAMPLE_SECONDS = 0.02
ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Run:
    """Seconds inside the process after its imports, and its peak resident memory in MiB."""

    seconds: float
    peak_mib: float


def load(how: str, target: Path, files: list[Path]) -> Run:
    """Load files with the program ("program") or with bare DuckDB ("bare") into a new process's target."""
    return _watched(["tests.benchmarks.one_load", how, str(target), *map(str, files)])


def fit(how: str, store: Path) -> Run:
    """Fit to everything ("final"), or choose and judge a model ("judged"), from a store that is there."""
    return _watched(["tests.benchmarks.one_fit", how, str(store)])


def _watched(words: list[str]) -> Run:
    command = [sys.executable, "-m", *words]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    watched, peak = psutil.Process(process.pid), 0
    while process.poll() is None:
        peak = max(peak, _resident(watched))
        time.sleep(SAMPLE_SECONDS)
    output = process.stdout.read() if process.stdout else ""
    if process.returncode:
        raise SystemExit(f"{' '.join(command)} failed: {output}")
    return Run(json.loads(output.splitlines()[-1])["seconds"], peak / 2**20)


def _resident(process: psutil.Process) -> int:
    try:
        family = [process, *process.children(recursive=True)]
        return sum(member.memory_info().rss for member in family)
    except psutil.NoSuchProcess:
        return 0
