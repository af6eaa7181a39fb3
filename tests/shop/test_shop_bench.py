"""The bench's problem as the shop's own books give it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from wished import lb, line, order

from collop.bench.bench_schema import SCHEMAS
from collop.bench.reading import read_problem
from collop.errors import BadValue, ProblemError, WrongState
from collop.measures import Temperature, Weight, WeightUnit
from collop.shop import (
    NewDelivery,
    NewPiece,
    Settings,
    create_shop,
)
from collop.shop.bench_figures import fat_limit
from collop.shop.bench_look import load_look, short_id
from collop.shop.bench_problem_case import _held_beyond
from collop.shop.bench_problem_hook import hook_parts
from collop.shop.bench_problem_rail import _shares
from collop.shop.knife_model import NewPart, NewStyle
from collop.shop.ledger import held_by
from collop.shop.own_yields import OwnShare
from collop.shop.releasing import line_rows
from collop.shop.settings import load_settings

TUESDAY = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local


def cut(problem, case_id):
    return next(one for one in problem["cuts"] if one["id"] == case_id)


def piece(problem, tag):
    return next(one for one in problem["rail"] if one["tag"] == tag)


def booked(problem, booking_id):
    return next((one for one in problem["bookings"] if one["id"] == booking_id), None)


def total(lots):
    return sum((Decimal(one["weight"]) for one in lots), Decimal(0))


# the problem


def test_the_kernel_and_the_schema_read_the_problem(shop, monday):
    """On both demo days the problem is one that both accept, with seven days from today."""
    for one in (shop, monday):
        problem = one.bench.problem()
        assert list(Draft202012Validator(SCHEMAS["bench"]).iter_errors(problem)) == []
        read = read_problem(problem)
        assert [day.date for day in read.days] == [
            one.now().date() + timedelta(days=ahead) for ahead in range(7)
        ]
        assert [day.is_open for day in read.days] == [
            one.settings().is_open(day.date) for day in read.days
        ]


def test_every_style_closes_to_one_and_every_piece_weighs_what_hangs(shop):
    """Shares add up to 1 exactly; the rail's weights, paid money and shrink are those of Rail."""
    problem = shop.bench.problem()
    styles = [style for kind in problem["kinds"] for style in kind["styles"]]
    assert {style["id"] for style in styles} >= {"hind", "hind-mince", "lamb", "pig", "goat"}
    for style in styles:
        assert sum(Decimal(one["share"]) for one in style["outputs"]) == 1
    for one in shop.rail():
        found = piece(problem, one.tag)
        assert Decimal(found["weight"]) == one.weight_now.decimal(WeightUnit.LB)
        want = Fraction(one.paid.minor, 100) * one.weight_now.count / one.weight_in.count
        assert abs(Fraction(found["worth_left"]) - want) <= Fraction(1, 200)
        lost = Fraction(one.lost.count, one.weight_in.count * one.days)
        assert abs(Fraction(found["shrink_per_day"]) - lost) < Fraction(1, 10**6)


def test_stock_is_what_is_on_hand_by_lot_and_last_day(shop):
    """Free and booked weight both count; what no style gives is not in the plan."""
    problem = shop.bench.problem()
    for one in shop.case():
        if any(row["id"] == one.id for row in problem["cuts"]):
            assert total(cut(problem, one.id)["stock"]) == one.on_hand.decimal(WeightUnit.LB)
    assert cut(problem, "C01")["stock"] == [{"weight": "34.000", "days_left": 4, "lot": "C01-0609"}]
    assert {"C23", "C28", "C33"}.isdisjoint(row["id"] for row in problem["cuts"])
    trim = next(row for row in problem["bins"] if row["species"] == "beef")
    assert (total(trim["stock"]), trim["worth"]) == (Decimal("38.6"), "3")


