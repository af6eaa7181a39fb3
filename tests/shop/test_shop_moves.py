"""The moves of the day: only stock in date, never refrozen, links never ground, worth by hand."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction

import jsonschema
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from wished import lb, line, order, per_lb

from collop.chalk import markdown
from collop.chalk.markdown_schema import SCHEMAS
from collop.cli import main
from collop.measures import Money, Weight, WeightUnit
from collop.shop import Settings
from collop.shop.ageing import (
    FREEZE_CHANCE,
    FREEZE_COST_PER_LB,
    FREEZE_PRICE,
    FREEZE_YIELD,
    GRIND_YIELD,
    LOWEST,
    OTHER_USE_DAYS,
    CaseView,
    ageing_of,
    convert_of,
    load_view,
    markdown_problem,
    selling_days,
)
from collop.shop.moves import LEAST_GAIN, LEAST_WEIGHT, best_moves
from collop.shop.sales import Line

TUESDAY = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local
SHOP = Settings("x")


def grams(count):
    return count * Weight.of(1, WeightUnit.G).count


def meat(case_id, name="Chops", usual="1", **more):
    told = {"species": "lamb", "form": "fresh", "boneless": Decimal(1), "contains": (),
            "casing": None, "by_piece": False}  # fmt: skip
    return Line(case_id, name, usual=lb(usual) if usual else None, **(told | more))


def view_of(lines, stock, prices, now=TUESDAY, chosen=SHOP):
    """Return a case of lines with stock as (days left, pounds) and prices per pound."""
    today = now.date()
    return CaseView(
        now, chosen, {one.id: one for one in lines},
        {case_id: per_lb(price) for case_id, price in prices.items()},
        {case_id: tuple((today + timedelta(days=days), lb(weight).count) for days, weight in rows)
         for case_id, rows in stock.items()},
        {},
    )  # fmt: skip


# how long is left


@pytest.mark.parametrize(
    ("now", "days", "told"),
    [
        ((9, 8, 0), 0, (1, 1.0)),
        ((9, 13, 0), 0, (1, 0.5)),
        ((9, 13, 0), 1, (2, 0.5)),
        ((9, 6, 30), 2, (3, 1.0)),
        ((9, 18, 0), 0, (0, 1.0)),
        ((9, 20, 0), 1, (1, 1.0)),
        ((13, 18, 0), 2, (0, 1.0)),
        ((13, 8, 0), 3, (2, 1.0)),
        ((14, 9, 0), 2, (1, 1.0)),
        ((9, 8, 0), -1, (0, 1.0)),
    ],
)
def test_selling_days_are_open_days_with_today_by_its_hours(now, days, told):
    """Tuesday to Saturday, eight to six: half a day at one o'clock, no Sunday and no Monday."""
    moment = datetime(2026, 6, *now)  # noqa: DTZ001 -- shop-local
    assert selling_days(moment, moment.date() + timedelta(days=days), SHOP) == told


def test_a_shop_of_no_hours_has_whole_days():
    """Opening at its closing time, a day under way counts as one."""
    chosen = replace(SHOP, opens=time(8), closes=time(8))
    assert selling_days(TUESDAY, TUESDAY.date(), chosen) == (1, 1.0)


# what is in its last days


def test_what_sells_in_time_is_left_alone():
    """4 lb at 1 lb a day, four days left and a closed day among them none: nothing to do."""
    assert ageing_of(view_of([meat("a")], {"a": [(4, "5")]}, {"a": "9"}), "a") is None
    assert ageing_of(view_of([meat("a")], {"a": [(4, "5.1")]}, {"a": "9"}), "a").count == (
        lb("5.1").count
    )


def test_stock_that_comes_after_does_not_press():
    """2 lb due tomorrow beside 30 lb for months: what counts is what must go by its own day."""
    frozen = view_of([meat("a")], {"a": [(1, "4"), (50, "10")]}, {"a": "9"})
    found = ageing_of(frozen, "a")
    assert (found.count, found.last) == (lb("4").count, TUESDAY.date() + timedelta(days=1))


