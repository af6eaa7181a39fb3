"""Tickets of a shop of one's own that weighs in kilograms, from an empty database."""

from __future__ import annotations

import pytest

from collop.errors import BadValue
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import (
    LabelFacts,
    NewCaseLine,
    NewDelivery,
    NewPiece,
    NewTicket,
    Person,
    Settings,
    StillClock,
    create_shop,
)

KG = WeightUnit.KG


def kg(text):
    return Weight.of(text, KG)


@pytest.fixture
def own(new_url):
    """Return a shop with a lamb on the rail, cut so that its legs are in the case."""
    settings = Settings("Our shop", "High Street", currency="GBP", legal_unit=KG)
    with create_shop(new_url(), settings=settings,
                     people=[Person("ann", "Ann")], clock=StillClock()) as shop:  # fmt: skip
        new = NewCaseLine("Lamb leg", "lamb", UnitPrice.of("18.50", KG, "GBP"), 4, "whole")
        line = shop.cutting.add_case_line(new, by="ann", key="line")
        papers = ("inspection mark", "invoice")
        shop.cutting.receive(
            NewDelivery("L-1", "lamb", "a farm",
                        [NewPiece("L-1", "whole", "lamb carcass", kg("20"))], kg("20"),
                        papers=papers, not_measured_because="no probe yet"), by="ann", key="door",
        )  # fmt: skip
        style = shop.cutting.adopt_style("lamb carcass", by="ann", key="style",
                                         case_ids={"leg roast": line})  # fmt: skip
        cut = shop.cutting.start_break("L-1", style.id, by="ann", key="start")
        leg = next(part for part in style.parts if part.case_id == line)
        shop.cutting.weigh_part(cut.number, leg.id, kg("5.000"), by="ann", key="leg")
        yield shop


def test_a_kilogram_shop_prints_in_kilograms(own):
    """A tare of 12 g is taken as 15 g on a scale of 5 g steps; pounds stand beside, cut off.

    Rounding up for the customer and never up in the other unit: rows WM012 and WM059, from memory.
    """
    own.tickets.set_tare("Tray", kg("0.012"), by="ann", key="tare")
    own.tickets.set_facts("C01", LabelFacts(product_class="raw whole", contains=()), by="ann",
                          key="facts")  # fmt: skip
    lot = own.tickets.draft(NewTicket(case_id="C01")).lots[0].id
    new = NewTicket(case_id="C01", gross=kg("1.250"), tare="Tray", lot=lot)
    kept = own.tickets.print(new, by="ann", key="one")
    plan = own.tickets.plan(kept)
    assert (plan["net"], plan["unit"], plan["other_unit"]) == ("1.235", "kg", "lb")
    assert Weight.of(plan["net_other"], WeightUnit.LB) <= kept.net
    # 1.235 x 18.50 = 22.8475
    assert (str(kept.total), plan["total"], plan["currency"]) == ("22.85", "22.85", "GBP")
    assert kept.id == "T1"
    with pytest.raises(BadValue, match="no reading of a scale"):
        own.tickets.draft(NewTicket(case_id="C01", gross=kg("1.252"), tare="Tray", lot=lot))
    with pytest.raises(BadValue, match="give the tare in kg"):
        own.tickets.set_tare("Bag", Weight.of("0.02", WeightUnit.LB), by="ann", key="lb")


def test_nothing_is_offered_of_a_line_that_is_out(own):
    """No lot in the case: the sentence says to put one away first."""
    new = NewCaseLine("Loin chops", "lamb", UnitPrice.of("30", KG, "GBP"), 4, "whole")
    case_id = own.cutting.add_case_line(new, by="ann", key="line2")
    draft = own.tickets.draft(NewTicket(case_id=case_id))
    assert draft.lots == ()
    assert "nothing of the line is in the case" in draft.why_not()
