"""A line of the case that was filled in too low: sheet, offers, cooking page and new lines."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from sqlalchemy import update
from wished import case_line, line, order, per_lb

from collop.errors import BadValue
from collop.reference import cook_minimum
from collop.shop import CaseCook, NewCaseLine
from collop.shop.fire_cooks import cook_as_told, cook_rule, minutes_of
from collop.shop.store import Store
from collop.shop.tables import case_lines

#: Line, its rule, and the minimum of that.
#: USDA FSIS, Safe minimum internal temperatures. Source id ``FSIS_MIN``.
LOW = [("C23", "poultry", 165), ("C29", "poultry", 165), ("C19", "ground", 160),
       ("C11", "ground", 160)]  # fmt: skip


def write(url, case_id, **values):
    """Write to a line of the case what no screen lets through any more."""
    store = Store(url)
    with store.write() as conn:
        conn.execute(update(case_lines).where(case_lines.c.id == case_id).values(**values))
    store.close()


@pytest.mark.parametrize("told", ["whole", "none"])
@pytest.mark.parametrize(("case_id", "ruled", "core_f"), LOW)
def test_a_line_told_too_low_is_ruled_by_what_it_is(shop, url, case_id, ruled, core_f, told):
    """Its offer, its cooking page and its sheet all keep the minimum of the bird or the mince."""
    write(url, case_id, cook_as=told)
    found = case_line(shop, case_id)
    assert found.cook_as == told
    assert cook_as_told(found) == ruled
    assert cook_rule(found.cook, cook_as_told(found)) == cook_minimum(ruled)
    assert shop.fire.told(case_id).minimum.whole_fahrenheit == core_f
    assert next(one for one in shop.offers() if one["id"] == case_id)["cook_as"] == ruled
    pounds = "4.1" if case_id == "C23" else "5.2"  # one bird
    booked = shop.book(order(line(case_id, pounds), heads=6), key="b")
    (item,) = shop.fire.problem(booked.id)["items"]
    assert item["cook_as"] == ruled
    with pytest.raises(BadValue, match=str(core_f)):
        shop.fire.set_cook(case_id, replace(found.cook, done_f=150), by="ines", key="low")


def test_the_form_of_a_line_raises_its_rule(shop):
    """Pork chops made up as patties are mince, with its minutes and no core under it."""
    chops = case_line(shop, "C17")
    assert cook_as_told(chops) == "whole"
    patty = CaseCook(form="patty", thickness_mm=Decimal(20))
    as_patties = replace(chops, cook=patty)
    assert cook_as_told(as_patties) == "ground"
    as_steaks = replace(chops, cook=replace(patty, form="steak"))
    assert minutes_of(as_patties)[1] > minutes_of(as_steaks)[0]
    with pytest.raises(BadValue, match="160"):
        shop.fire.set_cook("C17", replace(patty, done_f=150), by="ines", key="low")


def test_a_rest_is_an_hour_at_most(shop):
    """Off the heat for longer is no rest; a longer one that was kept counts as an hour."""
    with pytest.raises(BadValue, match="0 to 60 min"):
        shop.fire.set_cook("C17", CaseCook(rest_min=61), by="ines", key="long")


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"species": "chicken"}, "of a bird.*165.*choose poultry"),
        ({"species": "duck", "cook_as": "ground"}, "choose poultry"),
        ({"name": "Beef links"}, "160.*choose ground"),
        ({"casing": "hog"}, "choose ground"),
        ({"name": "Beef mince"}, "choose ground"),
        ({"contains": ("species:chicken",)}, "choose poultry"),
        ({"species": "pork", "name": "Ham", "cook_as": "none"}, "food without meat"),
        ({"species": "none", "contains": ("bacon",), "cook_as": "none"}, "food without meat"),
        ({"cook_as": ""}, "choose one of"),
    ],
)
def test_a_new_line_is_not_given_too_low_a_rule(shop, told, words):
    """It is refused with the rule that holds, and nothing is added."""
    facts = {"name": "A new cut", "species": "beef", "price": per_lb("9"), "keeps_days": 4,
             "cook_as": "whole"}  # fmt: skip
    before = shop.case()
    with pytest.raises(BadValue, match=words) as caught:
        shop.cutting.add_case_line(NewCaseLine(**(facts | told)), by="ines", key="new")
    assert caught.value.where == "cook_as"
    assert shop.case() == before


def test_what_is_sold_ready_to_eat_is_left_off_the_fire(shop, url):
    """Ham that is ready to eat is a whole cut by its rule, and not cooked at any fire."""
    write(url, "C17", method="ready to eat", name="Ham")
    booked = shop.book(order(line("C17", "2"), line("C23", "8.2"), heads=6), key="b")
    assert [one["id"] for one in shop.fire.problem(booked.id)["items"]] == ["C23"]
    assert any("Not cooked at this fire: Ham" in one.what
               for one in shop.fire.assumptions(booked.id))  # fmt: skip


@pytest.mark.parametrize("sign", ["\t", "\x00", "\ufffe"])
def test_a_name_that_cannot_be_printed_still_has_its_sheet(shop, sign, database):
    """A booking takes any sign that its database can keep; its sheet has a space for it."""
    if sign == "\x00" and database is not None:
        with pytest.raises(BadValue, match="NUL"):
            shop.book(order(line("C17", "3"), heads=6, name=f"Ann{sign}B"), key="b")
        return
    booked = shop.book(order(line("C17", "3"), heads=6, name=f"Ann{sign}B"), key="b")
    assert shop.fire.sheet(booked.id).plan["name"] == "Ann B"
