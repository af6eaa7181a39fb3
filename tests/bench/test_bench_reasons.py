"""Why each break: covers, surplus, runner-up, its winning price, and the chance of a booking.

Common practice, no published source: the shops and their figures are invented, and each figure is
worked out by hand beside its test, or found again by planning anew.
"""

from __future__ import annotations

import copy
import math
from collections import defaultdict
from fractions import Fraction
from functools import cache

import jsonschema
import pytest

from bench.benched import week
from collop.bench import bench
from collop.bench.bench_plan_schema import PLAN

SEEDS = range(4000, 4035)
CENT = Fraction(1, 100)


def cut(id_, name, price, **more):
    """Return a cut that sells four pounds on each of two days at the board price alone."""
    return {"id": id_, "name": name, "species": "lamb", "price": price, "keeps_days": 4,
            "usual": ["4", "4"], "elasticity": 1.5, "steps": ["1"], "salvage": "0", "ground": None,
            "left": None, "stock": [], **more}  # fmt: skip


def tiny():
    """Return a shop of one lamb of 20 lb: half of it roast and half chops, or all of it mince.

    Roast sells 8 lb at 10.00 and mince 8 lb at 6.00 in the two days; chops sell 2 lb at 12.00 and
    are worth 3.00 when left.  The lamb costs nothing to keep, minutes cost nothing.
    """
    return {
        "schema": "collop.bench/1", "name": "tiny", "currency": "USD", "unit": "lb",
        "days": [{"day": "2026-06-12", "open": True}, {"day": "2026-06-13", "open": True}],
        "hands": [{"name": "Ana", "minutes": ["60", "60"], "per_hour": "0"}],
        "kinds": [{"id": "lamb", "name": "Lamb", "species": "lamb", "holds_days": 0, "styles": [
            {"id": "joints", "name": "Joints", "minutes": "30", "outputs": [
                {"cut": "A", "share": "0.5", "sd": 0.02}, {"cut": "B", "share": "0.5"}]},
            {"id": "mince", "name": "All to mince", "minutes": "10", "outputs": [
                {"cut": "C", "share": "1"}]}]}],
        "rail": [{"tag": "L-1", "kind": "lamb", "weight": "20.0", "worth_left": "0"}],
        "cuts": [cut("A", "Lamb roast", "10.00"),
                 cut("B", "Lamb chops", "12.00", usual=["1", "1"],
                     left={"worth": "3.00", "takes": None}),
                 cut("C", "Lamb mince", "6.00")],
        "bins": [], "makes": [], "bookings": [], "locks": [], "gap": 0, "reasons": True,
    }  # fmt: skip


def one_break(problem):
    """Return the only break of a plan."""
    plan = bench(problem)
    jsonschema.validate(plan, PLAN)
    (found,) = plan["breaks"]
    return plan, found


def test_a_tiny_shop_is_told_as_worked_out_by_hand():
    """Roast 8 x 10 + chops 2 x 12 + 8 x 3 left = 128; mince brings 8 x 6 = 48, so 80 less."""
    plan, found = one_break(tiny())
    assert plan["contribution"] == "128.00"
    assert [(one["cut"], one["weight"], one["booking"]) for one in found["covers"]] == [
        ("A", "8", None), ("B", "2", None)]  # fmt: skip
    rest = {(one["cut"], one["way"]): one for one in found["surplus"]}
    assert {key: one["weight"] for key, one in rest.items()} == {
        ("A", "left"): "2", ("B", "left"): "8"}  # fmt: skip
    assert rest["B", "left"]["say"] == "8 lb Lamb chops left at the end, worth 24.00."
    assert found["runner_up"]["loses"] == "80.00"
    assert found["say"] == (
        "Break L-1 on Fri: covers Lamb roast and Lamb chops until Sat; 8 lb of Lamb chops is left."
    )


def test_the_winning_price_of_the_tiny_shop_is_128_over_8():
    """Mince wins at 128 / 8 = 16.00 a pound, from 6.00: too far over the board to be said."""
    _, found = one_break(tiny())
    assert found["runner_up"] == {
        "style": "mince", "style_name": "All to mince", "day": 0, "loses": "80.00",
        "wins_if": {"cut": "C", "name": "Lamb mince", "price": "16.00"},
        "say": "All to mince would bring 80.00 less.",
    }  # fmt: skip


