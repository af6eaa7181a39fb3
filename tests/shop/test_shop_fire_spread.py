"""What the counter shows as a spread, its fire sheet can cook: booked as the pages do it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from urllib.parse import urlencode

import numpy as np
import pytest
from starlette.testclient import TestClient
from wished import case_line, line, order

from collop.errors import BadValue
from collop.fire.methods import STEW_MIN
from collop.fire.problem import BANDS
from collop.shop import FireFacts, Thickness
from collop.shop.fire_facts import from_ask
from collop.shop.fire_guesses import RIDE_MIN
from collop.shop.fire_problem import fire_problem
from collop.shop.offers import offers_of
from collop.spread import answer, read_problem
from collop.spread.cooking import cook_as, course_of_offer, method_of
from collop.web import create_app
from collop.web.ask_view import signature

MM = Decimal(28)
SATURDAY = {"day": "2026-06-13", "time": "19:00"}
NO_OVEN = {"oven": "no"}
ASKS = {
    "12 at a 14 in kettle": {"heads": 12, "fire": "kettle", "coals": 60, **NO_OVEN},
    "34 at a half drum and an oven": {"heads": 34, "fire": "half-drum"},
    "40 at 1,800 sq in": {"heads": 40, "fire": "big-drum", **NO_OVEN},
    "20 at 500 sq in": {"heads": 20, "fire": "own", "area": 500, "coals": 120, **NO_OVEN},
    "8 at 250 sq in": {"heads": 8, "fire": "own", "area": 250, "coals": 60, **NO_OVEN},
    "a pair without meat": {"heads": 2, "meat_free": 2, "fire": "kettle", "coals": 60, **NO_OVEN},
    "an oven and hardly a grill": {"heads": 10, "fire": "own", "area": 1, "coals": 60},
    "a stew in pots": {"heads": 12, "style": "stew", "fire": "kettle", "pots": 2, **NO_OVEN},
    "a stew in the oven": {"heads": 12, "style": "stew", "fire": "kettle", "pots": 0},
    "five without pork": {"heads": 14, "no_n": 5, "no_what": "pork", "coals": 150},
    "wraps in rounds": {"heads": 30, "style": "wraps", "fire": "kettle", "coals": 90, **NO_OVEN},
    "coals agreed to last longer": {
        "heads": 6, "fire": "own", "area": 120, "coals": 30, **NO_OVEN,
        "patch": '{"fire": {"minutes": 90}}',
    },
    "what is seldom taken": {
        "heads": 16, "fire": "half-drum", "coals": 240, "usable": 77,
        "leave": ["C07", "C12", "C23", "C27", "C29", "C02", "C09", "C30"],
    },
}  # fmt: skip


def at(hour, day=13):
    return datetime(2026, 6, day, hour)  # noqa: DTZ001 -- shop-local


def stewed(case_id, pounds):
    return replace(line(case_id, pounds), style="stew")


class Counter:
    """The pages of a shop, with the kernel's answers kept."""

    def __init__(self, shop):
        self.shop = shop
        self.asked = {}
        self.client = TestClient(
            create_app(shop, answer=self._answer), follow_redirects=False
        )  # fmt: skip

    def _answer(self, problem):
        key = json.dumps(problem, sort_keys=True)
        self.asked[key] = self.asked.get(key) or (problem, answer(problem))
        return self.asked[key][1]

    def spreads(self, asked):
        """Return the problem as read, and the spreads that are shown."""
        assert self.client.get(f"/ask?{asked}").status_code == 200
        (found,) = self.asked.values()
        assert found[1]["answer"] == "yes"
        return read_problem(found[0]), found[1]["spreads"]

    def book(self, asked, spread, number):
        """Hold the price of a spread and book it for Saturday at nine; return the booking's id."""
        sent = {
            "ask": f"{asked}&aim={spread['aim']}",
            "seen": signature(spread),
            "key": f"q{number}",
        }
        held = self.client.post("/ask/quote", data=sent)
        assert held.status_code == 303, held.text
        who = {
            "name": "Ada",
            "phone": "4471",
            "day": "2026-06-13",
            "time": "09:00",
            "by": "dot",
            "key": f"b{number}",
        }
        made = self.client.post(held.headers["location"], data=who)
        assert made.status_code == 303, made.text
        return made.headers["location"].split("/")[-1].split("?")[0]


