"""The free case as offers: the contract's keys, free stock only, strings for money and weight."""

from __future__ import annotations

from datetime import timedelta

import pytest
from wished import case_line, lb, line, order, per_lb

from collop.errors import NotFound
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import DEMO_START

KEYS = {
    "id", "name", "species", "contains", "casing", "price_per_lb", "free_lb", "pieces_lb",
    "frozen_lb", "boneless_fraction", "grill_sq_in_per_lb", "minutes", "method", "styles",
    "slots", "eating", "worth_per_lb", "days_left", "cover_days", "on_hand_lb", "neighbour",
    "cook_as",
    "side_lb", "cook",
}  # fmt: skip


def offers(shop, **more):
    return {offer["id"]: offer for offer in shop.offers(**more)}


def test_an_offer_has_the_keys_of_the_contract_and_no_other(shop):
    """Every offer carries the same keys, money and weights as text."""
    for offer in shop.offers():
        assert set(offer) == KEYS
        texts = [offer[key] for key in ("price_per_lb", "free_lb", "frozen_lb", "on_hand_lb")]
        assert all(isinstance(text, str) for text in texts)
        assert set(offer["styles"]) == set(offer["eating"])


def test_lamb_leg_is_offered_as_the_table_says(shop):
    """One offer in full; its minutes are those of the fire sheet, near the table's 75 to 100."""
    found = offers(shop)["C01"]
    low, high = found["minutes"]
    assert (low, high) == shop.fire.minutes_of(case_line(shop, "C01"))
    assert 50 <= low <= 75
    assert 100 <= high <= 130
    assert found == {
        "id": "C01", "name": "Lamb leg, bone in", "species": "lamb", "contains": [],
        "casing": None, "price_per_lb": "11.20", "free_lb": "8.00", "pieces_lb": None,
        "frozen_lb": "0", "boneless_fraction": 0.72, "grill_sq_in_per_lb": 26,
        "minutes": [low, high], "method": "covered grill or oven", "styles": ["plate", "shared"],
        "slots": ["centre"], "eating": {"plate": 0.7, "shared": 0.75}, "worth_per_lb": "0",
        "days_left": 4, "cover_days": 0.67, "on_hand_lb": "34.00", "neighbour": None,
        "cook_as": "whole",
        "side_lb": "8.33",
        "cook": {
            "method": "indirect", "treatment": "whole", "rest_min": None, "hold_min": None,
            "carve": None, "done_f": None,
            "body": {"form": "roast", "thickness_mm": 85.0, "measured": True, "fat_rich": False,
                     "bone": True},
        },
    }  # fmt: skip


def test_bones_and_wholly_booked_lines_are_never_offered(shop):
    """Stock bones have no dish style; brisket and hanger are booked to the last ounce."""
    assert {"C32", "C10", "C14"}.isdisjoint(offers(shop))
    assert len(offers(shop)) == 31


def test_frozen_goods_say_so_and_list_their_pieces(shop):
    """Frozen weight is free weight, and pieces are whole."""
    duck = offers(shop)["C29"]
    assert duck["frozen_lb"] == duck["free_lb"] == "52.00"
    assert duck["pieces_lb"] == ["5.20"] * 10


def test_allergens_are_listed_one_by_one(shop):
    """Soy, sesame and wheat are three words."""
    assert offers(shop)["C25"]["contains"] == ["soy", "sesame", "wheat"]


def test_leaving_out_a_booking_counts_its_weight_and_pieces_as_free(shop):
    """H2's five lines are free again for its own new answer, and nobody else's."""
    usual, own = offers(shop), offers(shop, leaving_out="H2")
    assert (usual["C11"]["free_lb"], own["C11"]["free_lb"]) == ("22.00", "27.00")
    assert (len(usual["C23"]["pieces_lb"]), len(own["C23"]["pieces_lb"])) == (10, 12)
    assert own["C23"]["on_hand_lb"] == usual["C23"]["on_hand_lb"]
    with pytest.raises(NotFound, match="H99"):
        shop.offers(leaving_out="H99")


def test_nothing_past_its_use_by_is_offered(shop):
    """Seen from Thursday, Tuesday's mince is out of the offers but still in the case."""
    thursday = DEMO_START + timedelta(days=2)
    assert {"C06", "C11"}.isdisjoint(offer["id"] for offer in shop.offers(thursday))
    assert [one.is_past for one in shop.case(thursday) if one.id == "C11"] == [True]


def test_a_price_per_kilogram_is_offered_per_pound_exactly(shop):
    """18.50 a kilogram is 8.391458845 a pound, and both price a weight alike."""
    per_kg = UnitPrice.of("18.50", WeightUnit.KG)
    shop.board_price("C02", per_kg, by="ines", why="metric day", key="kg")
    text = offers(shop)["C02"]["price_per_lb"]
    assert text == "8.391458845"
    assert per_lb(text).line(lb("13.7")) == per_kg.line(lb("13.7"))


def test_free_weight_is_cut_off_and_never_rounded_up(shop):
    """After 1 kg of shoulder 12.795... lb are free and 12.79 are offered."""
    kilo = line("C02", "1")
    shop.book(order(type(kilo)("C02", Weight.of("1", WeightUnit.KG))), key="kilo")
    assert offers(shop)["C02"]["free_lb"] == "12.79"
