"""What sells after the price moved, and figures that must not count a weight twice."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from by_hand import past_guards
from wished import lb, line, order, per_lb

from collop.errors import WrongState
from collop.measures import UnitPrice, WeightUnit
from collop.shop import (
    NewCaseLine,
    NewDelivery,
    NewPart,
    NewPiece,
    NewPrice,
    NewStyle,
    Person,
    Settings,
    StillClock,
    create_shop,
)
from collop.shop.ageing import CaseView, ageing_of, markdown_problem
from collop.shop.sales import DaySale, Line, at_price

TUESDAY = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local
PARTS = (("Leg", Fraction(1, 2)), ("Loss", Fraction(1, 2)))


@pytest.fixture
def clock():
    return StillClock(TUESDAY)


@pytest.fixture
def own_url(new_url):
    return new_url()


@pytest.fixture
def own(own_url, clock):
    """Return a shop with a line of lamb leg at 11.20 that keeps four days."""
    made = create_shop(own_url, settings=Settings("Our shop"), people=[Person("dot", "Dot")],
                       clock=clock)  # fmt: skip
    with made:
        made.cutting.add_case_line(
            NewCaseLine("Lamb leg", "lamb", per_lb("11.20"), 4, "whole"), by="dot", key="line"
        )
        yield made
        assert made.check() == []


def style(name, species, piece, case_id):
    (leg, share), (loss, rest) = PARTS
    return NewStyle(name, species, piece, name, [
        NewPart(leg, "cut", "case", share, case_id, 4), NewPart(loss, "loss", "drip", rest),
    ])  # fmt: skip


def hang(shop, tag, pounds, *, species="lamb", piece="lamb carcass", price=None):
    shop.cutting.receive(
        NewDelivery(tag, species, "a farm", [NewPiece(tag, "whole", piece, lb(pounds))],
                    lb(pounds), papers=("inspection mark", "invoice"),
                    not_measured_because="no probe yet",
                    price=None if price is None else per_lb(price)),
        by="dot", key=f"door-{tag}",
    )  # fmt: skip


def break_of(shop, tag="L-1", pounds="40", **more):
    hang(shop, tag, pounds, **more)
    shop.cutting.add_style(style("legs", "lamb", "lamb carcass", "C01"), by="dot", key="style")
    return shop.cutting.start_break(tag, "legs", by="dot", key="start")


def weigh(shop, cut, pounds, key):
    return shop.cutting.weigh_part(cut.number, cut.style.parts[0].id, lb(pounds), by="dot",
                                   key=key)  # fmt: skip


def sell(shop, pounds, key):
    booked = shop.book(order(line("C01", pounds), collect_at=shop.now()), key=f"{key}-book")
    shop.hand_over(booked.id, {booked.lines[0].id: lb(pounds)}, by="dot", key=f"{key}-go")


def sold_for_three_days(shop, clock):
    """Sell 3 lb a day from Tuesday to Thursday; Friday is free, Saturday the last day."""
    weigh(shop, break_of(shop), "20", "leg")
    for day in range(3):
        sell(shop, "3", f"day{day}")
        clock.put(clock.now() + timedelta(days=1))


def test_half_the_price_at_elasticity_two_sells_four_times_as_much():
    """By hand: 3 x (5 / 10)^-2 = 12, and the way back is 3; the same price changes nothing."""
    assert at_price(Fraction(3), 2.0, seen=Fraction(10), now=Fraction(5)) == 12
    assert at_price(Fraction(12), 2.0, seen=Fraction(5), now=Fraction(10)) == 3
    assert at_price(Fraction(1, 7), 2.0, seen=Decimal("8.40"), now=Fraction("8.4")) == (
        Fraction(1, 7)
    )


def test_no_price_sells_more_than_twenty_times_or_less_than_a_twentieth():
    """However far the price moved, the weight stays one a kernel can read."""
    assert at_price(Fraction(1), 20.0, seen=Fraction(100), now=Fraction(1)) == 20
    assert at_price(Fraction(1), 20.0, seen=Fraction(1), now=Fraction(100)) == Fraction(1, 20)


def test_a_mark_down_that_was_put_up_is_not_asked_for_again(own, clock):
    """After the mark-down more is expected to sell, so the price is not halved once more."""
    sold_for_three_days(own, clock)
    clock.put(datetime(2026, 6, 13, 9, 0))  # noqa: DTZ001 -- shop-local
    (first,) = own.chalk.moves()
    assert first.price is not None
    own.chalk.mark_down("C01", first.price, by="dot", why="mark-down, last day", key="down")
    again = own.chalk.moves()
    assert not any(move.price for move in again)


def test_a_usual_pace_without_slips_belongs_to_the_price_of_a_week_ago(shop):
    """Goat shoulder sells 1 lb a day at 10.30; at 8.00 it is 1 x (8.00 / 10.30)^-elasticity."""
    (before,) = (move for move in shop.chalk.moves(most=40) if move.case_id == "C31")
    new = NewPrice("C31", per_lb("8.00"))
    shop.chalk.put([new], by="ines", why="mark-down", key="down")
    (after,) = (move for move in shop.chalk.moves(most=40) if move.case_id == "C31")
    told = (before.problem["price"], Decimal(before.problem["usual"]))
    assert told == ("10.30", Decimal(1))
    more = (8 / 10.3) ** -after.problem["elasticity"]
    assert float(after.problem["usual"]) == pytest.approx(more, abs=1e-5)


def test_what_is_frozen_keeps_its_share_of_the_usual_price(shop):
    """It sells later: the mark-down of today does not follow it into the freezer."""
    wednesday = TUESDAY + timedelta(days=1)

    def freezing():
        moves = shop.chalk.moves(at=wednesday, most=40)
        return next(move.problem["freeze"] for move in moves if move.case_id == "C31")

    before = freezing()
    assert before["price"] == "7.7250"
    new = NewPrice("C31", per_lb("8.00"))
    shop.chalk.put([new], by="ines", why="mark-down", key="down")
    assert freezing() == before


def test_no_further_mark_down_passes_half_of_the_usual_price(own, clock):
    """A second mark-down is held to half of 11.20, not to half of the price it has come to."""
    sold_for_three_days(own, clock)
    # on Friday afternoon too much is left for a move that is no trifle
    clock.put(datetime(2026, 6, 12, 14, 0))  # noqa: DTZ001 -- shop-local
    own.chalk.put([NewPrice("C01", per_lb("8.00"))], by="dot", why="mark-down", key="down")
    problems = [move.problem for move in own.chalk.moves(most=40)]
    assert [(one["price"], Decimal(one["floor"])) for one in problems] == [
        ("8.00", Decimal("5.60"))
    ]


def test_the_weekly_demand_of_what_hangs_is_that_at_the_board_of_now(own, clock):
    """9 lb a week sold at 11.20; at 22.40 it is 9 x 2^-elasticity, not 9."""
    sold_for_three_days(own, clock)
    own.chalk.put([NewPrice("C01", per_lb("22.40"))], by="dot", why="twice as dear", key="dear")
    clock.put(datetime(2026, 6, 16, 9, 0))  # noqa: DTZ001 -- shop-local
    hang(own, "L-2", "40")
    (cut,) = (one for one in own.chalk.clearing_problem()["cuts"] if one["id"] == "C01")
    plan = own.chalk.demand("C01")
    assert (plan["quantity"], Decimal(plan["price"])) == ("9", Decimal("11.20"))
    assert Decimal(cut["price"]) == Decimal("22.40")
    assert float(cut["quantity"]) == pytest.approx(9 * 2 ** -plan["elasticity"], abs=0.001)


def test_two_species_under_one_word_are_two_supplies(own, clock):
    """A goat and a lamb that both hang as "whole" keep their weights and their ways apart."""
    sold_for_three_days(own, clock)
    goat = own.cutting.add_case_line(
        NewCaseLine("Goat leg", "goat", per_lb("12"), 4, "whole"), by="dot", key="goat"
    )
    for species, case_id, pounds in (("goat", goat, "30"), ("lamb", "C01", "50")):
        own.cutting.add_style(
            style(species, species, "whole", case_id), by="dot", key=f"cut-{species}"
        )
        hang(own, f"{species}-9", pounds, species=species, piece="whole")
    problem = own.chalk.clearing_problem()
    weights = {one["name"]: Decimal(one["weight"]) for one in problem["supply"]}
    assert weights == {"whole, goat": 30, "whole, lamb": 50}
    assert {one["from"] for one in problem["activities"] if "C01" in one["gives"]} == {
        "whole, lamb"
    }


def shrink(shop):
    """Return the shrink of the leg that the board of L-1 reckons with."""
    (cut,) = (one for one in shop.chalk.problem("L-1", paid=Decimal(200))["cuts"]
              if one["id"] == "C01")  # fmt: skip
    return cut["shrink"]


def test_a_weighing_that_was_taken_back_is_no_weight_on_the_line(own):
    """16 lb came and 0.8 lb dried: 5 %, though the same leg lay on the scale three times."""
    cut = break_of(own)
    for turn in range(2):
        cut = weigh(own, cut, "16", f"w{turn}")
        cut = own.cutting.take_back(cut.number, cut.weighings[-1].seq, by="dot", key=f"b{turn}")
    weigh(own, cut, "16", "stands")
    for number, pounds in enumerate(("15.8", "15.6", "15.4", "15.2")):
        own.cutting.count_case("C01", lb(pounds), by="dot", key=f"c{number}")
    assert shrink(own) == 0.05


def test_what_a_count_finds_again_was_not_lost(own):
    """A count 0.4 lb low and the next one right: nothing dried, so only the last 0.8 lb count."""
    weigh(own, break_of(own), "16", "leg")
    for number, pounds in enumerate(("15.6", "16", "15.6", "15.2")):
        own.cutting.count_case("C01", lb(pounds), by="dot", key=f"c{number}")
    assert shrink(own) == 0.05


def test_a_count_that_finds_no_gap_counts_at_once(own):
    """The fourth count moves no weight, and makes the line's own shrink believed all the same."""
    weigh(own, break_of(own), "16", "leg")
    for number, pounds in enumerate(("15.8", "15.6", "15.2")):
        own.cutting.count_case("C01", lb(pounds), by="dot", key=f"c{number}")
    assert shrink(own) == 0.03
    own.cutting.count_case("C01", lb("15.2"), by="dot", key="fourth")
    assert shrink(own) == 0.05


