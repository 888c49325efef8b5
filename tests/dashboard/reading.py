"""Reads a page made of components: its text, its links, its tables."""

import json
from collections.abc import Iterator
from typing import Any

from plotly.utils import PlotlyJSONEncoder


def plain(components: Any) -> Any:
    """The page as the browser gets it."""
    return json.loads(json.dumps(components, cls=PlotlyJSONEncoder))


def nodes(tree: Any) -> Iterator[dict[str, Any]]:
    """Every component and table cell of a page."""
    if isinstance(tree, dict):
        yield tree
        for value in tree.values():
            yield from nodes(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from nodes(value)


def text(components: Any) -> str:
    """All words of a page, in order, one space apart."""
    return " ".join(" ".join(_words(plain(components))).split())


def _words(tree: Any) -> Iterator[str]:
    if isinstance(tree, str | int | float) and not isinstance(tree, bool):
        yield str(tree)
    elif isinstance(tree, list):
        for each in tree:
            yield from _words(each)
    elif isinstance(tree, dict) and "props" in tree:
        props = tree["props"]
        for name in ("caption", "columns", "rows", "before", "options", "children"):
            yield from _words(props.get(name, []))
    elif isinstance(tree, dict):
        for name in ("label", "text", "note"):
            yield from _words(tree.get(name, []))


def links(components: Any) -> list[str]:
    """Every address that a page leads to."""
    return [node["href"] for node in nodes(plain(components)) if isinstance(node.get("href"), str)]
