"""Runs the browser's own modules in node: the assets without a page, one expression a question."""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

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
    node = shutil.which("node")
    assert node, "node runs the assets: install the package nodejs"
    source = "\n".join((ASSETS / name).read_text(encoding="utf-8") for name in files)
    if replaced:
        assert source.count(replaced[0]) == 1, "the twin must break exactly one place"
        source = source.replace(*replaced)
    program = f"{source}\nconst given = {json.dumps(given)};\nconst {{{', '.join(given)}}} = given;\n"
    program += f"process.stdout.write(JSON.stringify(({expression}) ?? null));"
    done = subprocess.run([node, "-"], input=program, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
