"""The tables and charts of each subject that keeps its own list of them, gathered."""

from collections.abc import Callable, Mapping

import polars as pl

from analytics.fleet import Fleet
from dashboard.address import Address
from dashboard.figures.look import Figure
from dashboard.pages import tables_of_checks as checks
from dashboard.pages import tables_of_filters as filters
from dashboard.pages import tables_of_lessons as lessons
from dashboard.pages import tables_of_model as model
from dashboard.pages import tables_of_teaching as teaching
from dashboard.pages import tables_of_turns as turns
from dashboard.pages import tables_of_units as units
from dashboard.pages import tables_of_work as work

WHOLE: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    **checks.TABLES_OF_CHECKS,
    **turns.TABLES_OF_TURNS,
    **filters.TABLES_OF_FILTERS,
    **lessons.TABLES_OF_LESSONS,
    **teaching.TABLES_OF_TEACHING,
}
"""Tables that come at once; those of units, work and the model come in pieces."""

IN_PIECES = {**units.TABLES_OF_UNITS, **work.TABLES_OF_WORK, **model.TABLES_OF_MODEL}

FIGURES: Mapping[str, Callable[[Fleet, Address], Figure]] = {
    **units.FIGURES_OF_UNITS,
    **work.FIGURES_OF_WORK,
    **model.FIGURES_OF_MODEL,
    **checks.FIGURES_OF_CHECKS,
    **turns.FIGURES_OF_TURNS,
    **filters.FIGURES_OF_FILTERS,
    **teaching.FIGURES_OF_TEACHING,
}

TITLES: Mapping[str, str] = {
    **units.TITLES_OF_UNITS,
    **work.TITLES_OF_WORK,
    **model.TITLES_OF_MODEL,
    **checks.TITLES_OF_CHECKS,
    **turns.TITLES_OF_TURNS,
    **filters.TITLES_OF_FILTERS,
    **teaching.TITLES_OF_TEACHING,
}

OPENINGS = teaching.OPENINGS_OF_TEACHING
"""What tables about people can not say."""