def test_the_day_with_most_too_much_counts():
    """1 lb today sells; with the 6 lb due tomorrow there is 5 lb too much."""
    view = view_of([meat("a")], {"a": [(0, "1"), (1, "6")]}, {"a": "9"})
    found = ageing_of(view, "a")
    assert (found.count, found.periods, found.will_sell) == (lb("7").count, 2, lb("2").count)


def test_a_crumb_is_no_stock():
    """Less than a thousandth of a pound is nothing to move."""
    view = replace(view_of([meat("a")], {}, {"a": "9"}), stock={"a": ((TUESDAY.date(), 1000),)})
    assert ageing_of(view, "a") is None
    assert best_moves(view) == ()


def test_a_line_of_unknown_pace_or_price_is_left_out():
    """Nobody can say what sells of it."""
    assert ageing_of(view_of([meat("a", usual=None)], {"a": [(0, "9")]}, {"a": "9"}), "a") is None
    assert ageing_of(view_of([meat("a")], {"a": [(0, "9")]}, {}), "a") is None


# what it can become

MINCE = meat("m", "Lamb mince", usual="4")


def test_grinding_brings_what_the_mince_brings_less_labour():
    """By hand: boneless 0.6 x 0.95 x 9.20, less 3 minutes of 24.00 an hour, as far as it sells.

    Mince sells 4 lb a day over 2 days, 3 lb are there: 5 lb more, of 0.57 each; cut off
    to a thousandth.
    """
    chops = meat("a", boneless=Decimal("0.6"))
    view = view_of([chops, MINCE], {"a": [(1, "9")], "m": [(1, "3")]}, {"a": "9", "m": "9.20"})
    found = convert_of(view, chops, 2, 1.0)
    assert found["yield"] == pytest.approx(0.57)
    assert (found["price"], found["labour_per_unit"]) == ("9.20", "1.2000")
    assert Decimal(found["takes"]) == Decimal("8.771")
    # half the day gone: 4 x 1.5 - 3 is left
    assert Decimal(convert_of(view, chops, 2, 0.5)["takes"]) == Decimal("5.263")


@pytest.mark.parametrize(
    "more",
    [
        {"casing": "sheep"}, {"contains": ("soy",)}, {"species": "none"}, {"form": "frozen"},
        {"form": "thawed"}, {"form": "chilled"}, {"boneless": Decimal(0)}, {"name": "Lamb links"},
        {"species": "goat"},
    ],
)  # fmt: skip
def test_links_marinades_frozen_goods_and_other_species_are_never_ground(more):
    """Only raw, plain, never frozen meat of the mince's own species goes into it."""
    chops = meat("a", **more)
    view = view_of([chops, MINCE], {"a": [(1, "9")]}, {"a": "9", "m": "9.20"})
    assert convert_of(view, chops, 2, 1.0) is None


def test_mince_is_not_ground_into_itself_nor_into_links():
    """The mince line takes no mince, and a line with a casing is no mince."""
    links = meat("l", "Ground lamb links", casing="sheep")
    view = view_of([MINCE, links], {"m": [(0, "9")]}, {"m": "9", "l": "11"})
    assert convert_of(view, MINCE, 1, 1.0) is None


def test_what_was_frozen_is_never_frozen_again_and_nothing_on_its_last_day():
    """Frozen and thawed goods have no freezer; with a day left, raw meat has; today it has not."""
    for form, days, may in (("fresh", 1, True), ("fresh", 0, False), ("frozen", 1, False),
                            ("thawed", 1, False), ("chilled", 1, False)):  # fmt: skip
        view = view_of([meat("a", form=form)], {"a": [(days, "9")]}, {"a": "10"})
        problem = markdown_problem(view, ageing_of(view, "a"), 1.6)
        assert (problem["freeze"] is not None) is may
    said = meat("a", "Lamb chops, thawed")
    view = view_of([said], {"a": [(1, "9")]}, {"a": "10"})
    assert markdown_problem(view, ageing_of(view, "a"), 1.6)["freeze"] is None


