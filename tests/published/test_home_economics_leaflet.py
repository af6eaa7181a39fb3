"""Home-economics recipe card, How much meat to buy, c. 1970 (LEAFLET)."""

from __future__ import annotations

from collop.measures import Weight, WeightUnit
from collop.reference import portion_rows, servings


def test_a_six_pound_roast_on_the_bone_serves_as_many_as_the_card_says():
    """How much meat to buy (seen): 6 lb of bony meat serves 6 to 8, the card says 5 to 8."""
    whole = portion_rows("6 lb bone-in roast", source_id="LEAFLET")[0]
    bony = portion_rows("much bone", source_id="LEAFLET")[0]
    assert whole.basis == "serves 5 to 8"
    assert servings(Weight.of(6, WeightUnit.LB), bony) == (6, 8)


def test_a_quarter_pound_is_four_ounces():
    """How much meat to buy (seen): boneless meat, 1/4 lb a serving."""
    row = portion_rows("boneless meat", source_id="LEAFLET")[0]
    assert row.ounces_a_head() == (4, 4)