def test_a_price_at_its_cost_needs_no_reason_and_a_cent_less_does(own):
    """40 lb at 2.00 gave 20 lb of leg and nothing else that is worth anything: 4.00 a pound."""
    cut = break_of(own, price="2.00")
    weigh(own, cut, "20", "leg")
    own.cutting.close_break(cut.number, by="dot", key="close", why="half of it was bone, binned")
    assert own.chalk.case_costs() == {"C01": per_lb("4.0000")}
    kinds = [
        {one.kind for one in own.chalk.guards([NewPrice("C01", per_lb(price))])}
        for price in ("4.00", "3.99")
    ]
    assert kinds == [{"jump"}, {"jump", "under cost"}]


def test_stock_without_a_last_day_is_free_as_well(own, own_url, clock):
    """Lots of a shop from before there were last days count as free, and are no move."""
    sold_for_three_days(own, clock)
    past_guards(own_url, "UPDATE lots SET use_by = NULL WHERE case_id = 'C01'")
    hang(own, "L-2", "40")
    (cut,) = own.chalk.whole_problem("L-2", style_id="legs")["cuts"]
    assert Decimal(cut["case_free"]) == 11
    assert own.chalk.moves() == ()


@pytest.mark.parametrize(
    ("currency", "was", "now", "says"),
    [
        ("JPY", "2400", "1000", "goes from 2400 a lb to 1000 a lb"),
        ("KWD", "7.200", "2.1", "goes from 7.200 a lb to 2.100 a lb"),
        ("USD", "9", "4.505", "goes from 9.00 a lb to 4.505 a lb"),
    ],
)
def test_a_guard_writes_prices_as_the_currency_is_written(new_url, currency, was, now, says):
    """No yen has hundredths, a dinar has thousandths, and no decimal that was typed is lost."""
    made = create_shop(new_url(), people=[Person("dot", "Dot")],
                       settings=Settings("x", currency=currency))  # fmt: skip
    with made:
        price = UnitPrice.of(was, WeightUnit.LB, currency)
        made.cutting.add_case_line(
            NewCaseLine("Leg", "lamb", price, 4, "whole"), by="dot", key="line"
        )
        new = NewPrice("C01", UnitPrice.of(now, WeightUnit.LB, currency))
        (guard,) = made.chalk.guards([new])
    assert says in guard.say


