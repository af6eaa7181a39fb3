"""Limits, time above, cooling, last days and records: bounds that hold, and hostile input."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Temperature, Weight, WeightUnit
from collop.rules import (
    Move,
    RetailSales,
    cleaning_hours,
    cold_limit,
    cooling_deadlines,
    cooling_verdict,
    date_mark,
    edition,
    hot_limit,
    is_over,
    keep_by,
    keep_until,
    mixed_date_mark,
    normal_retail,
    recall_class,
    retail_cook,
    retail_verdict,
    rop_last_day,
    sanitiser,
    shelf_of,
    storage_days,
    time_above,
    time_control,
)
from collop.rules.limits import Reading

F = Temperature.fahrenheit
NOON = datetime.fromisoformat("2026-06-09T12:00")


def at(minutes, f):
    return Reading(NOON + timedelta(minutes=minutes), F(str(f)))


# time above a limit


def test_one_reading_over_is_at_least_nothing_and_at_most_from_good_to_good():
    """A single reading over says only that it was over at that moment."""
    found = time_above([at(0, 39), at(60, 44), at(90, 40)], cold_limit())
    assert (found.at_least_min, found.at_most_min) == (0, 90)
    assert found.text() == "over for 0 to 90 min"
    assert found.first_over == found.last_over == NOON + timedelta(hours=1)


def test_two_stretches_are_added_and_the_longest_is_named():
    """Each stretch counts from good to good."""
    readings = [at(0, 40), at(10, 42), at(20, 40), at(30, 43), at(60, 44), at(70, 40)]
    found = time_above(readings, cold_limit())
    assert (found.at_least_min, found.at_most_min) == (30, 70)
    assert found.first_over == NOON + timedelta(minutes=30)


def test_without_a_good_reading_on_either_side_there_is_no_at_most():
    """It says which side is missing; with now given, the open end is now."""
    before = time_above([at(0, 44), at(30, 40)], cold_limit())
    after = time_above([at(0, 40), at(30, 44)], cold_limit())
    assert (before.at_most_min, after.at_most_min) == (None, None)
    assert "stands before it" in before.text()
    assert "stands after it" in after.text()
    now = time_above([at(0, 40), at(30, 44)], cold_limit(), until=NOON + timedelta(hours=2))
    assert (now.at_least_min, now.at_most_min, now.next_good) == (0, 120, None)


def test_none_over_is_nothing():
    """Good readings and no readings alike."""
    for readings in ([], [at(0, 41)], [at(0, 40), at(9, 41)]):
        found = time_above(readings, cold_limit())
        assert (found.at_least_min, found.at_most_min, found.is_any) == (0, 0, False)
        assert found.text() == "no reading was over the limit"


def test_hot_food_is_over_when_it_is_under():
    """The floor of hot holding is read the other way."""
    found = time_above([at(0, 140), at(30, 130), at(60, 136)], hot_limit())
    assert (found.at_least_min, found.at_most_min) == (0, 60)
    assert hot_limit().text() == "135 °F (57.2 °C) or above"


@given(st.lists(st.tuples(st.integers(0, 3000), st.integers(30, 50)), max_size=40,
                unique_by=lambda one: one[0]))  # fmt: skip
def test_the_bounds_hold_whatever_is_read(pairs):
    """At least is never over at most, and at most never over the span of the readings."""
    readings = [at(minutes, f) for minutes, f in pairs]
    found = time_above(readings, cold_limit())
    span = max((m for m, _ in pairs), default=0) - min((m for m, _ in pairs), default=0)
    assert 0 <= found.at_least_min <= span
    if found.at_most_min is not None:
        assert found.at_least_min <= found.at_most_min <= span
    # the reference: minutes between neighbours both over, and of every gap that touches one over
    ordered = sorted(pairs)
    sure = sum(b[0] - a[0] for a, b in pairwise(ordered) if a[1] > 41 and b[1] > 41)
    maybe = sum(b[0] - a[0] for a, b in pairwise(ordered) if a[1] > 41 or b[1] > 41)
    assert found.at_least_min == sure
    assert found.at_most_min in (None, maybe)


def test_readings_that_cannot_be_are_refused():
    """Two of one minute that differ, a time with a zone, too many."""
    with pytest.raises(BadValue, match="Two readings of 12:00 differ"):
        time_above([at(0, 40), at(0, 41)], cold_limit())
    zoned = Reading(NOON.replace(tzinfo=timezone.utc), F(40))  # noqa: UP017 -- either is a zone
    with pytest.raises(BadValue, match="a time with a zone"):
        time_above([zoned], cold_limit())
    with pytest.raises(BadValue, match="10001 readings are too many"):
        time_above([at(0, 40)] * 10_001, cold_limit())
    assert time_above([at(0, 44)] * 10_000, cold_limit()).at_least_min == 0


def test_a_stricter_limit_of_the_shop_rules():
    """A reading within what is published is over where the shop chose less."""
    assert not is_over(cold_limit(), F(40))
    assert is_over(cold_limit({"cold_limit_f": "38"}), F(40))


def test_a_shop_that_cleans_sooner():
    """What is chosen for a colder room holds in a warmer one too; a warmer choice does not."""
    assert cleaning_hours(F(40), {"clean_41_h": "12"})[0] == 12
    assert cleaning_hours(F(44), {"clean_41_h": "12"})[0] == 12
    assert cleaning_hours(F(40), {"clean_45_h": "6"})[0] == 24
    assert cleaning_hours(F(70), {"clean_41_h": "3"})[0] == 3


# cooling


def test_cooling_that_is_under_way():
    """Before its time is up it is not yet; after it, it is broken."""
    hot = [at(0, 150), at(5, 135)]
    wait = cooling_verdict(hot, now=NOON + timedelta(minutes=90))
    assert wait.state == "not yet"
    assert wait.say == "To come down to 70 °F within 2 h: by 14:05."
    late = cooling_verdict([*hot, at(10, 134)], now=NOON + timedelta(minutes=131))
    assert late.state == "broken"
    assert "it took at least 121 min. Do not sell it." in late.say


def test_readings_too_far_apart_show_nothing():
    """Kept at best and broken at worst is neither."""
    found = cooling_verdict([at(0, 140), at(30, 120), at(110, 80), at(140, 65), at(300, 40)])
    assert [step.state for step in found.steps] == ["not shown", "kept"]
    assert (found.steps[0].at_least_min, found.steps[0].at_most_min) == (80, 140)
    assert "the readings lie too far apart" in found.say


def test_cooling_without_a_hot_reading_has_no_start():
    """It may still be known to be broken, never to be kept."""
    unknown = cooling_verdict([at(0, 120), at(60, 60), at(200, 40)])
    assert unknown.state == "not shown"
    assert "says when it began" in unknown.say
    assert unknown.steps[0].by is None
    surely = cooling_verdict([at(0, 120), at(121, 90)])
    assert surely.steps[0].state == "broken"


def test_food_that_warms_again_counts_until_it_is_down_for_good():
    """The last reading over the step counts."""
    found = cooling_verdict([at(0, 135), at(1, 134), at(60, 69), at(150, 75), at(160, 60)])
    assert found.steps[0].state == "broken"


def test_stricter_hours_are_judged():
    """What is kept as published may be broken by the shop's own."""
    readings = [at(0, 135), at(1, 134), at(100, 71), at(110, 70), at(300, 41)]
    assert cooling_verdict(readings).state == "kept"
    assert cooling_verdict(readings, {"cooling_first_h": "1.5"}).state == "broken"
    deadline = cooling_deadlines(NOON, {"cooling_first_h": "1.5"})[0][1]
    assert deadline == NOON + timedelta(minutes=90)


