"""What to mind before a check, by its class, wherever checks are shown; docs/safety.md has the same words."""

from collections.abc import Iterable, Mapping

import polars as pl
from dash import html
from dash.development.base_component import Component

from dashboard.components.exhibit import exhibit

CAUTIONS: Mapping[str, str] = {
    "a": "Outside the cabinet, without tools.",
    "b": "Unplug the unit and shut its water off first. Water on only where a test needs it, unplugged.",
    "c": "Live voltage: only a qualified technician, with the maker's service sheet.",
}
ALWAYS = (
    "Thawing: steam and hot water scald. No flame and no heat gun near flammable refrigerant. Mind sharp "
    "edges. Moving the unit: protect the floor, lift with two people.",
    "Limits are common practice and yield to the maker's service sheet. A coil inside 200 to 500 ohm is a "
    "good coil, not yet a good valve. Measure on autorange or the first range above 500 ohm: a 200-ohm "
    "digital range shows a good coil as open.",
    "Local plumbing and electrical codes and licensed practice come first.",
)


def caution_classes(classes: Iterable[str | None]) -> list[str]:
    """Return the classes that occur, mildest first; one that is not known counts as the strictest."""
    return sorted({each if each in CAUTIONS else "c" for each in classes if each})


def caution_list(checks: pl.DataFrame) -> Component | None:
    """Return the cautions of the checks shown, or None where no check is shown."""
    if checks.is_empty():
        return None
    classes = caution_classes(checks["caution"].to_list()) if "caution" in checks.columns else list(CAUTIONS)
    lines = [html.Li(CAUTIONS[each]) for each in classes] + [html.Li(each) for each in ALWAYS]
    return exhibit("Before making these checks", html.Ul(lines, className="cautions"))
