"""The plan against every plan: small weeks where all that may be done is tried.

The reference is a second model (`bench.plain_bench`), solved by ``scipy.optimize.linprog`` for each
whole choice, and by PuLP with CBC where the choices are too many.  The weeks are invented.
"""

from __future__ import annotations

import copy
from fractions import Fraction

import pytest

from bench.benched import shuffled, week
from bench.plain_bench import plain
from collop.bench import bench
from collop.bench.checker import check_plan
from collop.bench.reading import read_problem

WEEKS, CHUNK = 220, 22


def short_money(problem, plan):
    """Return what is short at its price, from the plan alone."""
    board = {cut["id"]: cut["price"] for cut in problem["cuts"]}
    told = {row["id"]: row["lines"] for row in plan["bookings"]}
    return float(sum(
        Fraction(row["short"]) * Fraction(line["price"] or board[line["cut"]])
        for booking in problem["bookings"]
        for line, row in zip(booking["lines"], told[booking["id"]], strict=True)
    ))  # fmt: skip


def agrees(model, best, plan):
    """Say how a plan differs from the best one; nothing if it does not."""
    grain = model.grain()
    found = short_money(model.problem, plan), float(plan["contribution"])
    near = (
        abs(found[0] - best.short) <= 0.01 + grain,
        abs(found[1] - best.money) <= 0.01 + grain + 0.001 * abs(best.money),
    )
    if all(near):
        return ""
    return f"{model.problem['name']}: short, money {found}, not {best.short, best.money}"


