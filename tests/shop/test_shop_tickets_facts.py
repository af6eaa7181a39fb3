"""Label facts of a line and tares: told, checked, never guessed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from collop.errors import BadValue, NotFound
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import CaseCook, LabelFacts, NewCaseLine, NewTicket, StillClock, open_shop
from collop.shop.ticket_facts import facts_as_json, facts_from_json

LB = WeightUnit.LB
PLAIN = LabelFacts(product_class="raw whole", contains=())


@pytest.fixture
def bare(url):
    """Return the demo's shop with two lines of which nobody told a label."""
    with open_shop(url, StillClock()) as shop:
        price = UnitPrice.of("9.00", LB)
        for key, new in enumerate((
            NewCaseLine("Beef cheek", "beef", price, 4, "whole"),
            NewCaseLine("Lamb links, mild", "lamb", price, 3, "ground", casing="sheep",
                        contains=("wheat",)),
        )):  # fmt: skip
            shop.cutting.add_case_line(new, by="ines", key=f"line-{key}")
        yield shop


def test_a_line_nobody_told_of_gets_what_its_name_and_meat_give(bare):
    """The class comes from meat, casing and cooking rule; allergens are never taken for granted."""
    cheek, links = bare.tickets.facts("C35"), bare.tickets.facts("C36")
    assert not cheek.is_told
    assert (cheek.facts.product_class, cheek.facts.contains) == ("raw whole", None)
    assert [one.element for one in cheek.missing] == ["list of allergens"]
    assert (links.facts.product_class, links.facts.contains) == ("raw sausage", ("wheat",))
    draft = bare.tickets.draft(NewTicket(case_id="C36"))
    assert "list of ingredients" in [one.element for one in draft.missing]


def test_every_line_of_the_demo_is_told_and_its_numbers_are_its_own(shop):
    """All 34 lines have facts, nothing missing, and an item and trade item number of their own."""
    told = [shop.tickets.facts(line.id) for line in shop.case()]
    assert len(told) == 34
    assert all(one.is_told and not one.missing for one in told)
    assert len({one.facts.item for one in told}) == len({one.facts.gtin for one in told}) == 34


def test_the_label_may_not_leave_out_an_allergen_of_the_case(shop):
    """The case names soy, sesame and wheat; a label without sesame is refused by name."""
    facts = shop.tickets.facts("C25").facts
    short = replace(facts, contains=("soy", "wheat"), ingredients=None)
    with pytest.raises(BadValue, match="the case line names sesame") as refused:
        shop.tickets.set_facts("C25", short, by="ines", key="a")
    assert refused.value.where == "contains"


def test_an_ingredient_that_gives_an_allergen_away_is_refused(shop):
    """Sesame oil among the ingredients asks for sesame among what it contains."""
    facts = LabelFacts(product_class="raw marinated", ingredients=("lamb", "sesame oil"),
                       contains=())  # fmt: skip
    with pytest.raises(BadValue, match="sesame is not declared") as refused:
        shop.tickets.set_facts("C02", facts, by="ines", key="a")
    assert refused.value.where == "contains"


WRONG = [
    ({"product_class": "raw"}, "product_class"),
    ({"product_class": None}, "product_class"),
    ({"product_class": "meat-free"}, "species"),
    ({"item": "101"}, "item"),
    ({"item": "\u0660\u0660\u0661\u0660\u0661"}, "item"),  # digits of another script
    ({"item": "00101"}, "item"),  # of the leg
    ({"gtin": "90614141000016"}, "gtin"),
    ({"gtin": "x" * 3000}, "gtin"),
    ({"contains": ("moonlight",)}, "contains"),
    ({"contains": ("gluten",)}, "contains"),
    ({"ingredients": ("",)}, "ingredients"),
    ({"ingredients": ("salt",) * 61}, "ingredients"),
    ({"ingredients": ("a\nb",)}, "ingredients"),
    ({"lean_pct": Decimal("NaN")}, "lean_pct"),
    ({"fat_pct": Decimal("1e400")}, "fat_pct"),
    ({"fat_pct": Decimal("1e-999999")}, "fat_pct"),
    ({"fat_pct": Decimal("20.25")}, "fat_pct"),
    ({"lean_pct": Decimal(80)}, "fat_pct"),
    ({"lean_pct": Decimal(80), "fat_pct": Decimal(21)}, "lean_pct"),
    ({"tenderised": "hammer"}, "tenderised"),
    ({"origin": "x" * 200}, "origin"),
    ({"tax_class": "\x00"}, "tax_class"),
]


