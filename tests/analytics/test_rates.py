"""A rate as a value."""

from analytics.rates import Counted, rate, rates


def test_no_calls() -> None:
    nothing = rate(Counted(0, 0, inside_window=3))
    assert (nothing.rate, nothing.low, nothing.high) == (None, None, None)
    assert nothing.inside_window == 3


def test_limits_hold_the_rate() -> None:
    for found in rates([Counted(x, 20) for x in range(21)]):
        assert found.low <= found.rate <= found.high


def test_no_bare_percentage_of_fewer_than_five() -> None:
    assert not rate(Counted(1, 4)).as_percentage
    assert rate(Counted(1, 5)).as_percentage


def test_none_at_all() -> None:
    assert rates([]) == []
