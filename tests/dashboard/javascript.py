"""Runs the browser's own modules in node: the assets without a page, one expression a question."""

import atexit
import json
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

LOOP = """
const vm = require("vm");
require("readline").createInterface({ input: process.stdin }).on("line", (line) => {
    let answer;
    try {
        answer = { value: vm.runInNewContext(JSON.parse(line), { URLSearchParams }, { timeout: 60000 }) };
    } catch (error) {
        answer = { error: String(error.stack ?? error) };
    }
    process.stdout.write(JSON.stringify(answer) + "\\n");
});
"""
"""Evaluates one program a line, each in a world of its own, which nothing of the others reaches."""
ASSETS = Path(__file__).parents[2] / "dashboard" / "assets"


def answer(
    files: tuple[str, ...], expression: str, replaced: tuple[str, str] | None = None, **given: Any
) -> Any:
    """Evaluate an expression of JavaScript with some assets loaded.

    Parameters
    ----------
    files : tuple of str
        Assets to load, in this order.
    expression : str
        What to evaluate; `serviceCalls` and the names given are known in it.
    replaced : (str, str), optional
        A text of the assets and what stands in its place: a twin that is broken on purpose.
    **given
        Plain values.

    Returns
    -------
    Any
        The value, by way of JSON; infinity arrives as None.
    """
    source = "\n".join((ASSETS / name).read_text(encoding="utf-8") for name in files)
    if replaced:
        assert source.count(replaced[0]) == 1, "the twin must break exactly one place"
        source = source.replace(*replaced)
    program = f"{source}\nconst given = {json.dumps(given)};\nconst {{{', '.join(given)}}} = given;\n"
    program += f"JSON.stringify(({expression}) ?? null);"
    done = _evaluated(program)
    assert "error" not in done, done["error"]
    return json.loads(done["value"])


def _evaluated(program: str) -> dict[str, str]:
    """Hand a program to the node of this worker; node has begun once for all of them."""
    node = _node()
    assert node.stdin is not None
    assert node.stdout is not None
    node.stdin.write(json.dumps(program) + "\n")
    node.stdin.flush()
    return json.loads(node.stdout.readline() or '{"error": "node has ended"}')


@cache
def _node() -> subprocess.Popen[str]:
    path = shutil.which("node")
    assert path, "node runs the assets: install the package nodejs"
    node = subprocess.Popen([path, "-e", LOOP], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    atexit.register(node.kill)
    return node