def test_cooling_needs_readings_before_now():
    """No reading, or one of later than now, is told."""
    with pytest.raises(BadValue, match="Cooling has no reading"):
        cooling_verdict([])
    with pytest.raises(BadValue, match="after now"):
        cooling_verdict([at(0, 135)], now=NOON - timedelta(minutes=1))


@given(st.lists(st.tuples(st.integers(1, 500), st.integers(35, 150)), min_size=1, max_size=12,
                unique_by=lambda one: one[0]), st.booleans())  # fmt: skip
def test_kept_and_broken_are_never_both_possible(pairs, from_room):
    """Kept means within at the worst; broken means over at the best."""
    readings = [at(0, 140), *(at(minutes, f) for minutes, f in pairs)]
    for step in cooling_verdict(readings, from_room=from_room).steps:
        within = int(step.within * 60)
        if step.state == "kept":
            assert step.at_most_min <= within
        if step.state == "broken":
            assert step.at_least_min >= within
        if step.at_most_min is not None:
            assert step.at_least_min <= step.at_most_min


# last days


def frozen(*days):
    """Return moves on these days of June, frozen first."""
    return [Move(date(2026, 6, day), ("frozen", "thawed")[number % 2])
            for number, day in enumerate(days)]  # fmt: skip


def test_each_time_in_the_cold_is_a_day_at_least():
    """Freezing on the day of making or of thawing gives no day away."""
    assert date_mark(date(2026, 6, 1), frozen(1, 10)).last_day == date(2026, 6, 15)
    assert date_mark(date(2026, 6, 1), frozen(1, 10, 10, 20)).last_day == date(2026, 6, 24)


