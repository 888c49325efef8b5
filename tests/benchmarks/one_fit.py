"""One fit in a process of its own: the final one, or choosing and judging; prints its seconds.

python -m tests.benchmarks.one_fit final STORE
python -m tests.benchmarks.one_fit judged STORE
"""

import json
import sys
import time
from pathlib import Path

from analytics.catalogue import load_catalogue
from analytics.causes.classifier import CauseClassifier
from analytics.causes.fitting import Fitter
from analytics.causes.model import fitted
from analytics.fleet import Fleet
from analytics.store import Store


def final(fitter: Fitter) -> None:
    """From the store to the model that is kept, chosen beforehand."""
    confirmed = fitter.training().confirmed
    fitted(CauseClassifier(), confirmed, fitter.codes, fitter.symptoms)


def judged(fitter: Fitter) -> None:
    """From the store to which model is taken and how good it is."""
    fitter.judged(fitter.training())


if __name__ == "__main__":
    how, store = sys.argv[1:]
    page = Fleet(Store(Path(store))).for_one_page()
    started = time.perf_counter()
    {"final": final, "judged": judged}[how](Fitter(page._read(), load_catalogue()))
    print(json.dumps({"seconds": time.perf_counter() - started}))
