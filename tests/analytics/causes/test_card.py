"""The card says what the evaluation found, good or bad, and nothing else."""

from dataclasses import replace

import pytest

from analytics.causes.card import card
from analytics.commands.model_words import print_evaluation
from analytics.fleet import Fleet
from analytics.fleet_causes import ModelCard


@pytest.fixture(scope="module")
def found(fitted_fleet: Fleet) -> ModelCard:
    return fitted_fleet.model_card()


def check_card(found: ModelCard, text: str) -> None:
    judged, counts = found.evaluation, found.about["counts"]
    for count in (*counts.values(), judged.earlier, judged.later):
        assert f"{count:,}" in text
    for row in judged.scores:
        (line,) = (
            line for line in text.splitlines()
            if line.startswith(f"| {row['who']} | {row['among']} | {row['episodes']:,} |")
        )  # fmt: skip
        for name in ("log_loss", "brier"):
            assert f"{row[name]:.3f} ({row[f'{name}_low']:.3f} to {row[f'{name}_high']:.3f})" in line
        assert f"{100 * row['top3']:.1f}%" in line
    for row in judged.gains:
        said = "Better" if row["beaten"] else "Not better"
        assert f"{said} than {row['over']} by {row['gain']:.3f} nats" in text
    for row in judged.learning:
        assert f"| {row['episodes']:,} | {row['log_loss']:.3f} |" in text
    for row in judged.worth:
        assert (
            f"| {row['answer'].replace('_', ' ')} | {100 * row['given']:.0f}% | {row['lost']:.3f} |" in text
        )
    assert f"{100 * judged.calibration_error:.2f} percentage points" in text
    for name in ("model", "technicians", "fixed", "clairvoyant"):
        assert f"| {judged.orders['means'][name]['minutes']:.1f} |" in text


def unlucky(found: ModelCard) -> ModelCard:
    """The same, had it not beaten a baseline and had there been no checks."""
    gains = [row | {"gain": -0.1, "low": -0.2, "beaten": False} for row in found.evaluation.gains]
    return replace(found, evaluation=replace(found.evaluation, gains=gains))


def test_it_says_what_was_found(found: ModelCard, fitted_fleet: Fleet) -> None:
    check_card(found, card(found, fitted_fleet.labels))


def test_it_says_so_when_it_is_no_better(
    found: ModelCard, fitted_fleet: Fleet, capsys: pytest.CaptureFixture[str]
) -> None:
    worse = unlucky(found)
    text = card(worse, fitted_fleet.labels)
    check_card(worse, text)
    assert "\nBetter than" not in text
    print_evaluation(worse.evaluation, None, {})
    out = capsys.readouterr().out
    assert out.count("NOT better than") == 2


def test_a_card_of_another_evaluation_is_caught(found: ModelCard, fitted_fleet: Fleet) -> None:
    with pytest.raises(AssertionError):
        check_card(found, card(unlucky(found), fitted_fleet.labels))


def test_without_checks_nothing_is_said_of_their_order(found: ModelCard, fitted_fleet: Fleet) -> None:
    without = replace(found, evaluation=replace(found.evaluation, orders={}))
    assert "order of checks would save" not in card(without, fitted_fleet.labels)
    assert "order of checks would save" in card(found, fitted_fleet.labels)
