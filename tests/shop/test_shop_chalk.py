"""The board from the shop: parts that close, a cost by hand, prices tried, and what they ask."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wished import case_line, lb, line, order, per_lb

from collop.chalk.chalk_schema import SCHEMAS as EQUATION
from collop.chalk.clearing_schema import SCHEMAS as CLEARING
from collop.chalk.putting_out_schema import SCHEMAS as PUTTING_OUT
from collop.chalk.whole_schema import SCHEMAS as WHOLE
from collop.errors import BadValue, CollopError, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop import (
    NewCaseLine,
    NewDelivery,
    NewLine,
    NewPart,
    NewPiece,
    NewPrice,
    NewStyle,
    Settings,
    StillClock,
    open_shop,
)
from collop.shop.chalk_animals import PartWeight, Sheet, apportion
from collop.shop.chalk_problem import SHRINK, Wish, chalk_problem
from collop.shop.demo_rail import demo_table

SHEET = {row["part"]: lb(row["lb"]) for row in demo_table("break_b41f.csv")}
TAGS = ["B-41F", "B-41H", "B-42", "L-207", "L-208", "L-209", "P-118", "P-119", "G-031"]
OFF = "part:Chuck and rib, cut to list"


def weight_of(problem):
    """Return what a chalk problem's cuts, by-products and loss weigh together."""
    rows = [*problem["cuts"], *problem["credits"]]
    return sum(Decimal(row["weight"]) for row in rows) + Decimal(problem["loss_weight"])


def sell(shop, case_id, amount, key="s"):
    booked = shop.book(order(line(case_id, amount), collect_at=shop.now()), key=f"{key}-book")
    return shop.hand_over(booked.id, {booked.lines[0].id: lb(amount)}, by="dot", key=f"{key}-go")


def cut_of(plan, key):
    return next(one for one in plan["cuts"] if one["id"] == key)


# what there is


def test_what_hangs_and_what_was_broken_are_told_newest_first(shop):
    """Tuesday: Monday's forequarter is broken, the other eight hang; days never rise."""
    found = shop.chalk.animals()
    assert {one.tag: one.state for one in found} == {
        tag: "broken" if tag == "B-41F" else "hangs" for tag in TAGS
    }
    days = [one.day for one in found]
    assert days == sorted(days, reverse=True)
    assert found[0].weight == lb("166.7")


def test_an_animal_s_cost_is_its_share_of_invoice_and_haulage(shop):
    """By hand: (326.5 x 4.15 + 38.00) x 174 / 326 = 743.49 for the forequarter."""
    costs = {one.tag: one.cost for one in shop.chalk.animals()}
    by_hand = (Fraction("326.5") * Fraction("4.15") + 38) * 174 / 326
    assert costs["B-41F"].minor == round(by_hand * 100) == 74349


def test_a_break_is_forgotten_after_two_weeks_and_an_open_one_is_not(shop, clock):
    """After 15 days the closed break is off the list; a break under way stays on it."""
    shop.cutting.start_break("L-207", "lamb", by="marek", key="start")
    assert {one.tag: one.state for one in shop.chalk.animals()}["L-207"] == "on the block"
    clock.put(clock.now().replace(day=24))
    tags = {one.tag for one in shop.chalk.animals()}
    assert "B-41F" not in tags
    assert "L-207" in tags


@pytest.mark.parametrize("tag", TAGS)
def test_the_parts_add_up_to_the_piece(shop, tag):
    """Hanging or broken, parts and loss are the piece to the last count."""
    whole = next(one.weight for one in shop.chalk.animals() if one.tag == tag)
    parts = shop.chalk.parts(tag)
    assert sum(part.weight.count for part in parts) == whole.count
    assert all(part.sold <= part.weight for part in parts)


def test_a_broken_piece_has_the_weights_of_its_break_sheet(shop):
    """Each part of B-41F weighs what the sheet says, the loss is what is left of 166.7 lb."""
    parts = {part.name: part.weight for part in shop.chalk.parts("B-41F")}
    assert parts.pop("Loss") == lb("1.8")
    assert parts == SHEET


def test_an_open_break_is_as_weighed_and_the_rest_as_expected(monday):
    """With the brisket weighed, its weight stands and the others share what is left."""
    cut = monday.cutting.start_break("B-41F", "fore", by="marek", key="start")
    brisket = next(part.id for part in cut.style.parts if part.name == "Brisket")
    monday.cutting.weigh_part(cut.number, brisket, lb("20"), by="marek", key="w")
    parts = {part.name: part.weight for part in monday.chalk.parts("B-41F")}
    assert parts["Brisket"] == lb("20")
    assert sum(weight.count for weight in parts.values()) == lb("166.7").count
    # trim is .232 and shin .060 of the piece: what is left keeps that proportion
    ratio = Fraction(parts["Trim"].count, parts["Shin on the bone"].count)
    assert abs(ratio - Fraction("0.232") / Fraction("0.060")) < Fraction(1, 10**6)