def test_a_shop_in_kilograms_pays_by_the_kilogram():
    """3 minutes and 0.30 a pound are 2.2046 times as much a kilogram."""
    chosen = replace(SHOP, legal_unit=WeightUnit.KG)
    view = view_of([meat("a"), MINCE], {"a": [(1, "9")]}, {"a": "10", "m": "8"}, chosen=chosen)
    problem = markdown_problem(view, ageing_of(view, "a"), 1.6)
    jsonschema.validate(problem, SCHEMAS["markdown"])
    assert problem["unit"] == "kg"
    assert problem["convert"]["labour_per_unit"] == "2.6455"
    assert problem["freeze"]["cost_per_unit"] == "0.6614"
    assert Decimal(problem["price"]) == round(10 / Decimal("0.45359237"), 6)
    assert Decimal(problem["stock"]) == round(9 * Decimal("0.45359237"), 3)


# the moves of the demo


def test_the_demo_s_week_by_hand(shop):
    """Goat on Wednesday: 7 lb, 2 sell by Thursday, 5 are frozen; breast on Thursday is ground.

    Frozen each is worth 10.30 x .75 x .98 x .8 - .30; of 9 lb of breast 2 sell, 7 are ground.
    """
    wednesday, thursday = TUESDAY.replace(day=10), TUESDAY.replace(day=11)
    move = next(one for one in shop.chalk.moves(wednesday) if one.case_id == "C31")
    each = Fraction("10.3") * FREEZE_PRICE * FREEZE_YIELD * FREEZE_CHANCE - FREEZE_COST_PER_LB
    assert (move.way, move.weight, move.days_left, move.price) == ("freeze", lb("5"), 1, None)
    assert abs(move.gain.minor - 500 * each) <= 1
    assert move.value == Money(2 * 1030 + move.gain.minor)
    breast = next(one for one in shop.chalk.moves(thursday) if one.case_id == "C03")
    ground = Fraction("9.2") * GRIND_YIELD * Fraction("0.55") - Fraction("1.2")
    assert (breast.way, breast.weight) == ("convert", lb("7"))
    assert abs(breast.gain.minor - 700 * ground) <= 1


@pytest.mark.parametrize("day", [9, 10, 11])
def test_at_four_o_clock_a_mark_down_is_among_the_three(shop, day):
    """What has days yet is marked down; what goes in its last two selling days is put away."""
    found = shop.chalk.moves(datetime(2026, 6, day, 16, 0))  # noqa: DTZ001 -- shop-local
    assert len(found) == 3
    assert {one.way for one in found} > {"price"}
    for one in found:
        if one.way == "price":
            assert one.problem["periods"] > OTHER_USE_DAYS
            assert f"mark it down from {one.problem['price']} to {one.price.amount}" in one.say
        else:
            assert one.problem["periods"] <= OTHER_USE_DAYS


@pytest.mark.parametrize(("days", "may"), [(1, True), (2, False), (5, False)])
def test_only_in_its_last_two_selling_days_is_meat_ground_or_frozen(days, may):
    """Tuesday morning: by Wednesday it may be; by Thursday or Sunday only a price is tried."""
    view = view_of([meat("a"), MINCE], {"a": [(days, "12")]}, {"a": "10", "m": "9.20"})
    problem = markdown_problem(view, ageing_of(view, "a"), 1.6)
    assert (problem["convert"] is not None) is may
    assert (problem["freeze"] is not None) is may
    # the shop is shut on Sunday and Monday: by Sunday's date, Saturday has one selling day
    saturday = TUESDAY.replace(day=13)
    view = view_of([meat("a"), MINCE], {"a": [(1, "12")]}, {"a": "10", "m": "9.20"}, now=saturday)
    assert markdown_problem(view, ageing_of(view, "a"), 1.6)["freeze"] is not None


