"""The demo's lines and orders at the fire: every word is a method, every sheet can be cooked."""

from __future__ import annotations

from datetime import datetime

import pytest
from jsonschema import Draft202012Validator

from collop.errors import WrongState
from collop.fire.fire_schema import SCHEMAS
from collop.fire.methods import METHOD_WORDS, way_of
from collop.fire.problem import METHODS
from collop.reference import cook_minimum
from collop.shop import DontEat
from collop.shop.demo_fire import demo_cooks
from collop.shop.demo_rail import demo_table
from collop.shop.fire_cooks import minutes_of

CASE = {row["id"]: row for row in demo_table("scenario_case.csv")}
#: On a covered grill with an oven, and without one: what each word of the demo's case means.
WORDS = {
    "braise": ("pot", "pot"),
    "covered grill": ("indirect", "indirect"),
    "covered grill or oven": ("oven", "indirect"),
    "covered grill, whole": ("indirect", "indirect"),
    "direct grill": ("direct", "direct"),
    "direct grill, as patties": ("direct", "direct"),
    "direct grill, meat-free side": ("direct", "direct"),
    "indirect then direct": ("indirect then direct", "indirect then direct"),
    "low oven or smoke": ("oven", "indirect"),
    "low oven, finish on grill": ("oven then direct", "indirect then direct"),
    "opened flat, covered grill": ("indirect", "indirect"),
    "skewers, direct grill": ("direct", "direct"),
}
#: Thick, on the bone or tough: the shop knows how long they take, the heat model does not.
OWN_MINUTES = {"C02", "C03", "C05", "C09", "C10", "C15", "C18", "C27", "C30", "C32", "C33", "C34"}
ORDERS = ("H1", "H2", "H4", "H6", "H7", "H8", "H9", "H10")


@pytest.mark.parametrize("case_id", sorted(CASE))
def test_every_line_of_the_demo_has_a_method(case_id):
    """All 34 lines: the words of the case are a method with an oven and without one."""
    words = CASE[case_id]["method"]
    way = way_of(words)
    if words == "stock":
        assert way is None
        return
    assert words in METHOD_WORDS
    assert (way.method(oven=True), way.method(oven=False)) == WORDS[words]
    assert set(WORDS[words]) <= set(METHODS)


def test_tough_cuts_keep_the_minutes_of_the_shop(shop):
    """What takes hours to become tender has no body in the model, and so its own minutes."""
    assert {one for one in CASE if getattr(demo_cooks().get(one), "form", None) is None} == (
        OWN_MINUTES
    )
    for line in shop.case():
        if line.id in OWN_MINUTES:
            assert minutes_of(line) == line.minutes


def test_the_models_minutes_are_near_those_of_the_case(shop):
    """Each band of the model meets the case's band, its middle within a third of the case's."""
    for line in shop.case():
        low, high = minutes_of(line)
        assert low <= line.minutes[1], line.id
        assert high >= line.minutes[0], line.id
        assert sum(line.minutes) / 1.5 <= low + high <= 1.5 * sum(line.minutes), line.id


def test_two_orders_told_of_their_fire(shop):
    """The wedding and the rowing club: a pit, a half drum, and who does not eat what."""
    wedding, rowing = shop.fire.facts("H1"), shop.fire.facts("H2")
    assert (wedding.kind, rowing.kind) == ("pit", "half-drum")
    assert wedding.dont_eats == (DontEat("pork", 3), DontEat("meat", 5))
    assert rowing.dont_eats == (DontEat("sesame", 1),)
    assert rowing.serve == (datetime(2026, 6, 12, 18, 30),)  # noqa: DTZ001 -- shop-local


def test_the_monday_demo_knows_the_same_fires(monday):
    """The breaking day has the two orders and their fires already."""
    assert monday.fire.facts("H2").kind == "half-drum"
    assert monday.fire.cook("C17").form == "steak"


@pytest.mark.parametrize("booking", ORDERS)
def test_every_order_of_the_demo_can_be_cooked(shop, booking):
    """Each sheet says yes, is of its schema, keeps every minimum and no grill is overfull."""
    sheet = shop.fire.sheet(booking)
    Draft202012Validator(SCHEMAS["fire"]).validate(dict(sheet.problem))
    Draft202012Validator(SCHEMAS["fire.plan"]).validate(dict(sheet.plan))
    assert sheet.plan["answer"] == "yes"
    assert all(serving["ready_chance"] >= 0.9 for serving in sheet.plan["serve"])
    assert {one["id"] for one in sheet.plan["items"]} == {
        line.case_id for line in shop.booking(booking).lines if line.case_id != "C32"
    }
    for item in sheet.plan["items"]:
        if item["cook_as"] != "none":
            assert item["pull_f"] >= cook_minimum(item["cook_as"]).whole_fahrenheit
    for zone in sheet.plan["load"]:
        for span in zone["spans"]:
            assert zone["of_sq_in"] is None or span["area_sq_in"] <= zone["of_sq_in"]


def test_nothing_starts_before_it_is_collected(shop):
    """The rowing club collects at four, so nothing goes on sooner."""
    sheet = shop.fire.sheet("H2")
    starts = [load["stages"][0]["start"] for item in sheet.plan["items"] for load in item["loads"]]
    assert min(starts) >= "2026-06-12T16:00"
    assert max(item["loads"][-1]["eat"] for item in sheet.plan["items"]) == "2026-06-12T18:30"


def test_the_late_sesame_allergy_is_at_the_top_with_its_plate(shop):
    """The marinade that holds sesame is named, and what may be eaten instead."""
    (told,) = shop.fire.sheet("H2").plan["dont_eats"]
    assert (told["what"], told["count"]) == ("sesame", 1)
    assert told["plate"].endswith("Not: Chicken thigh, soy-sesame")


def test_the_freezer_order_has_no_sheet(shop):
    """Nothing of it is held in the case."""
    with pytest.raises(WrongState, match="H3 holds nothing"):
        shop.fire.sheet("H3")
