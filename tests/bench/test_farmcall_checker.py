"""The second look at a farm call: it passes sound plans and finds what was tampered with."""

from __future__ import annotations

import copy
import random
from fractions import Fraction

import pytest
from farm_calls import tiny

from collop.bench.farm_checker import check_farmcall
from collop.bench.farm_reading import read_farmcall
from collop.bench.farmcall import farmcall

PROBLEM = tiny(3)
READ = read_farmcall(PROBLEM)
PLAN = farmcall(PROBLEM)


def test_a_sound_plan_has_no_faults():
    """The plan as it came out has nothing wrong with it, and holds what the tampering touches."""
    assert check_farmcall(READ, PLAN) == []
    assert any(one["count"] for one in PLAN["orders"])
    assert any(Fraction(one["marked_down"]["weight"]) for one in PLAN["cuts"])
    assert Fraction(PLAN["makes"][0]["weight"])


def _more(text, by="1.5"):
    return str(float(text) + float(by))


def _bigger_order(plan):
    plan["orders"][0]["count"] += 1


def _cheaper(plan):
    plan["orders"][0]["cost"] = "0.01"


def _past_most(plan):
    plan["orders"][0]["count"] = 99


def _fits(plan):
    plan["room"]["used"] = _more(plan["room"]["used"])


def _wants(plan):
    plan["cuts"][0]["wanted"] = _more(plan["cuts"][0]["wanted"])


def _made(plan):
    plan["cuts"][1]["made"] = _more(plan["cuts"][1]["made"])


def _sold(plan):
    plan["cuts"][1]["sold"] = _more(plan["cuts"][1]["sold"])


def _board(plan):
    part = plan["cuts"][1]["at_board"]
    part["weight"] = _more(part["weight"])


def _board_money(plan):
    part = plan["cuts"][1]["at_board"]
    part["money"] = _more(part["money"])


def _short(plan):
    plan["cuts"][0]["short"] = "500"


def _surplus(plan):
    plan["cuts"][0]["surplus"] = "500"


def _over(plan):
    plan["cuts"][1]["surplus"] = _more(plan["cuts"][1]["surplus"], "0.1")


def _way(plan):
    way = plan["ends"][0]["ways"][0]
    way["weight"] = _more(way["weight"], "0.1")


def _end(plan):
    end = plan["ends"][0]
    end["weight"] = end["ways"][0]["weight"] = "99"
    end["ways"] = end["ways"][:1]


def _chance(plan):
    plan["cuts"][0]["chance_short"] = 1.5


def _gets(plan):
    plan["bookings"][0]["gets"] = _more(plan["bookings"][0]["asks"])


def _needed(plan):
    plan["standing"][0]["animals_needed"] += 1


def _asks(plan):
    plan["standing"][0]["asks"] = "1"


def _cut_more(plan):
    line = plan["cutting"][0]
    line["weight"] = _more(line["weight"], "60")


def _bin(plan):
    plan["bins"][0]["sold"] = _more(plan["bins"][0]["sold"])


def _make(plan):
    plan["makes"][0]["weight"] = _more(plan["makes"][0]["weight"])


def _expected(plan):
    plan["expected"] = _more(plan["expected"])


def _part(plan):
    plan["money"]["by_products"] = _more(plan["money"]["by_products"])


def _labour(plan):
    plan["money"]["labour"] = "0.00"
    plan["money"]["overtime"] = "0.00"


def _week(plan):
    plan["scenarios"][0]["contribution"] = _more(plan["scenarios"][0]["contribution"], "9")


def _low(plan):
    plan["spread"]["low"] = _more(plan["spread"]["high"], "9")


def _worth(plan):
    plan["worth"]["lamb"] = _more(plan["worth"]["lamb"])


def _bound(plan):
    plan["proof"]["bound"] = _more(plan["proof"]["bound"], "-5")


def _gap(plan):
    plan["proof"]["bound"] = _more(plan["proof"]["bound"], "5")


def _objective(plan):
    plan["proof"]["objective"] = plan["proof"]["bound"] = _more(plan["proof"]["bound"], "3")


TAMPER = [_bigger_order, _cheaper, _past_most, _fits, _wants, _made, _sold, _board, _board_money,
          _short, _surplus, _over, _way, _end, _chance, _gets, _needed, _asks, _cut_more, _bin,
          _make, _expected, _part, _labour, _week, _low, _worth, _bound, _gap,
          _objective]  # fmt: skip


@pytest.mark.parametrize("tamper", TAMPER, ids=lambda one: one.__name__.strip("_"))
def test_what_is_changed_is_found(tamper):
    """Each single change of a sound plan is told in a sentence."""
    plan = copy.deepcopy(PLAN)
    tamper(plan)
    faults = check_farmcall(READ, plan)
    assert faults
    assert all(one.endswith(".") for one in faults)


def _scaled(seed):
    """Return a drawn call of other scales: weights and money by powers of ten, steep answers."""
    rng = random.Random(seed)
    problem = tiny(seed)
    by, money = 10 ** rng.uniform(-2, 2), 10 ** rng.uniform(-2, 2)
    for line in (*problem["animals"], *problem["hanging"],
                 *problem["standing"], *problem["bookings"]):  # fmt: skip
        line["weight"] = f"{max(0.001, float(line['weight']) * by):.3f}"
    for animal in problem["animals"]:
        animal["price_per_unit"] = f"{float(animal['price_per_unit']) * money:.4f}"
    for cut in problem["cuts"]:
        cut["price"] = f"{float(cut['price']) * money:.4f}"
        cut["week"] = f"{float(cut['week']) * by * 10 ** rng.uniform(-1.5, 1.5):.3f}"
        cut.update(elasticity=round(rng.uniform(0.1, 9), 2), cv=round(rng.uniform(0, 1.5), 2))
    problem["labour"] = rng.choice([None, problem["labour"], {"minutes": "0"}])
    problem["room"] = None
    problem["scenarios"] = {"count": rng.randint(1, 12), "seed": seed, "common_cv": 0.4}
    return problem


@pytest.mark.parametrize("seed", range(100, 140))
def test_calls_of_any_scale_close(seed):
    """From ounces to tons and cents to thousands: proven, and nothing wrong with the figures."""
    problem = _scaled(seed)
    plan = farmcall(problem)
    assert check_farmcall(read_farmcall(problem), plan) == []
    assert plan["proof"]["status"] == "optimal"