def test_what_was_sold_of_a_part_is_found_through_its_lots(shop):
    """3 lb of short ribs sold are 3 lb of that part, and of no other."""
    before = {part.name: part.sold for part in shop.chalk.parts("B-41F")}
    assert set(before.values()) == {lb("0")}
    sell(shop, "C09", "3")
    after = {part.name: part.sold for part in shop.chalk.parts("B-41F") if part.sold}
    assert after == {"Short ribs": lb("3")}
    cut = cut_of(shop.chalk.problem("B-41F"), "C09")
    assert Decimal(cut["sold"]) == 3


def test_a_cut_put_away_later_is_still_that_part_s_sale(shop):
    """Chuck and rib waits on the block, goes to a new line, and its sale comes back to the part."""
    new = NewCaseLine("Beef chuck roast", "beef", per_lb("9.00"), 6, "whole")
    case_id = shop.cutting.add_case_line(new, by="ines", key="line")
    waits = next(one for one in shop.cutting.stock()
                 if one.place == "block" and one.what == "Chuck and rib, cut to list")  # fmt: skip
    shop.cutting.put_in_case(waits.lot_id, "block", case_id, by="marek", key="put")
    sell(shop, case_id, "5.5")
    sold = {part.name: part.sold for part in shop.chalk.parts("B-41F") if part.sold}
    assert sold == {"Chuck and rib, cut to list": lb("5.5")}


def test_what_was_never_hung_or_is_an_animal_of_pieces_is_told(shop):
    """No such tag; an animal hung in quarters; another piece's style."""
    with pytest.raises(NotFound):
        shop.chalk.problem("B-99")
    with pytest.raises(WrongState, match="B-41 neither hangs nor was broken"):
        shop.chalk.problem("B-41")
    with pytest.raises(NotFound, match="no cutting style"):
        shop.chalk.problem("B-42", style_id="nothing")


# the problem


def test_the_problem_of_the_forequarter_by_hand(shop):
    """Cost, minutes, weights, worths and endings are those of invoice, style, sheet and settings.

    743.49 in all with the haulage 38.00 x 174 / 326 = 20.28 told apart.
    """
    problem = shop.chalk.problem("B-41F")
    jsonschema.validate(problem, EQUATION["chalk"])
    assert problem["cost"] == {
        "bought": "723.21", "haulage": "20.28", "labour_minutes": "120", "labour_per_hour": "24",
        "other": "0",
    }  # fmt: skip
    assert problem["margin"] == 0.35
    weights = {one["id"]: Decimal(one["weight"]) for one in problem["cuts"]}
    assert weights == {"C10": 14, "C15": 10, "C09": 12, "C07": 7, "C08": 4, OFF: 40}
    worths = {one["name"]: (Decimal(one["weight"]), Decimal(one["value_per_unit"]))
              for one in problem["credits"]}  # fmt: skip
    assert worths == {
        "Trim": (Decimal("38.6"), 3), "Fat": (Decimal("11.9"), Decimal("0.3")),
        "Bone": (Decimal("27.4"), Decimal("0.2")),
    }  # fmt: skip
    assert Decimal(problem["start_weight"]) == weight_of(problem) == Decimal("166.7")
    assert problem["endings"] == {"step": "0.05"}
    assert {one["shrink"] for one in problem["cuts"]} == {float(SHRINK)}


@pytest.mark.parametrize("tag", TAGS)
def test_every_piece_s_problem_closes_and_is_worked_out(shop, tag):
    """Weights of the problem add up exactly, and the plan needs cost / (1 - margin) of sales."""
    problem, plan = shop.chalk.problem(tag), shop.chalk.plan(tag)
    assert set(plan.pop("guessed")) == {"revenue", "board", "names"}
    jsonschema.validate(plan, EQUATION["chalk.plan"])
    assert weight_of(problem) == Decimal(problem["start_weight"])
    cost = Fraction(problem["cost"]["bought"]) + Fraction(problem["cost"]["haulage"])
    cost += Fraction(problem["cost"]["labour_minutes"]) * 24 / 60
    credit = sum(Fraction(one["weight"]) * Fraction(one["value_per_unit"])
                 for one in problem["credits"])  # fmt: skip
    needed = (cost - credit) / (1 - Fraction("0.35"))
    assert abs(Fraction(plan["needed"]) - needed) <= Fraction(1, 100)
    taken = sum(Fraction(one["price"]) * Fraction(one["sells"]) for one in plan["cuts"])
    assert plan["closes"] is True
    assert plan["reached"] is True
    assert taken >= needed


