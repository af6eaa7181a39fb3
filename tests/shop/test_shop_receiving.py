"""At the door: what is taken in, what is sent back, and what is written down."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from wished import lb

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit
from collop.reference import limit_rows
from collop.shop import DEMO_START, NewDelivery, NewPiece
from collop.shop.receiving import cold_limit

LAMB = NewDelivery(
    tag="L-301", species="lamb", farm="Saltgrass Holding",
    pieces=[NewPiece("L-301", "whole", "lamb carcass", lb("51.4"))], invoiced=lb("52.0"),
    killed_on=date(2026, 6, 8), temperature=Temperature.fahrenheit(38),
    papers=("inspection mark", "invoice"), price=UnitPrice.of("6.30", WeightUnit.LB),
    haulage=Money.of("4.50"),
)  # fmt: skip


def test_an_animal_hangs_at_its_scale_weight_and_the_gap_to_the_invoice_shows(shop):
    """52.0 lb were billed and 51.4 lb came: 0.6 lb short, paid for all the same."""
    found = shop.cutting.receive(LAMB, by="ines", key="d")
    assert (found.gap, found.days_since_kill) == (lb("-0.6"), 1)
    assert found.cost == Money.of("332.10")  # 52.0 x 6.30 + 4.50
    piece = next(one for one in shop.rail() if one.tag == "L-301")
    assert (piece.weight_now, piece.days, piece.paid) == (lb("51.4"), 0, Money.of("332.10"))


def test_two_pieces_of_one_animal_share_its_cost_by_weight(shop):
    """The animal is a lot of its own; each half points back to it."""
    halves = [NewPiece("P-9L", "half, left", "pork side", lb("90")),
              NewPiece("P-9R", "half, right", "pork side", lb("60"))]  # fmt: skip
    new = replace(LAMB, tag="P-9", species="pig", pieces=halves, invoiced=lb("150"),
                  price=UnitPrice.of("2.00", WeightUnit.LB), haulage=Money.of("0"))  # fmt: skip
    shop.cutting.receive(new, by="ines", key="d")
    paid = {one.tag: one.paid for one in shop.rail()}
    assert (paid["P-9L"], paid["P-9R"]) == (Money.of("180.00"), Money.of("120.00"))
    found = shop.cutting.trace("P-9R")
    assert [one.lot_id for one in found.up] == ["P-9R", "P-9"]
    assert [one.lot_id for one in found.sisters] == ["P-9L"]
    assert found.origins[0].farm == "Saltgrass Holding"


def test_limit_at_the_door_is_the_food_code_s_and_marked_as_from_memory():
    """US FDA Food Code 2022, 3-202.11: 41 degF.

    The row is marked memory, so this is no check of the figure, only that the product uses the
    row and says how sure it is.
    """
    (row,) = [one for one in limit_rows("receiving") if one.rule_id == "SF001"]
    assert row.status == "memory"
    assert cold_limit() == Temperature.fahrenheit(row.value)


def test_over_the_limit_is_sent_back_unless_the_law_lets_it_arrive_warm(shop):
    """42 degF is refused with both figures; as law allows it comes in, with until when to cool."""
    warm = replace(LAMB, temperature=Temperature.fahrenheit(42))
    with pytest.raises(WrongState, match=r"42\.0 .F .*41\.0 .F .*do not take it in"):
        shop.cutting.receive(warm, by="ines", key="d")
    assert all(piece.tag != "L-301" for piece in shop.rail())
    allowed = replace(warm, arrived_warm_as_law_allows=True)
    found = shop.cutting.receive(allowed, by="ines", key="d2")
    assert found.cool_by == DEMO_START + timedelta(hours=4)


def test_a_temperature_that_was_not_measured_is_said(shop):
    """Nobody passes the limit at the door by leaving the field empty."""
    new = replace(LAMB, temperature=None, not_measured_because="probe broken")
    found = shop.cutting.receive(new, by="ines", key="d")
    assert found.note == "not measured: probe broken"


def test_warm_meat_hung_hours_ago_must_be_cool_the_sooner(shop):
    """The four hours begin when it came, not when it was written down; and never in the future."""
    warm = replace(LAMB, temperature=Temperature.fahrenheit(50), arrived_warm_as_law_allows=True)
    came = DEMO_START - timedelta(hours=2)
    found = shop.cutting.receive(warm, by="ines", key="d", hung_at=came)
    assert found.cool_by == came + timedelta(hours=4)
    with pytest.raises(BadValue, match="later than now"):
        shop.cutting.receive(replace(LAMB, tag="L-302", pieces=[
            NewPiece("L-302", "whole", "lamb carcass", lb("51.4"))
        ]), by="ines", key="e", hung_at=DEMO_START + timedelta(days=1))  # fmt: skip


def test_meat_without_an_inspection_mark_is_never_taken_in(shop):
    """The mark is refused for; another missing paper is only written down."""
    with pytest.raises(WrongState, match="not taken in"):
        shop.cutting.receive(replace(LAMB, papers=("invoice",)), by="ines", key="a")
    found = shop.cutting.receive(replace(LAMB, papers=("Inspection mark",)), by="ines", key="b")
    assert found.papers_missing == ("invoice",)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pieces": []}, "at least one piece"),
        ({"pieces": [NewPiece("L-207", "x", "lamb carcass", lb("50"))], "tag": "L-207"}, "taken"),
        ({"pieces": [NewPiece("X", "x", "lamb carcass", lb("50"))]}, "its tag is L-301"),
        ({"pieces": [NewPiece("L-301", "x", "y", lb("0"))]}, "more than 0"),
        ({"pieces": [NewPiece("a", "x", "y", lb("9")), NewPiece("a", "x", "y", lb("9"))]}, "same"),
        ({"pieces": [NewPiece("L-301", "x", "y", lb("9")), NewPiece("a", "x", "y", lb("9"))]},
         "tag of its own"),
        ({"invoiced": Weight.of("52", WeightUnit.KG)}, "check the unit"),
        ({"invoiced": lb("0")}, "more than 0"),
        ({"farm": " "}, "Name the farm"),
        ({"farm": "a\nb"}, "Name the farm"),
        ({"species": " "}, "what animal"),
        ({"killed_on": date(2020, 1, 1)}, "over a year ago"),
        ({"price": UnitPrice.of("3", WeightUnit.LB, "EUR")}, "Price is in USD"),
        ({"temperature": None}, "say why it was not measured"),
        ({"tag": "../x", "pieces": [NewPiece("../x", "x", "y", lb("51.4"))]}, "A tag has"),
        ({"killed_on": date(2026, 6, 10)}, "lies ahead"),
        ({"haulage": Money.of("1", "EUR")}, "USD"),
        ({"haulage": Money.of("-1")}, "zero or more"),
    ],
)  # fmt: skip
def test_a_bad_delivery_is_one_sentence_and_nothing_is_written(shop, change, words):
    """Each fault names what is wrong; the rail stays as it was."""
    before = [piece.tag for piece in shop.rail()]
    with pytest.raises(BadValue, match=words):
        shop.cutting.receive(replace(LAMB, **change), by="ines", key="d")
    assert [piece.tag for piece in shop.rail()] == before


def test_a_delivery_that_is_not_there_is_told(shop):
    """Numbers that were never given are refused."""
    with pytest.raises(NotFound, match="no delivery 99"):
        shop.cutting.delivery(99)


def test_the_number_of_the_plant_is_kept_and_traced(shop):
    """What stands on the inspection mark comes back with the delivery and with every trace."""
    found = shop.cutting.receive(replace(LAMB, establishment=" F-02 "), by="ines", key="d")
    assert found.establishment == "F-02"
    assert shop.cutting.trace("L-301").origins[0].establishment == "F-02"
    assert {one.establishment for one in shop.cutting.trace("B-41F").origins} == {"F-01 (made up)"}


def test_a_number_of_the_plant_that_is_no_number_is_refused(shop):
    """Longer than a mark, or with a line break, nothing is written."""
    for text in ("F" * 41, "F-0\n2"):
        with pytest.raises(BadValue, match="inspection mark"):
            shop.cutting.receive(replace(LAMB, establishment=text), by="ines", key=text[:9])
    assert "L-301" not in {one.tag for one in shop.rail()}


def test_a_stricter_limit_of_the_shop_rules_at_the_door(shop):
    """At 38 degF chosen, 39 degF is over; a looser one than published cannot be chosen."""
    shop.rules.change("receiving_f", "38", why="our walk-in is small", by="ines", key="c")
    with pytest.raises(WrongState, match="limit at the door is 38"):
        shop.cutting.receive(replace(LAMB, temperature=Temperature.fahrenheit(39)), by="ines",
                             key="d")  # fmt: skip
    assert shop.cutting.receive(LAMB, by="ines", key="e").cool_by is None
    with pytest.raises(BadValue, match="laxer"):
        shop.rules.change("receiving_f", "45", why="just so", by="ines", key="f")
