"""From intake answers to causes, checks and parts: the facade as far as it is about the model of causes."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from analytics import queries
from analytics.catalogue import load_catalogue
from analytics.errors import BadQuestion, UnknownRecord
from analytics.filters import Filters
from analytics.fleet_records import FleetRecords
from analytics.questions.reading import Reading

if TYPE_CHECKING:
    from analytics.causes.drift import Drift
    from analytics.causes.evaluation import Evaluation
    from analytics.causes.fitting import Fitter
    from analytics.causes.keeping import KeptModel
    from analytics.causes.predicting import Prediction

SIMILAR_DAYS = 180
"""From how long before the latest finished calls they are taken."""
SIMILAR = 400
"""Finished calls that a New call page can be compared with."""


@dataclass(frozen=True)
class ModelCard:
    """What there is to know of the model that is kept.

    Parameters
    ----------
    about : dict
        As in `analytics.causes.keeping.KeptModel`.
    evaluation : Evaluation
    drift : Drift
        What changed since the fit.
    """

    about: dict[str, Any]
    evaluation: "Evaluation"
    drift: "Drift"


class FleetCauses(FleetRecords):
    """Questions about the model of causes; see `analytics.fleet.Fleet`."""

    def fit(self, report: Callable[[str, float], None] | None = None) -> "KeptModel":
        """Choose, evaluate and fit a model of causes on the data as loaded, and keep it beside them.

        Parameters
        ----------
        report : callable, optional
            Called with what is done and the share done.

        Raises
        ------
        BadQuestion
            When too few episodes have a confirmed cause.
        """
        return self._fitter(report).fit(self._store.folder)

    def evaluate(self, report: Callable[[str, float], None] | None = None) -> "Evaluation":
        """Choose and evaluate a model on the data as loaded, and keep nothing.

        Raises
        ------
        BadQuestion
            When too few episodes have a confirmed cause.
        """
        fitter = self._fitter(report)
        return fitter.judged(fitter.training())[0]

    def _fitter(self, report: Callable[[str, float], None] | None) -> "Fitter":
        from analytics.causes.choosing import silent
        from analytics.causes.fitting import Fitter

        return Fitter(self._read(), load_catalogue(), report or silent)

    def model(self) -> "KeptModel | None":
        """Return the model that is kept; None where none was fitted yet.

        Raises
        ------
        BadModel
            When it is damaged, or does not fit this program or the catalogue of the data.
        """
        return self._kept_model(self._read())

    def model_card(self) -> ModelCard | None:
        """Return what the model was made of, how good it was on the future, and what changed since."""
        from analytics.causes.evaluation import Evaluation

        read = self._read()
        kept = self._kept_model(read)
        if kept is None:
            return None
        drift: Drift = read.once(("drift", kept.about["fitted_at"]), lambda: self._drift(read, kept))
        return ModelCard(kept.about, Evaluation.of_dict(kept.about["evaluation"]), drift)

    def predict(self, call_ids: Collection[str] = (), share: float | None = None) -> "list[Prediction]":
        """Predict causes, checks and parts of calls as loaded, from what was known when they were rung in.

        Parameters
        ----------
        call_ids : collection of str
            Repair calls; all of them where empty.
        share : float, optional
            Share of the probability that the parts to bring cover.

        Raises
        ------
        BadQuestion
            When no model was fitted yet.
        UnknownRecord
            When a call is not a repair call that is loaded.
        """
        return self.predict_with(self._needed(self._read()), call_ids, share)

    def predict_with(
        self, kept: "KeptModel", call_ids: Collection[str] = (), share: float | None = None
    ) -> "list[Prediction]":
        """Predict as `predict` does, by the model of another store, whose checks and parts count too."""
        from analytics.causes.evidence import facts_kept
        from analytics.causes.predicting import COVERED, predict

        read = self._read()
        values = {"call_ids": list(call_ids)}
        intake = queries.frame(read.cursor, "causes/intake", values)
        if missing := sorted(set(call_ids) - set(intake["call_id"])):
            raise UnknownRecord(f"There is no repair call '{missing[0]}' in the data as loaded.")
        facts, parts = facts_kept(load_catalogue(), kept)
        covered = COVERED if share is None else share
        return predict(kept.model, intake, facts, parts, kept.about["answered"], covered)

    def parts_for_the_day(
        self, found: "Sequence[Prediction]", kept: "KeptModel | None" = None, share: float | None = None
    ) -> dict[str, int]:
        """Return one list of parts to bring to several calls: how many of each.

        Parameters
        ----------
        found : sequence of Prediction
            As from `predict`.
        kept : KeptModel, optional
            The model that predicted; that of this store unless given.
        share : float, optional
            The chance with which the number of each part is to suffice.

        Raises
        ------
        BadQuestion
            When no model was fitted yet.
        """
        from analytics.causes.evidence import facts_kept
        from analytics.causes.predicting import COVERED, for_the_day

        _, parts = facts_kept(load_catalogue(), kept or self._needed(self._read()))
        return for_the_day(found, parts, COVERED if share is None else share)

    def new_call_pack(self) -> dict[str, Any] | None:
        """Return all that a New call page computes from without a network; None where no model was fitted.

        Raises
        ------
        BadModel
            When the model that is kept does not fit.
        """
        read = self._read()
        kept = self._kept_model(read)
        if kept is None:
            return None
        return read.once(("pack", kept.about["fitted_at"]), lambda: self._pack(read, kept))

    @staticmethod
    def _pack(read: Reading, kept: "KeptModel") -> dict[str, Any] | None:
        from analytics.causes.evidence import facts_kept
        from analytics.causes.pack import pack

        catalogue = load_catalogue()
        cutoffs = read.chosen(Filters()).values["cutoffs"]
        values = {"cutoffs": cutoffs, "most": SIMILAR, "days": SIMILAR_DAYS}
        similar = queries.frame(read.cursor, "causes/similar", values)
        told = queries.frame(read.cursor, "causes/by_telephone")
        telephone = {cause: (fixed, calls) for cause, calls, fixed in told.iter_rows()}
        facts, _ = facts_kept(catalogue, kept)
        return pack(
            kept, catalogue, facts, similar, telephone, kept.about["checks"]["made"], kept.about["part_costs"]
        )

    @staticmethod
    def _drift(read: Reading, kept: "KeptModel") -> "Drift":
        from analytics.causes.drift import drift
        from analytics.causes.training import training

        about = kept.about
        since = datetime.fromisoformat(about["data_of"])
        calls = queries.frame(read.cursor, "causes/intake_since", {"since": since})
        later = training(read, since).confirmed
        expected = next(
            (row["log_loss"] for row in about["evaluation"]["scores"] if row["who"] == "model"), None
        )
        return drift(kept.model, about["answers"], expected, calls, later)

    def _needed(self, read: Reading) -> "KeptModel":
        kept = self._kept_model(read)
        if kept is None:
            raise BadQuestion("No model of causes was fitted yet. Fit one: service-calls fit.")
        return kept

    def _kept_model(self, read: Reading) -> "KeptModel | None":
        from analytics.causes.keeping import kept_model, model_path

        path = model_path(self._store.folder)
        try:
            stamp = path.stat().st_mtime_ns
        except FileNotFoundError:
            return None
        found: str = queries.frame(read.cursor, "causes/catalogue_hash").item()
        return read.once(("model", stamp), lambda: kept_model(self._store.folder, found))
