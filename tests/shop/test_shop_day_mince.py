"""Mince lots in the Day Book: which is open, and which record lacks what, on tile and print."""

from __future__ import annotations

import pytest
from making_floor import Maker

from collop.shop import MakingState


@pytest.fixture
def maker(shop, clock):
    """Return somebody at a grinder that is cleaned down at 08:00 of the demo's Tuesday."""
    one = Maker(shop, clock)
    shop.day.clean_down(**one.who())
    return one


def tile_of(shop):
    """Return state and words of the tile of the mince."""
    tile = next(one for one in shop.day.page().tiles if one.key == "mince")
    return tile.state, tile.words


def gaps_of(shop, day):
    """Return the mince gaps of a day, on its page and on the print, which are the same."""
    page = [(one.name, one.words) for one in shop.day.page(day).gaps if one.tile == "mince"]
    book = [(one.name, one.words) for one in shop.day.inspector(day, day).gaps
            if one.tile == "mince"]  # fmt: skip
    assert page == book
    return page


def test_the_tile_names_the_last_lot_and_never_a_batch(shop):
    """The demo's newest making is a batch of links; the newest mince lot is another."""
    assert tile_of(shop) == (
        "none", "from clean-down to clean-down; the last 26159-G1-01, Mon 8 Jun 14:10",
    )  # fmt: skip


def test_an_open_lot_is_on_the_tile_and_lacks_nothing_yet(shop, maker):
    """On its own day an open lot is at work: no gap."""
    made = maker.open()
    state, words = tile_of(shop)
    assert (state, words) == ("none", f"open: {made.code} since {made.done_at:%H:%M}")
    assert gaps_of(shop, made.done_at.date()) == []


def test_a_lot_that_ended_names_each_field_it_lacks(shop, maker):
    """Bought trim without number, lot and date, nothing weighed out: the gap says all of it."""
    made = maker.open()
    maker.box(made.code, number=None, lot=None, made=None)
    maker.clean()
    record = shop.making.record(made.code)
    assert record.state is MakingState.ENDED
    ((name, words),) = gaps_of(shop, made.done_at.date())
    assert name == made.code
    for one in (*record.missing, "establishment number of Chuck trim",
                "supplier lot number of Chuck trim", "production date of Chuck trim",
                "carry-over", "18.00 lb of it is"):  # fmt: skip
        assert one in words
    assert tile_of(shop) == ("due", f"record incomplete: {made.code}")
    maker.later(24 * 60)
    assert tile_of(shop)[0] == "late"
    rows = shop.day.inspector(made.done_at.date(), made.done_at.date()).as_rows({})
    assert any(row["line"] == "GAP" and made.code in row["name"] for row in rows)


def test_a_lot_left_open_over_night_lacks_its_clean_down(shop, maker):
    """Mince runs from clean-down to clean-down; yesterday's lot that still runs is a gap."""
    made = maker.open()
    maker.later(24 * 60)
    assert gaps_of(shop, made.done_at.date()) == [
        (made.code, "its record lacks a clean-down to end it")
    ]
    assert tile_of(shop) == ("late", f"record incomplete: {made.code}")


def test_a_closed_record_is_no_gap(shop):
    """The demo's lot of Monday is closed and whole."""
    made = shop.making.record("26159-G1-01")
    assert made.state is MakingState.CLOSED
    assert gaps_of(shop, made.done_at.date()) == []
