"""Server time of page updates: the page's own callback, through the application's WSGI interface.

A page update turns the filters of an address into the JSON that goes to the browser, charts included. Neither
the network nor the browser is in it.
"""

import random
import time
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

import numpy as np

from analytics.filters import COMPARED, GROUPINGS, MATCHES, WINDOWS_DAYS, Filters
from analytics.fleet import Fleet
from analytics.fleet_time import PERIODS
from analytics.questions.checks import CHECKED_BY
from analytics.questions.costs import COSTED_BY
from analytics.store import Store
from dashboard.address import LIST_PARAMETERS
from dashboard.app import create_app
from tests.benchmarks.lines import Line

COMBINATIONS = 500
OUTPUTS = [{"id": "page", "property": "children"}, {"id": "navigation", "property": "children"}]
ORIGIN = {"Origin": "http://localhost"}
QUICK_MS, STATISTICAL_MS = 150, 300
SEED = 20260302


def combinations(fleet: Fleet, rng: random.Random, wanted: int) -> list[str]:
    """Distinct query strings, drawn from all that the filters can be set to."""
    choices = fleet.choices()
    first, last = choices["closed"].row(0)
    months = [f"{y}-{m:02d}" for y in range(first.year, last.year + 1) for m in range(1, 13)]
    months = [month for month in months if f"{first:%Y-%m}" <= month <= f"{last:%Y-%m}"]

    def one() -> str:
        pairs = []
        for name in rng.sample(sorted(LIST_PARAMETERS), k=rng.choice((0, 1, 1, 1, 2, 3))):
            codes = choices[LIST_PARAMETERS[name]]["value"].to_list()
            pairs += [(name, code) for code in rng.sample(codes, k=min(len(codes), rng.choice((1, 1, 2))))]
        if rng.random() < 0.5:
            start, end = sorted(rng.sample(range(len(months)), k=2))
            pairs += [("from", months[start]), ("to", months[end])]
        if rng.random() < 0.2:
            pairs.append(("as_of", f"{rng.choice(months)}-15"))
        pairs += [("within", str(rng.choice(WINDOWS_DAYS))), ("match", rng.choice(MATCHES))]
        return "?" + "&".join(f"{name}={quote(value)}" for name, value in pairs)

    found: dict[str, None] = {}
    while len(found) < wanted:
        found[one()] = None
    return list(found)


class Browser:
    """Asks an application for pages as a browser does, without one."""

    def __init__(self, fleet: Fleet) -> None:
        self._client = create_app(fleet).server.test_client()

    def page(self, path: str, search: str) -> str:
        """Return the JSON of one page update."""
        pairs = {"pathname": path, "search": search}
        inputs = [{"id": "address", "property": name, "value": value} for name, value in pairs.items()]
        body = {
            "output": "..page.children...navigation.children..",
            "outputs": OUTPUTS,
            "inputs": inputs,
            "changedPropIds": ["address.search"],
        }
        answer = self._client.post("/_dash-update-component", json=body, headers=ORIGIN)
        text = answer.get_data(as_text=True)
        if answer.status_code != 200 or "Something went wrong" in text or "can not be shown" in text:
            raise SystemExit(f"{path}{search} is no page: {answer.status_code} {text[:500]}")
        return text


def addresses(fleet: Fleet, rng: random.Random) -> dict[str, tuple[int, Callable[[], tuple[str, str]]]]:
    """For each kind of page its limit in milliseconds, and what draws its path and its own options."""
    came_back = fleet.calls(Filters(), "came_back", 0, 1000)[0]
    subsets = (
        "all",
        "completed",
        "came_back",
        "callbacks",
        "first_time_fix",
        "inside_window",
        "return_trips",
    )

    def record(kind: str) -> tuple[str, str]:
        return f"/{kind}/{quote(rng.choice(came_back[f'{kind}_id']), safe='')}", ""

    return {
        "summary": (QUICK_MS, lambda: ("/", "")),
        "list of calls": (QUICK_MS, lambda: ("/calls", f"&subset={rng.choice(subsets)}")),
        "one call": (QUICK_MS, lambda: record("call")),
        "one unit": (QUICK_MS, lambda: record("unit")),
        "this week": (STATISTICAL_MS, lambda: ("/this-week", "")),
        "new call": (STATISTICAL_MS, lambda: ("/new-call", f"&unit={rng.choice(came_back['unit_id'])}")),
        "model card": (STATISTICAL_MS, lambda: ("/model-card", "")),
        "callbacks": (STATISTICAL_MS, lambda: ("/callbacks", f"&by={rng.choice(GROUPINGS)}")),
        "over time": (STATISTICAL_MS, lambda: ("/over-time", f"&each={rng.choice(PERIODS)}")),
        "compare": (STATISTICAL_MS, lambda: ("/compare", f"&by={rng.choice(COMPARED)}")),
        "first visit": (STATISTICAL_MS, lambda: ("/first-visit", f"&by={rng.choice(GROUPINGS)}")),
        "checks": (STATISTICAL_MS, lambda: ("/checks", f"&by={rng.choice(CHECKED_BY)}")),
        "how soon": (STATISTICAL_MS, lambda: ("/how-soon", f"&by={rng.choice(GROUPINGS)}")),
        "silence": (STATISTICAL_MS, lambda: ("/silence", "")),
        "repeat units": (STATISTICAL_MS, lambda: ("/repeat-units", f"&page={rng.randint(1, 50)}")),
        "filter age": (STATISTICAL_MS, lambda: ("/filter-age", f"&page={rng.randint(1, 50)}")),
        "costs": (STATISTICAL_MS, lambda: ("/costs", f"&by={rng.choice(COSTED_BY)}")),
        "wrong turns": (STATISTICAL_MS, lambda: ("/wrong-turns", "")),
        "data": (STATISTICAL_MS, lambda: ("/data", f"&by={rng.choice(('depot', 'technician'))}")),
    }


def measure(store: Path, runs: int, wanted: int = COMBINATIONS) -> list[Line]:
    """95th percentile of each kind of page; half of the combinations were asked for before, half never."""
    lines: dict[str, list[float]] = {}
    for number in range(runs):
        fleet, rng = Fleet(Store(store)), random.Random(SEED + number)
        searches = combinations(fleet, rng, wanted)
        for kind, (_, draw) in addresses(fleet, rng).items():
            browser = Browser(Fleet(Store(store)))  # one that has seen none of them, on no other page either
            wanted_pages = [(path, search + options) for search in searches for path, options in [draw()]]
            for page in wanted_pages[::2]:
                browser.page(*page)
            rng.shuffle(wanted_pages)
            taken = [_milliseconds(browser, page) for page in wanted_pages]
            lines.setdefault(kind, []).append(float(np.percentile(taken, 95)))
    limits = {kind: limit for kind, (limit, _) in addresses(fleet, rng).items()}
    return [
        Line("pages", f"{kind}, 95th percentile of {wanted}", "ms", tuple(values), limits[kind])
        for kind, values in lines.items()
    ]


def _milliseconds(browser: Browser, page: tuple[str, str]) -> float:
    started = time.perf_counter()
    browser.page(*page)
    return (time.perf_counter() - started) * 1000