def test_food_is_frozen_on_its_last_day_at_the_latest():
    """A day later it is past; on the last day one day is left."""
    assert date_mark(date(2026, 6, 1), frozen(7)).left == 1
    assert date_mark(date(2026, 6, 1), frozen(7, 20)).last_day == date(2026, 6, 20)
    with pytest.raises(BadValue, match="past its last day when it was frozen on 2026-06-08"):
        date_mark(date(2026, 6, 1), frozen(8))


def test_days_that_are_used_up_are_told():
    """Seven short times in the cold leave no eighth."""
    days = [1] * 14
    with pytest.raises(BadValue, match="were used up before it was thawed"):
        date_mark(date(2026, 6, 1), frozen(*days))


@given(st.integers(1, 7), st.integers(0, 400), st.integers(0, 6))
def test_freezing_moves_the_last_day_by_the_frozen_days_only(day, away, back):
    """The clock stands still while frozen, and is not set back."""
    made = date(2026, 6, 1)
    start = made + timedelta(days=day)
    plain = date_mark(made).last_day
    if start > plain:
        return
    moves = [Move(start, "frozen"), Move(start + timedelta(days=away), "thawed")]
    assert date_mark(made, moves).last_day == plain + timedelta(days=away)
    with pytest.raises(BadValue, match="give the moves in order"):
        date_mark(made, [Move(start, "frozen"), Move(start - timedelta(days=back + 1), "thawed")])


def test_moves_that_cannot_be():
    """Thawed before frozen, twice frozen, too many, a year out of range."""
    for moves in ([Move(date(2026, 6, 2), "thawed")], [Move(date(2026, 6, 2), "melted")],
                  [Move(date(2026, 6, 2), "frozen")] * 2):  # fmt: skip
        with pytest.raises(BadValue, match="in turn"):
            date_mark(date(2026, 6, 1), moves)
    with pytest.raises(BadValue, match="too many"):
        date_mark(date(2026, 6, 1), [Move(date(2026, 6, 2), "frozen")] * 1001)
    with pytest.raises(BadValue, match="out of range"):
        date_mark(date.max)
    with pytest.raises(BadValue, match="out of range"):
        rop_last_day(date.max)


def test_a_mixture_of_frozen_parts_has_no_date_yet():
    """It is thawed first; a mixture has a part."""
    with pytest.raises(BadValue, match="frozen; thaw it first"):
        mixed_date_mark([date_mark(date(2026, 6, 1), frozen(2))])
    with pytest.raises(BadValue, match="at least one part"):
        mixed_date_mark([])