def check_every_spread(shop, asked):
    """Book each spread shown and look at its sheet; return the lines seen."""
    counter, seen = Counter(shop), set()
    problem, spreads = counter.spreads(asked)
    for number, spread in enumerate(spreads):
        booking = counter.book(asked, spread, number)
        plan = shop.fire.sheet(booking).plan
        wanted = "rounds" if "rounds" in spread["binds"] else "yes"
        assert plan["answer"] == wanted, (spread["aim"], plan["why_no"])
        check_alike(problem, spread, plan)
        seen |= {one["id"] for one in spread["lines"]}
        shop.release(booking, by="dot", key=f"r{number}", why="only a test")
    return seen


@pytest.mark.parametrize("name", sorted(ASKS))
def test_every_spread_shown_has_a_sheet_that_cooks_it(shop, name):
    """Each spread, booked and collected in the morning: yes or rounds, and the same minutes."""
    check_every_spread(shop, urlencode(ASKS[name] | SATURDAY, doseq=True))


@pytest.mark.parametrize(
    ("case_id", "told"),
    [
        ("C13", {"method": "oven"}),
        ("C13", {"method": "plate"}),
        ("C13", {"method": "indirect then direct", "done_f": 150}),
        ("C13", {"treatment": "tenderised"}),
        ("C01", {"method": "direct"}),
        ("C12", {"done_f": 155, "rest_min": 20, "hold_min": 25}),
    ],
)
def test_what_the_shop_tells_of_a_line_counts_in_both(shop, case_id, told):
    """Another way, core, rest or treatment of a line: the spread and its sheet follow alike."""
    cook = replace(shop.fire.cook(case_id), **told)
    shop.fire.set_cook(case_id, cook, by="ines", key="told")
    asked = {"heads": 8, "fire": "half-drum", "coals": 240, "pin": case_id}
    assert case_id in check_every_spread(shop, urlencode(asked | SATURDAY))


@pytest.mark.parametrize(
    ("changed", "rule"),
    [
        ({"name": "Beef sausages"}, "ground"),
        ({"casing": "hog"}, "ground"),
        ({"species": "duck"}, "poultry"),
        ({"contains": ({"name": "filling", "species": "chicken"},)}, "poultry"),
        ({"species": "none"}, "none"),
        ({}, "whole"),
    ],
)
def test_a_line_that_asks_for_more_than_the_shop_said_gets_it_in_both(shop, changed, rule):
    """Entered as a whole cut: name, casing and animals rule the minimum, never less than said."""
    asked = replace(case_line(shop, "C13"), cook=None, cook_as="whole", **changed)
    booked = shop.book(order(line("C13", "2")), key="m")
    problem, _ = fire_problem(booked, FireFacts(), {"C13": asked}, shop.settings())
    assert problem["items"][0]["cook_as"] == rule
    spread = {"schema": "collop.spread/1", "groups": [{"name": "all", "count": 2}]}
    (offer,) = read_problem(spread | {"offers": offers_of([asked])}).offers
    assert cook_as(offer) == rule


def check_alike(problem, spread, plan):
    """Compare method, minimum, minutes as a band, rest, and each load on the grill."""
    offers = {one.id: one for one in problem.offers}
    styles = {one["id"]: one["style"] for one in spread["lines"]}
    assert {item["id"] for item in plan["items"]} == set(styles)
    for item in plan["items"]:
        offer, style = offers[item["id"]], styles[item["id"]]
        method = method_of(problem.fire, offer, style)
        assert item["method"] == method
        assert item["cook_as"] == cook_as(offer)
        course = course_of_offer(offer, style, method)
        told = [item["minutes"][key] for key in ("p10", "p50", "p90")]
        assert told == pytest.approx(np.quantile(course.minutes, BANDS), abs=0.5001)
        assert item["rest_min"] == course.rest_min
    assert grilled_of_plan(plan) == grilled_of_spread(spread)


def grilled_of_spread(spread):
    return sorted(
        (one["id"], one["heat"], one["minutes"], one["area_sq_in"]) for one in spread["loads"]
    )