def test_a_typed_price_stays_and_the_others_answer(shop):
    """Short ribs held two dollars under the answer: every other free cut goes up."""
    free = shop.chalk.plan("B-41F")
    low = Decimal(cut_of(free, "C09")["price"]) - 2
    plan = shop.chalk.plan("B-41F", prices={"C09": low})
    assert Decimal(cut_of(plan, "C09")["price"]) == low
    assert cut_of(plan, "C09")["why"] == "fixed"
    for one in plan["cuts"]:
        if one["id"] != "C09":
            assert Decimal(one["exact"]) > Decimal(cut_of(free, one["id"])["exact"])
    assert Decimal(plan["revenue"]) >= Decimal(plan["needed"])


def test_a_cut_may_keep_its_price_on_the_board(shop):
    """Brisket fixed stays at 9.60."""
    assert cut_of(shop.chalk.plan("B-41F", fixed=["C10"]), "C10")["price"] == "9.60"


def test_another_margin_and_another_cost_are_tried_without_being_kept(shop):
    """At no margin the sales needed are the cost; the shop's own figures stay."""
    plan = shop.chalk.plan("B-41F", margin=Decimal(0), paid=Decimal("500.00"))
    net = Decimal("500.00") + Decimal(48) - Decimal(plan["credit_value"])
    assert Decimal(plan["needed"]) == net
    assert shop.chalk.problem("B-41F")["margin"] == 0.35


def test_relatives_stand_in_the_place_of_prices(shop):
    """Short ribs at the relative of brisket get brisket's price."""
    plan = shop.chalk.plan("B-41F", relatives={"C09": Decimal("9.60")})
    assert cut_of(plan, "C09")["exact"] == cut_of(plan, "C10")["exact"]


def test_a_part_that_is_not_on_the_board_is_priced_like_the_others_and_said(shop):
    """Its relative is the mean of the others by weight: 453.3 / 47 = 9.6447."""
    problem = shop.chalk.problem("B-41F")
    by_hand = (Decimal(14) * Decimal("9.6") + Decimal(10) * Decimal("6.6")
               + Decimal(12) * Decimal("8.9") + Decimal(7) * Decimal("12.7")
               + Decimal(4) * Decimal("14.3")) / 47  # fmt: skip
    assert cut_of(problem, OFF)["relative"] == float(round(by_hand, 4))
    said = shop.chalk.plan("B-41F")["assumptions"]
    assert (
        "Chuck and rib, cut to list is not on the board: priced like the mean of the others."
        in (said)
    )


def test_what_is_guessed_of_the_board_is_told(shop):
    """By hand: 40 lb x 0.97 at the mean of the others, 9.6447; beside 453.30 x 0.97 of prices."""
    guessed = shop.chalk.plan("B-41F")["guessed"]
    assert guessed == {"revenue": "374.21", "board": "813.92",
                       "names": ["Chuck and rib, cut to list"]}  # fmt: skip
    assert round(Decimal(40) * Decimal("0.97") * Decimal("9.6447"), 2) == Decimal("374.21")
    assert round(Decimal("453.30") * Decimal("0.97") + Decimal("374.2144"), 2) == Decimal("813.92")
    # all of a lamb is on the board
    assert shop.chalk.plan("L-207")["guessed"]["names"] == []
    assert shop.chalk.plan("L-207")["guessed"]["revenue"] == "0.00"


def test_a_price_may_be_tried_for_what_has_no_line(shop):
    """It stays, the others answer, and it is no guess any more what the new board asks for it."""
    plan = shop.chalk.plan("B-41F", prices={OFF: Decimal("15.00")})
    tried = cut_of(plan, OFF)
    assert (tried["price"], tried["why"], tried["present"]) == ("15.00", "fixed", None)
    free = shop.chalk.plan("B-41F")
    assert Decimal(cut_of(plan, "C09")["exact"]) < Decimal(cut_of(free, "C09")["exact"])
    assert Decimal(plan["revenue"]) >= Decimal(plan["needed"])
    assert not any("is not on the board" in note for note in plan["assumptions"])
    # what the board in force brings is as guessed as before
    assert plan["guessed"] == free["guessed"]