def test_a_mark_says_when_it_is_past():
    """The last day itself is not past."""
    mark = date_mark(date(2026, 6, 1))
    assert not mark.is_past(date(2026, 6, 7))
    assert mark.is_past(date(2026, 6, 8))
    assert not date_mark(date(2026, 6, 1), frozen(2)).is_past(date(2027, 6, 8))


def test_fewer_days_by_the_shop():
    """Stricter choices shorten every last day."""
    assert date_mark(date(2026, 6, 1), chosen={"date_mark_days": "4"}).last_day == date(2026, 6, 4)
    assert rop_last_day(date(2026, 6, 1), chosen={"pack_days": "10"}).last_day == date(2026, 6, 11)
    assert keep_by("whole", date(2026, 6, 10), {"days_whole": "5"}) == (date(2026, 6, 15), 5)
    out = time_control("4h", NOON, F(40), chosen={"out_4h": "2.5"})
    assert out.discard_at == NOON + timedelta(minutes=150)


def test_a_leap_day_is_kept_a_day_longer():
    """A year from 29 February ends on 1 March."""
    assert keep_until("grind", date(2028, 2, 29)).until == date(2029, 3, 1)
    assert keep_until("check", date(2026, 6, 10)).row is None
    assert keep_until("grind", date(2026, 6, 10), {"grind_record_years": "3"}).until.year == 2029


@pytest.mark.parametrize(
    "call",
    [
        lambda: keep_until("x", date(2026, 1, 1)), lambda: keep_until("traded", date.max),
        lambda: storage_days("stone"), lambda: keep_by("stone", date(2026, 1, 1)),
        lambda: keep_by("whole", date.max), lambda: shelf_of("stone"),
        lambda: sanitiser("soap"), lambda: sanitiser("chlorine", "NaN", 7),
        lambda: sanitiser("chlorine", None, 7), lambda: sanitiser("chlorine", 50, None),
        lambda: sanitiser("chlorine", "24.9", 7), lambda: sanitiser("chlorine", 50, "10.1"),
        lambda: sanitiser("chlorine", "x" * 4000, 7), lambda: sanitiser("chlorine", "1e-999999", 7),
        lambda: edition("1999"), lambda: retail_cook("fish"), lambda: recall_class("bad"),
        lambda: recall_class(None), lambda: time_control("8h", NOON, F(40)),
        lambda: RetailSales(Decimal("NaN"), Decimal(0), Decimal(0), Decimal(0)),
        lambda: RetailSales(Decimal(-1), Decimal(0), Decimal(0), Decimal(0)),
        lambda: RetailSales(Decimal(0), Decimal(0), Decimal(2), Decimal(1)),
        lambda: RetailSales(Decimal(0), Decimal(0), Decimal("1e99"), Decimal("1e99")),
    ],
)  # fmt: skip
def test_what_cannot_be_gets_one_sentence(call):
    """Hostile values are refused in one sentence."""
    with pytest.raises(BadValue) as refused:
        call()
    assert refused.value.message.endswith(".")
    assert len(refused.value.message) < 300


def test_no_sales_at_all_pass_no_limit():
    """A year that has not begun is within every limit."""
    none = RetailSales(Decimal(0), Decimal(0), Decimal(0), Decimal(0))
    assert [line.state for line in retail_verdict(none, 2025)] == ["within"] * 3


def test_an_earlier_warning_of_the_shop():
    """The warnings may come sooner."""
    some = RetailSales(Decimal(60_000), Decimal(0), Decimal(60_000), Decimal(900_000))
    assert retail_verdict(some, 2025)[0].state == "within"
    assert retail_verdict(some, 2025, {"retail_first_pct": "50"})[0].state == "warn"


def test_a_sale_in_kilograms_is_held_against_pounds():
    """136 kg of beef are under 300 lb, 136.1 kg are over."""
    assert not normal_retail("beef", Weight.of("136", WeightUnit.KG)).is_over
    assert normal_retail("Beef ", Weight.of("136.1", WeightUnit.KG)).is_over
