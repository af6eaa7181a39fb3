"""The shop's farm call: animals from its deliveries, standing orders, season, what hangs."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from jsonschema import Draft202012Validator
from wished import lb, line, order

from collop.bench.farm_reading import read_farmcall
from collop.bench.farm_scenarios import index_of as index_on
from collop.bench.farmcall import farmcall
from collop.bench.farmcall_schema import SCHEMAS
from collop.errors import BadValue
from collop.measures import Money, Temperature, UnitPrice, WeightUnit
from collop.shop import NewDelivery, NewPiece
from collop.shop.farm_seasons import is_summer

TUESDAY = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local
NEXT = date(2026, 6, 15)


def animals(problem):
    return {one["id"]: one for one in problem["animals"]}


def index_of(problem, case_id, key="season"):
    return [row["index"] for row in problem[key] if row["what"] == case_id]


def test_the_kernel_and_the_schema_read_the_problem(shop, monday):
    """On both demo days, for the next week; every style's shares add up to 1 exactly."""
    for one in (shop, monday):
        problem = one.bench.farm_problem()
        assert list(Draft202012Validator(SCHEMAS["farmcall"]).iter_errors(problem)) == []
        assert read_farmcall(problem).week_of == NEXT
        for kind in problem["kinds"]:
            for style in kind["styles"]:
                assert sum(Decimal(row["share"]) for row in style["outputs"]) == 1


def test_animals_are_those_that_came_as_they_are_bought(shop):
    """Two quarters are a side, two pork sides a pig; weights in the mean, prices of the last."""
    found = animals(shop.bench.farm_problem())
    assert {key: (one["weight"], one["price_per_unit"], one["haulage"])
            for key, one in found.items()} == {
        "beef-side": ("328.5", "4.15", "38"),
        "lamb": ("52", "6.3", "4.5"),
        "goat": ("27", "7.1", "4.5"),
        "pig": ("183", "2.6", "12"),
    }  # fmt: skip
    # 52.0, 55.0 and 49.0 lb were hung; 326 and 331 lb of beef
    assert Decimal(found["lamb"]["weight"]) * 3 == Decimal(156)
    assert [found[key]["usual"] for key in ("beef-side", "lamb", "goat", "pig")] == [1, 2, 1, 1]
    # a pig is cut as two sides
    pig = next(one for one in shop.bench.farm_problem()["kinds"] if one["id"] == "Pig")
    assert [style["minutes"] for style in pig["styles"]] == ["80", "100", "130"]


def test_a_delivery_without_a_price_changes_no_price(shop):
    """The mean weight moves, the price stays that of the last one known."""
    new = NewDelivery(
        tag="L-300", species="lamb", farm="A farm", invoiced=lb("60"),
        pieces=[NewPiece("L-300", "whole", "lamb carcass", lb("60"))],
        temperature=Temperature.fahrenheit(38), papers=("inspection mark", "invoice"),
    )  # fmt: skip
    shop.cutting.receive(new, by="ines", key="k")
    found = animals(shop.bench.farm_problem())["lamb"]
    assert (found["weight"], found["price_per_unit"]) == ("54", "6.3")


def test_an_animal_in_unlike_pieces_is_one_order(shop):
    """A carcass that came as saddle and rest is cut piece by piece, by share of weight."""
    shop.cutting.receive(
        NewDelivery(
            tag="X-1", species="beef", farm="A farm", invoiced=lb("500"),
            pieces=[NewPiece("X-1A", "side", "beef side", lb("300")),
                    NewPiece("X-1B", "hind", "beef hindquarter", lb("200"))],
            temperature=Temperature.fahrenheit(38), papers=("inspection mark", "invoice"),
            price=UnitPrice.of("4.00", WeightUnit.LB), haulage=Money.of("20"),
        ), by="ines", key="k",
    )  # fmt: skip
    problem = shop.bench.farm_problem()
    kind = next(one for one in problem["kinds"]
                if one["id"] == "Beef hindquarter, beef side")  # fmt: skip
    assert len(kind["styles"]) == 4
    style = kind["styles"][0]
    assert sum(Decimal(row["share"]) for row in style["outputs"]) == 1
    fillet = next(row for row in style["outputs"] if row.get("cut") == "C12")
    # 200 lb of hind at 2.8 % and 300 lb of side at 1.3 %
    assert abs(Fraction(fillet["share"]) - Fraction("0.019")) < Fraction(1, 10**6)
    assert style["minutes"] == "340"
    read_farmcall(problem)