def test_a_piece_that_cost_less_than_its_by_products_is_a_sentence(own):
    """A gift with 20 lb of trim at 3.00 has nothing to carry; another cost may be tried."""
    hang(own, "L-1", "40", price="0")
    half = Fraction(1, 2)
    own.cutting.add_style(
        NewStyle("half", "lamb", "lamb carcass", "half", [
            NewPart("Leg", "cut", "case", half, "C01", 4), NewPart("Trim", "trim", "trim", half),
        ]), by="dot", key="style",
    )  # fmt: skip
    with pytest.raises(WrongState, match="The by-products of L-1 are worth as much") as caught:
        own.chalk.plan("L-1")
    assert caught.value.where == "paid"
    # 100.00 - 20 x 3.00 = 40.00, over 1 - 0.35
    assert own.chalk.plan("L-1", paid=Decimal(100))["needed"] == "61.54"


def test_the_case_is_held_against_the_open_days_to_the_next_break(own):
    """Tuesday to Tuesday is five open days; a break planned for Friday leaves three of them.

    Sunday and Monday the shop is shut, and a pace is that of an open day.
    """
    cut = break_of(own)
    weigh(own, cut, "20", "leg")
    hang(own, "L-2", "40")
    hang(own, "L-3", "40")

    def days():
        return own.chalk.whole_problem("L-2", style_id="legs")["days"]

    assert days() == 5
    own.cutting.plan_break("L-3", TUESDAY.date() + timedelta(days=3), by="dot", key="friday")
    assert days() == 3
    own.cutting.plan_break("L-3", TUESDAY.date(), by="dot", key="today")
    assert days() == 5