@pytest.mark.parametrize(
    ("usual", "weight", "price", "is_move"),
    [("1", "4", "9.00", True), ("1", "1.2", "2.00", False), ("0.05", "0.6", "300.00", True),
     ("0.05", "0.4", "300.00", False)],
)  # fmt: skip
def test_a_trifle_is_no_move(usual, weight, price, is_move):
    """Frozen goods on their last day: a gain under 1.00, or less than half a pound, is no move.

    By hand: of 0.4 lb at 300.00 half a tenth sells; at half the price three times as much does,
    1.5 x the money of 15.00, so the gain is 7.50 and the weight alone decides.
    """
    view = view_of([meat("a", usual=usual, form="frozen")], {"a": [(0, weight)]}, {"a": price})
    plan = markdown(markdown_problem(view, ageing_of(view, "a"), 1.6))
    assert Decimal(plan["gain"]) > 0
    if weight == "0.4":
        assert Decimal(plan["gain"]) > LEAST_GAIN
    assert bool(best_moves(view)) is is_move
    assert [str(LEAST_WEIGHT[unit]) for unit in (WeightUnit.LB, WeightUnit.KG)] == ["0.5", "0.2"]


def test_a_trifle_within_a_move_is_left_out_and_worked_out_anew():
    """The mince line takes 0.09 lb more: nothing of it is ground, and the gain has none of it."""
    view = view_of([meat("a"), MINCE], {"a": [(0, "9")], "m": [(9, "3.91")]},
                   {"a": "9", "m": "9.20"})  # fmt: skip
    one = ageing_of(view, "a")
    rest = markdown(markdown_problem(view, one, 1.6))["rest"]
    ground = [Decimal(part["weight"]) for part in rest if part["way"] == "convert"]
    assert [weight for weight in ground if weight < Decimal("0.5")]
    move = next(one for one in best_moves(view) if one.case_id == "a")
    assert move.problem["convert"] is None
    assert all(part["way"] != "convert" for part in move.plan["rest"])
    assert markdown(move.problem) == move.plan


def test_a_price_set_per_pound_is_told_to_the_minor_unit_by_the_kilogram():
    """9.00 a pound is 19.841604 a kilogram: marked down from 19.84, and 19.84 is no mark-down."""
    chosen = replace(SHOP, legal_unit=WeightUnit.KG, price_step=Decimal("0.01"))
    view = view_of([meat("a", form="frozen")], {"a": [(0, "9")]}, {"a": "9"}, chosen=chosen)
    (move,) = best_moves(view)
    assert f"mark it down from 19.84 to {move.price.amount}, " in move.say
    # raw meat that sells but for a little, and may be frozen: the price stays
    view = view_of([meat("a")], {"a": [(1, "9")]}, {"a": "9"}, chosen=chosen)
    (move,) = best_moves(view)
    assert (move.way, move.price) == ("freeze", None)
    assert "mark it down" not in move.say


def test_the_gain_is_told_against_letting_it_pass_its_day(shop):
    """The sentence says what the gain is over: the price left alone, and the rest lost."""
    for one in shop.chalk.moves(most=40):
        assert one.say.endswith(f"worth {one.gain} more than letting it pass its day.")
        kept = [note for note in one.plan["assumptions"] if "Leaving the price alone" in note]
        assert kept == ["Leaving the price alone: what is left passes its day unsold and is lost."]


def test_moves_are_the_best_first_each_line_once_and_each_gains(shop):
    """Ranked by gain; asked for nine there are no more than lines; asked for none, none."""
    found = shop.chalk.moves(most=40)
    gains = [one.gain for one in found]
    assert gains == sorted(gains, reverse=True)
    assert all(gain > Money(0) for gain in gains)
    assert len({one.case_id for one in found}) == len(found)
    assert [one.case_id for one in shop.chalk.moves()] == [one.case_id for one in found[:3]]
    assert shop.chalk.moves(most=0) == ()


def test_each_move_can_be_worked_out_again_from_its_problem(shop):
    """A move carries the problem and the plan that comes of it; the sentence has its figures."""
    for one in shop.chalk.moves(most=40):
        jsonschema.validate(one.problem, SCHEMAS["markdown"])
        assert markdown(one.problem) == one.plan
        assert str(one.gain) in one.say
        assert one.name in one.say


