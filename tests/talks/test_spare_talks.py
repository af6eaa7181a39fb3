"""The spare conversations: vague counts, a budget only, children, one eater, nonsense, twice."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from datetime import datetime, timedelta

import pytest
from invariants import check_answer
from starlette.testclient import TestClient

from collop.errors import BadValue, Contradiction
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine
from collop.spread import answer
from collop.web.app import create_app


def test_s1_thirty_maybe_forty_five(shop):
    """A vague count is planned for one number, and the page says which and why."""
    page = TestClient(create_app(shop)).get("/ask?heads=30-45&money=400").text
    assert "30" in page
    assert "45" in page
    assert "a head" in page


def test_s2_surprise_me_with_a_budget_only(ask):
    """A budget and a head count alone give spreads of every aim, each within it."""
    problem = ask({"name": "all", "count": 12}, budget_total="90.00")
    plan = answer(problem)
    check_answer(problem, plan)
    assert len(plan["spreads"]) >= 3
    assert len({spread["aim"] for spread in plan["spreads"]}) == len(plan["spreads"])


def test_s3_well_done_eaters_get_the_published_minimum_and_no_less(ask):
    """Whatever doneness is wished, the minimum shown is the published one."""
    problem = ask({"name": "well done", "count": 10})
    plan = answer(problem)
    check_answer(problem, plan)
    minima = {line["cook_to"]["f"] for s in plan["spreads"] for line in s["lines"]}
    assert minima <= {145, 160, 165}


def test_s4_all_children(ask):
    """Ten children need half as much as ten adults."""
    children = ask({"name": "children", "count": 10, "kind": "child"})
    adults = ask({"name": "adults", "count": 10})
    small, large = answer(children), answer(adults)
    check_answer(children, small)
    assert small["need"]["boneless_oz"] * 2 == large["need"]["boneless_oz"]


def test_s5_a_day_on_which_the_shop_is_shut(shop):
    """A collection on a Monday is refused with the next open day, and nothing is written."""
    monday = datetime.fromisoformat("2026-06-15T10:00")
    line = shop.case()[1]
    wish = NewBooking(
        name="Monday guest",
        phone_end="1234",
        collect_at=monday,
        heads=4,
        ask={},
        lines=[NewLine(line.id, Weight.of("1", WeightUnit.LB), None, "plate", line.price)],
        note="",
        deposit=None,
        by="Dot",
    )
    with pytest.raises(BadValue, match="shut on Monday"):
        shop.book(wish, key="shut")
    days = shop.bookings(monday.date(), monday.date() + timedelta(days=1))
    assert days == ()


def test_s6_a_single_eater(ask):
    """One eater gets one or two things, with why so much is planned."""
    problem = ask({"name": "all", "count": 1})
    plan = answer(problem)
    check_answer(problem, plan)
    assert plan["answer"] == "yes"
    assert any("even out" in note for note in plan["assumptions"])


@pytest.mark.parametrize("count", [0, -4])
def test_s7_nobody_or_fewer(ask, count):
    """No eaters, or fewer, is one sentence about the count."""
    with pytest.raises(BadValue, match=r"eaters|from 0") as refused:
        answer(ask({"name": "all", "count": count}))
    assert refused.value.message.endswith(".")


def test_s7_no_money_at_all(ask):
    """A budget of nothing is no, with what it would take."""
    problem = ask({"name": "all", "count": 4}, budget_total="0.00")
    plan = answer(problem)
    check_answer(problem, plan)
    assert plan["answer"] == "no"
    assert "budget_total" in {yes["change"] for yes in plan["nearest_yes"]}


def test_s8_no_lamb_but_lamb_for_the_centre(ask):
    """Two wishes that cannot both hold are named in one sentence, both ways of saying it."""
    nobody = {"name": "all", "count": 12, "avoids": ["species:lamb"]}
    with pytest.raises(Contradiction, match="lamb"):
        answer(ask(nobody, rules={"slots": [{"slot": "centre", "species": "lamb"}]}))
    with pytest.raises(Contradiction, match="Lamb leg"):
        answer(ask(nobody, pinned=["C01"]))


def test_s9_same_ask_same_answer_twice_and_shuffled(ask):
    """The answer depends neither on the call nor on the order of the offers."""
    problem = ask({"name": "all", "count": 22}, budget_total="180.00")
    first = answer(problem)
    assert answer(problem) == first
    shuffled = dict(problem, offers=random.Random(4).sample(
problem["offers"],
                                                            len(problem["offers"])))  # fmt: skip
    assert answer(shuffled) == first


def test_s9_same_answer_in_another_process(ask):
    """Another process with another hash seed gives the same plan, byte for byte."""
    problem = ask({"name": "all", "count": 22}, budget_total="180.00")
    first = json.dumps(answer(problem), sort_keys=True)
    code = (
        "import json, sys; from collop.spread import answer;"
        "print(json.dumps(answer(json.load(sys.stdin)), sort_keys=True))"
    )
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", code], input=json.dumps(problem), text=True,
            capture_output=True, check=True, env={**os.environ, "PYTHONHASHSEED": seed},
        )  # fmt: skip
        assert done.stdout.strip() == first
