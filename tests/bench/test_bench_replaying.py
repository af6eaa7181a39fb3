"""A past day replayed: the same plan is the day itself, another adds up line by line.

The worked Saturday is invented; its figures were worked out by hand in the comments.
"""

from __future__ import annotations

import copy
import json
import random
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.bench.replaying import replay
from collop.bench.replaying_schema import SCHEMAS
from collop.errors import CollopError

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "replay.json"
PARTS = ("sales", "bookings", "by_products", "left", "kept", "labour")


def _example():
    return json.loads(EXAMPLE.read_text(encoding="utf-8"))


def _d(value):
    return Decimal(value)


def _cut(plan, key):
    return next(one for one in plan["cuts"] if one["id"] == key)


def _past(seed):
    """Return invented days that were possible: each thing that goes was there."""
    rng = random.Random(seed)
    days = rng.randint(1, 6)
    ids = [f"C{at}" for at in range(rng.randint(1, 5))]
    styles = []
    for letter in "abc"[: rng.randint(1, 3)]:
        chosen = rng.sample(ids, rng.randint(1, len(ids)))
        styles.append({"id": letter, "minutes": str(rng.randint(5, 60)), "parts": [
            *({"cut": key, "share": f"{rng.uniform(0.05, 0.8) / len(chosen):.3f}"}
              for key in chosen),
            {"worth": "0.35", "name": "bone", "share": "0.1"}]})  # fmt: skip
    pieces, came = [], {key: [Decimal(0)] * days for key in ids}
    for at in range(rng.randint(1, 4)):
        start = Decimal(rng.randint(100, 600)) / 10
        weights = [f"{start - Decimal(day) / 10}" for day in range(days)]
        actual = None
        if rng.random() < 0.8:
            style, day = rng.choice(styles), rng.randrange(days)
            parts = []
            for one in style["parts"]:
                weight = (Decimal(one["share"]) * start * Decimal("0.9")).quantize(Decimal("0.01"))
                parts.append({**{k: v for k, v in one.items() if k != "share"},
                              "weight": f"{weight}"})  # fmt: skip
                if "cut" in one:
                    came[one["cut"]][day] += weight
            actual = {"style": style["id"], "day": day, "minutes": style["minutes"],
                      "parts": parts}  # fmt: skip
        pieces.append({"tag": f"P{at}", "weights": weights, "worth_left": f"{start * 4}",
                       "styles": styles, "actual": actual})  # fmt: skip
    return {
        "schema": "collop.replay/1", "days": [
            {"day": f"2026-06-{9 + day:02}", "open": rng.random() < 0.9} for day in range(days)],
        "rounding": rng.choice(["half-up", "half-even"]), "per_hour": "25.00",
        "cuts": [_past_cut(rng, key, came[key]) for key in ids], "pieces": pieces,
        "changes": [],
    }  # fmt: skip


def _past_cut(rng, key, came):
    stock = [{"weight": f"{rng.uniform(0.1, 6):.2f}", "days_left": rng.randint(0, 4)}
             for _ in range(rng.choice([0, 1, 2]))]  # fmt: skip
    there = sum(Decimal(one["weight"]) for one in stock)
    rows = []
    for arrived in came:
        row = {"other_in": f"{rng.choice([0, 0, 0.3]):.2f}"}
        there += arrived + Decimal(row["other_in"])
        for name in ("booked", "sold", "other_out", "binned"):
            part = (there * Decimal(str(rng.choice([0, 0, 0.2, 0.6])))).quantize(Decimal("0.001"))
            row[name] = f"{part}"
            there -= part
        row["money"] = f"{(Decimal(row['sold']) * Decimal('9.87')).quantize(Decimal('0.01'))}"
        row["booked_money"] = f"{(Decimal(row['booked']) * Decimal(9)).quantize(Decimal('0.01'))}"
        row["booked_short"] = f"{rng.choice([0, 0, 1.5])}"
        row["sold_out"] = rng.choice([None, None, 0.1, 0.5, 0.93])
        rows.append(row)
    return {"id": key, "price": "9.95", "keeps_days": rng.randint(0, 5), "left_worth": "3.33",
            "usual": rng.choice([None, "2.5"]), "stock": stock, "days": rows}  # fmt: skip