@pytest.mark.parametrize("day", [9, 10, 11, 12, 13, 14, 16, 20])
def test_nothing_past_its_use_by_is_ever_in_a_move(shop, day):
    """Whatever the day, stock of a move is in date and free then."""
    moment = datetime(2026, 6, day, 16, 0)  # noqa: DTZ001 -- shop-local
    case = {one.id: one for one in shop.case(moment)}
    for move in shop.chalk.moves(moment, most=40):
        assert move.days_left >= 0
        assert not case[move.case_id].is_past
        assert move.weight <= case[move.case_id].free
        if move.way == "freeze":
            assert move.days_left >= 1
            assert case[move.case_id].form == "fresh"


def test_on_its_last_afternoon_stock_is_marked_down_and_never_under_half(shop):
    """Links on their last day can only be sold: a price on an ending, from half of it up."""
    moment = datetime(2026, 6, 12, 16, 0)  # noqa: DTZ001 -- shop-local
    found = [one for one in shop.chalk.moves(moment, most=40) if one.price is not None]
    assert found
    board = {one.case_id: one.price.amount for one in shop.chalk.board()}
    for one in found:
        assert board[one.case_id] * Decimal(str(float(LOWEST))) <= one.price.amount
        assert one.price.amount < board[one.case_id]
        assert one.price.amount % Decimal("0.05") == 0


def test_a_marked_down_price_goes_on_the_board(shop, clock):
    """The price of a move, put up with its reason, is the board's from then on."""
    clock.put(datetime(2026, 6, 12, 16, 0))  # noqa: DTZ001 -- shop-local
    move = next(one for one in shop.chalk.moves(most=40) if one.price is not None)
    shop.chalk.mark_down(move.case_id, move.price, by="ines", why=move.say, key="down")
    assert {one.case_id: one.price for one in shop.chalk.board()}[move.case_id] == move.price


def test_what_is_booked_is_no_stock_to_move(shop):
    """With 4 of 7 lb of goat booked, the rest sells by itself."""
    shop.book(order(line("C31", "4")), key="b")
    assert "C31" not in {one.case_id for one in shop.chalk.moves(most=40)}


def test_two_lines_share_the_room_of_one_mince():
    """10 lb of mince can be sold and none is there: the second line gets what the first leaves."""
    lines = [meat("a", "Leg"), meat("b", "Shoulder"), meat("m", "Lamb mince", usual="5")]
    view = view_of(lines, {"a": [(1, "8")], "b": [(1, "8")]}, {"a": "9", "b": "9", "m": "12"})
    found = best_moves(view, 5)
    made = sum(
        Fraction(rest["weight"]) * Fraction(str(one.problem["convert"]["yield"]))
        for one in found
        for rest in one.plan["rest"]
        if rest["way"] == "convert"
    )
    assert len(found) == 2
    # a plan's weights are shown to a hundredth
    assert made <= Fraction("10.01")


@given(
    stock=st.lists(st.tuples(st.integers(0, 6), st.integers(1, 40_000)), min_size=1, max_size=4),
    cents=st.integers(100, 4000),
    usual=st.integers(1, 20_000),
    hour=st.integers(0, 23),
    has_mince=st.booleans(),
)
def test_any_case_gives_moves_that_hold(stock, cents, usual, hour, has_mince):
    """Any stock, price, pace and hour: value is gain plus as-is, and all weight is told."""
    lines = [replace(meat("a"), usual=Weight(grams(usual)))]
    prices = {"a": str(Decimal(cents) / 100)}
    if has_mince:
        lines.append(MINCE)
        prices["m"] = "7.80"
    now = TUESDAY.replace(hour=hour)
    days = sorted(dict(stock).items())
    view = replace(
        view_of(lines, {}, prices, now=now),
        stock={"a": tuple((now.date() + timedelta(days=n), grams(count)) for n, count in days)},
    )
    for one in best_moves(view):
        assert one.gain > Money(0)
        assert one.value == Money.of(one.plan["as_is"]["value"]) + one.gain
        told = sum(Decimal(step["sells"]) for step in one.plan["steps"])
        told += sum(Decimal(rest["weight"]) for rest in one.plan["rest"])
        assert told == Decimal(one.problem["stock"])
        assert one.weight <= Weight(sum(count for _, count in view.stock["a"])) + lb("0.001")


