"""Fitting a model of causes, from the records to the file beside them."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.causes.choosing import Report, choose, silent
from analytics.causes.drift import profile
from analytics.causes.evaluation import Evaluation, evaluate
from analytics.causes.evidence import evidence, facts_of, part_costs
from analytics.causes.judging import judge_orders
from analytics.causes.keeping import KeptModel, keep, versions
from analytics.causes.model import CauseModel, fitted
from analytics.causes.predicting import answered_by_cause
from analytics.causes.shares import overall_shares
from analytics.causes.training import Split, Training, recent, split, training
from analytics.errors import BadQuestion
from analytics.questions.reading import Reading
from analytics.statistics.cluster_bootstrap import Mean

LEAST_CONFIRMED = 200
"""Confirmed episodes without which nothing is fitted (our convention)."""
MOST_ORDERS = 400
"""Held-out calls whose orders of checks are judged."""


@dataclass(frozen=True)
class Fitter:
    """Fits and evaluates from one generation.

    Parameters
    ----------
    read : Reading
    catalogue : Catalogue
    report : callable
        Called with what is done and the share done.
    """

    read: Reading
    catalogue: Catalogue
    report: Report = silent

    @property
    def codes(self) -> tuple[str, ...]:
        """Causes that can be final, in the order of the catalogue."""
        return tuple(cause.code for cause in self.catalogue.causes.values() if cause.can_be_final)

    @property
    def symptoms(self) -> tuple[str, ...]:
        """Codes of the symptoms, in the order of the catalogue."""
        return tuple(self.catalogue.symptoms)

    def fit(self, folder: Path) -> KeptModel:
        """Choose, evaluate, fit to everything, and keep the model beside the generations.

        Raises
        ------
        BadQuestion
            When too few episodes are confirmed.
        """
        found = self.training()
        evaluation, estimator = self.judged(found)
        self.report("fitting to everything", 0.0)
        model = fitted(estimator, found.confirmed, self.codes, self.symptoms)
        generation = self.read.generation
        about = {
            "generation": generation.number if generation else None,
            "data_of": found.data_of.isoformat() if found.data_of else None,
            "fitted_at": datetime.now().isoformat(timespec="seconds"),
            "catalogue": queries.frame(self.read.cursor, "causes/catalogue_hash").item(),
            "versions": versions(),
            "classifier": type(estimator).__name__,
            "counts": found.counts(),
            "checks": evidence(self.read).to_dict(),
            "part_costs": part_costs(self.read),
            "answered": answered_by_cause(found.confirmed, self.codes),
            "answers": profile(recent(found.confirmed), self.symptoms),
            "evaluation": evaluation.to_dict(),
        }
        kept = KeptModel(model, about)
        keep(folder, kept)
        self.report("kept", 1.0)
        return kept

    def training(self) -> Training:
        """Read what there is to learn from.

        Raises
        ------
        BadQuestion
            When it is too little.
        """
        self.report("reading the records", 0.0)
        found = training(self.read)
        confirmed = found.confirmed
        if confirmed.height < LEAST_CONFIRMED or confirmed["final_cause"].n_unique() < 2:
            raise BadQuestion(
                f"{confirmed.height:,} strings of returns, old enough to judge, have a confirmed cause, of "
                f"{confirmed['final_cause'].n_unique()} kinds; a model needs {LEAST_CONFIRMED}, of two kinds "
                "or more. A cause is confirmed when a check that reveals it found it, or one part alone was "
                "fitted and held: load checks (checks.csv) and parts (parts.csv), and calls of a longer time."
            )
        return found

    def judged(self, found: Training) -> tuple[Evaluation, Any]:
        """Choose an estimator and evaluate it on the latest episodes, which took no part in choosing."""
        episodes = recent(found.confirmed)
        parts = split(episodes)
        chosen = choose(parts.earlier, self.codes, self.symptoms, self.report)
        evaluation = evaluate(
            found, parts, chosen.estimator, self.codes, self.symptoms, chosen.tried,
            lambda model: self.orders(model, parts), self.report,
        )  # fmt: skip
        return evaluation, chosen.estimator

    def orders(self, model: CauseModel, parts: Split) -> dict[str, Any]:
        """Judge the orders of checks on held-out calls; empty where no checks were recorded on them."""
        sample = parts.later.sample(min(5 * MOST_ORDERS, parts.later.height), seed=1)
        values = {"call_ids": sample["call_id"].to_list()}
        sequences = queries.frame(self.read.cursor, "causes/check_sequences", values)
        judged = sample.join(sequences, on="call_id").head(MOST_ORDERS)
        if judged.is_empty():
            return {}
        facts = facts_of(evidence(self.read, parts.at), self.catalogue, self.codes)
        known = set(facts.codes)
        made = [[code for code in row if code in known] for row in judged["checks"].to_list()]
        found = judge_orders(
            facts,
            model.chances(judged),
            judged["final_cause"].to_list(),
            made,
            judged["unit_hash"].to_numpy(),
            overall_shares(parts.earlier, self.codes),
        )
        return {
            "calls": found.calls,
            "units": found.units,
            "second_visit_minutes": facts.second_visit_minutes,
            "means": {name: _plain(mean) for name, mean in found.means.items()},
            "saved": {name: _plain(mean) for name, mean in found.saved.items()},
        }


def _plain(mean: Mean) -> dict[str, float]:
    return {"minutes": mean.value, "low": mean.low, "high": mean.high}
