"""Tables and the chart of the model card, to keep."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

import polars as pl

from analytics.errors import BadQuestion
from analytics.fleet import Fleet
from dashboard.address import Address
from dashboard.figures.calibration import calibration
from dashboard.figures.look import Figure

Rows = Callable[[Any], list[dict[str, Any]]]


def _rows(rows: Rows) -> Callable[[Fleet, Address], Iterator[pl.DataFrame]]:
    def ask(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
        yield pl.DataFrame(rows(_judged(fleet)))

    return ask


def _judged(fleet: Fleet) -> Any:
    found = fleet.model_card()
    if found is None:
        raise BadQuestion("No model of causes was fitted yet. Fit one: service-calls fit.")
    return found.evaluation


TABLES_OF_MODEL: Mapping[str, Callable[[Fleet, Address], Iterator[pl.DataFrame]]] = {
    "model_scores": _rows(lambda judged: judged.scores),
    "model_calibration": _rows(lambda judged: judged.calibration),
    "model_answers": _rows(lambda judged: judged.worth),
    "model_causes": _rows(lambda judged: judged.recalls),
}


def _calibration(fleet: Fleet, address: Address) -> Figure:
    return calibration(_judged(fleet).calibration)


FIGURES_OF_MODEL: Mapping[str, Callable[[Fleet, Address], Figure]] = {"calibration": _calibration}
TITLES_OF_MODEL = {"calibration": "How often causes were there, by the chance given to them"}
