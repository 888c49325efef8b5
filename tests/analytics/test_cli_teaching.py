"""The command teaching as a process: figures by hand, names only on request, refusals."""

import json
from pathlib import Path

import pytest

from tests.analytics.test_cli import CALLS, VISITS, assert_problem, run, write


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("loaded")
    done = run("load", *write(folder, calls=CALLS, visits=VISITS), folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    return folder


def test_teaching(loaded: Path) -> None:
    found = json.loads(run("teaching", "--json", "--class-size", "5", folder=loaded).stdout)
    assert found["assumed"]["class_size"] == 5
    assert found["plan"] == []
    assert {row["verdict"] for row in found["causes"]} <= {"few"}
    assert "people" not in found
    text = run("teaching", folder=loaded).stdout
    assert "Nothing can be shown to be a matter for teaching yet." in text
    assert "--lesson-minutes; invented" in text
    assert "can not be told" in text  # no technician has a day of starting


def test_what_can_not_be_said_is_refused_in_words(loaded: Path) -> None:
    for asked, words in (
        (("--names", "thought.nothing"), "Nothing can be said"),
        (("--gap-closed", "200"), "from 0 to 100"),
        (("--depot", "nowhere"), "nowhere"),
    ):
        assert words in assert_problem(run("teaching", *asked, folder=loaded), 2)