def _changed(problem, seed):
    rng = random.Random(seed)
    other = copy.deepcopy(problem)
    for piece in other["pieces"]:
        if rng.random() < 0.7:
            style = rng.choice([None, *(one["id"] for one in piece["styles"])])
            day = None if style is None else rng.randrange(len(other["days"]))
            other["changes"].append({"tag": piece["tag"], "style": style, "day": day})
    return other


def test_the_worked_saturday_comes_out_as_by_hand():
    """The diced shoulder: its weights, money and what is short are those of a pencil."""
    plan = replay(_example())
    # as it was: 71.68 + 33.60 + 158.10 sold, 72.80 booked, trim 6.1 x 2.20 + bone 4.2 x 0.10,
    # left 4.0 x 5.60 + 9.9 x 2.40, labour 35 min at 24.00
    assert plan["actual"]["money"] == {
        "sales": "263.38", "bookings": "72.80", "by_products": "13.84", "left": "46.16",
        "kept": "0.00", "labour": "-14.00",
    }  # fmt: skip
    # the 2.0 lb of old shoulder sell, the other 2.0 lb are short; 6.5 lb diced (0.13 x 50) are left
    shoulder, diced = _cut(plan, "C02"), _cut(plan, "C03")
    assert (shoulder["seen"]["sold"], shoulder["short"]["seen"]) == ("2", "2")
    assert (diced["seen"]["came"], diced["seen"]["left"]) == ("6.5", "6.5")
    # by its usual day 5.0 lb of diced would have sold, at 11.40
    assert diced["demand"] == {"seen": ["0"], "estimated": ["5"], "guessed": [True]}
    assert diced["estimated"]["sold"] == "5"
    # chops sold out at noon: twice as many were asked for, and no more are there in either style
    chops = _cut(plan, "C04")
    assert chops["demand"]["estimated"] == ["17"]
    assert chops["short"] == {"actual": "0", "seen": "0", "estimated": "8.5"}
    assert plan["more"] == {"seen": "-14.00", "estimated": "22.50"}
    assert [plan[name]["short_estimated"] for name in ("actual", "seen")] == ["13.5", "15.5"]


@settings(max_examples=40)
@given(st.integers(0, 10**6))
def test_the_same_plan_is_the_day_itself(seed):
    """With no change, or with each piece as it was, every figure is the actual one, exactly."""
    problem = _past(seed)
    as_it_was = [
        {"tag": one["tag"], "style": one["actual"] and one["actual"]["style"],
         "day": one["actual"] and one["actual"]["day"]} for one in problem["pieces"]
    ]  # fmt: skip
    for changes in ([], as_it_was):
        plan = replay({**problem, "changes": changes})
        assert plan["is_same"]
        assert plan["seen"] == plan["actual"]
        assert plan["estimated"]["money"] == plan["actual"]["money"]
        assert plan["lines"] == {"seen": [], "estimated": []}
        for cut, asked in zip(plan["cuts"], problem["cuts"], strict=True):
            assert cut["seen"] == cut["actual"] == cut["estimated"]
            for name in ("booked", "sold", "binned"):
                told = [_d(day[name]) for day in cut["seen"]["days"]]
                assert told == [_d(day[name]) for day in asked["days"]]


@settings(max_examples=50)
@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_another_plan_adds_up_and_closes(seed, other):
    """Lines add up to the difference, money to the contribution, weights to what came in."""
    problem = _changed(_past(seed), other)
    plan = replay(problem)
    for name in ("seen", "estimated"):
        figures = plan[name]
        assert sum(_d(figures["money"][part]) for part in PARTS) == _d(figures["contribution"])
        more = _d(figures["contribution"]) - _d(plan["actual"]["contribution"])
        assert _d(plan["more"][name]) == more
        assert sum(_d(one["more"]) for one in plan["lines"][name]) == more
        for line in plan["lines"][name]:
            assert sum(map(_d, line["money"].values())) == _d(line["more"])
        for cut, asked in zip(plan["cuts"], problem["cuts"], strict=True):
            walk = cut[name]
            opening = sum(_d(lot["weight"]) for lot in asked["stock"])
            went = sum(_d(walk[part]) for part in ("booked", "sold", "binned", "other", "left"))
            assert opening + _d(walk["came"]) == went
            for day, row in enumerate(walk["days"]):
                assert all(_d(row[part]) >= 0 for part in row)
                demand = cut["demand"][name][day]
                assert _d(row["sold"]) <= _d(demand)
                assert _d(row["booked"]) <= _d(asked["days"][day]["booked"]) + _d(
                    asked["days"][day]["booked_short"])  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_problem_and_plan_keep_their_schemas(seed):
    """What is read and what is written is as `collop schema` prints it."""
    problem = _changed(_past(seed), seed)
    jsonschema.validate(problem, SCHEMAS["replay"])
    jsonschema.validate(replay(problem), SCHEMAS["replay.plan"])


