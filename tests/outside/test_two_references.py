"""The plain loops and the pandas script were written apart; they must agree before they judge the program."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.benchmarks import pandas_figures
from tests.outside import plain_reference as plain
from tests.outside.random_fleets import VOCABULARY, WINDOWS, fleets


def written(fleet):
    """The fleet as the frames that the pandas script reads from files, and the meaning of their words."""
    words = [("no_work", o, "") for o in VOCABULARY["no_work"]] + [("part_on_order", "part_on_order", "")]
    words += [("no_repair", kind, "") for kind in ("install", "maintenance")]
    calls = []
    for call in fleet["calls"]:
        same_again = call["says_same"] and not call["symptoms"]
        complaint = f"{'+'.join(call['symptoms'])} {same_again} {call['says_return_trip']}"
        words += [("symptom", complaint, symptom) for symptom in call["symptoms"]]
        words += [("family", complaint, family) for family in plain.families(call, VOCABULARY)]
        words += [("says_return_trip", complaint, "")] * call["says_return_trip"]
        words += [("same_again", complaint, "")] * same_again
        closed = plain.effective_closing(call)
        calls.append(
            {name: call[name] for name in ("call_id", "unit_id", "depot", "outcome", "job_kind")}
            | {"complaint": complaint}
            | {"opened_at": plain.moment(call["opened"]), "opened_timed": plain.has_time(call["opened"])}
            | {"closed_at": closed and plain.moment(closed), "closed_timed": plain.has_time(closed)}
        )
    visits = [
        {"call_id": visit["call_id"], "arrived_at": plain.moment(visit["arrived"]), "left_at": visit["left"]}
        | {"arrived_timed": plain.has_time(visit["arrived"])}
        for visit in fleet["visits"]
    ]
    visits = pd.DataFrame(visits, columns=["call_id", "arrived_at", "arrived_timed", "left_at"])
    frames = (pd.DataFrame(calls), visits, pd.DataFrame(words, columns=["kind", "text", "code"]))
    for frame in frames[:2]:
        for column in [c for c in frame if c.endswith("_at")]:
            frame[column] = pd.to_datetime(frame[column]).astype("datetime64[s]")
    return frames


@settings(max_examples=60, deadline=None, derandomize=True)
@given(fleet=fleets(sources=1), window=st.sampled_from(WINDOWS), match=st.sampled_from(("family", "any")))
def test_pandas_and_loops_count_the_same(fleet, window, match):
    calls, visits = plain.understood(fleet["calls"], VOCABULARY), fleet["visits"]
    ends = plain.observation_ends(calls, visits)
    all_calls, made, words = written(fleet)
    ready = pandas_figures.prepare(all_calls, words)
    pairs = pandas_figures.callback_pairs(
        ready, pandas_figures.by_family(ready, words), pd.Timedelta(days=window), match
    )
    ids = ready["call_id"]
    linked = set(zip(ids[pairs["row_charged"]], ids[pairs["row"]], strict=True))
    assert linked == plain.callbacks(calls, window, match, VOCABULARY)
    found = pandas_figures.figures(all_calls, made, words, window_days=window, match=match)
    assert found["callback_rate"] == plain.callback_rate(calls, ends, window, match, VOCABULARY)
    if visits:
        expected = plain.first_time_fix(calls, visits, ends, window, match, VOCABULARY)
        assert found["first_time_fix_rate"] == expected


@pytest.mark.parametrize(("minutes", "comes_back"), [(-1, True), (0, True), (1, False)])
def test_a_return_exactly_w_days_later_counts(minutes, comes_back):
    closed = pd.Timestamp("2026-03-01 14:05").to_pydatetime()
    opened = closed + pd.Timedelta(days=30, minutes=minutes)
    assert plain.returns_within(closed, opened, 30) is comes_back


def test_the_same_minute_is_no_return_and_neither_is_the_same_day_without_a_time():
    closed = pd.Timestamp("2026-03-01 14:05").to_pydatetime()
    assert not plain.returns_within(closed, closed, 30)
    assert plain.returns_within(closed, closed + pd.Timedelta(minutes=1), 30)
    assert not plain.returns_within(closed.date(), closed, 30)
    assert plain.returns_within(closed.date(), closed.replace(day=31, hour=23), 30)
