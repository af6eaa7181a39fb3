"""The farm call: what moves the order, what is told of it, and that it comes out the same again."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from farm_calls import one_cut, tiny
from hypothesis import given
from hypothesis import strategies as st

from collop.bench.farm_checker import check_farmcall
from collop.bench.farm_ends import parted
from collop.bench.farm_reading import read_farmcall
from collop.bench.farm_saying import counted, date_words, plural
from collop.bench.farmcall import farmcall
from collop.bench.farmcall_schema import SCHEMAS

EXAMPLE = Path(__file__).parents[2] / "docs/examples/farmcall.json"


def solved(problem):
    """Return the plan, valid by its schema and sound by the checker."""
    jsonschema.validate(problem, SCHEMAS["farmcall"])
    plan = farmcall(problem)
    jsonschema.validate(plan, SCHEMAS["farmcall.plan"])
    assert check_farmcall(read_farmcall(problem), plan) == []
    return plan


def counts(plan):
    return [one["count"] for one in plan["orders"]]


def changed(part, **more):
    """Return the one-cut call with its only animal or cut changed."""
    problem = one_cut()
    problem[part] = [{**problem[part][0], **more}]
    return problem


def test_a_known_week_is_ordered_for_exactly():
    """40 lb sell at 10, lambs of 10 lb cost 50 each: four, for 400 less 200; a fifth sells not."""
    plan = solved(one_cut())
    assert counts(plan) == [4]
    assert plan["expected"] == "200.00"
    (order,) = plan["orders"]
    assert order["one_more"]["money"] == "-50.00"
    assert order["one_less"]["money"] == "-50.00"
    assert plan["worth"] == {"lamb": "0.00"}
    assert plan["say"][0] == "Four lambs for the week of 15 June 2026."


def test_marking_down_makes_room_for_one_more():
    """At 9 the leg sells 40 x 0.9^-3 = 54.87 lb: 4 lambs at 10 earn 200, 5 at 9 or so earn less."""
    plain = solved(changed("cuts", steps=["1", "0.9"], elasticity=3.0))
    assert counts(plain) == [5]
    sold = plain["cuts"][0]
    # the share of the week at 9 that sells 50 lb in all: x = 10 / 14.87, the rest at 10
    share = 10 / (40 * 0.9**-3 - 40)
    assert Decimal(sold["at_board"]["weight"]) == pytest.approx(
        Decimal(str(40 * (1 - share))), abs=Decimal("0.001")
    )
    money = 40 * (1 - share) * 10 + 40 * 0.9**-3 * share * 9
    gained = money - 40 * 10
    assert float(plain["expected"]) == pytest.approx(money - 250, abs=0.006)
    assert plain["ends"] == [
        {"cut": "leg", "name": "Leg", "weight": "10",
         "ways": [{"way": "marked_down", "weight": "10", "money": f"{gained:.2f}"}],
         "say": "Leg: 10 lb more than sells at the board price in a usual week. Plan: 10 lb more "
                f"sold by a lower price, {gained:.2f} more than at the board price."}
    ]  # fmt: skip
    # of what sells at 9, the share 0.9^3 would have sold at 10
    assert Decimal(sold["marked_down"]["weight"]) * Decimal(str(1 - 0.9**3)) == pytest.approx(
        Decimal(10), abs=Decimal("0.001")
    )


@pytest.mark.parametrize("seed", range(12))
def test_what_is_over_is_where_it_goes_and_every_row_closes(seed):
    """Ways sum to what is over as they are told; wanted less short, with what is over, is there."""
    plan = solved(tiny(seed))
    for end in plan["ends"]:
        assert sum(Decimal(one["weight"]) for one in end["ways"]) == Decimal(end["weight"])
        over, ways = (re.findall(r"([0-9.]+) lb", part) for part in end["say"].split("Plan: "))
        assert sum(map(Decimal, ways)) == Decimal(over[0])
    for cut in plan["cuts"]:
        on_hand, made, wanted, short, surplus = (
            Decimal(cut[key]) for key in ("on_hand", "made", "wanted", "short", "surplus")
        )
        assert abs(on_hand + made - (wanted - short + surplus)) <= Decimal("0.002")


@given(st.lists(st.fractions(0, 500), min_size=1, max_size=6), st.integers(0, 3))
def test_parts_that_are_rounded_add_up_to_their_rounded_sum(parts, places):
    """No part is further from itself than one step, and the sum is that of the whole, half up."""
    found = parted(parts, places)
    step = Fraction(1, 10**places)
    whole = Fraction((2 * sum(parts) / step + 1) // 2) * step
    assert sum(map(Fraction, found)) == whole
    assert all(abs(Fraction(one) - part) < step or one == part
               for one, part in zip(found, parts, strict=True))  # fmt: skip


def test_nobody_reads_keys_or_terms_of_the_reckoning():
    """No key, no backtick, no seed or cv in what people read of the worked call."""
    plan = solved(json.loads(EXAMPLE.read_text(encoding="utf-8")))
    steps = [one[key] for one in plan["orders"] for key in ("one_more", "one_less") if one[key]]
    read = [*plan["say"], *plan["assumptions"], *(one["say"] for one in plan["ends"]),
            *(one["say"] for one in steps), *(one["say"] for one in plan["standing"])]  # fmt: skip
    for words in ("`", "seed", " cv", "mean week", "_"):
        assert not [one for one in read if words in one], words


def test_a_step_that_serves_a_promise_says_what_is_short():
    """Seven lambs give 70 of 75 lb; a lamb less leaves more short of what is promised."""
    problem = one_cut(standing=[{"name": "Inn", "cut": "leg", "weight": "75"}])
    problem["animals"][0]["most"] = 7
    (order,) = solved(problem)["orders"]
    assert order["one_less"]["say"].endswith("and 10 lb more is short of what is promised.")


def test_season_and_holiday_multiply_what_the_week_sells():
    """Beef figures touch no lamb; all and the cut do, one times the other: 40 x 1.5 x 1.1 = 66."""
    problem = one_cut(
        season=[{"what": "all", "index": 1.5, "why": "feast", "source": ""},
                {"what": "lamb", "index": 1.1, "source": "Farmers' leaflet"}],
        holidays=[{"what": "leg", "index": 1.0, "source": "E05"}],
    )  # fmt: skip
    plan = solved(problem)
    assert plan["cuts"][0]["wanted"] == "66"
    # six leave 6 lb unsold, and 6 lb bring 60 for a lamb of 50
    assert counts(plan) == [7]
    notes = " ".join(plan["assumptions"])
    assert "Season (feast): all cuts x 1.5; no source given" in notes
    assert "source as given: Farmers' leaflet, not among our tables" in notes
    assert "E05 Summer Grilling Season's Retail Beef Demand has no such figure" in notes


def test_a_published_season_figure_is_named_with_its_status():
    """A figure of E08 (seen) is told with its title, item and window."""
    problem = one_cut(season=[{"what": "leg", "index": 1.2, "why": "July 4", "source": "E08"}])
    (note,) = [one for one in solved(problem)["assumptions"] if one.startswith("Season")]
    assert note.endswith(
        "E08 Beef's Sizzling Performance for Summer Grilling Season, all beef, "
        "week of July 4 vs summer norm: seen."
    )


def test_a_restaurant_gets_what_the_animals_give_and_no_herd_is_bought_for_it():
    """6 lb of a cut of which a side has 0.95 is seven sides; two give 1.9, and that is told."""
    problem = one_cut(
        animals=[{"id": "side", "name": "Side", "kind": "side", "weight": "95",
                  "price_per_unit": "4", "least": 0, "most": 20}],
        kinds=[{"id": "side", "styles": [{"id": "all", "minutes": "0", "outputs": [
            {"cut": "leg", "share": "0.99"}, {"cut": "hanger", "share": "0.01"}]}]}],
        cuts=[{"id": "leg", "price": "9", "week": "190", "steps": ["1"]},
              {"id": "hanger", "name": "Hanger and skirt", "price": "17.10", "week": "1",
               "steps": ["1"]}],
        standing=[{"name": "Restaurant", "cut": "hanger", "weight": "6.0", "price": "17.10"}],
    )  # fmt: skip
    plan = solved(problem)
    assert counts(plan) == [2]
    (line,) = plan["standing"]
    assert (line["asks"], line["gets"], line["animals_needed"]) == ("6", "1.9", 7)
    assert line["say"] == (
        "Hanger and skirt: 6 lb is seven sides; two give 1.9 lb. 4.1 lb short in a usual week."
    )
    # nothing of it goes over the counter while the promise is short
    hanger = plan["cuts"][1]
    assert hanger["at_board"]["weight"] == hanger["marked_down"]["weight"] == "0"
    assert any("Restaurant will be short of 4.1 lb" in one for one in plan["say"])
    assert plan["orders"][0]["one_more"]["short"] == "-0.95"


def test_the_rail_rules_the_order_when_it_is_full():
    """With room for 25 lb two lambs hang; one more would pay, and the plan says what stops it."""
    plan = solved(one_cut(room={"rail": "60", "hanging": "35"}))
    assert counts(plan) == [2]
    assert plan["room"] == {"most": "60", "used": "55", "binds": True}
    assert "the rail has no room for it" in plan["orders"][0]["one_more"]["say"]
    assert plan["worth"]["lamb"] == "100.00"
    free = solved(one_cut(room={"rail": "600", "hanging": "35"}))
    assert free["room"]["binds"] is False


def test_least_and_most_hold():
    """An order is never under its least nor over its most, though it would earn more."""
    assert counts(solved(changed("animals", least=7, most=9))) == [7]
    plan = solved(changed("animals", most=2))
    assert counts(plan) == [2]
    assert "2 is the most that may be ordered" in plan["orders"][0]["one_more"]["say"]
    assert "No animals" in solved(changed("animals", price_per_unit="11"))["say"][0]
    assert solved(changed("animals", price_per_unit="11"))["orders"][0]["one_less"] is None


def test_what_is_there_already_is_not_ordered_again():
    """20 lb on hand leave 20 to order; a lamb that hangs is broken first if it costs less left."""
    assert counts(solved(changed("cuts", on_hand="20"))) == [2]
    hanging = one_cut(hanging=[{"kind": "whole", "weight": "10", "worth_left": "50"}])
    assert counts(solved(hanging)) in ([3], [4])
    cheap = solved(one_cut(hanging=[{"kind": "whole", "weight": "10", "worth_left": "1"}]))
    assert counts(cheap) == [3]
    dear = solved(one_cut(hanging=[{"kind": "whole", "weight": "10", "worth_left": "101"}]))
    assert counts(dear) == [4]
    assert dear["money"]["kept"] == "101.00"


def test_hours_hold_the_order_back():
    """Thirty minutes a lamb and sixty there are: two, or three when an hour more may be worked."""
    problem = one_cut(labour={"minutes": "60", "per_hour": "20"})
    problem["kinds"][0]["styles"][0]["minutes"] = "30"
    plan = solved(problem)
    assert counts(plan) == [2]
    assert plan["money"]["labour"] == "-20.00"
    problem["labour"].update(overtime_minutes="30", overtime_per_hour="40")
    plan = solved(problem)
    assert counts(plan) == [3]
    assert (plan["money"]["labour"], plan["money"]["overtime"]) == ("-20.00", "-20.00")


def test_mince_keeps_to_its_fat():
    """Trim of 30 % and of 10 % fat under a limit of 20 %: as much of the one as of the other."""
    problem = one_cut(
        bins=[{"id": "fat", "fat": "0.3", "on_hand": "5"},
              {"id": "lean", "fat": "0.1", "on_hand": "3"}],
        makes=[{"cut": "leg", "bins": ["fat", "lean"], "fat_max": "0.2"}],
    )  # fmt: skip
    plan = solved(changed("animals", price_per_unit="50") | {
        "bins": problem["bins"], "makes": problem["makes"]})  # fmt: skip
    (make,) = plan["makes"]
    assert make["weight"] == "6"
    assert [one["weight"] for one in make["from"]] == ["3", "3"]


def test_more_scatter_is_told_in_spread_and_chance():
    """The same usual week with more scatter: the low tenth falls, and running short is likelier."""
    calm, wild = (
        solved(changed("cuts", cv=cv) | {"scenarios": {"count": 60, "seed": 3, "common_cv": 0.0}})
        for cv in (0.05, 0.6)
    )
    assert calm["cuts"][0]["wanted"] == wild["cuts"][0]["wanted"] == "40"
    low, high = (Decimal(plan["spread"]["low"]) for plan in (wild, calm))
    assert low < high
    assert Decimal(wild["expected"]) < Decimal(calm["expected"])
    assert len(wild["scenarios"]) == 60


def test_one_more_and_one_less_are_those_of_orders_held_there():
    """Held at one more or one less by its own limits, the call brings what the line says."""
    problem = tiny(11)
    plan = solved(problem)
    here = Decimal(plan["expected"])
    for at, order in enumerate(plan["orders"]):
        for by, step in ((1, order["one_more"]), (-1, order["one_less"])):
            if step is None:
                continue
            held = json.loads(json.dumps(problem)) | {"room": None}
            for animal, other in zip(held["animals"], plan["orders"], strict=True):
                animal["least"] = animal["most"] = other["count"]
            held["animals"][at]["least"] = held["animals"][at]["most"] = order["count"] + by
            there = Decimal(solved(held)["expected"])
            assert abs(there - here - Decimal(step["money"])) <= Decimal("0.02")


def test_the_usual_order_is_compared():
    """The sentences say how many more or fewer than usual."""
    plan = solved(changed("animals", usual=5))
    assert "One lamb fewer than usual." in plan["say"]
    assert "One lamb more than usual." in solved(changed("animals", usual=3))["say"]
    assert not any("than usual" in one for one in solved(changed("animals", usual=4))["say"])


def test_kilograms_and_other_money_are_kept():
    """Unit, currency and rounding of the problem come back; yen have no cents."""
    plan = solved(one_cut(unit="kg", currency="JPY", rounding="half-even", name="June"))
    assert (plan["unit"], plan["currency"], plan["rounding"]) == ("kg", "JPY", "half-even")
    assert plan["expected"] == "200"
    assert plan["name"] == "June"


def test_the_same_call_gives_the_same_plan_in_another_process():
    """Seeded weeks, one thread: byte for byte the same, whatever was solved before."""
    problem = EXAMPLE.read_text(encoding="utf-8")
    code = (
        "import sys, json; from collop.bench.farmcall import farmcall;"
        "sys.stdout.write(json.dumps(farmcall(json.load(sys.stdin))))"
    )
    farmcall(tiny(1))
    here = json.dumps(farmcall(json.loads(problem)))
    done = subprocess.run([sys.executable, "-c", code], input=problem, capture_output=True,
                          text=True, check=True)  # fmt: skip
    assert done.stdout == here
    assert done.stderr == ""


def test_another_seed_draws_other_weeks_about_the_same_mean():
    """Other weeks, the same wanted weights."""
    problem = changed("cuts", cv=0.3)
    one, two = (
        solved(problem | {"scenarios": {"count": 30, "seed": seed, "common_cv": 0.1}})
        for seed in (1, 2)
    )
    assert one["scenarios"] != two["scenarios"]
    assert one["cuts"][0]["wanted"] == two["cuts"][0]["wanted"] == "40"


def test_numbers_and_names_are_said_as_on_the_phone():
    """Words up to twelve, plurals on the right word, dates without a language of the machine."""
    assert counted(1, "Side of beef") == "one side of beef"
    assert counted(2, "Side of beef") == "two sides of beef"
    assert counted(13, "Half hog") == "13 half hogs"
    assert [plural(one) for one in ("calf", "veal calf", "sheep", "half of pork")] == [
        "calves", "veal calves", "sheep", "halves of pork",
    ]  # fmt: skip
    from datetime import date

    assert date_words(date(2026, 6, 5)) == "5 June 2026"
