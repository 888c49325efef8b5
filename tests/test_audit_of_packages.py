""".ci/audit fails where a package has a known hole, and says plainly where nobody could tell."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
HOLE = {"id": "EX-2026-1", "fix_versions": ["2.0"], "aliases": [], "description": ""}


def audit(tmp_path: Path, found: list[dict[str, Any]] | None, code: int, **more: str) -> tuple[int, str]:
    """Run it with a stand-in for pip-audit that writes this answer, or none, and ends with this code."""
    answer = tmp_path / "answer.json"
    answer.write_text(json.dumps({"dependencies": found or [], "fixes": []}))
    tool = tmp_path / "tool"
    copy = (
        f'while [ "$1" != --output ]; do shift; done; cp {answer} "$2"'
        if found is not None
        else "echo refused"
    )
    tool.write_text(f"#!/bin/bash\n{copy}\nexit {code}\n")
    tool.chmod(0o755)
    env = os.environ | {"AUDIT_TOOL": str(tool), "AUDIT_PYTHON": sys.executable} | more
    done = subprocess.run(
        ["bash", ".ci/audit"], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )
    return done.returncode, done.stderr


def package(*holes: dict[str, Any]) -> dict[str, Any]:
    return {"name": "some-package", "version": "1.0", "vulns": list(holes)}


def test_no_hole_passes(tmp_path: Path) -> None:
    assert audit(tmp_path, [package()], 0) == (0, "Audited 1 of 1 packages: 0 known holes.\n")


def test_a_hole_fails_and_is_named(tmp_path: Path) -> None:
    code, said = audit(tmp_path, [package(), package(HOLE)], 1)
    assert code == 1
    assert "HOLE: some-package 1.0: EX-2026-1, mended in 2.0" in said


SKIPPED = {"name": "some-package", "skip_reason": "Dependency not found"}


@pytest.mark.parametrize(("found", "code"), [(None, 1), ([SKIPPED], 0)])
def test_a_registry_that_does_not_answer_is_said(
    tmp_path: Path, found: list[dict[str, Any]] | None, code: int
) -> None:
    done, said = audit(tmp_path, found, code)
    assert (done, "NOT AUDITED" in said, "known holes" in said) == (0, True, True)
    assert "0 known holes.\n" not in said or found
    assert audit(tmp_path, found, code, AUDIT_REQUIRED="1")[0] == 1


def test_the_one_check_looks_for_holes() -> None:
    assert "\nbash .ci/audit\n" in (ROOT / ".ci" / "test").read_text(encoding="utf-8")