# the command


def test_the_command_tells_them_in_words_and_in_json(shop_file):
    """`collop moves` prints one line each, or JSON with each problem."""
    run = CliRunner()
    told = run.invoke(main, ["moves", "--db", str(shop_file), "--at", "2026-06-10T16:00:00"])
    assert told.exit_code == 0
    assert "Goat shoulder, diced" in told.output
    answer = run.invoke(
        main, ["moves", "--db", str(shop_file), "--at", "2026-06-10T16:00:00", "--json"]
    )
    found = json.loads(answer.output)
    assert found["moves"][0]["name"] == "Goat shoulder, diced"
    assert all(markdown(one["problem"]) == one["plan"] for one in found["moves"])
    nothing = run.invoke(main, ["moves", "--db", str(shop_file), "--at", "2027-01-01T10:00:00"])
    assert "Nothing in its last days gains by a move." in nothing.output
    lost = run.invoke(main, ["moves", "--db", str(shop_file) + "x", "--json"])
    assert lost.exit_code == 1


def test_a_piece_is_told_and_its_problem_goes_into_chalk(shop_file):
    """`collop piece B-41F --json` is what `collop chalk -` reads; in words each part is told."""
    run, db = CliRunner(), ["--db", str(shop_file)]
    problem = run.invoke(main, ["piece", "B-41F", *db, "--json"])
    plan = run.invoke(main, ["chalk", "-", "--json"], input=problem.output)
    assert plan.exit_code == 0
    told = run.invoke(main, ["piece", "B-41F", *db])
    # by hand: 743.49 paid, two hours at 24.00; trim, fat and bone at their worths
    assert json.loads(plan.output)["cost"] == "791.49"
    sums = (("cost", "791.49"), ("by-products", "-124.85"), ("sales needed", "1025.60"))
    for word, money in sums:
        assert re.search(rf"  {word} +{money}$", told.output, re.MULTILINE)
    # needed prices, what the board of now brings, and what moves what, as `collop chalk` tells them
    for one in json.loads(plan.output)["cuts"]:
        assert re.search(rf"{one['name']} .* {one['exact']} +{one['price']}", told.output)
    for one in json.loads(plan.output)["pulls"]:
        assert f"{one['say']}." in told.output
    # by hand: 453.30 x 0.97 priced, and 40 lb x 0.97 at their mean of 9.6447
    assert "The present board brings 813.92, 211.68 short." in told.output
    assert "374.21 of it is guessed, no price for Chuck and rib, cut to list." in told.output
    for name in ("Brisket", "Chuck and rib, cut to list", "Bone", "Loss"):
        assert name in told.output
    assert run.invoke(main, ["piece", "B-99", *db]).exit_code == 1


def test_a_view_of_the_demo_has_no_past_stock(shop):
    """At the end of June nothing but frozen goods and long keepers is left."""
    moment = datetime(2026, 6, 28, 10, 0)  # noqa: DTZ001 -- shop-local
    with shop._room.store.read() as conn:
        view = load_view(conn, moment, shop.settings())
    assert set(view.stock) == {"C28", "C29", "C30", "C33"}
    assert all(day >= date(2026, 6, 28) for rows in view.stock.values() for day, _ in rows)


def test_goods_by_the_piece_are_said_with_one_comma_at_a_time():
    """Birds beyond what sells in time are frozen, about so many whole ones; the sentence reads."""
    birds = meat("b", "Chicken, whole", species="chicken", by_piece=True)
    (move,) = best_moves(view_of([birds], {"b": [(1, "12")]}, {"b": "5.30"}))
    assert " in whole pieces, worth " in move.say
    assert ",," not in move.say
    assert move.say.startswith("Chicken, whole: 12.00 lb to go by tomorrow, ")