def test_no_price_is_told_where_five_times_the_board_does_not_win():
    """At 2.00 a pound mince would have to be eight times as dear."""
    problem = tiny()
    problem["cuts"][2]["price"] = "2.00"
    _, found = one_break(problem)
    assert found["runner_up"]["wins_if"] is None
    assert found["runner_up"]["say"] == "All to mince would bring 112.00 less."


@pytest.mark.parametrize("off", [-1, 1])
def test_planned_anew_a_cent_beside_the_winning_price_the_choice_turns(off):
    """With several steps of price, a cent under the told price leaves the plan, a cent over not."""
    problem = tiny()
    for one in problem["cuts"]:
        one["steps"], one["usual"] = ["1", "0.9", "0.8", "0.7"], ["2", "3"]
    problem["cuts"][2]["price"] = "7.35"
    _, found = one_break(problem)
    price = Fraction(found["runner_up"]["wins_if"]["price"]) + off * CENT
    problem["cuts"][2]["price"] = f"{float(price):.2f}"
    _, anew = one_break(problem)
    assert anew["style"] == ("mince" if off > 0 else "joints")


def test_a_booking_in_the_way_is_named():
    """Where mince would leave a booked roast short, that is what is told, and no price wins."""
    problem = tiny()
    problem["bookings"] = [{"id": "H9", "name": "Supper", "due": 1,
                            "lines": [{"cut": "A", "weight": "6.0"}]}]  # fmt: skip
    _, found = one_break(problem)
    assert found["covers"][0] == {
        "cut": "A", "name": "Lamb roast", "booking": "H9", "through": None, "weight": "6",
        "first_day": 1, "last_day": 1,
    }  # fmt: skip
    assert found["runner_up"]["say"] == "All to mince would leave H9 short."
    assert found["runner_up"]["wins_if"] is None


def test_a_case_that_would_overflow_is_named():
    """A case for 15.5 lb: 20 lb of mince leave 16 at night, joints leave 20 - 4 - 1 = 15."""
    problem = tiny() | {"case_room": "15.5"}
    _, found = one_break(problem)
    assert found["runner_up"]["say"].startswith("All to mince would overfill the case")


def test_of_one_style_the_runner_up_is_to_leave_it_hanging():
    """It stands for 100.00 if it hangs, so leaving it loses 28.00 of 128.00."""
    problem = tiny()
    del problem["kinds"][0]["styles"][1]
    problem["rail"][0]["worth_left"] = "100.00"
    _, found = one_break(problem)
    assert found["runner_up"]["style"] is None
    assert found["runner_up"]["say"] == "Leaving it hanging would bring 28.00 less."


def test_what_is_locked_has_no_runner_up():
    """A style that was decided has no other."""
    _, found = one_break(tiny() | {"locks": [{"tag": "L-1", "style": "joints"}]})
    assert found["runner_up"] is None


def test_a_kept_piece_says_what_its_cuts_would_bring():
    """It stands for 150.00, more than the 128.00 that its cuts would bring."""
    problem = tiny()
    problem["rail"][0]["worth_left"] = "150.00"
    (kept,) = bench(problem)["kept"]
    assert kept["say"] == (
        "L-1 hangs on: it stands for 150.00 so, and its cuts would bring 128.00 beyond what hangs "
        "(Joints on Fri)."
    )
    (locked,) = bench(problem | {"locks": [{"tag": "L-1"}]})["kept"]
    assert locked["say"] == "L-1 hangs on, as was decided."


def with_trim():
    """Return the tiny shop where joints give 5 lb of trim, made into links with a fifth added.

    8 lb of trim (3 are in the bin) become 8 / (1 - 0.2) = 10 lb of links: 5 are booked.
    """
    problem = tiny()
    problem["kinds"][0]["styles"][1:] = []
    problem["kinds"][0]["styles"][0]["outputs"] = [
        {"cut": "A", "share": "0.75"}, {"bin": "trim", "share": "0.25", "sd": 0.02}]  # fmt: skip
    problem["bins"] = [{"id": "trim", "name": "Trim", "species": "lamb", "fat": "0.2",
                        "keeps_days": 2, "worth": "0.10",
                        "stock": [{"weight": "3", "days_left": 1}]}]  # fmt: skip
    problem["makes"] = [{"cut": "C", "name": "Links", "bins": ["trim"], "added": "0.2"}]
    problem["bookings"] = [{"id": "H2", "name": "Grill", "due": 0,
                            "lines": [{"cut": "C", "weight": "5"}]}]  # fmt: skip
    problem["cuts"][2] |= {"usual": ["2.5", "2.5"], "price": "8.00"}
    return problem


