"""Run the browser's scripts outside a browser, with node."""

import json
import subprocess
from pathlib import Path
from typing import Any

ASSETS = Path(__file__).parents[3] / "dashboard" / "assets"
SCRIPTS = (
    "checks-bound.js", "checks-clock.js", "checks-exact.js", "checks-search.js", "order-of-checks.js",
    "what-to-bring.js",
)  # fmt: skip
RUN = """
const calls = JSON.parse(require("fs").readFileSync(0, "utf8"));
process.argv.slice(1).forEach((path) => require(path));
const answers = calls.map((call) => globalThis.serviceCalls[call[0]](...call[1]));
process.stdout.write(JSON.stringify(answers));
"""


def run(calls: list[tuple[str, list[Any]]], assets: Path = ASSETS) -> list[Any]:
    """Return what functions of `serviceCalls` answer, each called by name with its arguments."""
    command = ["node", "-e", RUN, *(str(assets / name) for name in SCRIPTS)]
    done = subprocess.run(command, input=json.dumps(calls), capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