GOES_ON = "; the board is worked out as for the next animal like it."


def test_what_is_booked_or_sold_of_a_piece_keeps_its_price(shop):
    """Monday's bookings are told with the price they are held at; what sold is told; a lamb none.

    Short ribs: 5 lb are booked at 8.90, and 2 lb more after the board moved to 9.40.
    """
    booked = ("14.00 lb of Beef brisket at 9.60, 5.00 lb of Beef short ribs at 8.90 and 3.00 lb of"
              " Beef chuck eye steaks at 12.70 are booked and keep those prices")  # fmt: skip
    assert f"{booked}{GOES_ON}" in shop.chalk.plan("B-41F")["assumptions"]
    shop.chalk.put([NewPrice("C09", per_lb("9.40"))], by="ines", why="farm price", key="up")
    shop.book(order(line("C09", "2"), collect_at=shop.now()), key="more")
    told = next(one for one in shop.chalk.plan("B-41F")["assumptions"] if GOES_ON in one)
    assert "5.00 lb of Beef short ribs at 8.90, 2.00 lb of Beef short ribs at 9.40" in told
    sell(shop, "C08", "1.5")
    told = next(one for one in shop.chalk.plan("B-41F")["assumptions"] if GOES_ON in one)
    assert told.startswith("1.50 lb of it is sold; 14.00 lb of Beef brisket at 9.60, ")
    assert not any(GOES_ON in one for one in shop.chalk.plan("L-207")["assumptions"])


def test_one_booking_of_a_piece_is_one_plain_sentence(monday):
    """Brisket alone is weighed and booked: how much, at which price, and for whom the board is."""
    cut = monday.cutting.start_break("B-41F", "fore", by="marek", key="start")
    brisket = next(part.id for part in cut.style.parts if part.case_id == "C10")
    monday.cutting.weigh_part(cut.number, brisket, lb("14"), by="marek", key="w")
    free = case_line(monday, "C10").free
    collect_at = monday.now().replace(day=9, hour=10)
    monday.book(order(NewLine("C10", free), collect_at=collect_at), key="b")
    told = [one for one in monday.chalk.plan("B-41F")["assumptions"] if GOES_ON in one]
    assert told == [f"14.00 lb of Beef brisket is booked at 9.60 and keeps that price{GOES_ON}"]


def test_a_price_for_what_the_piece_does_not_give_is_refused(shop):
    """Lamb chops come from no forequarter."""
    with pytest.raises(BadValue, match="B-41F gives no 'C04'"):
        shop.chalk.plan("B-41F", prices={"C04": Decimal(9)})


@pytest.mark.parametrize("amount", ["NaN", "-1", "0", "1e99999", "1e-99999", "Infinity", "100001"])
def test_a_price_no_board_can_bear_is_refused_at_once(shop, amount):
    """As a price, a relative or a pull: one sentence, no trace."""
    wrong = {"C09": Decimal(amount)}
    for more in ({"prices": wrong}, {"relatives": wrong}, {"pulls": list(wrong.items())}):
        if amount == "-1" and "pulls" in more:
            continue  # down by one is a fair question
        with pytest.raises(BadValue, match="Beef short ribs: write a price"):
            shop.chalk.plan("B-41F", **more)


@pytest.mark.parametrize("margin", ["NaN", "-0.1", "1", "1e99999"])
def test_a_margin_that_cannot_be_is_refused(shop, margin):
    """All of the sales, or less than none, is no margin."""
    with pytest.raises(BadValue):
        shop.chalk.plan("B-41F", margin=Decimal(margin))


@pytest.mark.parametrize("paid", ["NaN", "1e99999", "0.001", "-5"])
def test_a_sum_that_cannot_be_paid_is_refused(shop, paid):
    """A sum of money has the currency's decimals, and is finite."""
    with pytest.raises(BadValue):
        shop.chalk.plan("B-41F", paid=Decimal(paid))


def test_a_piece_of_unknown_cost_asks_for_it(shop):
    """No price on the delivery: one sentence; with the sum typed in it is worked out."""
    new = NewDelivery(
        "L-9", "lamb", "Saltgrass Holding", [NewPiece("L-9", "whole", "lamb carcass", lb("40"))],
        lb("40"), papers=("inspection mark", "invoice"), not_measured_because="probe is out",
    )  # fmt: skip
    shop.cutting.receive(new, by="ines", key="in")
    with pytest.raises(WrongState, match="Nobody wrote down what L-9 cost"):
        shop.chalk.plan("L-9")
    assert shop.chalk.plan("L-9", paid=Decimal("260.00"))["cost"] == "274.00"


