"""People at the dashboard while a large file is loaded, and a day of requests at speed.

python -m tests.benchmarks.under_load people STORE FILE [--people 20] [--every 5]
python -m tests.benchmarks.under_load day STORE [--requests 17280] [--at-once 4]

STORE is copied first and stays as it is. The dashboard and the load run in processes of their own; requests
go over HTTP to the callback of the page, as a browser sends them.
"""

import argparse
import http.client
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path

import numpy as np
import psutil

from analytics.fleet import Fleet
from analytics.store import Store
from tests.benchmarks.machine import machine
from tests.benchmarks.page_updates import OUTPUTS, SEED, addresses, combinations

PORT = 8483
P95_LIMIT_MS = 500
"""While the file loads, and while the figures of what was loaded are worked out."""
P95_AFTERWARDS_LIMIT_MS = 2000
"""In the half minute in which everybody first sees the new data, of which most pages were never asked."""
LONGEST_S = 600
"""How long the figures may take."""
MOST_MEMORY_MIB = 2048
"""Of the dashboard alone; the process that works figures out ahead comes and goes beside it."""
SLOPE_LIMIT_MIB = 1.0
"""For each 1,000 requests, over the second half of them."""
COMBINATIONS = 60
"""Of filters, among which the people choose: some pages were asked before, most not."""
WRONG = ("Something went wrong", "can not be shown")
OLDER = "Newer data was loaded"
Page = tuple[str, str]


def ask(page: Page) -> tuple[float, str]:
    """Ask for one page; return the milliseconds it took, and what was wrong with it, if anything."""
    began = time.perf_counter()
    status, text = request(page)
    taken = (time.perf_counter() - began) * 1000
    wrong = next((sign for sign in WRONG if sign in text), "")
    return taken, wrong if status == 200 else f"{status} {text[:200]}"


