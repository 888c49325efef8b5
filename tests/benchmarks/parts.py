"""The parts of the benchmark, each a function from a workplace to measured lines."""

import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.store import Store
from tests.benchmarks import page_updates, pandas_figures
from tests.benchmarks.fleet_files import daily_file, fleet_files, words_file
from tests.benchmarks.lines import Line
from tests.benchmarks.processes import Run, fit, load

GROWTH = 4


@dataclass
class Workplace:
    """Where files and stores of one benchmark lie.

    Parameters
    ----------
    folder : Path
        Kept between parts; the fleet's files are made once.
    calls, runs : int
        Size of the fleet, and how often each thing is measured.
    """

    folder: Path
    calls: int
    runs: int

    def fleet(self, times: int = 1) -> Path:
        """Folder of the fleet's files, or of a fleet some times as large."""
        return self.folder / f"fleet_{self.calls * times}"

    def store(self, times: int = 1) -> Path:
        """Folder of a store that holds that fleet; loaded where it is not there yet."""
        store = self.folder / f"store_{self.calls * times}"
        if not Store(store).exists():
            load("program", store, self.files(times))
        return store

    def files(self, times: int = 1) -> list[Path]:
        """The fleet's files, read once so that every reader finds them in the file cache."""
        files = fleet_files(self.fleet(times), self.calls * times)
        for file in files:
            file.read_bytes()
        return files

    def whole_load(self, times: int = 1) -> Run:
        """Load everything into a store of its own, which is then the one that `store` gives."""
        store = self.folder / f"store_{self.calls * times}"
        shutil.rmtree(store, ignore_errors=True)
        return load("program", store, self.files(times))


def whole_load(place: Workplace) -> list[Line]:
    """Whole load against bare DuckDB, side by side in each run, and the memory it takes."""
    ours, bare = [], []
    for number in range(place.runs):
        database = place.folder / f"bare_{number}.duckdb"
        bare.append(load("bare", database, place.files()))
        database.unlink()
        ours.append(place.whole_load())
    ratios = tuple(run.seconds / other.seconds for run, other in zip(ours, bare, strict=True))
    return [
        Line("load", "bare DuckDB", "s", tuple(run.seconds for run in bare)),
        Line("load", "whole load", "s", tuple(run.seconds for run in ours)),
        Line("load", "whole load over bare DuckDB", "times", ratios, 4),
        Line("memory", "peak of the whole load", "MiB", tuple(run.peak_mib for run in ours), 2048),
    ]


def headline(store: Path, window: int = 30, match: str = "family") -> dict[str, dict[str, int | None]]:
    """Both headline figures, asked of a store just opened."""
    figures = Fleet(Store(store)).figures(Filters(window_days=window, match=match))
    counts = ("numerator", "denominator", "inside_window")
    rates = {"callback_rate": figures.callback_rate, "first_time_fix_rate": figures.first_time_fix_rate}
    return {name: {count: getattr(rate, count) for count in counts} for name, rate in rates.items()}


def headline_figures(place: Workplace) -> list[Line]:
    """Both headline figures from the store and by the pandas script; the answers must agree."""
    store = place.store()
    words = words_file(Store(store), place.folder / "words.csv")
    ours, script, script_read = [], [], []
    for _ in range(place.runs):
        started = time.perf_counter()
        answer = headline(store)
        ours.append(time.perf_counter() - started)
        started = time.perf_counter()
        frames = pandas_figures.read_fleet(place.fleet(), words)
        read = time.perf_counter()
        expected = pandas_figures.figures(*frames, window_days=30, match="family")
        script.append(time.perf_counter() - started)
        script_read.append(time.perf_counter() - read)
        if answer != expected:
            raise SystemExit(f"The store says {answer}, the pandas script {expected}: one of them is wrong.")
    faster = tuple(theirs / own for theirs, own in zip(script, ours, strict=True))
    faster_read = tuple(theirs / own for theirs, own in zip(script_read, ours, strict=True))
    return [
        Line("figures", "both headline figures, from the store", "s", tuple(ours)),
        Line("figures", "the pandas script, from its files", "s", tuple(script)),
        Line("figures", "the pandas script, files already read", "s", tuple(script_read)),
        Line("figures", "store faster than the script", "times", faster, 20, at_least=True),
        Line(
            "figures", "store faster than the script, files already read", "times", faster_read, at_least=True
        ),
    ]


def daily_load(place: Workplace) -> list[Line]:
    """A daily file of 1,000 calls onto the whole fleet, against the whole load of the same run."""
    daily, whole = [], []
    for number in range(1, place.runs + 1):
        whole.append(place.whole_load().seconds)
        copy = place.folder / "store_daily"
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(place.store(), copy)
        daily.append(load("program", copy, [daily_file(place.fleet(), number)]).seconds)
        shutil.rmtree(copy)
    shares = tuple(one / all_of_it for one, all_of_it in zip(daily, whole, strict=True))
    return [
        Line("daily", "a daily file of 1,000 calls", "s", tuple(daily)),
        Line("daily", "daily file over whole load", "times", shares, 0.25),
    ]


def page_times(place: Workplace) -> list[Line]:
    """Page updates in the server."""
    return page_updates.measure(place.store(), place.runs)


def fits(place: Workplace) -> list[Line]:
    """The final fit of the model of causes, with its memory; and choosing and judging it, once."""
    store = place.store()
    runs = [fit("final", store) for _ in range(place.runs)]
    judged = fit("judged", store)
    return [
        Line("fit", "final fit of the model of causes", "s", tuple(run.seconds for run in runs), 60),
        Line("fit", "peak of the final fit", "MiB", tuple(run.peak_mib for run in runs), 2048),
        Line("fit", "choosing and judging, on at most 200,000 episodes", "s", (judged.seconds,), 600),
    ]


def growth(place: Workplace) -> list[Line]:
    """Cost of load and figures of a fleet four times as large, over four times the cost of this one."""
    loads, asked = [], []
    for _ in range(place.runs):
        seconds = [place.whole_load(times).seconds for times in (1, GROWTH)]
        loads.append(seconds[1] / seconds[0] / GROWTH)
        seconds = [_fastest(lambda times=times: headline(place.store(times))) for times in (1, GROWTH)]
        asked.append(seconds[1] / seconds[0] / GROWTH)
    return [
        Line("growth", f"whole load, {GROWTH} times the calls, over linear", "times", tuple(loads), 1.15),
        Line(
            "growth", f"headline figures, {GROWTH} times the calls, over linear", "times", tuple(asked), 1.15
        ),
    ]


def _fastest(work: Callable[[], object], times: int = 5) -> float:
    """Seconds of the fastest of a few: what the work costs when nothing else disturbs it."""
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        taken.append(time.perf_counter() - started)
    return min(taken)


PARTS: dict[str, Callable[[Workplace], list[Line]]] = {
    "load": whole_load,
    "figures": headline_figures,
    "daily": daily_load,
    "pages": page_times,
    "fit": fits,
    "growth": growth,
}
