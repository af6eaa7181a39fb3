"""Beliefs on the elasticity of meat, from published own-price figures.

Sources: Should Beef Quality Grade be a Priority, Steiner and Brown (E01); Increasing pork price
sensitivity amidst rising inflation, Lusk and Tonsor (E02); USMeatConsump data and replication
output of the LA-AIDS meat example, micEconAids (E17).
"""

from __future__ import annotations

import pytest

from collop.chalk import published_prior
from collop.reference import elasticity_rows


def test_beef_is_the_range_of_its_grades():
    """E01 (seen): own-price elasticities of grades from -1.24 to -2.33; the middle is 1.785."""
    prior = published_prior("beef")
    assert (prior["elasticity"], prior["sd"]) == (1.785, 0.545)
    assert prior["elasticity"] - prior["sd"] == pytest.approx(1.24)
    assert prior["elasticity"] + prior["sd"] == pytest.approx(2.33)
    assert prior["source"].startswith("E01 ")
    assert prior["status"] == "computed"


@pytest.mark.parametrize("species", ["pork", "chicken"])
def test_another_species_starts_from_its_own_market_figure(species):
    """E02 (seen): pork -1.18 in 2022; E17 (computed): chicken -0.222; up to the 2.33 of E01."""
    low = {"pork": 1.18, "chicken": 0.222}[species]
    prior = published_prior(species)
    assert prior["elasticity"] == pytest.approx((low + 2.33) / 2)
    assert prior["sd"] == pytest.approx((2.33 - low) / 2)
    assert {"pork": "E02", "chicken": "E17"}[species] in prior["source"]


@pytest.mark.parametrize("species", ["lamb", "goat", "duck", "turkey"])
def test_without_a_published_figure_beef_stands_in_and_says_so(species):
    """No cited row for the species: the figure of beef (E01), twice as wide, and a sentence."""
    cited = [row for row in elasticity_rows("own_price_elasticity", cited_only=True)
             if species in row.item.lower()]  # fmt: skip
    assert not cited
    prior, beef = published_prior(species), published_prior("beef")
    assert prior["elasticity"] == beef["elasticity"]
    assert prior["sd"] == 2 * beef["sd"]
    assert (
        prior["say"]
        == f"no published figure for {species}; the beef figure stands in, twice as wide"
    )


def test_a_grade_that_is_named_is_taken_as_published():
    """E01 (seen): Select beef -1.24, Prime beef -2.33."""
    assert published_prior("beef", "Select beef")["elasticity"] == 1.24
    prime = published_prior("beef", "prime beef")
    assert (prime["elasticity"], prime["status"]) == (2.33, "seen")
    assert published_prior("beef", "short rib") == published_prior("beef")


def test_rows_from_memory_are_marked_and_take_no_part():
    """Every row from memory says so; leaving them out would change no belief."""
    for species in ("beef", "pork", "chicken", "lamb"):
        prior = published_prior(species)
        remembered = [row for row in prior["rows"] if row["status"] == "memory"]
        assert all(row["note"].startswith("from memory") for row in remembered)
        assert not {row["source_id"] for row in remembered} & set(prior["source"].split())
    assert any(row["status"] == "memory" for row in published_prior("beef")["rows"])
