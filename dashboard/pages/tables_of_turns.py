"""What can be kept of the page on wrong turns: its tables and chart, by name."""

from collections.abc import Callable, Mapping

import polars as pl

from analytics.cost_assumptions import CostAssumptions
from analytics.fleet import Fleet
from analytics.questions.wrong_turns import WrongTurns
from dashboard.address import Address
from dashboard.components.assumed import assumed_in
from dashboard.components.money import money
from dashboard.figures.groups import bars
from dashboard.figures.look import Figure
from dashboard.words import capital, counted

MOST_DRAWN = 20


def _found(fleet: Fleet, address: Address) -> WrongTurns:
    return fleet.wrong_turns(address.filters, assumed_in(address, CostAssumptions)[0])


TABLES_OF_TURNS: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    "wrong_turns": lambda fleet, address: _found(fleet, address).matrix,
    "first_thoughts": lambda fleet, address: _found(fleet, address).firsts,
    "habits": lambda fleet, address: fleet.habits(address.filters).habits,
    "habits_fared": lambda fleet, address: fleet.habits(address.filters).fared,
    "parts_not_cause": lambda fleet, address: _found(fleet, address).parts,
}


def _turns_figure(fleet: Fleet, address: Address) -> Figure:
    rows = _found(fleet, address).turns().head(MOST_DRAWN)
    labels = [
        f"{capital(row['first_label'])}<br>was: {row['final_label']}" for row in rows.iter_rows(named=True)
    ]
    notes = [f"{money(row['money'])} ({counted(row['calls'], 'call')})" for row in rows.iter_rows(named=True)]
    return bars(pl.DataFrame({"label": labels, "value": rows["money"].round(), "note": notes}))


FIGURES_OF_TURNS: Mapping[str, Callable[[Fleet, Address], Figure]] = {"wrong_turns": _turns_figure}

TITLES_OF_TURNS = {"wrong_turns": "Cost of wrong turns, in the company's own unit of money"}