def test_today_counts_by_the_hours_that_are_left(shop, clock):
    """At 13:00 half the day's sale and half the minutes are left; after closing nothing is."""
    whole = shop.bench.problem()
    clock.put(TUESDAY + timedelta(hours=5))
    half = shop.bench.problem()
    for before, now in zip(whole["cuts"], half["cuts"], strict=True):
        assert Decimal(now["usual"][0]) == Decimal(before["usual"][0]) / 2
        assert now["usual"][1:] == before["usual"][1:]
    assert half["hands"][1]["minutes"][:2] == ["240", "480"]
    clock.put(TUESDAY + timedelta(hours=11))
    late = shop.bench.problem()
    assert {row["usual"][0] for row in late["cuts"]} == {"0"}
    assert {row["minutes"][0] for row in late["hands"]} == {"0"}


def test_a_shut_day_sells_nothing(shop):
    """Sunday and Monday have no sale; Sunday has no hands, Monday is the breaking day."""
    problem = shop.bench.problem()
    assert cut(problem, "C01")["usual"][5:] == ["0", "0"]
    assert [row["minutes"][5:] for row in problem["hands"]] == [
        ["0", "240"], ["0", "480"], ["0", "300"],
    ]  # fmt: skip


def test_what_is_held_for_after_the_plan_is_no_stock_of_it(shop):
    """A booking of next week keeps its weight out of the plan, and is not in it."""
    later = TUESDAY + timedelta(days=10)
    made = shop.book(order(line("C02", "5.0"), collect_at=later), key="k")
    problem = shop.bench.problem()
    assert total(cut(problem, "C02")["stock"]) == Decimal("19.0")
    assert booked(problem, made.id) is None
    assert total(cut(shop.bench.problem(days=14), "C02")["stock"]) == Decimal("24.0")


def test_a_booking_that_was_not_collected_is_due_at_once(shop, clock):
    """Its weight is still held, so it is still promised."""
    clock.put(TUESDAY + timedelta(days=1))
    assert booked(shop.bench.problem(), "H4")["due"] == 0


def test_what_nobody_collected_for_months_is_held_all_the_same(shop, clock):
    """60 days after its day the booking is in the plan; later its weight is kept out of it."""
    made = shop.book(order(line("C02", "5.0"), collect_at=TUESDAY + timedelta(days=1)), key="k")
    with shop.bench._room.store.read() as conn:
        chosen = load_settings(conn)
        (row,) = line_rows(conn, int(made.id[1:]))
        (held,) = held_by(conn, row.id)
        found = []
        for days in (61, 62):
            look = load_look(conn, TUESDAY + timedelta(days=days), chosen)
            bookings = {row["id"] for row in hook_parts(conn, look).bookings}
            found.append((made.id in bookings, _held_beyond(conn, look).get(held.lot_id, 0)))
    assert found[0][0]
    assert not found[1][0]
    assert found[1][1] - found[0][1] == lb("5.0").count


def test_a_piece_planned_for_after_the_plan_is_kept_until_somebody_decides_else(shop):
    """B-42 is planned for next week; a person's own lock counts before that."""
    assert shop.bench.problem()["locks"] == [{"tag": "B-42", "style": None, "day": None}]
    own = {"tag": "B-42", "style": "side", "day": 3}
    assert shop.bench.problem(locks=[own])["locks"] == [own]
    assert piece(shop.bench.problem(), "B-41H")["from"] == 2
    assert piece(shop.bench.problem(), "L-207")["from"] == 0


def test_a_claim_is_due_when_its_booking_is_collected(shop):
    """H3 hangs on L-209 and is collected on Thursday; one of next week keeps its piece hanging."""
    assert piece(shop.bench.problem(), "L-209")["claims"] == [
        {"booking": "H3", "name": "Household freezer order", "weight": "23.800", "due": 2}
    ]
    later = shop.book(order(line("C05", "1.0"), collect_at=TUESDAY + timedelta(days=10)), key="k")
    shop.cutting.claim(later.id, "L-207", lb("20"), by="ines", key="c")
    assert "L-207" in {row["tag"] for row in shop.bench.problem()["locks"]}


