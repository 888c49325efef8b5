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
from contextlib import contextmanager
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
MOST_MEMORY_MIB = 2048
SLOPE_LIMIT_MIB = 1.0
"""For each 1,000 requests, over the second half of them."""
COMBINATIONS = 60
"""Of filters, among which the people choose: some pages were asked before, most not."""
WRONG = ("Something went wrong", "can not be shown")
Page = tuple[str, str]


def ask(page: Page) -> tuple[float, str]:
    """Ask for one page; return the milliseconds it took, and what was wrong with it, if anything."""
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
    began = time.perf_counter()
    try:
        connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=120)
        connection.request("POST", "/_dash-update-component", json.dumps(body), headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
    except OSError as error:
        return (time.perf_counter() - began) * 1000, repr(error)
    taken = (time.perf_counter() - began) * 1000
    wrong = next((sign for sign in WRONG if sign in text), "")
    return taken, wrong if answer.status == 200 else f"{answer.status} {text[:200]}"


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


def people(store: Path, file: Path, count: int, every_seconds: float, before_seconds: float) -> bool:
    """Click while the file is loaded into the same store; print, and say whether the limits hold."""
    draw, taken, wrong, done = pages(store), [], [], threading.Event()
    asked_for: list[tuple[float, str, float]] = []  # how long, which page, and when it was there
    with served(store) as process:
        for path in ("/", "/this-week", "/compare", "/over-time", "/checks", "/first-visit", "/filter-age"):
            ask((path, ""))  # what is asked ahead when a dashboard starts is there
        before, peak = memory_mib(process), 0.0

        def person(number: int) -> None:
            chance = random.Random(SEED + number)
            at = time.monotonic() + chance.uniform(0, every_seconds)
            while not done.wait(max(at - time.monotonic(), 0)):
                page = draw(chance)
                milliseconds, problem = ask(page)
                taken.append(milliseconds)
                asked_for.append((milliseconds, page[0], time.monotonic() - began))
                if problem:
                    wrong.append(problem)
                at += every_seconds

        threads = [threading.Thread(target=person, args=(number,)) for number in range(count)]
        began, load_average = time.monotonic(), os.getloadavg()[0]
        for thread in threads:
            thread.start()
        time.sleep(before_seconds)  # a dashboard in use: what many ask for was asked before
        earlier, load_began = len(taken), time.monotonic()
        command = [sys.executable, "-m", "analytics.cli", "--data", str(store), "load", str(file), "--json"]
        load = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        while load.poll() is None:
            peak = max(peak, memory_mib(process))
            time.sleep(0.1)
        loaded = time.monotonic() - load_began
        told = json.loads(load.communicate()[0] or "{}")
        during, until_now = taken[earlier:], len(taken)
        until = time.monotonic() + 6 * every_seconds  # and a while after, when the new generation is shown
        while time.monotonic() < until:
            peak = max(peak, memory_mib(process))
            time.sleep(0.1)
        done.set()
        for thread in threads:
            thread.join()
    after = taken[until_now:]
    p95 = float(np.percentile(during, 95))
    print(f"{count} people, a click every {every_seconds:g} s each; load average before: {load_average:.1f}")
    rows = told.get("files", [{}])[0].get("rows")
    print(f"load of {file.name}: exit {load.returncode}, {loaded:.1f} s, {rows} rows")
    first = np.percentile(taken[:earlier], (50, 95)) if earlier else (0, 0)
    print(f"before it: {earlier} pages, median {first[0]:.0f} ms, p95 {first[1]:.0f} ms")
    print(f"while it loaded: {len(during)} pages, median {np.median(during):.0f} ms, p95 {p95:.0f} ms")
    slow = sorted(asked_for[earlier:until_now], reverse=True)[:12]
    print("slowest: " + ", ".join(f"{page} {ms:.0f} ms (done at {at:.0f} s)" for ms, page, at in slow))
    if after:
        print(
            f"in the {6 * every_seconds:g} s after: {len(after)} pages, p95 {np.percentile(after, 95):.0f} ms"
        )
    print(f"errors: {len(wrong)} {wrong[:2]}; memory {before:.0f} MiB before, {peak:.0f} MiB at most")
    return p95 < P95_LIMIT_MS and not wrong and peak < MOST_MEMORY_MIB and load.returncode == 0


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
