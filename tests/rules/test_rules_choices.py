"""Settings of the rules: stricter is taken, laxer is refused with the source."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.reference.rulebook import rule_row
from collop.rules import check_choice, figure, in_force, limit_of, setting, settings

FREE = [one for one in settings() if not one.elsewhere]
LIMITED = [one.name for one in FREE if one.is_figure and one.stricter]


@pytest.mark.parametrize("name", LIMITED)
def test_the_published_figure_itself_is_taken_and_a_step_laxer_is_not(name):
    """Of every setting with a published figure, one step beyond it is refused with that figure."""
    one, limit = setting(name), limit_of(name)
    assert Decimal(check_choice(name, limit)) == limit
    beyond = limit + 1 if one.stricter == "lower" else limit - 1
    with pytest.raises(BadValue) as refused:
        check_choice(name, beyond)
    assert refused.value.where == name
    side = "or less" if one.stricter == "lower" else "or more"
    assert refused.value.message.endswith(f"give {limit} {side}.")
    assert rule_row(one.rule_id).source.title in refused.value.message
    assert one.rule_id in refused.value.message


@pytest.mark.parametrize("name", LIMITED)
def test_stricter_is_taken(name):
    """One step on the strict side is kept, where sense allows it."""
    one, limit = setting(name), limit_of(name)
    within = limit - 1 if one.stricter == "lower" else limit + 1
    if Decimal(one.low) <= within <= Decimal(one.high):
        assert Decimal(check_choice(name, str(within))) == within
        assert figure(name, {name: str(within)}) == within


def test_a_refusal_names_source_and_nearest_figure():
    """The whole sentence, once."""
    with pytest.raises(BadValue) as refused:
        check_choice("cold_limit_f", "45")
    assert refused.value.message == (
        "Cold holding, at most: 45 °F is laxer than the 41 °F of Violation 03F-07-5, quoting Food "
        "Code 3-501.19 (SF006); give 41 or less."
    )


def test_a_limit_that_is_only_recalled_says_so():
    """The row of meat on arrival is from memory, and its refusal tells it."""
    with pytest.raises(BadValue, match=r"SF001, from memory, not checked"):
        check_choice("receiving_f", "42")


def test_the_edition_moves_the_days_of_a_vacuum_pack():
    """Under the older text 21 days give way to 14, and come back with the newer one."""
    assert in_force("pack_days") == "30"
    assert in_force("pack_days", {"pack_days": "21"}) == "21"
    assert in_force("pack_days", {"pack_days": "21", "food_code": "2009"}) == "14"
    with pytest.raises(BadValue, match=r"14 days of 7 Pa\. Code 46\.402.*SF062"):
        check_choice("pack_days", 15, {"food_code": "2009"})


def test_days_in_the_fridge_begin_low_and_end_at_the_most_of_the_chart():
    """A shop may take more than the fewest days, never more than the most."""
    assert in_force("days_whole") == "3"
    assert check_choice("days_whole", "5") == "5"
    with pytest.raises(BadValue, match="give 5 or less"):
        check_choice("days_whole", "6")


@pytest.mark.parametrize(("typed", "kept"), [("40", "40"), ("39.20", "39.2"), ("4 C", "39.2"),
                                             ("4°C", "39.2"), (40, "40"), ("38,5", "38.5"),
                                             (" 38 f ", "38")])  # fmt: skip
def test_how_a_temperature_may_be_written(typed, kept):
    """Degrees F, degrees C, a comma or a point."""
    assert check_choice("cold_limit_f", typed) == kept


@pytest.mark.parametrize("value", [True, 1.5, "NaN", "Infinity", "1e-999999", "forty", "40 41",
                                   [40], {"a": 1}, "4" * 4000, "40.1234", b"40"])  # fmt: skip
def test_what_is_no_figure_is_refused(value):
    """Hostile values get one sentence."""
    with pytest.raises(BadValue, match=r"^Cold holding, at most: write"):
        check_choice("cold_limit_f", value)


def test_a_slip_of_the_hand_is_refused():
    """A fridge at -200 °F is stricter than published, and no fridge."""
    with pytest.raises(BadValue, match="-200 °F is out of range; give 28 to 50"):
        check_choice("cold_limit_f", "-200")


def test_empty_goes_back_to_what_is_published():
    """Nothing typed is nothing chosen."""
    assert check_choice("cold_limit_f", "") == ""
    assert check_choice("cold_limit_f", None) == ""
    assert in_force("cold_limit_f", {"cold_limit_f": ""}) == "41"


def test_choices_and_what_is_kept_elsewhere():
    """An edition is one of the list; rounding is not changed here."""
    assert check_choice("food_code", "2013") == "2013"
    with pytest.raises(BadValue, match="use one of 2022, 2017, 2013, 2009"):
        check_choice("food_code", "1999")
    with pytest.raises(BadValue, match="stands for as long as the shop does"):
        check_choice("rounding", "half-even")
    with pytest.raises(BadValue, match="changed on /chalk/choices"):
        check_choice("cash_rounding", "off")
    with pytest.raises(BadValue, match="no setting 'colour'"):
        check_choice("colour", "red")
    with pytest.raises(BadValue, match="is not set"):
        figure("retail_meat_2026")


@given(st.sampled_from([one.name for one in FREE]), st.text(max_size=30) | st.integers()
       | st.decimals(allow_nan=True) | st.floats() | st.none())  # fmt: skip
def test_whatever_is_given_never_ends_laxer_than_published(name, value):
    """A value is refused in one sentence, or is in force and no laxer than the limit."""
    try:
        kept = check_choice(name, value)
    except BadValue as error:
        assert error.message.endswith(".")
        assert "\n" not in error.message
        return
    one, limit = setting(name), limit_of(name)
    found = in_force(name, {name: kept})
    if limit is not None and one.stricter == "lower":
        assert Decimal(found) <= limit
    elif limit is not None and one.stricter == "higher":
        assert Decimal(found) >= limit


def test_every_setting_says_what_it_does():
    """Each has a label, a meaning and a rule; names are unique and fit their column."""
    names = [one.name for one in settings()]
    assert len(names) == len(set(names))
    for one in settings():
        assert one.label
        assert one.means.endswith(".")
        assert len(one.name) <= 60
        if not one.rule_id.startswith("OWN"):
            assert rule_row(one.rule_id)
