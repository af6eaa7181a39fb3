"""What a line sells a day: the written pace, days of sales, and days that sold out."""

from __future__ import annotations

from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.chalk.pace import WORTH_DAYS, DayOfSales, pace, pace_seen
from collop.chalk.pace_schema import SCHEMAS
from collop.errors import ProblemError

amounts = st.integers(0, 4000).map(lambda n: Fraction(n, 100))
days = st.lists(st.builds(DayOfSales, amounts, st.booleans()), max_size=20)


def by_repeating(usual, seen, worth=WORTH_DAYS):
    """Return the pace by putting max(sold, pace) in for sold-out days until it stands still."""
    found = float(usual)
    for _ in range(4000):
        sold = [max(float(d.sold), found) if d.sold_out else float(d.sold) for d in seen]
        found = (worth * float(usual) + sum(sold)) / (worth + len(seen))
    return found


@given(amounts, days)
def test_sold_out_days_are_the_fixed_point_of_their_rule(usual, seen):
    """The answer is where putting it in for the sold-out days gives it back."""
    assert float(pace_seen(usual, seen)) == pytest.approx(by_repeating(usual, seen), abs=1e-6)


@given(amounts, days)
def test_a_day_that_sold_out_never_pulls_the_pace_down(usual, seen):
    """With one more sold-out day the pace is the same or higher."""
    for sold in (Fraction(0), Fraction(5), Fraction(60)):
        more = [*seen, DayOfSales(sold, sold_out=True)]
        assert pace_seen(usual, more) >= pace_seen(usual, seen)


@given(days.filter(bool))
def test_without_a_written_pace_it_is_the_mean_of_the_days(seen):
    """Days that did not sell out alone give their mean, exactly."""
    plain = [DayOfSales(day.sold) for day in seen]
    assert pace_seen(None, plain) == sum(d.sold for d in plain) / len(plain)


def test_the_plan_tells_what_it_rests_on():
    """Two sold-out days of five; the plan is valid by its schema."""
    problem = {
        "schema": "collop.pace/1", "usual": "12",
        "days": [{"sold": "6"}, {"sold": "14", "sold_out": True}, {"sold": "3", "sold_out": True}],
    }  # fmt: skip
    jsonschema.validate(problem, SCHEMAS["pace"])
    plan = pace(problem)
    jsonschema.validate(plan, SCHEMAS["pace.plan"])
    # (12 x 12 + 6 + 14) / 14: the day of 3 counts as the pace itself
    assert plan["pace"] == "11.714"
    assert (plan["days"], plan["sold_out_days"]) == (3, 2)


@pytest.mark.parametrize("bad", [
    {"schema": "collop.pace/1"},
    {"schema": "collop.pace/1", "usual": 12},
    {"schema": "collop.pace/1", "usual": "-1"},
    {"schema": "collop.pace/1", "days": [{"sold": "1e-999999"}]},
    {"schema": "collop.pace/1", "days": [{"sold": "1"}] * 5001},
])  # fmt: skip
def test_what_cannot_be_is_one_sentence(bad):
    """Each is refused with its path."""
    with pytest.raises(ProblemError) as error:
        pace(bad)
    assert error.value.where.startswith("$.")