@pytest.mark.parametrize(("change", "where"), WRONG)
def test_facts_that_cannot_be_are_refused_at_their_field(shop, change, where):
    """One sentence, the field in `where`, nothing written."""
    before = shop.tickets.facts("C02")
    with pytest.raises(BadValue) as refused:
        shop.tickets.set_facts("C02", replace(PLAIN, **change), by="ines", key="a")
    if where != "species":
        assert refused.value.where == where
    assert "\n" not in refused.value.message
    assert shop.tickets.facts("C02") == before


def test_facts_come_back_as_they_were_told_with_their_history(shop):
    """Percents stay decimal text; the newest counts and the older one stays."""
    facts = LabelFacts(product_class="raw ground", item="77777", gtin="90614141000015",
                       contains=(), lean_pct=Decimal("79.5"), fat_pct=Decimal("20.5"),
                       tax_class="raw", origin="US", every_stage=True)  # fmt: skip
    assert facts_from_json(facts_as_json(facts)) == facts
    told = shop.tickets.set_facts("C06", facts, by="dot", key="a")
    assert told.facts == facts
    assert [one.by for one in told.changes] == ["dot", "ines"]
    assert shop.tickets.set_facts("C06", facts, by="dot", key="a") == told


def test_meat_cooked_as_pierced_needs_the_words_on_its_label(shop):
    """Once the kitchen says tenderised, the label must: no ticket until it does."""
    cook = shop.fire.cook("C13") or CaseCook()
    shop.fire.set_cook("C13", replace(cook, treatment="tenderised", done_f=None, rest_min=None),
                       by="ines", key="cook")  # fmt: skip
    draft = shop.tickets.draft(NewTicket(case_id="C13"))
    assert "tenderised words" in [one.element for one in draft.missing]
    facts = replace(shop.tickets.facts("C13").facts, tenderised="blade")
    shop.tickets.set_facts("C13", facts, by="ines", key="facts")
    new = NewTicket(case_id="C13", gross=Weight.of("1.02", LB), tare="Vacuum bag", lot="C13-0609")
    plan = shop.tickets.draft(new).plan
    assert "blade tenderized" in next(x["text"] for x in plan["lines"] if x["role"] == "name")


def test_no_such_line_is_told(shop):
    """Facts and tickets of a line that is not there say so."""
    for ask in (lambda: shop.tickets.facts("C99"),
                lambda: shop.tickets.draft(NewTicket(case_id="C99")),
                lambda: shop.tickets.set_facts("C99", PLAIN, by="ines", key="a")):  # fmt: skip
        with pytest.raises(NotFound, match="no case line 'C99'"):
            ask()


def test_a_tare_is_weighed_changed_and_taken_off_the_list(shop):
    """The newest weight of a name counts, in any letters; a retired one is offered no more."""
    names = [one.name for one in shop.tickets.tares()]
    assert len(names) == 4
    found = shop.tickets.set_tare("vacuum BAG", Weight.of("0.03", LB), by="dot", key="a")
    assert [one.name for one in found] == names
    assert found[-1].weight == Weight.of("0.03", LB)
    left = shop.tickets.retire_tare("Vacuum bag", by="dot", key="b")
    assert [one.name for one in left] == names[:-1]
    assert len(shop.tickets.tares(retired=True)) == 4
    with pytest.raises(NotFound, match="is used no more"):
        shop.tickets.retire_tare("Vacuum bag", by="dot", key="c")
    again = shop.tickets.set_tare("Vacuum bag", Weight.of("0.02", LB), by="dot", key="d")
    assert len(again) == 4


@pytest.mark.parametrize(
    ("name", "weight", "where"),
    [("Crate", None, "weight"), ("Crate", Weight.zero(), "weight"),
     ("Crate", Weight.of("-0.01", LB), "weight"), ("Crate", Weight.of(11, LB), "weight"),
     ("Crate", Weight.of("0.01", WeightUnit.KG), "weight"),
     ("", Weight.of("0.02", LB), "name"), ("x" * 81, Weight.of("0.02", LB), "name"),
     ("No Packing", Weight.of("0.02", LB), "name"), ("a\nb", Weight.of("0.02", LB), "name")],
)  # fmt: skip
def test_a_tare_that_cannot_be_is_refused(shop, name, weight, where):
    """A tare without a weight takes nothing off: it is refused, and so is one of another unit."""
    with pytest.raises(BadValue) as refused:
        shop.tickets.set_tare(name, weight, by="ines", key="a")
    assert refused.value.where == where
    assert len(shop.tickets.tares()) == 4
