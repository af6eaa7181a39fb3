"""A shop of one's own: from an empty database to a lamb sold, and every pound accounted for."""

from __future__ import annotations

from datetime import datetime

import pytest
from wished import lb

from collop.errors import BadValue
from collop.measures import UnitPrice, WeightUnit
from collop.shop import (
    NewBooking,
    NewCaseLine,
    NewDelivery,
    NewLine,
    NewPiece,
    Person,
    Settings,
    StillClock,
    create_shop,
)


@pytest.fixture
def own(new_url):
    made = create_shop(new_url(), settings=Settings("Our shop"),
                       people=[Person("ann", "Ann")], clock=StillClock())  # fmt: skip
    with made:
        yield made
        assert made.check() == []


def leg(**more):
    facts = {"name": "Lamb leg", "species": "lamb", "keeps_days": 4, "cook_as": "whole",
             "price": UnitPrice.of("11.20", WeightUnit.LB)}  # fmt: skip
    return NewCaseLine(**(facts | more))


def test_a_lamb_comes_in_is_cut_by_the_starting_figures_and_sold(own):
    """Receive, break, put in the case, book, hand over; nothing of it needs the demo."""
    line = own.cutting.add_case_line(leg(), by="ann", key="line")
    own.cutting.receive(
        NewDelivery("L-1", "lamb", "a farm", [NewPiece("L-1", "whole", "lamb carcass", lb("50"))],
                    lb("50"), papers=("inspection mark", "invoice"),
                    not_measured_because="no probe yet"),
        by="ann", key="door",
    )  # fmt: skip
    style = own.cutting.adopt_style(
        "lamb carcass", by="ann", key="style", case_ids={"leg roast": line}
    )
    assert sum(part.share for part in style.parts) == 1
    cut = own.cutting.start_break("L-1", style.id, by="ann", key="start")
    for part in style.parts:
        if part.kind != "loss":
            pounds = lb(f"{float(part.share) * 50:.2f}")
            cut = own.cutting.weigh_part(cut.number, part.id, pounds, by="ann", key=part.name)
    cut = own.cutting.close_break(cut.number, by="ann", key="close")
    assert cut.weighed + cut.loss == lb("50")
    waits = next(one for one in own.cutting.stock() if one.what == "loin chops")
    chops = own.cutting.add_case_line(leg(name="Loin chops"), by="ann", key="line2")
    lot = own.cutting.put_in_case(waits.lot_id, "block", chops, by="ann", key="put")
    booked = own.book(
        NewBooking("Ann's neighbour", datetime(2026, 6, 10, 9), by="ann",  # noqa: DTZ001 -- shop-local
                   lines=(NewLine(chops, lb("2")),)), key="book",
    )  # fmt: skip
    weighed = {booked.lines[0].id: lb("1.95")}
    assert str(own.hand_over(booked.id, weighed, by="ann", key="hand").total) == "21.84"
    assert own.cutting.lots_of_booking(booked.id) == (lot,)
    assert own.cutting.trace(lot).origins[0].farm == "a farm"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": " "}, "Name"),
        ({"species": ""}, "Species"),
        ({"form": "warm"}, "Form"),
        ({"cook_as": "raw"}, "Cooking rule"),
        ({"contains": ("sesami",)}, "Contains: .*sesame"),
        ({"casing": "cat"}, "Casing"),
        ({"boneless_fraction": 2}, "Boneless"),
        ({"keeps_days": -1}, "Keeps"),
    ],
)
def test_a_bad_case_line_is_one_sentence(own, change, words):
    """Each fault names its field; the case stays empty."""
    with pytest.raises(BadValue, match=words):
        own.cutting.add_case_line(leg(**change), by="ann", key="k")
    assert own.case() == ()


def test_two_lines_never_have_one_name(own):
    """Upper and lower case are the same name."""
    own.cutting.add_case_line(leg(), by="ann", key="a")
    with pytest.raises(BadValue, match="already"):
        own.cutting.add_case_line(leg(name="LAMB LEG"), by="ann", key="b")


def test_a_piece_without_figures_has_no_starting_style(own):
    """The sentence lists the pieces that have."""
    with pytest.raises(BadValue, match="lamb carcass"):
        own.cutting.adopt_style("ostrich", by="ann", key="a")
