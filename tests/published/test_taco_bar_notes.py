"""Personal page, Catering notes (CATER)."""

from __future__ import annotations

from decimal import Decimal

from collop.reference import portion_rows


def test_five_ounces_of_wraps_lie_within_a_taco_bar():
    """Catering notes, taco bar (seen): 1/4 to 1/3 lb raw a head."""
    row = portion_rows("taco bar", source_id="CATER")[0]
    assert row.ounces_a_head() == (Decimal("4.00"), Decimal("5.33"))
    assert row.ounces_a_head()[0] <= 5 <= row.ounces_a_head()[1]


def test_a_plate_of_seven_ounces_is_under_a_steak_dinner():
    """Catering notes, meat as main course (seen): 8-12 oz, for hungry eaters."""
    row = portion_rows("meat as main course", source_id="CATER")[0]
    assert row.ounces_a_head() == (8, 12)
