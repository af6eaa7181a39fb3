"""Season and day of the week, as published.

Sources: Summer Grilling Season's Retail Beef Demand (E05); Beef's Starring Role in Summer Grilling
Season (E07); Beef's Sizzling Performance for Summer Grilling Season (E08); This week in supermarket
history (E09); USMeatConsump data (E17).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.bench.farm_reading import read_farmcall
from collop.bench.farm_scenarios import scenarios_of
from collop.bench.farmcall import farmcall
from collop.reference import Status, season_rows

THOUSANDTH = Decimal("0.0005")
SUMMER = {"all fresh beef": 31, "ground beef": 32, "steaks": 35}


def row_of(item, words, source="E05"):
    """Return the one row of an item whose window holds these words."""
    (row,) = [one for one in season_rows("seasonality", item=item)
              if words in one.window and one.source.source_id == source]  # fmt: skip
    return row


@pytest.mark.parametrize(("item", "percent"), SUMMER.items())
def test_a_share_of_the_year_gives_the_index_of_a_summer_week(item, percent):
    """E05 (shares seen): 31, 32 and 35 % of the year in 15 of 52 weeks are 1.075, 1.109, 1.213."""
    seen = row_of(item, "15 weeks")
    assert (seen.value, seen.status) == (percent, Status.SEEN)
    by_hand = Fraction(percent, 100) / Fraction(15, 52)
    computed = row_of(item, "vs average week")
    assert computed.status is Status.COMPUTED
    assert abs(Decimal(float(by_hand)) - computed.value) <= THOUSANDTH
    assert seen.index == computed.index == computed.value


@pytest.mark.parametrize(("item", "percent"), SUMMER.items())
def test_summer_against_the_other_weeks(item, percent):
    """E05 (computed from the shares): a summer week over one of the other 37."""
    row = row_of(item, "vs non-summer week")
    by_hand = Fraction(percent, 15) / Fraction(100 - percent, 37)
    assert abs(Decimal(float(by_hand)) - row.value) <= THOUSANDTH


def test_percent_higher_is_an_index():
    """E08 (seen): the week of July 4 is 20 % over the summer norm, Father's Day 28 % for loins."""
    assert row_of("all beef", "July 4", "E08").index == Decimal("1.2")
    assert row_of("beef loin steaks", "Father's Day", "E08").index == Decimal("1.28")


def test_two_releases_that_disagree_are_both_there_and_said_so():
    """E05 gives steaks 1.213 in summer, E07 (seen) 1.10: kept apart, with a note."""
    other = row_of("steaks", "grilling-season", "E07")
    assert other.index == Decimal("1.1")
    assert "lower than the 21%" in other.note


def test_the_days_of_the_week_make_a_week():
    """E09 (six days seen, Friday computed): the shares of trips sum to 100, the indices to 7."""
    days = season_rows("day_of_week", item="grocery trips")
    assert len(days) == 7
    assert sum(row.value for row in days) == 100
    assert abs(sum(row.index for row in days) - 7) <= 7 * THOUSANDTH
    (friday,) = [row for row in days if row.window == "Friday"]
    assert friday.status is Status.COMPUTED
    assert friday.value == 100 - sum(row.value for row in days if row is not friday)


@pytest.mark.parametrize("species", ["beef", "pork", "chicken", "turkey"])
def test_the_quarters_of_a_year_are_about_their_mean(species):
    """E17 (computed): ratios to the centred mean of four quarters average near 1."""
    rows = season_rows("seasonality", item=f"{species} per-capita quantity")
    assert [row.window for row in rows] == ["Q1", "Q2", "Q3", "Q4"]
    assert all(row.index == row.value for row in rows)
    assert sum(row.index for row in rows) / 4 == pytest.approx(1, abs=0.002)


def test_what_is_no_index_has_none():
    """Baskets in money and people who shop are no multiple of a week."""
    assert all(row.index is None for row in season_rows("day_of_week", item="average basket"))
    assert season_rows() == season_rows(cited_only=True)


def test_an_index_multiplies_the_usual_week_of_its_species_only():
    """The index of E05 in a farm call: 40 lb of beef become 43, lamb stays, and E05 is named."""
    index = row_of("all fresh beef", "vs average week").value
    whole = [{"id": one, "minutes": "0", "outputs": [{"cut": one, "share": "1"}]}
             for one in ("beef", "lamb")]  # fmt: skip
    problem = {
        "schema": "collop.farmcall/1", "week_of": "2026-06-15",
        "animals": [{"id": one, "kind": one, "weight": "10", "price_per_unit": "4", "most": 9}
                    for one in ("beef", "lamb")],
        "kinds": [{"id": style["id"], "styles": [style]} for style in whole],
        "cuts": [{"id": one, "species": one, "price": "9", "week": "40", "cv": 0.3}
                 for one in ("beef", "lamb")],
        "season": [{"what": "beef", "index": float(index), "why": "summer", "source": "E05"}],
        "scenarios": {"count": 20, "seed": 4, "common_cv": 0.1},
    }  # fmt: skip
    weeks = scenarios_of(read_farmcall(problem))
    means = {cut: sum(one.chance * one.wants[cut] for one in weeks) for cut in ("beef", "lamb")}
    assert float(means["beef"]) == pytest.approx(40 * 31 / 100 / (15 / 52), rel=5e-4)
    assert float(means["lamb"]) == pytest.approx(40, rel=1e-6)
    plan = farmcall(problem)
    assert [one["wanted"] for one in plan["cuts"]] == ["43", "40"]
    (note,) = [one for one in plan["assumptions"] if one.startswith("Season")]
    assert "E05 Summer Grilling Season's Retail Beef Demand" in note
    assert note.endswith("seen.")
