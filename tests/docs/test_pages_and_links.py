"""The documentation hangs together: links, the index, the README's commands and its tables."""

import re
from pathlib import Path

import pytest

from analytics.commands import COMMANDS
from dashboard.pages import PAGES

ROOT = Path(__file__).parents[2]
DOCS = sorted((ROOT / "docs").glob("*.md"))
TEXTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *DOCS]
LINK = re.compile(r"\]\(([^)#\s]+)(#[^)\s]*)?\)")


def broken_links(path: Path, text: str) -> list[str]:
    """Return the links of a page that lead to no file; links to the outside are not followed."""
    targets = (target for target, _ in LINK.findall(text) if "://" not in target)
    return [target for target in targets if not (path.parent / target).exists()]


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: path.name)
def test_links_lead_somewhere(path: Path) -> None:
    assert broken_links(path, path.read_text(encoding="utf-8")) == []


def test_broken_link_is_caught() -> None:
    assert broken_links(ROOT / "README.md", "see [this](docs/nowhere.md)") == ["docs/nowhere.md"]


def test_index_names_every_page_of_the_documentation() -> None:
    index = (ROOT / "docs" / "index.md").read_text(encoding="utf-8")
    assert [path.name for path in DOCS if path.name != "index.md" and f"({path.name})" not in index] == []


def code_blocks(text: str) -> list[str]:
    return [block.strip() for block in re.findall(r"^```\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)]


def test_readme_has_two_commands_of_one_line_and_ci_runs_the_second() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    demo, check = code_blocks(readme)[:2]
    for command in (demo, check):
        assert "\n" not in command
        assert (ROOT / command.removeprefix("bash ")).is_file()
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if line and not line.startswith("#")][-1] == check


def test_check_command_runs_style_types_and_tests() -> None:
    script = (ROOT / ".ci" / "test").read_text(encoding="utf-8")
    for command in ("ruff check .", "ruff format --check .", "mypy", "pytest --skips-fail"):
        assert re.search(rf"^{re.escape(command)}", script, flags=re.MULTILINE), command


def test_readme_names_every_command_and_page() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    told = re.findall(r"^\| `([a-z-]+)` \|", readme, flags=re.MULTILINE)
    assert told == [command.NAME for command in COMMANDS]
    for page in PAGES:
        assert f"| {page.name} `{page.path}` | {page.question} |" in readme
