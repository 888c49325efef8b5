from datetime import date

import polars as pl
import pytest

from analytics.questions.half_years import half_years

# Newcombe RG (1998), Interval estimation for the difference between independent proportions: comparison of
# eleven methods, Statistics in Medicine 17:873-890, Table II, method 10: 56/70 - 48/80. [from memory]
NEWCOMBE = (56, 70, 48, 80, 0.0524, 0.3339)


def months(numerators: list[int], denominators: list[int], young: int = 0) -> pl.DataFrame:
    first = pl.date_range(date(2025, 1, 1), date(2030, 1, 1), "1mo", eager=True)[: len(numerators)]
    return pl.DataFrame(
        {
            "month": first,
            "numerator": numerators,
            "denominator": denominators,
            "inside_window": [0] * (len(numerators) - young) + [5] * young,
        }
    )


def test_difference_has_newcombes_interval() -> None:
    now, of_now, before, of_before, low, high = NEWCOMBE
    rest = [0] * 5
    frame = months([before, *rest, now, *rest], [of_before - 5, 1, 1, 1, 1, 1, of_now - 5, 1, 1, 1, 1, 1])
    found = half_years(frame)
    assert found is not None
    assert (found.now.numerator, found.now.denominator) == (56, 70)
    assert (found.before.numerator, found.before.denominator) == (48, 80)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)
    assert found.beyond_chance


def test_a_small_difference_is_not_beyond_chance() -> None:
    found = half_years(months([7] * 6 + [8] * 6, [100] * 12))
    assert found is not None
    assert found.difference == pytest.approx(0.01)
    assert not found.beyond_chance


def test_months_with_young_calls_are_left_out() -> None:
    found = half_years(months([7] * 6 + [8] * 6 + [99, 99], [100] * 14, young=2))
    assert found is not None
    assert found.now.numerator == 48
    assert found.now_from == date(2025, 7, 1)
    assert found.before_from == date(2025, 1, 1)


@pytest.mark.parametrize("frame", [months([7] * 11, [100] * 11), months([], []), months([0] * 12, [0] * 12)])
def test_fewer_than_twelve_months_give_nothing(frame: pl.DataFrame) -> None:
    typed = frame.cast(dict.fromkeys(frame.columns[1:], pl.Int64))
    assert half_years(typed) is None


def test_months_with_a_gap_are_no_half_years() -> None:
    assert half_years(months([7] * 14, [100] * 5 + [0, 0] + [100] * 7)) is None