def test_without_a_price_a_piece_is_worth_its_board_less_the_margin(shop):
    """Nobody wrote down what it cost: the first style's parts at the board, less 35 %."""
    new = NewDelivery(
        tag="L-300", species="lamb", farm="A farm", invoiced=lb("50"),
        pieces=[NewPiece("L-300", "whole", "lamb carcass", lb("50"))],
        temperature=Temperature.fahrenheit(38), papers=("inspection mark", "invoice"),
    )  # fmt: skip
    shop.cutting.receive(new, by="ines", key="k")
    problem = shop.bench.problem()
    style = next(one for one in problem["kinds"] if one["id"] == "lamb carcass")["styles"][0]
    prices = {row["id"]: Fraction(row["price"]) for row in problem["cuts"]}
    each = {"bin": lambda _: 3, "worth": Fraction, "cut": prices.get}
    worth = sum(
        Fraction(row["share"]) * each[key](row[key])
        for row in style["outputs"] for key in each if key in row
    )  # fmt: skip
    found = piece(problem, "L-300")
    assert abs(Fraction(found["worth_left"]) - worth * 50 * Fraction(65, 100)) <= Fraction(1, 200)
    others = [Fraction(piece(problem, tag)["shrink_per_day"])
              for tag in ("L-207", "L-208", "L-209")]  # fmt: skip
    assert abs(Fraction(found["shrink_per_day"]) - sum(others) / 3) < Fraction(1, 10**6)
    assert any("L-300 cost" in said for said in shop.bench.plan(reasons=False)["assumptions"])


def test_nobody_at_the_block_is_one_pair_of_hands(shop):
    """Without names there are eight hours on open days, and the plan says so."""
    shop.change_settings({"hands": []}, by="ines", why="test", key="k")
    (hand,) = shop.bench.problem()["hands"]
    assert hand["minutes"] == ["480"] * 5 + ["0", "0"]
    said = shop.bench.plan(reasons=False)["assumptions"]
    assert any(one.startswith("Nobody is named at the block") for one in said)


def test_the_room_of_the_case_is_without_what_the_plan_does_not_see(shop):
    """Poultry, bones, cheese and mushrooms take 145.5 lb of the 600; frozen goods none."""
    outside = [one for one in shop.case() if one.form != "frozen"]
    inside = {row["id"] for row in shop.bench.problem()["cuts"]}
    taken = sum(one.on_hand.count for one in outside if one.id not in inside)
    want = lb("600").count - taken
    assert Decimal(shop.bench.problem()["case_room"]) == Weight(want).decimal(WeightUnit.LB)
    shop.change_settings({"case_room": None}, by="ines", why="test", key="k")
    assert shop.bench.problem()["case_room"] is None


@pytest.mark.parametrize(("more", "says"), [
    ({"days": 0}, "1 to 14"), ({"days": 15}, "1 to 14"), ({"days": True}, "1 to 14"),
    ({"days": "7"}, "1 to 14"), ({"start": date(2026, 6, 8)}, "is over"),
])  # fmt: skip
def test_days_out_of_range_are_told(shop, more, says):
    """One sentence, no plan."""
    with pytest.raises(BadValue, match=says):
        shop.bench.problem(**more)


@pytest.mark.parametrize("lock", [
    "L-207", 5, {"tag": 5}, {"tag": "X-1"}, {"tag": "L-207", "style": "hind"},
    {"tag": "L-207", "style": "lamb", "day": 99}, {"tag": "L-207", "style": "lamb", "day": "x"},
])  # fmt: skip
def test_a_lock_that_cannot_be_is_one_sentence(shop, lock):
    """A piece that does not hang, another kind's style, a day outside the plan, or no lock."""
    with pytest.raises(ProblemError) as told:
        shop.bench.plan(locks=[lock], reasons=False)
    assert "Traceback" not in told.value.message


def test_an_empty_shop_says_what_it_needs(new_url):
    """Nothing to cut: a sentence that tells what to do."""
    with create_shop(new_url(), settings=Settings("New")) as shop:
        for ask in (shop.bench.plan, shop.bench.refresh, shop.bench.farm_plan):
            with pytest.raises(WrongState, match=r"first|add a style"):
                ask()
        assert shop.bench.latest() is None
        assert shop.bench.worths() == {}
        assert shop.bench.wants() == ()