def test_the_standing_order_asks_all_it_wants(shop):
    """6.0 lb of hanger and skirt: what is reserved and what is wanted beyond."""
    standing = {row["cut"]: row for row in shop.bench.farm_problem()["standing"]}
    assert (standing["C14"]["weight"], standing["C14"]["price"]) == ("6", "17.1")
    assert {row["name"] for row in standing.values()} == {"Restaurant standing order"}
    assert "C32" not in standing  # bones come from no style here


def test_a_fortnightly_order_stands_every_other_week(shop):
    """H7 is collected in the week of 8 June: not due on the 15th, due on the 22nd."""
    weeks = {
        monday: {row["name"] for row in shop.bench.farm_problem(monday)["standing"]}
        for monday in (NEXT, NEXT + timedelta(days=7), NEXT + timedelta(days=14))
    }
    named = [("Household, weekly box" in names) for names in weeks.values()]
    assert named == [False, True, False]
    assert all("Restaurant standing order" in names for names in weeks.values())


def test_what_is_booked_for_the_week_is_a_booking(shop):
    """A standing order that is booked already is not asked twice."""
    day = datetime(2026, 6, 16, 11, 0)  # noqa: DTZ001 -- shop-local
    shop.book(order(line("C02", "4.0"), name="Restaurant standing order", collect_at=day), key="k")
    problem = shop.bench.farm_problem()
    assert problem["standing"] == []
    assert problem["bookings"] == [
        {"name": "Restaurant standing order", "cut": "C02", "weight": "4", "price": "8.4"}
    ]


def test_only_what_is_not_planned_before_hangs_that_week(shop):
    """B-42 is to be cut on 16 June; all else is broken before, and the room is free of it."""
    problem = shop.bench.farm_problem()
    assert problem["hanging"] == [{"kind": "beef side", "weight": "324.4", "worth_left": "0"}]
    assert problem["room"] == {"rail": "1600", "hanging": "324.4"}
    shop.cutting.plan_break("B-42", date(2026, 6, 12), by="ines", key="p")
    assert shop.bench.farm_problem()["hanging"] == []


def test_a_piece_that_nobody_planned_goes_by_the_kept_plan(shop):
    """Without any plan it hangs; once a plan breaks it this week it does not."""
    shop.cutting.plan_break("L-207", None, by="ines", key="p")
    assert len(shop.bench.farm_problem()["hanging"]) == 2
    plan = shop.bench.refresh().plan
    assert "L-207" in {one["tag"] for one in plan["breaks"]}
    found = shop.bench.farm_problem()["hanging"]
    assert "lamb carcass" not in {one["kind"] for one in found}


def test_a_piece_that_the_plan_in_force_leaves_hanging_is_there_that_week(shop):
    """G-031 was meant for this week and hangs on: it fills the rail and is goat for the counter.

    A goat does not hang two weeks more; what the plan breaks is gone, whatever day was meant.
    """
    kept = shop.bench.refresh().plan["kept"]
    assert [one["tag"] for one in kept] == ["B-42", "G-031"]
    problem = shop.bench.farm_problem()
    goat = {"kind": "goat carcass", "weight": "26.2", "worth_left": "0"}
    assert goat in problem["hanging"]
    assert problem["room"]["hanging"] == "350.6"  # 324.4 and 26.2
    assert goat not in shop.bench.farm_problem(NEXT + timedelta(days=7))["hanging"]


def test_a_goat_that_hangs_is_on_the_counter(shop):
    """With none ordered, the cut of the one that hangs is not short in every week."""
    shop.bench.refresh()
    plan = shop.bench.farm_plan()
    (order,) = [one for one in plan["orders"] if one["id"] == "goat"]
    (cut,) = [one for one in plan["cuts"] if one["name"].startswith("Goat")]
    assert order["count"] == 0
    assert Decimal(cut["made"]) > Decimal(cut["wanted"])
    assert cut["chance_short"] < 0.5


def test_beef_without_a_day_may_hang_on(shop):
    """Nobody gave B-42 a day: it may be cut or keeps its worth; meant for later, it only hangs."""
    shop.cutting.plan_break("B-42", None, by="ines", key="p")
    (found,) = [one for one in shop.bench.farm_problem()["hanging"] if one["kind"] == "beef side"]
    assert Decimal(found["worth_left"]) > 0
    shop.cutting.plan_break("B-42", date(2026, 6, 24), by="ines", key="q")
    problem = shop.bench.farm_problem()
    assert problem["hanging"] == []
    assert problem["room"]["hanging"] == "324.4"


def test_on_hand_is_what_the_plan_in_force_leaves(shop):
    """Without a plan: sound stock less the usual sale, here nothing; with one: its own figure."""
    assert {row["on_hand"] for row in shop.bench.farm_problem()["cuts"]} == {"0"}
    left = {one["id"]: one["left"] for one in shop.bench.refresh().plan["cuts"]}
    assert any(Decimal(weight) for weight in left.values())
    found = {row["id"]: row["on_hand"] for row in shop.bench.farm_problem()["cuts"]}
    assert found == left


