"""From the live animal to what is taken home: ranges stay ranges, nothing is made up."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass import (
    Hanging,
    Standing,
    dry_aged,
    hanging_loss,
    published_range,
    take_home,
)
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit


def pounds(amount) -> Weight:
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


def test_every_step_is_named_with_its_rule_and_source():
    """Live, hot, chilled, hung, taken home; each says what it rests on."""
    found = take_home("beef", pounds(1300), hanging=Hanging(days_hung=14))
    assert [step.name for step in found.steps] == ["live", "hot", "chilled", "hung", "take-home"]
    assert [step.rule for step in found.steps] == [
        "weighed", "55 to 67 % of live", "hot less 2 to 5 %", "hot less 4 to 6 %",
        "60 to 79 % of hot",
    ]  # fmt: skip
    assert all(step.basis.text() for step in found.steps)
    assert found.step("hung").low == pounds("672.1")  # 55 % of 1300, less 6 %


def test_a_figure_that_is_given_replaces_the_published_range():
    """What the shop knows comes first, and is called given."""
    known = Hanging(dressing_pct=Decimal(62), take_home_pct=Decimal(70))
    found = take_home("beef", pounds(1000), hanging=known)
    for name in ("hot", "take-home"):
        assert found.step(name).low == found.step(name).high
        assert found.step(name).basis.standing is Standing.GIVEN


def test_the_losses_of_hanging_never_shrink_with_days():
    """Each day loses at least what the day before had lost, at both ends."""
    losses = [hanging_loss("beef", days) for days in range(61)]
    assert [loss.low for loss in losses] == sorted(loss.low for loss in losses)
    assert [loss.high for loss in losses] == sorted(loss.high for loss in losses)
    assert all(loss.low <= loss.high for loss in losses)


@pytest.mark.parametrize(
    ("days", "standing"), [(1, "seen"), (7, "computed"), (14, "seen"), (21, "memory")]
)
def test_a_day_between_is_computed_and_a_week_beyond_is_recalled(days, standing):
    """Only the first and the fourteenth day were read."""
    assert hanging_loss("beef", days).basis.standing == standing


def test_a_third_week_loses_one_to_two_per_cent_more():
    """The recalled rate is 1 to 2 % a week, marked as such."""
    found = hanging_loss("beef", 21)
    assert (found.low, found.high) == (5, 8)


@pytest.mark.parametrize(
    ("species", "days"), [("lamb", 2), ("pork", 7), ("goat", 1), ("duck", 1), ("chicken", 3)]
)
def test_no_loss_is_made_up_for_an_animal_or_day_without_a_figure(species, days):
    """The shop's own figure is asked for instead."""
    with pytest.raises(BadValue, match=r"No loss is published for .*; give the shop's own"):
        hanging_loss(species, days)


def test_a_goat_can_be_followed_with_the_shops_own_figures():
    """Where nothing is published everything can be given."""
    known = Hanging(
        dressing_pct=Decimal(48),
        chill_loss_pct=Decimal(3),
        days_hung=5,
        hang_loss_pct=Decimal("4.5"),
        take_home_pct=Decimal(88),
        take_home_of="hung",
    )
    found = take_home("goat kid", pounds(60), hanging=known)
    assert found.species == "goat"
    assert found.step("hot").low == pounds("28.8")
    assert found.step("hung").low == pounds("27.504")
    assert found.step("take-home").rule == "88 % of hung"


@pytest.mark.parametrize(
    ("species", "hanging", "message", "where"),
    [
        ("goat", Hanging(), "No dressing share is published for goat; give dressing_pct",
         "$.dressing_pct"),
        ("chicken", Hanging(), "No take-home share is published for chicken", "$.take_home_pct"),
        ("beef", Hanging(dressing_pct=Decimal(101)), "dressing share is 101 %", "$.dressing_pct"),
        ("beef", Hanging(live_shrink_pct=Decimal("NaN")), "live shrink is NaN",
         "$.live_shrink_pct"),
        ("beef", Hanging(days_hung=121), "121 days of hanging is no such time", "$.days_hung"),
        ("beef", Hanging(cutting="thin"), "'thin' is none of take-home, bone-in", ""),
    ],
)  # fmt: skip
def test_what_is_missing_or_impossible_is_one_sentence(species, hanging, message, where):
    """The key that is wanted is named."""
    with pytest.raises(BadValue, match=message) as caught:
        take_home(species, pounds(100), hanging=hanging)
    assert caught.value.where == where


@pytest.mark.parametrize(("weight", "stage", "message"), [
    ("0", "live", "is no carcass; weigh it again"),
    ("100", "cooked", "'cooked' is no stage; use one of live, hot, chilled"),
])  # fmt: skip
def test_a_weight_or_stage_that_cannot_be_is_refused(weight, stage, message):
    """Nothing is computed from nothing."""
    with pytest.raises(BadValue, match=message):
        take_home("beef", pounds(weight), stage=stage)


def test_hanging_on_from_a_chilled_weight_needs_a_given_loss():
    """Published losses are of the hot weight and are not applied to another."""
    with pytest.raises(BadValue, match="published for the hot weight"):
        take_home("beef", pounds(700), stage="chilled", hanging=Hanging(days_hung=10))
    known = Hanging(days_hung=10, hang_loss_pct=Decimal(3), cutting="none")
    found = take_home("beef", pounds(700), stage="chilled", hanging=known)
    assert found.steps[-1].low == pounds(679)


def test_a_chilled_bird_may_gain():
    """Immersion chilling adds water: the upper end is above the hot weight, and marked."""
    known = Hanging(cutting="none")
    chilled = take_home("chicken", pounds(4), stage="hot", hanging=known).step("chilled")
    assert chilled.low < pounds(4) < chilled.high
    assert chilled.basis.standing is Standing.MEMORY


def test_the_widest_range_takes_read_figures_first():
    """A recalled range for thin cows does not widen what was read."""
    found = published_range("dressing_percent", "beef")
    assert (found.low, found.high, found.basis.standing) == (55, 67, "computed")
    assert published_range("dressing_percent", "beef", "dairy").basis.standing == "memory"
    assert published_range("dressing_percent", "goat") is None


@pytest.mark.parametrize(("cut", "days"), [("ribeye", 20), ("rump", 14), ("", 14)])
def test_dry_ageing_is_not_guessed_between_the_lines(cut, days):
    """Only the twelve printed lines are given."""
    with pytest.raises(BadValue, match=r"No dry-ageing figure for .*; the table has ribeye"):
        dry_aged(cut, days)


@given(
    st.integers(1, 3_000_000),
    st.sampled_from(["beef", "pork", "lamb"]),
    st.sampled_from(["live", "hot", "chilled"]),
)
def test_the_low_end_is_never_above_the_high_end_and_nothing_grows(grams, species, stage):
    """Every step of red meat weighs no more than what was weighed."""
    weight = Weight.of(grams, WeightUnit.G)
    for step in take_home(species, weight, stage=stage).steps:
        assert Weight.zero() <= step.low <= step.high <= weight
        assert step.low.unit is WeightUnit.G


def test_shares_are_kept_exact_until_a_weight_is_written():
    """Rounding once: a third of a third is not a third of a rounded third."""
    third = Decimal("33.333333")
    known = Hanging(dressing_pct=third, take_home_pct=third)
    found = take_home("beef", Weight(1_000_000_007, WeightUnit.KG), hanging=known)
    exact = 1_000_000_007 * (Fraction(third) / 100) ** 2
    assert abs(found.step("take-home").low.count - exact) <= Fraction(1, 2)
