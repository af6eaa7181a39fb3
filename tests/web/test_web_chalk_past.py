"""How long each price stood, the last change and its way back, and what the chart draws."""

from __future__ import annotations

from datetime import datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from collop.measures import UnitPrice, WeightUnit
from collop.shop import BoardChange
from collop.web.chalk_line import drawn
from collop.web.chalk_past import last_change, stood

START = datetime.fromisoformat("2026-06-08T06:00")
MOMENTS = st.integers(0, 20)


def at(hours):
    """Return a moment so many hours after the start."""
    return START + timedelta(hours=hours)


def entry(amount, from_hours, entered_hours=None, *, why="", by="ines"):
    """Return one entry of the board."""
    entered = from_hours if entered_hours is None else entered_hours
    price = UnitPrice.of(amount, WeightUnit.LB)
    return BoardChange("C11", price, at(from_hours), at(entered), by, why)


@st.composite
def histories(draw):
    """Entries in the order they were entered, some ahead of their time."""
    entered = sorted(draw(st.lists(MOMENTS, min_size=1, max_size=8)))
    return [
        entry(f"{number + 1}.00", hour + draw(st.sampled_from([0, 0, 1, 3, 7])), hour)
        for number, hour in enumerate(entered)
    ]


@given(histories(), MOMENTS)
def test_at_each_moment_the_price_that_stands_is_the_later_entry(history, hour):
    """One price for each moment: by its time, and of one time the one entered last."""
    moment = at(hour)
    begun = [(one.from_at, place) for place, one in enumerate(history) if one.from_at <= moment]
    standing = [
        one
        for one in stood(history, at(30))
        if not one.is_void
        and one.change.from_at <= moment
        and (one.until is None or moment < one.until)
    ]
    if not begun:
        assert standing == []
        return
    assert [one.change for one in standing] == [history[max(begun)[1]]]


@given(histories(), MOMENTS)
def test_what_was_before_the_last_change_is_what_would_stand_without_it(history, hour):
    """Found only within the hour, and the way back is the price of the board without it."""
    now = history[-1].entered_at + timedelta(minutes=3 * hour)
    found = last_change({"C11": ("Mince", history)}, now)
    assert found is not None
    assert last_change({"C11": ("Mince", history)}, now + timedelta(hours=1, minutes=1)) is None
    before = [one for one in stood(history[:-1], now) if one.change.from_at <= found.from_at]
    assert found.lines[0].became == history[-1].price
    assert found.lines[0].was == (before[0].change.price if before else None)
    assert found.can_undo == bool(before)


def test_lines_of_one_act_go_back_together_and_others_do_not():
    """Same time, person and reason; the way back itself is not taken back."""
    old = entry("7.80", 0)
    both = {
        "A": ("a", [old, entry("8.60", 5, why="x")]),
        "B": ("b", [old, entry("9.10", 5, why="x")]),
    }
    other = {"C": ("c", [old, entry("9.10", 5, why="y", by="kofi")])}
    found = last_change(both | other, at(5))
    assert [line.case_id for line in found.lines] == ["A", "B"]
    back = entry("7.80", 6, why="taken back: x")
    assert not last_change({"A": ("a", [*both["A"][1], back])}, at(6)).can_undo
    assert not last_change({"A": ("a", [entry("7.80", 6)])}, at(6)).can_undo
    assert last_change({}, at(6)) is None


def test_the_chart_draws_steps_up_to_now_and_plans_from_there():
    """What stands runs up to now; plans are a series of their own; voids are left out."""
    history = [entry("7.80", 0), entry("9.90", 8, 1), entry("8.60", 8, 2), entry("9.00", 20, 3)]
    steps = drawn(stood(history, at(10)), WeightUnit.LB, at(10))
    hours = [(one - steps["times"][0]) // 3600 for one in steps["times"]]
    assert hours == [0, 8, 10, 20]
    assert steps["stands"] == [7.8, 8.6, 8.6, None]
    assert steps["plans"] == [None, None, 8.6, 9.0]
    assert drawn(stood(history[:1], at(1)), WeightUnit.LB, at(1))["plans"] == [None, None]
    assert drawn([], WeightUnit.LB, at(1)) == {"times": [], "stands": [], "plans": []}
