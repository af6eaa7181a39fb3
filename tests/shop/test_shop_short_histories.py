"""Short histories that once lost weight from sight, or were refused in no words."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from floor import grams

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Temperature, Weight
from collop.shop import NewDelivery, NewPiece

HUGE = Weight(10**30)


def test_only_what_is_sold_by_the_piece_is_weighed_in_pieces(shop):
    """Else the pieces would lie whole in the case while their weight is sold away."""
    cut = shop.cutting.start_break("B-41H", "hind", by="marek", key="s")
    rump = next(part.id for part in cut.style.parts if part.name == "Rump")
    with pytest.raises(BadValue, match="not sold by the piece; leave the pieces out"):
        shop.cutting.weigh_part(cut.number, rump, grams(9_000), by="marek", key="w",
                                pieces=[grams(4_000), grams(5_000)])  # fmt: skip


@pytest.mark.parametrize("act", ["put", "bin", "count"])
def test_what_is_under_the_knife_leaves_as_a_part(shop, act):
    """Else the break would close with weight gone that no part says."""
    shop.cutting.start_break("B-41H", "hind", by="marek", key="s")
    with pytest.raises(WrongState, match="weigh its parts"):
        {
            "put": lambda: shop.cutting.put_in_case(
                "B-41H", "block", "C13", by="dot", key="k", weight=grams(900)
            ),
            "bin": lambda: shop.cutting.bin("B-41H", "block", by="dot", key="k", why="fell"),
            "count": lambda: shop.cutting.count_lot(
                "B-41H", "block", grams(900), by="dot", key="k"
            ),
        }[act]()


def test_a_weighing_is_taken_back_from_its_own_break_only(shop):
    """The number of the break and that of the weighing must belong together."""
    cut = shop.cutting.start_break("L-207", "lamb", by="marek", key="s")
    part = cut.style.parts[0].id
    cut = shop.cutting.weigh_part(cut.number, part, grams(900), by="marek", key="w")
    with pytest.raises(NotFound, match="no such weighing"):
        shop.cutting.take_back(1, cut.parts[0].seq, by="marek", key="t")


def lamb(tag, *tags):
    """Return a lamb at the door, whole or in pieces with tags of their own."""
    pieces = [NewPiece(one, "lamb", "lamb carcass", grams(20_000)) for one in tags or (tag,)]
    return NewDelivery(tag, "lamb", "Upper Nimmock", pieces, grams(20_000 * len(pieces)),
                       papers=["inspection mark"],
                       temperature=Temperature.fahrenheit(38))  # fmt: skip


@pytest.mark.parametrize("tag", ["", " ", "n" * 41, "a\nb"])
def test_an_animal_in_pieces_has_a_tag_too(shop, tag):
    """It is held to what a piece's tag is held to."""
    with pytest.raises(BadValue, match="A tag has 1 to 40"):
        shop.cutting.receive(lamb(tag, "x1", "x2"), by="marek", key="r")


def test_a_tag_that_looks_like_a_part_stops_no_break(shop):
    """A piece came in as L-208.01; the first part of L-208 then takes the next name."""
    shop.cutting.receive(lamb("L-208.01"), by="marek", key="r")
    cut = shop.cutting.start_break("L-208", "lamb", by="marek", key="s")
    part = cut.style.parts[0].id
    cut = shop.cutting.weigh_part(cut.number, part, grams(900), by="marek", key="w")
    assert cut.parts[0].lot_id == "L-208.02"


def test_a_weight_no_scale_shows_is_refused_in_words(shop):
    """More than the database can hold is refused like any other weight that cannot be."""
    with pytest.raises(BadValue, match="under 100000"):
        shop.cutting.count_case("C34", HUGE, by="dot", key="c")
    with pytest.raises(BadValue, match="under 100000"):
        shop.cutting.count_lot("L-208", "rail", HUGE, by="dot", key="l")
    with pytest.raises(BadValue, match="L-208"):
        shop.cutting.claim("H8", "L-208", HUGE, by="dot", key="h")


def test_no_table_is_read_from_end_to_end_when_an_act_is_written(shop_file):
    """Each table that names its act has an index by it, so a write is no slower in year ten.

    An act's row comes last; SQLite then looks in every table for rows that waited for it.
    """
    with closing(sqlite3.connect(shop_file)) as conn:
        tables = conn.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        named = [
            table
            for (table,) in tables
            for key in conn.execute(f"PRAGMA foreign_key_list({table})")
            if key[2] == "acts"
        ]
        assert "ledger_entries" in named
        for table in named:
            plan = conn.execute(f"EXPLAIN QUERY PLAN SELECT 1 FROM {table} WHERE key = ?", ("k",))  # noqa: S608
            assert "USING COVERING INDEX" in plan.fetchone()[3]