def test_what_goes_through_trim_is_shared_by_weight():
    """Five eighths of the links are of the lamb: 3.125 of 5 lb booked, 3.125 of 5 lb sold."""
    plan, found = one_break(with_trim())
    assert sum(Fraction(one["weight"]) for one in plan["makes"]) == 10
    through = [one for one in found["covers"] if one["through"] == "trim"]
    told = sum(Fraction(one["weight"]) for one in through)
    assert abs(told - Fraction("6.25")) < Fraction(3, 1000)  # each batch ends at a thousandth
    assert through[0]["booking"] == "H2"
    assert "Lamb mince through trim for H2" in found["say"]


def test_the_chance_is_that_of_the_normal_distribution():
    """10 lb of roast, give or take 0.4: 9.5 lb are 1.25 deviations under it, 0.894 of all cases."""
    problem = tiny()
    problem["bookings"] = [
        {"id": "H1", "name": "", "due": 0, "lines": [{"cut": "A", "weight": "4.5"}]},
        {"id": "H2", "name": "", "due": 1, "lines": [{"cut": "A", "weight": "5.0"},
                                                     {"cut": "B", "weight": "1"}]},
    ]  # fmt: skip
    plan, _ = one_break(problem)
    told = [line["chance"] for one in plan["bookings"] for line in one["lines"]]
    table = 0.5 * (1 + math.erf(1.25 / math.sqrt(2)))  # 0.8944 in any table of the distribution
    assert told == [1.0, math.floor(100 * table) / 100, None]
    assert told[1] == 0.89


def test_the_chance_of_links_is_that_of_their_trim():
    """All 10 lb of links booked: there is as much a chance of more trim as of less, so a half."""
    problem = with_trim()
    problem["bookings"][0]["lines"][0]["weight"] = "10"
    plan, _ = one_break(problem)
    assert plan["bookings"][0]["lines"][0]["chance"] == 0.5


@cache
def weeks_with_plans(large=None):
    """Return small invented weeks and their plans, made once."""
    asked = [week(seed, large=large) | {"reasons": True} for seed in SEEDS]
    return [(problem, bench(problem)) for problem in asked]


def test_covers_and_surplus_come_to_all_that_a_break_gives():
    """Of each cut that no trim is made into, covers and surplus sum to what comes off, exactly."""
    for problem, plan in weeks_with_plans():
        jsonschema.validate(plan, PLAN)
        made = {one["cut"] for one in problem["makes"]}
        for found in plan["breaks"]:
            gives, goes = defaultdict(Fraction), defaultdict(Fraction)
            for one in found["outputs"]:
                if one["to"] == "cut":
                    gives[one["id"]] += Fraction(one["weight"]) - Fraction(one["claimed"])
            for one in found["covers"] + found["surplus"]:
                if one["through"] is None and one["cut"] not in {b["id"] for b in plan["bins"]}:
                    goes[one["cut"]] += Fraction(one["weight"])
                else:
                    assert one["through"] is None or one["cut"] in made
            assert {k: w for k, w in gives.items() if w} == goes, problem["name"]


def test_the_breaks_together_cover_no_more_than_was_booked_and_sold():
    """Over all breaks each cut's covers and surplus are its uses, less what was in the case."""
    for problem, plan in weeks_with_plans():
        opening = {one["id"]: Fraction(one["opening"]) for one in plan["cuts"]}
        trim = any(Fraction(one["opening"]) for one in plan["bins"]) or plan["grinds"]
        for one in plan["cuts"]:
            uses = sum(Fraction(one[key]) for key in ("booked", "sold", "ground", "spoilt", "left"))
            told = sum(
                (Fraction(row["weight"]) for found in plan["breaks"]
                 for row in found["covers"] + found["surplus"] if row["cut"] == one["id"]),
                Fraction(0),
            )  # fmt: skip
            assert told <= uses - opening[one["id"]]
            if not trim:  # then all trim is of a break
                assert told == uses - opening[one["id"]], problem["name"]