def test_parts_of_one_line_are_one_cut(shop):
    """Two parts of a style that go to one case line are summed."""
    parts = [NewPart("Left legs", "cut", "case", Fraction(1, 4), "C01"),
             NewPart("Right legs", "cut", "case", Fraction(1, 4), "C01"),
             NewPart("Trim", "trim", "trim", Fraction(1, 2))]  # fmt: skip
    style = NewStyle("legs2", "lamb", "lamb carcass", "Legs and trim", parts)
    shop.cutting.add_style(style, by="ines", key="style")
    problem = shop.chalk.problem("L-207", style_id="legs2")
    assert [one["id"] for one in problem["cuts"]] == ["C01"]
    assert Decimal(problem["cuts"][0]["weight"]) == Decimal("25.25")
    assert any("says no minutes" in one
               for one in shop.chalk.plan("L-207", style_id="legs2")["assumptions"])  # fmt: skip


def test_a_line_counted_four_times_has_its_own_shrink(shop):
    """0.5 lb lost of the 12 lb that came: 1/24, where three counts told nothing yet."""
    for turn, left in enumerate(("11.9", "11.8", "11.7")):
        shop.cutting.count_case("C09", lb(left), by="dot", key=f"c{turn}")
    assert cut_of(shop.chalk.problem("B-41F"), "C09")["shrink"] == 0.03
    shop.cutting.count_case("C09", lb("11.5"), by="dot", key="c9")
    assert cut_of(shop.chalk.problem("B-41F"), "C09")["shrink"] == float(Fraction(1, 24))


def test_what_is_kept_while_a_price_is_tried_follows_the_ledger(shop):
    """A piece weighed again is another problem at once; a new board price too."""
    assert shop.chalk.problem("L-207")["start_weight"] == "50.500"
    shop.cutting.hang("L-207", lb("49.9"), by="marek", key="again")
    assert shop.chalk.problem("L-207")["start_weight"] == "49.900"
    new = [NewPrice("C04", per_lb("18.90"))]
    shop.chalk.put(new, by="ines", why="", key="p")
    assert cut_of(shop.chalk.problem("L-207"), "C04")["price"] == "18.90"


# any piece

weights = st.lists(st.integers(0, 10**13), min_size=1, max_size=12)
kinds = st.sampled_from(["cut", "trim", "fat", "bone", "fat_bone", "scrap", "loss"])


@given(weights, st.data(), st.sampled_from([WeightUnit.LB, WeightUnit.KG]))
def test_any_weights_close_in_the_problem(shop_style, counts, data, unit):
    """Whatever was weighed, in grams or pounds, the problem's decimals add up to its start."""
    parts = tuple(
        PartWeight(f"p{at}", data.draw(kinds), data.draw(st.sampled_from([None, "C1", "C2"])),
                   count, data.draw(st.integers(0, count)))
        for at, count in enumerate([10**11, *counts])
    )  # fmt: skip
    parts = (replace(parts[0], kind="cut"), *parts[1:])
    sheet = Sheet("T", "piece", "beef", "hangs", shop_style, Weight(sum(p.count for p in parts)),
                  parts, Fraction(10_000), Fraction(0), ())  # fmt: skip
    chosen = Settings("x", legal_unit=unit)
    problem, _ = chalk_problem(sheet, Wish(), {}, {}, shrink={}, chosen=chosen)
    assert weight_of(problem) == Decimal(problem["start_weight"])
    for one in problem["cuts"]:
        assert Decimal(one["sold"]) <= Decimal(one["weight"])


@pytest.fixture(scope="module")
def shop_style():
    from collop.shop import Style

    return Style("s", "beef", "piece", "Any", 30, "ours", ())


@given(st.integers(0, 10**9), st.lists(st.fractions(0, 1), min_size=1, max_size=20))
def test_a_split_adds_up_and_is_within_one_of_its_share(total, shares):
    """Largest rest first: whole numbers that sum to the total, each off by less than one."""
    split = apportion(total, shares)
    assert sum(split) == total
    whole = sum(shares)
    if whole:
        assert all(abs(got - total * share / whole) < 1
                   for got, share in zip(split, shares, strict=True))  # fmt: skip


THINGS = st.sampled_from(["sell", "count", "bin", "put", "hang"])
SOME = st.lists(st.tuples(THINGS, st.integers(0, 5), st.integers(1, 95)), min_size=1, max_size=8)