def test_a_piece_of_no_known_shape_is_cut_by_any_style_of_its_species(shop):
    """A half beast in words has every beef style; ids stay unique."""
    new = NewDelivery(
        tag="B-99", species="beef", farm="A farm", invoiced=lb("300"),
        pieces=[NewPiece("B-99", "half a beast", "half beast", lb("300"))],
        temperature=Temperature.fahrenheit(38), papers=("inspection mark", "invoice"),
    )  # fmt: skip
    shop.cutting.receive(new, by="ines", key="k")
    problem = shop.bench.problem()
    assert piece(problem, "B-99")["kind"] == "beef, any style"
    read_problem(problem)


def test_long_ids_that_begin_alike_stay_apart(shop):
    """Cut to 80 letters they would be one; so would those of one name twice."""
    taken = set()
    texts = ["a" * 90 + "1", "a" * 90 + "2", "a" * 80, "a" * 80, "Ines\tB", "Ines B", "Ines"]
    found = [short_id(text, taken) for text in texts]
    assert len(set(found)) == len(found) == len(taken)
    assert max(len(one) for one in found) == 80
    assert (found[2], found[-1]) == ("a" * 80, "Ines")
    assert all(one.isprintable() for one in found)
    hands = [{"person": name, "minutes": [480] * 7} for name in ("Ines\tB", "Ines B")]
    shop.change_settings({"hands": hands}, by="ines", why="x", key="k")
    assert len({one.name for one in read_problem(shop.bench.problem()).hands}) == 2


@given(st.lists(st.integers(0, 10**9), min_size=2, max_size=30).filter(any),
       st.booleans())  # fmt: skip
def test_rounded_shares_add_up_to_one_whatever_they_are(weights, has_loss):
    """The rest of rounding goes to the loss, or to the largest part; none falls below zero."""
    whole = sum(weights)
    parts = [OwnShare(str(at), "cut", Fraction(0), Fraction(one, whole), None)
             for at, one in enumerate(weights)]  # fmt: skip
    if has_loss:
        parts[-1] = replace(parts[-1], kind="loss")
    found = _shares(parts)
    assert sum(found) == 1
    assert min(found) >= 0
    assert all(abs(Fraction(one) - part.share) < Fraction(1, 10**4)
               for one, part in zip(found, parts, strict=True))  # fmt: skip


def test_fat_is_read_from_a_name():
    """20 % fat and 85 % lean are limits; other names promise nothing."""
    assert [fat_limit(name) for name in ("Mince, 20 % fat", "85% lean ground beef", "Mince")] == [
        Fraction(1, 5), Fraction(3, 20), None,
    ]  # fmt: skip


def test_a_cut_without_a_line_counts_at_a_share_of_its_species_board(shop):
    """0.6 of the mean beef price, each line by its usual sale; the plan says how much."""
    problem = shop.bench.problem()
    usual = {one["id"]: Fraction(one["usual"][1]) for one in problem["cuts"]}
    beef = [one for one in problem["cuts"] if one["species"] == "beef"]
    mean = sum(Fraction(one["price"]) * usual[one["id"]] for one in beef)
    mean /= sum(usual[one["id"]] for one in beef)
    hind = next(style for kind in problem["kinds"] for style in kind["styles"]
                if style["id"] == "hind")  # fmt: skip
    block = next(one for one in hind["outputs"] if one.get("name") == "Round, seamed out")
    assert abs(Fraction(block["worth"]) - mean * Fraction(6, 10)) < Fraction(1, 10**4)
    said = shop.bench.plan(reasons=False)["assumptions"]
    assert any("60% of the mean board price" in one and "beef 7.07" in one for one in said)


def test_a_style_may_have_no_loss(shop):
    """Its largest part takes what rounding leaves."""
    parts = [NewPart("Third", "cut", "block", Fraction(1, 3)),
             NewPart("Rest", "trim", "trim", Fraction(2, 3))]  # fmt: skip
    shop.cutting.add_style(NewStyle("zz", "goat", "goat carcass", "In thirds", parts), by="ines",
                           key="k")  # fmt: skip
    style = next(one for kind in shop.bench.problem()["kinds"] for one in kind["styles"]
                 if one["id"] == "zz")  # fmt: skip
    assert sum(Decimal(one["share"]) for one in style["outputs"]) == 1
