"""Who would gain most from a lesson: as a group first, with names only when they are asked for."""

from dataclasses import dataclass

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.teaching import Teaching
from dashboard.address import href
from dashboard.components.assumed import options_of
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit, keep_csv, left_to_csv
from dashboard.components.taught import lesson_name, people_table
from dashboard.pages.view import View
from dashboard.words import counted, number, percent

MOST_NAMED = 12


@dataclass(frozen=True)
class Asked:
    """Which lesson, and whether with names."""

    what: str
    cause: str
    named: bool

    @property
    def lesson(self) -> str:
        """The lesson as it stands in an address."""
        return f"{self.what}.{self.cause}"


def about_who(view: View, found: Teaching) -> Asked:
    """Return which lesson the address asks about: else the first of the plan."""
    if found.plan.is_empty():
        return Asked("", "", False)
    lessons = [f"{what}.{cause}" for what, cause in found.plan.select("what", "cause").iter_rows()]
    what, _, cause = view.address.one_of("lesson", lessons, lessons[0]).partition(".")
    return Asked(what, cause, view.address.options.get("names") == "yes")


def who(view: View, found: Teaching) -> Component:
    """Return the exhibit."""
    asked = about_who(view, found)
    row = found.plan.filter((pl.col("what") == asked.what) & (pl.col("cause") == asked.cause)).row(
        0, named=True
    )
    share = (
        ""
        if row["share_of_below"] is None
        else f"; {percent(row['share_of_below'], 5)} of what is to gain lies with them"
    )
    body: list[Component] = [
        _choice(view, found, asked),
        html.P(
            f"{number(row['below'])} of {counted(row['technicians'], 'technician')} at work with such a "
            "call are "
            f"likely below average (a chance of 80% or more){share}. {number(row['above'])} are likely "
            "above: "
            "they could take somebody along, if they are asked first and want to.",
            className="prose",
        ),
    ]
    body += _named(view, found, asked) if asked.named else [_ask(view, found, asked)]
    return exhibit(
        f"{number(row['below'])} of {number(row['technicians'])} are likely to gain most from this lesson",
        body,
        id="who",
    )


def _choice(view: View, found: Teaching, asked: Asked) -> Component:
    options: list[Option] = [
        (f"{row['what']}.{row['cause']}", lesson_name(row["what"], row["label"]))
        for row in found.plan.iter_rows(named=True)
    ]
    choice = Choice("choice-lesson", "lesson", options, asked.lesson, before="Lesson")
    named = {"names": "yes"} if asked.named else {}
    kept = href("", view.filters, **options_of(found.assumed), **named).removeprefix("?")
    return html.Form(choice, className="sentence", **spoken("Lesson", keep=kept))


def _address(view: View, found: Teaching, asked: Asked, names: str | None) -> str:
    options = options_of(found.assumed)
    return href(view.path, view.filters, lesson=asked.lesson, names=names, **options) + "#who"


def _ask(view: View, found: Teaching, asked: Asked) -> Component:
    return html.P(
        [
            html.A("Show names", href=_address(view, found, asked, "yes")),
            ", for a conversation: pulled towards the average, not fit for pay or discipline.",
        ],
        className="more",
    )


def _named(view: View, found: Teaching, asked: Asked) -> list[Component]:
    people = view.fleet.teaching_people(view.filters, asked.what, asked.cause, found.assumed)
    working = people.filter("at_work")
    below = working.filter(pl.col("standing") == "below")
    above = working.filter(pl.col("standing") == "above").sort("chance_below", "technician")
    kept = href(
        "/export.csv",
        view.filters,
        table="teaching_people",
        lesson=asked.lesson,
        **options_of(found.assumed),
    )
    parts: list[Component] = []
    for rows, title, none in (
        (below, "Likely to gain", "Nobody is likely below average."),
        (above, "Asked first: could take somebody along", "Nobody is likely above average."),
    ):
        parts.append(html.H3(title))
        if rows.is_empty():
            parts.append(html.P(none, className="prose"))
            continue
        parts.append(people_table(rows.head(MOST_NAMED), title))
        parts += left_to_csv(min(rows.height, MOST_NAMED), rows.height, "technician")
    return [
        *parts,
        html.P(
            [
                keep_csv(kept, "technicians"),
                " ",
                html.A("Hide names", href=_address(view, found, asked, None)),
            ],
            className="more",
        ),
    ]