@settings(max_examples=12)
@given(SOME)
def test_after_any_history_parts_add_up_and_no_more_is_sold_than_there_was(places, demos, history):
    """Cuts of the break sold, counted, binned and put away, pieces weighed again: all closes."""
    copy = places.copy(demos("tuesday"))
    with open_shop(copy, StillClock()) as shop:
        for step, (what, which, percent) in enumerate(history):
            with suppress(CollopError):
                do_something(shop, what, which, percent, f"k{step}")
        sold = 0
        for one in shop.chalk.animals():
            parts = shop.chalk.parts(one.tag)
            assert all(Weight.zero() <= part.sold <= part.weight for part in parts)
            assert sum(part.weight.count for part in parts) == one.weight.count
            problem = shop.chalk.problem(one.tag)
            assert weight_of(problem) == Decimal(problem["start_weight"])
            sold += sum(part.sold.count for part in parts)
        assert sold == sum(
            week.weight.count for case_id in FROM_IT for week in shop.chalk.sales(case_id)
        )
    places.drop(copy)


FROM_IT = ("C07", "C08", "C09", "C15")


def do_something(shop, what, which, percent, key):
    """Do one thing to what came of the forequarter; what cannot be done is refused."""
    case_id = FROM_IT[which % len(FROM_IT)]
    free = case_line(shop, case_id).free
    some = Weight(free.count * percent // 100)
    if what == "sell":
        booked = shop.book(order(NewLine(case_id, some), collect_at=shop.now()), key=f"{key}-b")
        shop.hand_over(booked.id, {booked.lines[0].id: some}, by="dot", key=key)
    elif what == "count":
        shop.cutting.count_case(case_id, some, by="dot", key=key, sure=True)
    elif what == "bin":
        lot = next(one for one in shop.cutting.stock() if one.case_id == case_id)
        shop.cutting.bin(lot.lot_id, "case", by="dot", key=key, why="dropped", weight=some)
    elif what == "put":
        lot = next(one for one in shop.cutting.stock()
                   if one.place == "block" and one.species == "beef")  # fmt: skip
        shop.cutting.put_in_case(lot.lot_id, "block", case_id, by="dot", key=key,
                                 weight=Weight(lot.weight.count * percent // 100))  # fmt: skip
    else:
        piece = shop.cutting.rail()[which]
        air = Weight(piece.weight_now.count * (1000 - percent) // 1000)
        shop.cutting.hang(piece.tag, air, by="dot", key=key, sure=True)


# the board, whole, put out, clearing


def test_the_board_is_read_put_and_told_again(shop, clock):
    """A price planned, withdrawn by none, is told as planned, then in force; history keeps why."""
    later = clock.now().replace(hour=15)
    shop.chalk.put([NewPrice("C09", per_lb("9.40"))], by="ines", why="", key="a", from_at=later)
    assert [one.case_id for one in shop.chalk.planned()] == ["C09"]
    assert {one.case_id: one.price for one in shop.chalk.board()}["C09"] == per_lb("8.90")
    clock.put(later)
    assert {one.case_id: one.price for one in shop.chalk.board()}["C09"] == per_lb("9.40")
    assert len(shop.chalk.board()) == 34
    shop.chalk.mark_down("C09", per_lb("6.00"), by="ines", why="last day of it", key="b")
    assert shop.chalk.history("C09")[-1].why == "last day of it"
    with pytest.raises(NotFound):
        shop.chalk.history("C99")


def test_a_guard_is_told_before_the_price_is_put_up(shop):
    """6.00 for short ribs that cost 7.07: under cost and a jump; refused without a reason."""
    new = [NewPrice("C09", per_lb("6.00"))]
    assert {one.kind for one in shop.chalk.guards(new)} == {"under cost", "jump"}
    with pytest.raises(BadValue):
        shop.chalk.mark_down("C09", per_lb("6.00"), by="ines", why="", key="x")
    assert {one.case_id: one.price for one in shop.chalk.board()}["C09"] == per_lb("8.90")


def test_costs_are_those_of_what_is_on_hand(shop):
    """Every lot on hand has a line; the case lines of Monday's break have a mean cost."""
    assert {one.lot_id for one in shop.chalk.costs()} == {
        one.lot_id for one in shop.cutting.stock()
    }
    assert set(shop.chalk.case_costs()) == {"C07", "C08", "C09", "C10", "C15"}


def test_whole_breaks_even_at_what_its_cuts_bring(shop):
    """By hand: share x price x (1 - shrink) over all cuts, by-products at worth, less labour."""
    problem = shop.chalk.whole_problem("L-207", price=per_lb("9.00"))
    jsonschema.validate(problem, WHOLE["whole"])
    plan = shop.chalk.whole("L-207", price=per_lb("9.00"))
    shares = {"C05": ("0.04", "6.3"), "C02": ("0.23", "8.4"), "C03": ("0.12", "5.1"),
              "C04": ("0.11", "18.6"), "C01": ("0.33", "11.2")}  # fmt: skip
    brings = sum(Fraction(share) * Fraction(price) * Fraction("0.97")
                 for share, price in shares.values())  # fmt: skip
    brings += Fraction("0.05") * 3 + Fraction("0.05") * Fraction("0.3")
    brings += Fraction("0.06") * Fraction("0.2") - Fraction(35 * 24, 60) / Fraction("50.5")
    assert abs(Fraction(plan["break_even"]) - brings) < Fraction(1, 1000)
    assert plan["at"]["better"] == "whole"
    free = {one["id"]: one["case_free"] for one in problem["cuts"] if "case_free" in one}
    assert Decimal(free["C02"]) == Decimal(15)


def test_how_much_to_put_out_is_by_cost_and_the_usual_day(shop):
    """Short ribs keep five days: what is left is worth its cost of 7.0709 less 3 % shrink.

    (8.90 - 7.0709) / (8.90 - 6.8588) is the ratio; it is said, and that a cost is not known.
    """
    problem = shop.chalk.put_out_problem("C09")
    jsonschema.validate(problem, PUTTING_OUT["putout"])
    assert Decimal(problem["salvage"]) == round(Decimal("7.0709") * (1 - Decimal("0.03")), 4)
    plan = shop.chalk.put_out("C09")
    ratio = (Fraction("8.9") - Fraction(problem["cost"])) / (
        Fraction("8.9") - Fraction(problem["salvage"])
    )
    assert plan["critical_ratio"] == pytest.approx(float(ratio), abs=5e-5)
    assert shop.chalk.put_out_notes("C09") == (
        "What is left is sold on a later day: it is worth its cost less 3.00% shrink.",
    )
    assert plan["assumptions"][0] == shop.chalk.put_out_notes("C09")[0]
    assert "not known" in shop.chalk.put_out("C11")["assumptions"][0]


def test_on_its_last_day_what_is_left_is_mince_alone(shop, clock):
    """Short ribs, by Sunday, on Saturday: no open day is left, so 7.80 x 0.95 x 0.62 less labour.

    3 minutes of 24.00 an hour are 1.20.
    """
    clock.put(clock.now().replace(day=13))
    assert Fraction(shop.chalk.put_out_problem("C09")["salvage"]) == (
        Fraction("7.8") * Fraction("0.95") * Fraction("0.62") - Fraction("1.2")
    )
    assert shop.chalk.put_out_notes("C09")[-1] == (
        "What is left is ground: as Beef mince, 20 % fat it brings 3.39 after labour."
    )
    clock.put(clock.now().replace(day=12))
    assert "sold on a later day" in shop.chalk.put_out_notes("C09")[-1]


def test_links_on_their_last_day_leave_nothing(shop, clock):
    """What cannot be ground is worth nothing once its day is over, and that is said."""
    clock.put(clock.now().replace(day=11))
    (links,) = (one for one in shop.case() if one.name == "Lamb red links")
    assert links.use_by == clock.now().date()
    assert Decimal(shop.chalk.put_out_problem(links.id)["salvage"]) == 0
    assert shop.chalk.put_out_notes(links.id)[-1] == (
        "What is left is worth nothing: this is its last day."
    )


def test_ten_days_of_sales_are_put_out_by_as_they_were(shop, clock):
    """After ten open days with a sale of lamb mince, the days themselves are the demand."""
    assert shop.chalk.put_out_problem("C06")["demand"]["kind"] == "normal"
    sell(shop, "C06", "2.5")
    clock.put(clock.now().replace(day=24))
    demand = shop.chalk.put_out_problem("C06")["demand"]
    # 9 to 23 June: Tuesday to Saturday, eleven open days, one of them with a sale
    assert demand["kind"] == "counts"
    assert [Decimal(one) for one in demand["seen"]] == [Decimal("2.5"), *([Decimal(0)] * 10)]


def test_what_hangs_clears_within_what_there_is(shop):
    """The plan is proven, uses no more than hangs, and no price passes the shop's cap of 1.25."""
    problem, plan = shop.chalk.clearing_problem(), shop.chalk.clearing()
    jsonschema.validate(problem, CLEARING["clearing"])
    jsonschema.validate(plan, CLEARING["clearing.plan"])
    assert plan["proof"]["status"] == "proven"
    supply = {one["name"]: Decimal(one["weight"]) for one in problem["supply"]}
    assert supply["lamb carcass"] == Decimal("50.5") + Decimal("53.4") + Decimal("47.6")
    used = dict.fromkeys(supply, Decimal(0))
    for one in plan["activities"]:
        used[one["name"].partition(":")[0]] += Decimal(one["weight"])
    assert all(used[name] <= supply[name] for name in supply)
    for one in plan["cuts"]:
        if one["price"] is not None:
            assert Decimal(one["price"]) <= Decimal(one["present"]) * Decimal("1.25") + Decimal(
                "0.01"
            )


def test_no_line_is_cleared_under_half_of_its_usual_price(shop):
    """Each line's floor is half of its price; the plan keeps it, and the notes say so."""
    problem, plan = shop.chalk.clearing_problem(), shop.chalk.clearing()
    lines = [one for one in problem["cuts"] if not one["id"].startswith("worth:")]
    assert len(lines) > 10
    for one in lines:
        assert Decimal(one["floor"]) == Decimal(one["price"]) / 2
    known = {one["id"]: one for one in lines}
    held = [one for one in plan["cuts"] if one["id"] in known and one["binds"] == "floor"]
    assert held
    for one in plan["cuts"]:
        if one["id"] in known and one["price"] is not None:
            assert Decimal(one["price"]) >= Decimal(known[one["id"]]["floor"])
    assert any("No line goes under 50%" in note for note in plan["assumptions"])


def test_what_half_the_price_does_not_sell_is_told(shop):
    """A hundred pounds of goat more than a week can take stay unsold: how much, in words."""
    from collop.shop.chalk_ways import unsold_notes

    plan = {"unit": "lb", "cuts": [
        {"name": "Goat shoulder", "unsold": "81.5"}, {"name": "Leg", "unsold": "0"},
        {"name": "Neck", "unsold": "2"},
    ]}  # fmt: skip
    assert unsold_notes(plan) == (
        "Not sold in the week at these prices: 81.5 lb of Goat shoulder; 2 lb of Neck.",
    )
    assert unsold_notes({"unit": "lb", "cuts": []}) == ()
    told = shop.chalk.clearing()
    left = [one for one in told["cuts"] if one["unsold"] and Decimal(one["unsold"])]
    assert any("Not sold in the week" in note for note in told["assumptions"]) is bool(left)


def test_cuts_counted_as_trim_are_named_in_the_clearing(shop):
    """Strip and round has no line: it goes to trim at 3.00, and the plan says which do."""
    notes = shop.chalk.clearing_notes()
    assert notes[0].startswith(
        "No line with a price and a usual sale, so counted as trim, at 3.00 a lb: "
    )
    for name in ("Strip and rib end", "Round, seamed out", "Chuck and rib", "Strip and round"):
        assert name in notes[0]
    # a goat is cut into shoulder for the case, so nothing of it is in doubt but the rest of it
    assert shop.chalk.clearing()["assumptions"][:2] == list(notes)


def test_cuts_priced_like_the_mean_are_named_in_whole(shop):
    """The hindquarter's strip and round count at 16.44, the mean of its cuts with a price."""
    note = shop.chalk.whole("B-41H")["assumptions"][0]
    assert note == (
        "No price on the board, so priced like the mean of the others, 16.44 a lb: Strip and rib"
        " end; Round, seamed out."
    )
    assert "mean of the others" not in shop.chalk.whole("L-207")["assumptions"][0]


def test_whole_names_first_what_the_case_runs_short_of(shop):
    """The hindquarter: rump, 8 lb short within the week, before the slow shin that is not short."""
    say = shop.chalk.whole("B-41H")["say"]
    assert "Whole takes 14.2 lb of Beef rump" in say
    assert "the case is short by 8.0 lb" in say
    assert "shin" not in say


def test_clearing_takes_only_what_hangs(shop):
    """A broken piece is no supply; some tags alone are."""
    with pytest.raises(WrongState, match="B-41F does not hang"):
        shop.chalk.clearing(["B-41F"])
    assert [one["name"] for one in shop.chalk.clearing_problem(["G-031"])["supply"]] == [
        "goat carcass"
    ]
    with pytest.raises(BadValue, match="Nothing hangs"):
        shop.chalk.clearing([])


def test_on_hand_weight_in_clearing_is_what_is_free(shop):
    """What is booked is sold already."""
    cuts = {one["id"]: one for one in shop.chalk.clearing_problem()["cuts"]}
    assert Decimal(cuts["C02"]["on_hand"]) == case_line(shop, "C02").free.decimal(WeightUnit.LB)