def request(page: Page) -> tuple[int, str]:
    """Ask for one page; return the status (0: no answer) and the text."""
    body = {
        "output": "..page.children...navigation.children..",
        "outputs": OUTPUTS,
        "inputs": [
            {"id": "address", "property": name, "value": value}
            for name, value in zip(("pathname", "search"), page, strict=True)
        ],
        "changedPropIds": ["address.search"],
    }
    headers = {"Content-Type": "application/json", "Origin": f"http://127.0.0.1:{PORT}"}
    try:
        connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=120)
        connection.request("POST", "/_dash-update-component", json.dumps(body), headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
    except OSError as error:
        return 0, repr(error)
    return answer.status, text


@contextmanager
def served(store: Path) -> Iterator[psutil.Process]:
    """Serve a copy of a store until the block ends; the copy is at `store`."""
    command = [sys.executable, "-m", "analytics.cli", "--data", str(store), "serve", "--port", str(PORT)]
    if not ask(("/", ""))[1]:
        raise SystemExit(f"a dashboard answers at port {PORT} already: stop it first")
    process = subprocess.Popen(command, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
    try:
        until = time.monotonic() + 60
        while ask(("/", ""))[1]:
            if process.poll() is not None or time.monotonic() > until:
                raise SystemExit("the dashboard does not answer")
            time.sleep(0.3)
        yield psutil.Process(process.pid)
    finally:
        process.terminate()
        process.wait(timeout=30)


def pages(store: Path) -> Callable[[random.Random], Page]:
    """Return what draws a page: its kind, and one of `COMBINATIONS` of filters."""
    fleet, rng = Fleet(Store(store)), random.Random(SEED)
    searches, kinds = combinations(fleet, rng, COMBINATIONS), list(addresses(fleet, rng).items())

    def draw(chance: random.Random) -> tuple[str, str]:
        path, options = chance.choice(kinds)[1][1]()
        return path, chance.choice(searches) + options

    return draw


def memory_mib(process: psutil.Process) -> float:
    return float(process.memory_info().rss) / 2**20


class Peaks:
    """The most memory seen: of the dashboard, and of it together with what it has started.

    Parameters
    ----------
    process : psutil.Process
        The dashboard.
    """

    def __init__(self, process: psutil.Process) -> None:
        self._process = process
        self.alone = self.together = 0.0

    def look_until(self, is_over: Callable[[float], bool]) -> float:
        """Look every fifth of a second until it is over; return the seconds that took."""
        began = time.monotonic()
        while not is_over(at := time.monotonic() - began):
            alone = memory_mib(self._process)
            helpers = 0.0
            for helper in self._process.children(recursive=True):
                with suppress(psutil.NoSuchProcess):
                    helpers += memory_mib(helper)
            self.alone, self.together = max(self.alone, alone), max(self.together, alone + helpers)
            time.sleep(0.2)
        return at


def people(store: Path, file: Path, count: int, every_seconds: float, before_seconds: float) -> bool:
    """Click while the file is loaded into the same store; print, and say whether the limits hold."""
    draw, wrong, done = pages(store), [], threading.Event()
    asked_for: dict[str, list[tuple[float, str]]] = {}  # by what went on: how long, and which page
    now = "before it"
    with served(store) as process:
        for path in ("/", "/this-week", "/compare", "/over-time", "/checks", "/first-visit", "/filter-age"):
            ask((path, ""))  # what is asked ahead when a dashboard starts is there
        peaks = Peaks(process)

        def person(number: int) -> None:
            chance = random.Random(SEED + number)
            at = time.monotonic() + chance.uniform(0, every_seconds)
            while not done.wait(max(at - time.monotonic(), 0)):
                page = draw(chance)
                while_this = now
                milliseconds, problem = ask(page)
                asked_for.setdefault(while_this, []).append((milliseconds, page[0]))
                if problem:
                    wrong.append(problem)
                at += every_seconds

        threads = [threading.Thread(target=person, args=(number,)) for number in range(count)]
        load_average = os.getloadavg()[0]
        for thread in threads:
            thread.start()
        peaks.look_until(lambda at: at > before_seconds)  # a dashboard in use: what many ask for was asked
        now, began = "while it loaded", time.monotonic()
        command = [sys.executable, "-m", "analytics.cli", "--data", str(store), "load", str(file), "--json"]
        load = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        peaks.look_until(lambda at: load.poll() is not None)
        loaded, now = time.monotonic() - began, "while its figures were worked out"
        told = json.loads(load.communicate()[0] or "{}")
        worked_out = peaks.look_until(lambda at: at > LONGEST_S or (at > 3 and not is_older_shown()))
        now = "in the half minute after that"
        peaks.look_until(lambda at: at > 6 * every_seconds)
        done.set()
        for thread in threads:
            thread.join()
        left = memory_mib(process)
    print(f"{count} people, a click every {every_seconds:g} s each; load average before: {load_average:.1f}")
    rows = told.get("files", [{}])[0].get("rows")
    print(
        f"load of {file.name}: exit {load.returncode}, {loaded:.1f} s, {rows} rows; "
        f"ready {worked_out:.1f} s later"
    )
    held = load.returncode == 0 and not wrong and worked_out < LONGEST_S and peaks.alone < MOST_MEMORY_MIB
    for what, pages_asked in asked_for.items():
        median, p95 = np.percentile([ms for ms, _ in pages_asked], (50, 95))
        slow = ", ".join(f"{page} {ms:.0f} ms" for ms, page in sorted(pages_asked, reverse=True)[:8])
        print(f"{what}: {len(pages_asked)} pages, median {median:.0f} ms, p95 {p95:.0f} ms; slowest {slow}")
        limit = P95_AFTERWARDS_LIMIT_MS if what == now else P95_LIMIT_MS
        held = held and (what == "before it" or p95 < limit)
    print(f"errors: {len(wrong)} {wrong[:2]}")
    print(
        f"memory: {peaks.alone:.0f} MiB at most, {left:.0f} MiB at the end; together with the process that "
        f"works figures out {peaks.together:.0f} MiB at most"
    )
    return held


def is_older_shown() -> bool:
    """Say whether the dashboard shows the data as it was before the load."""
    return OLDER in request(("/how-soon", ""))[1]


def day(store: Path, requests: int, at_once: int) -> bool:
    """Ask for a day's pages at speed and watch the memory; print, and say whether it stays flat."""
    draw, chance = pages(store), random.Random(SEED)
    wrong, memory = [], []
    with served(store) as process:
        wanted = [draw(chance) for _ in range(requests)]
        began = time.monotonic()
        with ThreadPoolExecutor(at_once) as pool:
            for number, (_, problem) in enumerate(pool.map(ask, wanted)):
                if problem:
                    wrong.append(problem)
                if number % 50 == 0:
                    memory.append((number, memory_mib(process)))
        seconds = time.monotonic() - began
    half = np.array(memory[len(memory) // 2 :])
    slope = float(np.polyfit(half[:, 0] / 1000, half[:, 1], 1)[0])
    print(f"{requests} requests in {seconds:.0f} s, {at_once} at once; errors: {len(wrong)} {wrong[:2]}")
    for number, mib in memory[:: max(len(memory) // 8, 1)]:
        print(f"  after {number}: {mib:.0f} MiB")
    print(
        f"second half: {slope:+.2f} MiB for each 1,000 requests; highest {max(m for _, m in memory):.0f} MiB"
    )
    return slope < SLOPE_LIMIT_MIB and not wrong


def main() -> int:
    """Measure, print, and return 1 when a limit is missed."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.under_load", description=__doc__)
    parser.add_argument("what", choices=("people", "day"))
    parser.add_argument("store", type=Path, help="a store; it is copied")
    parser.add_argument("file", type=Path, nargs="?", help="what is loaded meanwhile")
    parser.add_argument("--people", type=int, default=20)
    parser.add_argument("--every", type=float, default=5.0, help="seconds between the clicks of one person")
    parser.add_argument("--before", type=float, default=60.0, help="seconds of clicks before the load begins")
    parser.add_argument("--requests", type=int, default=17_280, help="17,280: one every 5 s for 24 hours")
    parser.add_argument("--at-once", type=int, default=4)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        store = Path(shutil.copytree(asked.store, Path(place) / "store"))
        print(f"{date.today()}. {machine()}")
        if asked.what == "day":
            held = day(store, asked.requests, asked.at_once)
        else:
            held = people(store, asked.file, asked.people, asked.every, asked.before)
    print("limits held" if held else "A LIMIT WAS MISSED")
    return int(not held)


if __name__ == "__main__":
    sys.exit(main())
