"""Contrast of every pair of colours in use, by the formula of WCAG 2.2 (1.4.3 text, 1.4.11 graphics).

Source: WCAG 2.2, definitions of relative luminance and contrast ratio; checked here against known pair
values.
"""

import re
from itertools import product
from pathlib import Path

import pytest

from dashboard.figures import look

ASSETS = Path(look.__file__).parents[1] / "assets"
TEXT, GRAPHIC = 4.5, 3.0
PAPERS = ("--paper", "--paper-raised", "--notice-wash", "--accent-wash")
TEXTS = ("--ink", "--ink-soft", "--accent-text")
GRAPHICS = ("--accent", "--flag", "--rest", "--edge")
PAIRS = [(mark, paper, TEXT) for mark, paper in product(TEXTS, PAPERS)] + [
    (mark, paper, GRAPHIC) for mark, paper in product(GRAPHICS, ("--paper", "--paper-raised"))
]


def luminance(colour: str) -> float:
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def colours(setting: str) -> dict[str, str]:
    """Custom properties of the style sheet: the light ones, or those with the dark ones laid over them."""
    light, dark = (ASSETS / "a-tokens.css").read_text().split("@media (prefers-color-scheme: dark)")
    found = dict(re.findall(r"(--[\w-]+): (#[0-9a-f]{6});", light))
    if setting == "dark":
        found |= dict(re.findall(r"(--[\w-]+): (#[0-9a-f]{6});", dark.split("@media")[0]))
    return found


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#FFFFFF", 21.0),
        ("#777777", "#FFFFFF", 4.4781),
        ("#0000FF", "#FFFFFF", 8.5925),
        ("#FF0000", "#FFFFFF", 3.9985),
    ],
)
def test_formula_gives_the_known_ratios(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=5e-5)


@pytest.mark.parametrize("setting", ["light", "dark"])
@pytest.mark.parametrize(("mark", "paper", "least"), PAIRS)
def test_pair_reaches_aa(mark: str, paper: str, least: float, setting: str) -> None:
    found = colours(setting)
    assert contrast(found[mark], found[paper]) >= least


@pytest.mark.parametrize("setting", ["light", "dark"])
@pytest.mark.parametrize("mark", [look.ACCENT, look.FLAG, look.REST])
def test_marks_of_charts_reach_aa_on_either_paper(mark: str, setting: str) -> None:
    assert contrast(mark, colours(setting)["--paper"]) >= GRAPHIC


def test_dark_setting_has_every_colour_of_its_own() -> None:
    light, dark = colours("light"), colours("dark")
    assert [name for name in light if light[name] == dark[name]] == []


def test_no_colour_is_used_that_is_not_named() -> None:
    """A colour outside the list would escape the checks above; print has its own black on white."""
    for sheet in ASSETS.glob("*.css"):
        if sheet.name not in ("a-tokens.css", "f-print.css"):
            text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.S)
            assert re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[^{}]*;)|rgba?\(", text) == [], sheet.name


def test_text_under_four_and_a_half_is_caught() -> None:
    assert contrast("#777777", "#ffffff") < TEXT
