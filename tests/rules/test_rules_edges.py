"""The rules at their edges: older editions, food heated again, figures of a coming year."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest

from collop.errors import BadValue
from collop.measures import Temperature
from collop.reference.rulebook import rule_row
from collop.rules import (
    EDITIONS,
    Move,
    RetailSales,
    check_choice,
    cooling_verdict,
    date_mark,
    edition,
    laxer_than_usual,
    limit_of,
    retail_limit,
    retail_verdict,
    rop_last_day,
    setting,
    settings,
)
from collop.rules.limits import Reading

F = Temperature.fahrenheit
TEN = datetime.fromisoformat("2026-06-09T10:00")


def at(minutes, f):
    """Return a reading some minutes after ten."""
    return Reading(TEN + timedelta(minutes=minutes), F(str(f)))


@pytest.mark.parametrize("key", EDITIONS)
def test_an_edition_that_is_laxer_says_in_what(key):
    """Every shorter hold and longer pack is named, and that the local code decides."""
    one, usual, said = edition(key), edition(), laxer_than_usual(key)
    lax = {
        "mince": one.ground_s < usual.ground_s,
        "poultry": one.poultry_s < usual.poultry_s,
        "a roast": one.roast_130_s < usual.roast_130_s,
        "a vacuum pack": one.pack_days > usual.pack_days,
    }
    assert {what for what in lax if what in said} == {
        what for what, is_lax in lax.items() if is_lax
    }
    assert ("only where your local code is that edition" in said) is any(lax.values())
    if key in ("2013", "2009"):
        assert "mince at 155 F for 15 s, not 17 s" in said


def test_food_that_stood_warm_and_was_heated_again_is_broken():
    """Heat does not set the clock back, and how long it took is of the first cooling."""
    slow = [at(0, 135), at(10, 134), at(240, 110), at(260, 165)]
    after = [at(280, 140), at(350, 70), at(480, 41)]
    found = cooling_verdict([*slow, *after])
    assert (found.state, found.steps[0].at_least_min) == ("broken", 230)
    quick = [at(0, 135), at(10, 134), at(30, 165)]
    assert cooling_verdict([*quick, *after]).state == "kept"
    assert cooling_verdict(after).state == "kept"


def test_food_that_was_cold_in_time_may_be_heated_again():
    """A first cooling that was kept breaks nothing."""
    first = [at(0, 135), at(110, 70), at(340, 41), at(900, 40), at(960, 165)]
    assert cooling_verdict([*first, at(970, 140), at(1060, 70), at(1300, 41)]).state == "kept"


def test_food_still_over_at_the_end_of_its_time_is_broken():
    """71 F at two hours is broken, 70 F at two hours is kept."""
    assert cooling_verdict([at(0, 135), at(1, 134), at(121, 71), at(125, 70)]).state == "broken"
    assert cooling_verdict([at(0, 135), at(120, 70), at(360, 41)]).state == "kept"
    assert cooling_verdict([at(0, 135), at(1, 134), at(120, 71), at(125, 70)]).state == "not shown"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("103,600", "103600"),
        ("103,600.50", "103600.5"),
        ("106300", "106300"),
        ("90000.5", "90000.5"),
    ],
)
def test_a_comma_parts_thousands_of_money(typed, kept):
    """An amount as the notice prints it is not cut to its thousandth part."""
    assert check_choice("retail_meat_2026", typed) == kept


@pytest.mark.parametrize("typed", ["1,000", "103.6", "1063000", "0", "-0", "1,03,600", "10,63"])
def test_an_amount_that_is_a_slip_is_refused(typed):
    """Half to twice the last published figure is sense (common practice, no published source)."""
    with pytest.raises(BadValue):
        check_choice("retail_meat_2026", typed)


def test_a_comma_before_three_digits_is_no_decimal():
    """A limit of 38,500 is refused, 38,5 is taken."""
    assert check_choice("cold_limit_f", "38,5") == "38.5"
    with pytest.raises(BadValue, match="write a figure"):
        check_choice("cold_limit_f", "38,500")


def test_one_figure_of_the_year_counts_without_the_other():
    """What was put in is used; what is missing is named, and that of the last known year shown."""
    found = retail_limit(2026, {"retail_meat_2026": "90000"})
    assert (found.meat, found.poultry) == (Decimal(90000), retail_limit(2025).poultry)
    assert found.caution.startswith("No limit of poultry of 2026 was put in: that of 2025")
    assert [row.rule_id for row in found.rows] == ["TR047"]
    both = {"retail_meat_2026": "90000", "retail_poultry_2026": "70000"}
    assert retail_limit(2026, both).rows == ()


@pytest.mark.parametrize("year", [2006, 2010, 2099])
def test_a_year_that_cannot_be_put_in_is_not_asked_for(year):
    """The caution asks for no setting that does not exist."""
    said = retail_limit(year).caution
    assert "put in" not in said
    assert said.endswith(f"Read the notice of {year}.")


def test_our_own_figures_are_not_called_published():
    """A limit of a setting is the figure of a row that was published; 80 and 95 % are ours."""
    for name in ("retail_first_pct", "retail_last_pct", "cold_checks_a_day", "daybook_years"):
        assert limit_of(name) is None
        assert setting(name).limit == ""
    assert check_choice("retail_first_pct", "85") == "85"
    for one in settings():
        if one.limit and one.stricter:
            assert rule_row(one.rule_id).source.source_id != "CALC", one.name


@pytest.mark.parametrize("count", [date_mark, rop_last_day])
def test_days_at_the_end_of_the_calendar_are_refused(count):
    """A thaw in the year 9999 gets a sentence."""
    moves = [Move(date(2026, 6, 3), "frozen"), Move(date.max, "thawed")]
    with pytest.raises(BadValue, match="year 9999 is out of range"):
        count(date(2026, 6, 1), moves)


def test_a_pack_is_not_frozen_past_the_makers_date():
    """Freezing does not save what was over already."""
    moves = [Move(date(2026, 6, 20), "frozen")]
    with pytest.raises(BadValue, match="past the maker's date, 2026-06-10"):
        rop_last_day(date(2026, 6, 1), moves, makers_date=date(2026, 6, 10))
    assert rop_last_day(date(2026, 6, 1), moves, makers_date=date(2026, 6, 20)).used == 19


def test_a_share_that_is_over_is_not_told_as_the_limit():
    """A hair over a quarter reads 25.1 %, a quarter 25.0 %."""

    def share(others):
        told = RetailSales(Decimal(0), Decimal(0), Decimal(others), Decimal(100_000))
        line = retail_verdict(told, 2025)[2]
        return line.state, line.say

    assert share("25000.01")[0] == "over"
    assert "25.1 % of all product sales, of at most 25 %" in share("25000.01")[1]
    assert share("25000")[0] != "over"
    assert "25.0 % of all product sales" in share("25000")[1]
