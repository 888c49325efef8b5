"""A finding moves the chances by Bayes' rule."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.causes.findings import after_finding
from analytics.errors import BadQuestion
from tests.analytics.causes.made_facts import facts_of

FACTS = facts_of([5, 5], [[0.9, 0.0, 0.5], [1.0, 0.0, 0.0]], false=[0.1, 0.0])


def hold_by_hand() -> None:
    # a fault: .9 + .1 x .1 = .91; 0 + 1 x .1 = .1; .5 + .5 x .1 = .55
    fault = np.array([0.2 * 0.91, 0.3 * 0.1, 0.5 * 0.55])
    none = np.array([0.2 * 0.09, 0.3 * 0.9, 0.5 * 0.45])
    p = [0.2, 0.3, 0.5]
    assert after_finding(FACTS, p, "c0", "fault") == pytest.approx(fault / fault.sum())
    assert after_finding(FACTS, p, "c0", "no_fault") == pytest.approx(none / none.sum())
    assert after_finding(FACTS, p, "c0", "inconclusive").tolist() == p


def test_by_hand() -> None:
    hold_by_hand()


def test_false_findings_ignored_are_caught(monkeypatch) -> None:
    monkeypatch.setattr(f"{__name__}.FACTS", replace(FACTS, false_findings=np.zeros(2)))
    with pytest.raises(AssertionError):
        hold_by_hand()


def test_what_no_cause_makes_possible_leaves_the_chances() -> None:
    assert after_finding(FACTS, [0, 0.4, 0.6], "c1", "fault").tolist() == [0, 0.4, 0.6]


def test_what_does_not_exist_is_said() -> None:
    with pytest.raises(BadQuestion, match="no finding 'maybe'; there are fault, no_fault, inconclusive"):
        after_finding(FACTS, [0.2, 0.3, 0.5], "c0", "maybe")
    with pytest.raises(BadQuestion, match="No check is called 'guess'"):
        after_finding(FACTS, [0.2, 0.3, 0.5], "guess", "fault")
