"""What holds for every test: with --skips-fail a test that could not run fails the run."""

import gc
import os

import hypothesis
import pytest

# One worker runs on each core: libraries that take all cores for themselves would only wait for each other.
for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

# The same examples at every run, so that a run fails for the change it checks and for nothing else;
# `--hypothesis-profile=explore` looks further.
hypothesis.settings.register_profile("same", derandomize=True, deadline=None)
hypothesis.settings.register_profile("explore", derandomize=False, deadline=None)
hypothesis.settings.load_profile("same")

ALLOWED_SKIPS: dict[str, str] = {}
"""Tests that may be skipped, by node id, each with the reason why nothing is lost."""

LONG_FOLDERS = ("studies", "benchmarks", "browser", "outside")

_skipped: dict[str, str] = {}


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--skips-fail", action="store_true", help="a test that is skipped fails the run")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Run first what takes long a file: begun last, one worker would end long after the others."""
    first = {folder: at for at, folder in enumerate(LONG_FOLDERS)}
    items.sort(key=lambda item: first.get(item.path.parent.name, len(first)))


def pytest_collection_finish() -> None:
    """Leave what is there for the whole run, modules and tests, out of every later search for garbage."""
    gc.collect()
    gc.freeze()


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    _note(report)


def pytest_collectreport(report: pytest.CollectReport) -> None:
    _note(report)


def _note(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Keep what was skipped, a whole module too; an expected failure counts, for it checks nothing."""
    if report.skipped and report.nodeid not in ALLOWED_SKIPS:
        _skipped[report.nodeid] = str(report.longrepr)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    if _skipped and session.config.getoption("--skips-fail") and session.exitstatus == 0:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    if _skipped and config.getoption("--skips-fail"):
        terminalreporter.section("skipped, and therefore failed")
        for nodeid, reason in _skipped.items():
            terminalreporter.line(f"{nodeid}: {reason}")
