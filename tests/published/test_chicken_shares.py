"""Poultry science text chapter, Physical Composition (CHKBOOK)."""

from __future__ import annotations

from collop.reference import chicken_parts


def test_the_parts_of_a_ready_to_cook_bird_sum_to_a_hundred():
    """Physical Composition, section on yield (seen): 25 + 33 + 14 + 17 + 11 = 100."""
    parts = chicken_parts("CHICKEN_RTC_BOOK", kind="part")
    assert [part.pct_of_base.low for part in parts] == [25, 33, 14, 17, 11]
    assert sum(part.pct_of_base.low for part in parts) == 100


def test_meat_and_bone_sum_to_the_bird():
    """Physical Composition, section on yield (seen): 60 % meat and 40 % bone."""
    (meat,) = chicken_parts("CHICKEN_RTC_BOOK", kind="meat")
    (bone,) = chicken_parts("CHICKEN_RTC_BOOK", kind="fat_bone")
    assert meat.pct_of_base.low + bone.pct_of_base.low == 100
