"""Pages of plain HTML that work without a script: signing in, the audit, and what is refused."""

from html import escape

STYLES = ("a-tokens", "b-page", "d-table", "g-decide", "j-sign-in")


def document(title: str, body: str, script: str = "") -> str:
    """Return a whole HTML page.

    Parameters
    ----------
    title : str
        Plain text.
    body : str
        HTML; whatever comes from outside is escaped already.
    script : str
        Name of a file in assets/ that the page runs; none unless given.
    """
    styles = "".join(f'<link rel="stylesheet" href="/assets/{name}.css">' for name in STYLES)
    runs = f'<script src="/assets/{script}" defer></script>' if script else ""
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<link rel="icon" href="/_favicon.ico"><title>{escape(title)}</title>{styles}{runs}</head>'
        f'<body><main class="plain-page"><h1 id="question">{escape(title)}</h1>\n{body}\n</main></body>'
        "</html>\n"
    )


def plain_page(title: str, words: str, way_on: str = "") -> str:
    """Return a page that says one thing; `way_on` is where its link leads."""
    link = f'<p><a href="{escape(way_on)}">Go on</a></p>' if way_on else ""
    return document(title, f'<div class="state"><p>{escape(words)}</p>{link}</div>')


def told(words: str) -> str:
    """Return a message above a form, read out at once."""
    return f'<p class="notice" role="alert">{escape(words)}</p>' if words else ""


def field(name: str, label: str, kind: str, complete: str, value: str = "", hint: str = "") -> str:
    """Return a labelled field of a form."""
    described = f' aria-describedby="{name}-hint"' if hint else ""
    below = f'<small id="{name}-hint">{escape(hint)}</small>' if hint else ""
    return (
        f'<label for="{name}">{escape(label)}</label><input id="{name}" name="{name}" type="{kind}" '
        f'autocomplete="{complete}" value="{escape(value)}" maxlength="200" required{described}>{below}'
    )