def case_of(price, *sales):
    """Return a case with 30 lb of chops to sell today; slips are (days ago, pounds, money)."""
    today = TUESDAY.date()
    slips = tuple(DaySale(today - timedelta(days=ago), lb(pounds).count, round(money * 100))
                  for ago, pounds, money in sales)  # fmt: skip
    chops = Line("C01", "Chops", "lamb", "fresh", Decimal(1), (), None, by_piece=False, usual=None)
    return CaseView(TUESDAY, Settings("x"), {"C01": chops}, {"C01": per_lb(price)},
                    {"C01": ((today, lb("30").count),)}, {"C01": slips})  # fmt: skip


def problem_of(view):
    """Return the mark-down problem of the chops."""
    one = ageing_of(view, "C01")
    assert one is not None
    return markdown_problem(view, one, 2.0)


@pytest.mark.parametrize("price", ["5.60", "4.00", "4.00004"])
def test_under_half_the_usual_price_there_is_no_further_mark_down(price):
    """What sold at 11.20 goes no lower than 5.60; below that the lowest price is that of now."""
    told = problem_of(case_of(price, (4, "3", 33.60), (3, "3", 33.60)))
    assert Decimal(told["floor"]) == Decimal(told["price"]) == Decimal(price)


def test_the_slips_of_today_do_not_move_the_usual_price():
    """What sells after the mark-down of today is not what is usual: 11.20 stays the measure."""
    before = (4, "3", 33.60)
    told = [problem_of(case_of("8.00", before, *today)) for today in ((), ((0, "6", 48.00),))]
    assert told[0] == told[1]
    assert told[0]["floor"] == "5.6000"


def test_cents_lost_on_slips_are_no_other_price():
    """0.37 lb at 11.20 is 4.14, a mean of 11.19 a pound: the pace is left as it is."""
    assert Decimal(problem_of(case_of("11.20", (1, "0.37", 4.14)))["usual"]) == Decimal("0.37")