@settings(max_examples=30)
@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_demand_as_estimated_is_never_less_than_seen(seed, other):
    """What was sold is a floor: the estimate asks for no less."""
    plan = replay(_changed(_past(seed), other))
    for cut in plan["cuts"]:
        for seen, guess in zip(cut["demand"]["seen"], cut["demand"]["estimated"], strict=True):
            assert _d(guess) >= _d(seen)


def test_what_is_kept_back_for_a_later_booking_is_not_sold():
    """With less of a cut the glass goes short before tomorrow's booking does."""
    problem = {
        "schema": "collop.replay/1",
        "days": [{"day": "2026-06-12"}, {"day": "2026-06-13"}],
        "cuts": [{"id": "C", "price": "10", "keeps_days": 5, "days": [
            {"sold": "6", "money": "60"}, {"booked": "4", "booked_money": "40"}]}],
        "pieces": [{"tag": "P", "weights": ["20", "20"], "styles": [
            {"id": "less", "parts": [{"cut": "C", "share": "0.3"}]}],
            "actual": {"style": "more", "day": 0, "parts": [{"cut": "C", "weight": "10"}]}}],
        "changes": [{"tag": "P", "style": "less", "day": 0}],
    }  # fmt: skip
    cut = replay(problem)["cuts"][0]
    assert [day["sold"] for day in cut["seen"]["days"]] == ["2", "0"]
    assert cut["seen"]["booked"] == "4"


def test_a_piece_that_hangs_on_keeps_its_worth_and_costs_no_minutes():
    """Not broken: its cuts are missing, its worth stands, its labour is saved."""
    problem = _example()
    problem["changes"] = [{"tag": "L-207"}]
    plan = replay(problem)
    assert plan["seen"]["money"]["kept"] == "260.00"
    assert plan["seen"]["money"]["labour"] == "0.00"
    assert plan["pieces"][0]["now"] is None


def test_the_same_style_on_another_day_has_the_piece_s_own_shares():
    """What the scale said is carried over by the weight of that day, cut off at the thousandth."""
    problem = _example()
    problem["days"].append({"day": "2026-06-14"})
    for cut in problem["cuts"]:
        cut["days"].append({})
    problem["pieces"][0]["weights"].append("49.8")
    problem["changes"] = [{"tag": "L-207", "style": "bone in", "day": 1}]
    parts = replay(problem)["pieces"][0]["now"]["parts"]
    # 17.0 x 49.8 / 50.0, 12.9 x 49.8 / 50.0
    assert [part["weight"] for part in parts[:2]] == ["16.932", "12.848"]


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        (("days", 0, "day"), "2026-13-01", "write a date"),
        (("cuts", 0, "days", 0, "sold"), "NaN", "sold"),
        (("cuts", 0, "days", 0, "sold"), "1e-999999", "sold"),
        (("cuts", 0, "days", 0, "sold"), "500", "went on day 0"),
        (("cuts", 0, "days"), [], "one for each"),
        (("cuts", 0, "days", 0, "sold_out"), 7, "sold_out"),
        (("pieces", 0, "weights"), [None], "on which it was cut"),
        (("pieces", 0, "weights"), ["0"], "write null"),
        (("pieces", 0, "styles", 0, "parts", 0, "share"), "0.9", "at most 1"),
        (("pieces", 0, "styles", 0, "parts", 0, "cut"), "none such", "which is no cut"),
        (("changes", 0, "tag"), "X", "did not hang"),
        (("changes", 0, "style"), "none such", "no style"),
        (("changes", 0, "day"), 3, "day"),
        (("cuts",), [{}] * 10_000, "10000 lines"),
        (("what",), 1, "not a known key"),
        (("currency",), "money", "three capital letters"),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(path, value, words):
    """A bad value gives one sentence that names it, and no other kind of error."""
    problem = _example()
    there = problem
    for step in path[:-1]:
        there = there[step]
    there[path[-1]] = value
    with pytest.raises(CollopError) as caught:
        replay(problem)
    assert words in caught.value.message
    assert "\n" not in caught.value.message
