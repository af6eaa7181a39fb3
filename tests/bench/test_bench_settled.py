"""What is settled beforehand, who may cut what, and plans that no longer fit.

Invented figures; what follows from them is worked out in each test.
"""

import time
from typing import Any

import pytest

from bench.benched import week
from collop.bench import bench
from collop.bench.checker import check_plan
from collop.bench.reading import read_problem
from collop.errors import BadValue, Contradiction

DAYS = 2


def shop(**more: Any) -> dict[str, Any]:
    """Return a shop with one lamb of 50 lb: 40 lb of legs at 10.00, an hour to cut it."""
    problem = {
        "schema": "collop.bench/1", "unit": "lb", "gap": 0, "reasons": False,
        "days": [{"day": "2026-06-09", "open": True}, {"day": "2026-06-10", "open": True}],
        "hands": [{"name": "Ann", "minutes": ["480"] * DAYS, "per_hour": "20"}],
        "kinds": [{"id": "lamb", "name": "Lamb", "species": "lamb", "styles": [
            {"id": "legs", "name": "Legs", "minutes": "60",
             "outputs": [{"cut": "C1", "share": "0.8"}, {"worth": "0", "share": "0.2"}]}]}],
        "rail": [{"tag": "L-1", "kind": "lamb", "weight": "50", "worth_left": "100"}],
        "cuts": [{"id": "C1", "name": "Leg", "species": "lamb", "price": "10", "keeps_days": 4,
                  "usual": ["25"] * DAYS, "steps": ["1"], "stock": []}],
        "bins": [], "makes": [], "bookings": [],
    }  # fmt: skip
    return problem | more


def test_what_is_settled_without_minutes_is_refused_in_one_sentence():
    """A lock on a piece that nobody has time for says so, and what to do."""
    problem = shop(locks=[{"tag": "L-1", "style": "legs", "day": 0}])
    problem["hands"][0]["minutes"] = ["0"] * DAYS
    with pytest.raises(Contradiction, match="Take one of the settled pieces back"):
        bench(problem)


def test_what_is_settled_but_nobody_may_cut_is_refused():
    """A lock on a style that no hand cuts is refused too, also with a booking that is short."""
    problem = shop(locks=[{"tag": "L-1", "style": "legs", "day": 0}])
    problem["hands"][0]["cannot"] = ["legs"]
    lines = [{"cut": "C1", "weight": "99", "price": "9"}]
    problem["bookings"] = [{"id": "H1", "name": "Many", "due": 1, "lines": lines}]
    with pytest.raises(Contradiction, match="settled"):
        bench(problem)


def test_a_last_plan_that_no_longer_fits_is_a_start_all_the_same():
    """With the hand ill on the day of the last plan, the lamb is broken on the other day."""
    first = bench(shop())
    before = [{"tag": one["id"], "style": one["style"], "day": one["day"]}
              for one in first["breaks"]]  # fmt: skip
    assert [one["day"] for one in before] == [0]
    ill = shop(before=before)
    ill["hands"][0]["minutes"] = ["0", "480"]
    plan = bench(ill)
    assert [one["day"] for one in plan["breaks"]] == [1]
    assert plan["contribution"] == bench({**ill, "before": None})["contribution"]


def test_a_last_plan_changes_no_money_at_gap_zero():
    """Seeded weeks bring the same from the last plan as from nothing."""
    for seed in range(40, 60):
        problem = {**week(seed), "gap": 0}
        first = bench(problem)
        before = [{"tag": one["id"], "style": one["style"], "day": one["day"]}
                  for one in first["breaks"]]  # fmt: skip
        again = bench({**problem, "before": before})
        assert float(again["contribution"]) == pytest.approx(float(first["contribution"]), abs=0.06)


def test_labour_is_priced_though_another_hand_cannot_cut():
    """A second hand without minutes who cuts nothing leaves the worth of a piece as it is."""
    alone = bench(shop())
    helped = shop()
    helped["hands"].append(
        {"name": "Bob", "minutes": ["0"] * DAYS, "per_hour": "20", "cannot": ["legs"]}
    )
    plan = bench(helped)
    # 40 lb x 10.00 less an hour at 20.00
    assert [one["worth"] for one in alone["pieces"]] == ["380.00"]
    assert [one["worth"] for one in plan["pieces"]] == ["380.00"]
    assert float(plan["minute_worth"][0]) == pytest.approx(1 / 3, abs=1e-3)


def many_hands(count: int) -> dict[str, Any]:
    """Return a shop whose hands each cut all styles but one of their own."""
    problem = shop()
    outputs = problem["kinds"][0]["styles"][0]["outputs"]
    problem["kinds"][0]["styles"] = [
        {"id": f"s{at}", "name": f"Style {at}", "minutes": str(60 + at), "outputs": outputs}
        for at in range(count)
    ]
    problem["hands"] = [
        {"name": f"Hand {at}", "minutes": ["480"] * DAYS, "per_hour": "20", "cannot": [f"s{at}"]}
        for at in range(count)
    ]
    problem["rail"] = [
        {"tag": f"L-{at}", "kind": "lamb", "weight": "50", "worth_left": "1"} for at in range(count)
    ]
    return problem


def test_eight_hands_told_apart_are_shared_out_exactly():
    """Eight hands with eight different limits: the plan passes the checker."""
    problem = many_hands(8)
    assert not check_plan(read_problem(problem), bench(problem))


def test_more_hands_told_apart_are_refused_at_once():
    """Fourteen ways to tell hands apart are refused with their number, not worked at."""
    begun = time.process_time()
    with pytest.raises(BadValue, match="14 hands who differ in 14 ways"):
        bench(many_hands(14))
    assert time.process_time() - begun < 5


def test_a_program_too_large_is_refused_before_it_is_built():
    """Four hundred cuts over fourteen days are refused with what to do."""
    problem = shop()
    problem["days"] = [{"day": f"2026-06-{9 + day:02d}", "open": True} for day in range(14)]
    problem["hands"][0]["minutes"] = ["480"] * 14
    problem["cuts"] = [
        {**problem["cuts"][0], "id": f"C{at}", "usual": ["1"] * 14, "steps": None}
        for at in range(1, 401)
    ]
    with pytest.raises(BadValue, match="plan fewer days"):
        bench(problem)


def test_a_piece_settled_to_hang_on_is_named_if_it_would_save_a_booking():
    """The lamb is to hang on and 10 lb of leg are promised: breaking it is told first."""
    problem = shop(locks=[{"tag": "L-1", "style": None, "day": None}], reasons=True)
    lines = [{"cut": "C1", "weight": "10", "price": "9"}]
    problem["bookings"] = [{"id": "H1", "name": "Supper", "due": 1, "lines": lines}]
    (short,) = bench(problem)["short"]
    assert short["saves"][0]["change"] == "piece"
    assert short["saves"][0]["to"] == "L-1"
    assert not bench({**problem, "locks": []})["short"]