def test_a_lock_on_the_runner_up_loses_no_more_than_was_told():
    """Planned anew with the runner-up locked in, where others may move, no more is lost."""
    seen = 0
    for problem, plan in weeks_with_plans(large=False):
        if problem["locks"] or plan["answer"] != "all":
            continue
        for found in plan["breaks"]:
            other = found["runner_up"]
            if other is None or "bring" not in other["say"]:
                continue
            lock = {"tag": found["tag"], "style": other["style"], "day": other["day"]}
            anew = bench(problem | {"locks": [lock], "reasons": False})
            lost = Fraction(plan["contribution"]) - Fraction(anew["contribution"])
            assert lost <= Fraction(other["loses"]) + CENT + Fraction(1, 20), problem["name"]
            assert lost >= -Fraction(1, 20)
            seen += 1
    assert seen >= 10


@cache
def single_pieces():
    """Return (problem, plan, break, runner-up) of weeks with one piece and a choice of styles."""
    found = []
    for seed in range(4100, 4160):
        problem = week(seed, large=False) | {"locks": [], "reasons": True}
        problem["rail"] = problem["rail"][:1]
        plan = bench(problem)
        other = plan["breaks"][0]["runner_up"] if plan["breaks"] else None
        if plan["answer"] == "all" and other and other["style"] and "bring" in other["say"]:
            found.append((problem, plan, plan["breaks"][0], other))
    return found


def brings_locked(problem, tag, choice):
    """Return what a plan brings with one style and day locked in."""
    lock = {"tag": tag, "style": choice["style"], "day": choice["day"]}
    return Fraction(bench(problem | {"locks": [lock], "reasons": False})["contribution"])


def test_of_one_piece_the_runner_up_loses_what_its_lock_loses():
    """Alone on the rail nothing else can move: the told loss is the loss, but for thousandths."""
    assert len(single_pieces()) >= 10
    for problem, plan, found, other in single_pieces():
        lost = Fraction(plan["contribution"]) - brings_locked(problem, found["tag"], other)
        assert abs(lost - Fraction(other["loses"])) < Fraction(1, 10), problem["name"]


def test_at_the_winning_price_both_choices_bring_the_same():
    """With either style locked in, the plans at the told price differ by a cent a pound at most."""
    seen = 0
    for problem, _, found, other in single_pieces():
        if other["wins_if"] is None:
            continue
        dearer = copy.deepcopy(problem)
        board = next(one for one in dearer["cuts"] if one["id"] == other["wins_if"]["cut"])
        assert Fraction(board["price"]) < Fraction(other["wins_if"]["price"])
        board["price"] = other["wins_if"]["price"]
        brings = [brings_locked(dearer, found["tag"], one) for one in (found, other)]
        most = CENT * Fraction(problem["rail"][0]["weight"]) + Fraction(1, 20)
        assert abs(brings[0] - brings[1]) <= most, problem["name"]
        seen += 1
    assert seen >= 4


def test_no_line_has_more_than_25_words_and_none_shouts():
    """Lines of breaks are short, and all names in them are of the problem."""
    for _, plan in weeks_with_plans():
        for found in plan["breaks"]:
            assert len(found["say"].split()) <= 25
            assert found["say"].startswith(f"Break {found['id']} on ")
            assert "!" not in found["say"]
    problem = tiny()
    for one in problem["cuts"]:
        one["name"] = " ".join(["Very long name of a cut"] * 4)
    assert len(one_break(problem)[1]["say"].split()) <= 25


def test_reasons_change_nothing_of_the_plan():
    """With and without reasons all figures are the same."""
    for problem, plan in weeks_with_plans():
        bare = bench(problem | {"reasons": False})
        told = copy.deepcopy(plan)
        for one, other in zip(told["breaks"], bare["breaks"], strict=True):
            one |= {key: other[key] for key in ("covers", "surplus", "runner_up", "say")}
        for key in ("kept", "bookings", "short", "case_room"):
            told[key] = bare[key]
        assert told == bare
