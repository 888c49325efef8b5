"""Imports point one way: dashboard -> analytics -> sql. Each rule catches a module that breaks it."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGES = ("analytics", "dashboard", "sql", "synthetic_data")
FOR_THE_EYE = {"dash", "dash_ag_grid", "plotly", "flask", "waitress"}
FOR_THE_DATA = {"duckdb", "sklearn", "scipy", "statsmodels", "sqlite3", "sql", "rapidfuzz"}
STATISTICS = {"analytics.statistics", "analytics.causes"}
SEE_THE_FACADE = ("dashboard/pages/", "dashboard/app.py", "dashboard/server.py")
BASE = ("analytics/errors.py",)
"""What everything may use, and which therefore uses nothing of ours."""

LAZY = {"analytics/commands/serve.py": "dashboard.server"}
"""The one place where a module is imported by a name in a text: the command that starts the dashboard."""


def imported(text: str) -> Iterator[str]:
    """Yield each module that a source text imports, as `package.module.name`."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            yield from (f"{node.module}.{name.name}" for name in node.names)


def by_text(text: str) -> list[str]:
    """Return the module names given as text to `import_module` and its like."""
    calls = (node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call))
    named = ((getattr(call.func, "attr", getattr(call.func, "id", "")), call.args) for call in calls)
    return [
        ast.literal_eval(args[0]) for name, args in named if name in ("import_module", "__import__") and args
    ]


def under(name: str, packages: set[str]) -> bool:
    return any(name == package or name.startswith(package + ".") for package in packages)


def faults(path: str, text: str) -> list[str]:
    """Say which imports of a module point the wrong way."""
    package = path.split("/")[0]
    forbidden = {
        "analytics": FOR_THE_EYE | {"dashboard", "synthetic_data"},
        "dashboard": FOR_THE_DATA | STATISTICS | {"analytics.store", "analytics.queries", "synthetic_data"},
        "synthetic_data": FOR_THE_EYE | {"analytics", "dashboard", "sql", "duckdb"},
        "sql": set(PACKAGES),
    }[package]
    if package == "dashboard" and not path.startswith(SEE_THE_FACADE):
        forbidden |= {"analytics.fleet"}
    if path in BASE:
        forbidden |= set(PACKAGES)
    wrong = [name for name in imported(text) if under(name, forbidden)]
    return wrong + [name for name in by_text(text) if LAZY.get(path) != name]


def sources() -> list[str]:
    return [
        str(path.relative_to(ROOT)) for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))
    ]


@pytest.mark.parametrize("path", sources())
def test_imports_point_one_way(path: str) -> None:
    assert faults(path, (ROOT / path).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("analytics/errors.py", "from analytics.rates import Rate"),
        ("analytics/x.py", "import plotly.graph_objects as go"),
        ("analytics/x.py", "def f():\n    from dashboard import app"),
        ("analytics/x.py", "import importlib\nimportlib.import_module('dashboard.server')"),
        ("analytics/commands/serve.py", "from importlib import import_module\nimport_module('dash')"),
        ("dashboard/x.py", "import duckdb"),
        ("dashboard/pages/x.py", "from analytics import queries"),
        ("dashboard/pages/x.py", "from analytics.statistics.intervals import wilson"),
        ("dashboard/components/x.py", "from analytics.fleet import Fleet"),
        ("synthetic_data/x.py", "import analytics"),
        ("sql/__init__.py", "import analytics"),
    ],
)
def test_an_import_that_points_the_wrong_way_is_caught(path: str, text: str) -> None:
    assert faults(path, text) != []


def test_the_command_line_starts_without_the_heavy_packages() -> None:
    heavy = "'duckdb', 'polars', 'numpy', 'sklearn', 'scipy', 'dash', 'plotly', 'pyarrow'"
    loaded = f"[name for name in ({heavy}) if name in sys.modules]"
    code = f"import sys; from analytics import cli; cli.parser(); print({loaded})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
