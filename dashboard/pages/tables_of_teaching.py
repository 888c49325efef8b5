"""What can be kept of the page on teaching: its tables and charts, by name."""

from collections.abc import Callable, Mapping

import polars as pl

from analytics.fleet import Fleet
from analytics.questions.teaching import Teaching
from analytics.questions.teaching_people import PEOPLE_SCHEMA
from analytics.teaching_assumptions import TeachingAssumptions
from dashboard.address import Address
from dashboard.components.assumed import assumed_in
from dashboard.components.people import TAUGHT_CAN_NOT_SAY
from dashboard.components.taught import hours, lesson_name
from dashboard.figures.groups import intervals
from dashboard.figures.look import Figure
from dashboard.pages.teaching import drawn, in_order


def _found(fleet: Fleet, address: Address) -> Teaching:
    return fleet.teaching(address.filters, assumed_in(address, TeachingAssumptions)[0])


def _people(fleet: Fleet, address: Address) -> pl.DataFrame:
    assumed = assumed_in(address, TeachingAssumptions)[0]
    plan = fleet.teaching(address.filters, assumed).plan
    if plan.is_empty():
        return pl.DataFrame(schema=PEOPLE_SCHEMA)
    lessons = [f"{what}.{cause}" for what, cause in plan.select("what", "cause").iter_rows()]
    what, _, cause = address.one_of("lesson", lessons, lessons[0]).partition(".")
    return fleet.teaching_people(address.filters, what, cause, assumed)


TABLES_OF_TEACHING: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    "teaching_plan": lambda fleet, address: _found(fleet, address).plan,
    "teaching_causes": lambda fleet, address: in_order(_found(fleet, address).causes),
    "teaching_people": _people,
    "teaching_habits": lambda fleet, address: fleet.teaching_habits(address.filters),
    "new_technicians": lambda fleet, address: fleet.new_technicians(address.filters).curve,
}
OPENINGS_OF_TEACHING = {"teaching_people": [TAUGHT_CAN_NOT_SAY]}


def _plan_figure(fleet: Fleet, address: Address) -> Figure:
    plan = _found(fleet, address).plan
    labels = [lesson_name(row["what"], row["label"]) for row in plan.iter_rows(named=True)]
    rows = plan.select(
        pl.Series("label", labels, dtype=pl.String),
        pl.col("per_hour").alias("value"),
        "low",
        "high",
        pl.Series("note", [f"{hours(saved)} h a year" for saved in plan["saved"]], dtype=pl.String),
    )
    return intervals(rows, shares=False)


FIGURES_OF_TEACHING: Mapping[str, Callable[[Fleet, Address], Figure]] = {
    "teaching_plan": _plan_figure,
    "teaching_spread": lambda fleet, address: drawn(_found(fleet, address).causes),
}

TITLES_OF_TEACHING = {
    "teaching_plan": "Hours saved a year for an hour taught, by lesson",
    "teaching_spread": "How far technicians differ with each cause (standard deviation, a logit)",
}