def test_a_summer_week_has_the_published_indices(shop):
    """Ground beef 0.32/(15/52), steaks 0.35/(15/52), other fresh beef 0.31/(15/52).

    Source E05 (sources.csv of the pricing tables): shares of annual sales in the 15 weeks from
    Memorial Day to Labor Day.
    """
    problem = shop.bench.farm_problem()
    weeks = Fraction(15, 52)
    for case_id, share in (("C11", "0.32"), ("C07", "0.35"), ("C09", "0.31")):
        (found,) = index_of(problem, case_id)
        assert abs(Fraction(found) - Fraction(share) / weeks) < Fraction(1, 1000)
    assert index_of(problem, "C01") == []
    assert {row["source"] for row in problem["season"]} == {"E05", "E17"}


def test_holiday_weeks_are_found(shop):
    """Father's Day 2026 is 21 June (loin cuts, 28 % up), 4 July is a Saturday (beef, 20 % up).

    Source E08 (sources.csv of the pricing tables).
    """
    assert index_of(shop.bench.farm_problem(NEXT), "C12", "holidays") == [1.28]
    assert index_of(shop.bench.farm_problem(NEXT), "C10", "holidays") == []
    # nothing says what the 28 % are above: an average week, so that no summer figure comes on top
    assert index_of(shop.bench.farm_problem(NEXT), "C12") == []
    assert index_of(shop.bench.farm_problem(NEXT + timedelta(days=7)), "C12") == [1.213]
    read = read_farmcall(shop.bench.farm_problem(NEXT))
    assert index_on(read, read.cuts["C12"]) == Fraction("1.28")
    assert any("average week" in one for one in shop.bench.farm_notes(NEXT))
    july = shop.bench.farm_problem(date(2026, 7, 1))
    assert july["week_of"] == "2026-06-29"
    assert index_of(july, "C10", "holidays") == [1.2]
    # that of 4 July is against the summer norm: both
    assert index_of(july, "C12") == [1.213]
    assert not any("average week" in one for one in shop.bench.farm_notes(date(2026, 7, 1)))
    assert shop.bench.farm_problem(date(2026, 7, 6))["holidays"] == []


@pytest.mark.parametrize(("day", "inside"), [
    (date(2026, 5, 24), False), (date(2026, 5, 25), True), (date(2026, 9, 7), True),
    (date(2026, 9, 8), False), (date(2027, 5, 31), True), (date(2027, 9, 7), False),
])  # fmt: skip
def test_summer_is_from_memorial_day_to_labor_day(day, inside):
    """25 May to 7 September 2026, 31 May to 6 September 2027: by the calendar."""
    assert is_summer(day) is inside


def test_winter_takes_the_quarter_where_it_is_published(shop, clock):
    """Beef 0.988 and pork 1.059 in the fourth quarter (source E17); lamb has none."""
    clock.put(datetime(2026, 11, 10, 8, 0))  # noqa: DTZ001 -- shop-local
    problem = shop.bench.farm_problem()
    assert (index_of(problem, "C11"), index_of(problem, "C17")) == ([0.988], [1.059])
    assert index_of(problem, "C02") == []


@pytest.mark.parametrize("day", [date(2026, 6, 1), date(2027, 6, 1)])
def test_a_week_that_is_over_or_far_off_is_refused(shop, day):
    """One sentence."""
    with pytest.raises(BadValue, match="Order for a week"):
        shop.bench.farm_problem(day)


def test_the_call_of_the_demo_week_can_be_said_on_the_phone(shop):
    """It names whole animals, tells what to say, and what it takes for granted."""
    plan = shop.bench.farm_plan()
    assert list(Draft202012Validator(SCHEMAS["farmcall.plan"]).iter_errors(plan)) == []
    assert "for the week of 15 June 2026" in plan["say"][0]
    assert set(shop.bench.farm_notes()) <= set(plan["assumptions"])


def test_the_restaurant_gets_no_more_hanger_than_the_sides_give(shop):
    """Without another side it gets what B-42 gives of its 6 lb, and is to be told now."""
    problem = shop.bench.farm_problem()
    for animal in problem["animals"]:
        animal["most"] = 0 if animal["id"] == "beef-side" else animal["most"]
    plan = farmcall(problem)
    hanger = next(row for row in plan["standing"] if row["cut"] == "C14")
    assert 0 < Decimal(hanger["gets"]) < Decimal(hanger["asks"]) == 6
    assert any("tell them now" in one for one in plan["say"])