def grilled_of_plan(plan):
    return sorted(
        (item["id"], stage["heat"], stage["end_min"] - stage["start_min"], load["area_sq_in"])
        for item in plan["items"]
        for load in item["loads"]
        for stage in load["stages"]
        if stage["zone"] == "grill"
    )


def test_a_stew_is_cooked_in_the_pot_whatever_its_words_say(shop):
    """Shoulder for the grill, booked as a stew: in the pot, for two hours at the least."""
    booked = shop.book(
        order(stewed("C16", "3"), ask={"query": "fire=kettle&coals=60&oven=no&pots=1"}), key="s"
    )
    (item,) = shop.fire.sheet(booked.id).plan["items"]
    assert (item["id"], item["method"], item["minutes"]["source"]) == ("C16", "pot", "shop")
    assert item["minutes"]["p10"] >= STEW_MIN - 1
    assert {stage["zone"] for stage in item["loads"][0]["stages"]} == {"pot"}


def test_a_line_booked_for_grill_and_pot_is_two_dishes(shop):
    """Each with its own weight, way and time of the meal; only the grilled one has a thickness."""
    booked = shop.book(order(line("C16", "2"), stewed("C16", "3"), heads=6), key="two")
    told = FireFacts(
        pots=1, serve=(at(13), at(19)), served={"C16-stew": 1}, thickness={"C16": Thickness(MM)}
    )
    shop.fire.change(booked.id, told, by="dot", key="f")
    problem = shop.fire.problem(booked.id)
    grilled, pot = problem["items"]
    assert (grilled["id"], grilled["weight_lb"], grilled["method"]) == ("C16", "2", "direct")
    assert (pot["id"], pot["weight_lb"], pot["method"]) == ("C16-stew", "3", "pot")
    assert (pot["name"], pot["body"]) == ("Pork shoulder steaks, stew", None)
    assert (grilled["serve"], pot["serve"]) == ("meal-1", "meal-2")
    assert grilled["body"]["thickness_mm"] == float(MM)
    wrong = replace(told, thickness={"C16-stew": Thickness(MM)})
    with pytest.raises(BadValue, match="has no shape"):
        shop.fire.change(booked.id, wrong, by="dot", key="g")


def test_a_change_the_customer_agreed_to_is_known_to_the_sheet():
    """Coals that last longer, an oven, another hour: the accepted nearest yes counts."""
    patches = (
        '{"fire": {"minutes": 90}}',
        '{"fire": {"oven": true}, "use_at": "2026-06-14T13:00"}',
    )
    form = [("fire", "kettle"), ("coals", "60"), ("oven", "no"), *(("patch", p) for p in patches)]
    facts = from_ask({"query": urlencode(form), "use_at": "2026-06-13T19:00"})
    assert (facts.coals_min, facts.oven, facts.serve) == (90, True, (at(13, day=14),))


@pytest.mark.parametrize(
    "patch",
    [
        "7",
        "[",
        '{"fire": 3}',
        '{"fire": {"minutes": "x"}}',
        '{"fire": {"minutes": 99999}}',
        "[" * 9999,
    ],
)
def test_an_agreed_change_that_cannot_be_read_changes_nothing(patch):
    """What is no patch of a fire leaves the facts as the form had them."""
    asked = {"query": urlencode({"fire": "kettle", "coals": 60, "patch": patch})}
    assert from_ask(asked) == from_ask({"query": "fire=kettle&coals=60"})


def test_a_ride_nobody_told_is_half_an_hour_and_said(shop):
    """Common practice, no published source: planned with, and asked to be put right."""
    booked = shop.book(order(line("C17", "3"), heads=6), key="r").id
    sheet = shop.fire.sheet(booked)
    said = {"what": f"The ride home takes {RIDE_MIN} min at the most.", "ask": "Ride home"}
    assert said in sheet.plan["assumptions"]
    assert sheet.problem["ride_min"] == RIDE_MIN == 30
    shop.fire.change(booked, FireFacts(ride_min=5), by="dot", key="f")
    plan = shop.fire.sheet(booked).plan
    assert not any(one["ask"] == "Ride home" for one in plan["assumptions"])
    assert any(one["what"].startswith("Ride home, 5 min:") for one in plan["before"])