@pytest.mark.parametrize("first", range(0, WEEKS, CHUNK))
def test_no_other_plan_is_better(first):
    """Of all that may be done, the plan is least short, then brings most; and breaks no rule."""
    wrong = []
    for seed in range(first, first + CHUNK):
        problem = week(seed)
        model = plain(problem)
        plan = bench(problem)
        if said := agrees(model, model.best(), plan):
            wrong.append(said)
        wrong += [f"{problem['name']}: {rule}" for rule in check_plan(read_problem(problem), plan)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("seed", range(1000, 1012))
def test_no_other_plan_is_better_where_there_are_many(seed):
    """With hundreds of choices the plan is as good as CBC's answer to the plain model."""
    problem = week(seed, most_choices=5000, least_choices=200)
    model = plain(problem)
    assert not agrees(model, model.best_by_cbc(), bench(problem))


@pytest.mark.parametrize("seed", range(2000, 2006))
def test_all_choices_and_cbc_agree(seed):
    """The two ways to solve the plain model agree with one another."""
    model = plain(week(seed))
    one, other = model.best(), model.best_by_cbc()
    assert one.short == pytest.approx(other.short, abs=1e-4)
    assert one.money == pytest.approx(other.money, abs=1e-3)


@pytest.mark.parametrize("seed", range(10))
def test_the_same_week_has_the_same_plan(seed):
    """Asked twice, or with its lists in another order, a week has the same plan to the letter."""
    problem = week(seed)
    plan = bench(problem)
    assert bench(copy.deepcopy(problem)) == plan
    assert bench(shuffled(problem, seed)) == plan


@pytest.mark.parametrize("seed", range(10))
def test_the_last_plan_is_only_a_start(seed):
    """With its own breaks as the plan before, a week is planned as well as without."""
    problem = week(seed)
    plan = bench(problem)
    before = [{key: one[key] for key in ("tag", "style", "day")}
              for one in plan["breaks"] if one["of"] is None]  # fmt: skip
    again = bench({**problem, "before": before})
    assert float(again["contribution"]) == pytest.approx(float(plan["contribution"]), abs=0.02)


def bare(days=3, **more):
    """Return a week with one pair of hands, nothing on the rail, and one cut."""
    dates = [f"2026-06-{9 + day:02d}" for day in range(days)]
    kind = {"id": "lamb", "name": "Lamb", "species": "lamb", "holds_days": 0, "styles": [
        {"id": "case", "name": "For the case", "minutes": "30",
         "outputs": [{"cut": "C1", "share": "1"}]}]}  # fmt: skip
    cut = {"id": "C1", "name": "Lamb leg", "species": "lamb", "price": "10.00", "keeps_days": 1,
           "usual": ["5"] * days, "elasticity": 1.5, "steps": ["1"], "salvage": "0",
           "ground": None, "left": None, "stock": []}  # fmt: skip
    return {
        "schema": "collop.bench/1", "name": "bare", "currency": "USD", "rounding": "half-up",
        "unit": "lb", "days": [{"day": day, "open": True} for day in dates],
        "hands": [{"name": "Ana", "minutes": ["100"] * days, "overtime": None, "per_hour": "0",
                   "overtime_per_hour": None, "cannot": []}],
        "case_room": None, "kinds": [kind], "rail": [], "cuts": [cut | more], "bins": [],
        "makes": [], "bookings": [], "locks": [], "before": None, "gap": 0, "reasons": False,
    }  # fmt: skip


def piece(tag="L-1", **more):
    """Return a lamb of ten pounds."""
    return {"tag": tag, "kind": "lamb", "weight": "10.0", "shrink_per_day": "0", "from": 0,
            "until": None, "must": False, "worth_left": "0", "claims": [], **more}  # fmt: skip


def test_nothing_is_sold_on_a_closed_day():
    """Six pounds that last two days, the first of them closed: five are sold on the second."""
    problem = bare(2, stock=[{"weight": "6", "days_left": 1, "lot": ""}])
    problem["days"][0]["open"] = False
    plan = bench(problem)
    assert plan["contribution"] == "50.00"
    assert not check_plan(read_problem(problem), plan)


def test_a_lot_that_outlasts_later_ones_is_not_used_twice():
    """Five pounds good for a week sell today; of five cut on day 2 only two would sell that day.

    So cutting them brings 20 and loses what they are worth hanging, 30.
    """
    problem = bare(
        3, keeps_days=0, usual=["5", "0", "2"], left={"worth": "8.00", "takes": None},
        stock=[{"weight": "5", "days_left": 9, "lot": ""}],
    )  # fmt: skip
    problem["rail"] = [piece(weight="5.0", worth_left="30", **{"from": 2})]
    plan = bench(problem)
    assert plan["contribution"] == "80.00"
    assert plan["breaks"] == []
    assert not check_plan(read_problem(problem), plan)


def test_what_is_settled_is_done_though_it_does_not_pay():
    """A piece locked to a style and a day is broken then, though hanging it is worth more."""
    problem = bare(2)
    problem["rail"] = [piece(worth_left="500")]
    problem["locks"] = [{"tag": "L-1", "style": "case", "day": 1}]
    plan = bench(problem)
    assert [(one["tag"], one["style"], one["day"]) for one in plan["breaks"]] == [
        ("L-1", "case", 1)
    ]
    assert plan["contribution"] == "50.00"


def test_short_meat_goes_to_the_dearer_promise():
    """With four pounds for two promises of four, the dearer one is met, in either order."""
    for dear, cheap in (("H1", "H2"), ("H2", "H1")):
        problem = bare(2, stock=[{"weight": "4", "days_left": 3, "lot": ""}])
        problem["bookings"] = [
            {"id": name, "name": name, "due": 0 if name == cheap else 1,
             "lines": [{"cut": "C1", "weight": "4.0", "price": price}]}
            for name, price in ((cheap, "9.00"), (dear, "12.00"))
        ]  # fmt: skip
        told = {one["id"]: one["met"] for one in bench(problem)["bookings"]}
        assert told == {dear: True, cheap: False}


def test_the_case_holds_no_more_than_its_room_at_night():
    """Ten pounds come off, five sell, three fit: the piece is left until it fits, or hangs."""
    problem = bare(2, usual=["5", "5"], keeps_days=4)
    problem["case_room"] = "3"
    problem["rail"] = [piece(worth_left="20")]
    plan = bench(problem)
    assert plan["breaks"] == []
    assert plan["contribution"] == "20.00"
    problem["case_room"] = "5"
    plan = bench(problem)
    assert [one["day"] for one in plan["breaks"]] == [0]
    assert plan["contribution"] == "100.00"


def test_nothing_sound_is_thrown_away_to_make_room():
    """Weight leaves the case unsold only when it is past its days."""
    problem = bare(3, usual=["5", "5", "5"], keeps_days=4,
                   stock=[{"weight": "1", "days_left": 0, "lot": ""}])  # fmt: skip
    problem["case_room"] = "3"
    problem["rail"] = [piece(worth_left="20", until=0)]
    plan = bench(problem)
    assert plan["breaks"] == []
    assert plan["contribution"] == "30.00"
    assert not check_plan(read_problem(problem), plan)
