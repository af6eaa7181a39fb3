"""The board and its guard rails: all prices or none, and none far off without a reason."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from wished import lb, line, order, per_lb

from collop.errors import BadValue, NotFound
from collop.measures import Money, UnitPrice, WeightUnit
from collop.shop import StillClock, open_shop
from collop.shop.board import board_changes, board_lines, planned_changes
from collop.shop.board_guard import JUMP, UNDER_COST, guards, put_all_on_board
from collop.shop.chalk_model import NewPrice
from collop.shop.costing import known_costs

WEDNESDAY = datetime(2026, 6, 10, 8, 0)  # noqa: DTZ001 -- shop-local


def reading(shop, work):
    """Do something with a reading connection, the settings and the time."""
    with shop._room.store.read() as conn:
        return work(conn, shop.settings())


def lines_of(shop, at=None):
    moment = at or shop.now()
    return reading(shop, lambda conn, chosen: board_lines(
        conn, moment, chosen, as_of=at is not None))  # fmt: skip


def line_of(shop, case_id, at=None):
    return next(one for one in lines_of(shop, at) if one.case_id == case_id)


def guards_of(shop, *new):
    wanted = [NewPrice(case_id, price) for case_id, price in new]
    return reading(shop, lambda conn, chosen: guards(conn, wanted, chosen, shop.now()))


def planned(shop):
    return reading(shop, lambda conn, chosen: planned_changes(conn, chosen, shop.now()))


def put(shop, *new, why="", key="k", **more):
    wanted = [NewPrice(case_id, price) for case_id, price in new]
    return put_all_on_board(shop._room, wanted, by="ines", why=why, key=key, **more)


def test_the_board_tells_both_units_and_what_is_out(shop, clock):
    """Every line with a price, in board order; brisket is all promised, so it is out."""
    found = lines_of(shop)
    assert [one.case_id for one in found] == [one.id for one in shop.case()]
    assert {one.case_id for one in found if one.is_out} == {
        one.id for one in shop.case() if not one.free
    }
    ribs = line_of(shop, "C09")
    # 8.90 x 2.20462262... = 19.6211...
    assert (ribs.per_lb, ribs.per_kg) == (Money.of("8.90"), Money.of("19.62"))
    assert (ribs.name, ribs.species, ribs.form) == ("Beef short ribs", "beef", "fresh")
    put(shop, ("C09", UnitPrice.of("19.00", WeightUnit.KG)))
    ribs = line_of(shop, "C09")
    assert (ribs.per_kg, ribs.per_lb, ribs.since) == (
        Money.of("19.00"), Money.of("8.62"), clock.now(),
    )  # fmt: skip


def test_stock_past_its_day_is_out(shop, clock):
    """Lamb mince keeps one day: on Thursday it is no longer offered."""
    assert not line_of(shop, "C06").is_out
    clock.put(datetime(2026, 6, 11, 8, 0))  # noqa: DTZ001 -- shop-local
    assert line_of(shop, "C06").is_out


def test_a_price_within_bounds_needs_no_word(shop, clock):
    """Two lines change at once, at the shop's time, and the history tells who."""
    clock.put(WEDNESDAY)
    made = put(shop, ("C09", per_lb("9.40")), ("C11", per_lb("7.50")))
    assert [(one.case_id, str(one.price.amount)) for one in made] == [
        ("C09", "9.40"), ("C11", "7.50"),
    ]  # fmt: skip
    last = shop.board_changes("C09")[-1]
    assert (last.by, last.why, last.from_at, last.entered_at) == ("ines", "", WEDNESDAY, WEDNESDAY)


def test_a_price_under_cost_tells_the_cost(shop):
    """The limit is the mean cost on hand; at it nothing is said, a hair below it is."""
    exact = reading(shop, lambda conn, chosen: known_costs(conn, chosen)["C09"])
    assert exact.known == 1
    (one,) = guards_of(shop, ("C09", per_lb("6.90")))[:1]
    assert (one.kind, one.limit) == (UNDER_COST, exact.per_unit)
    told = exact.per_unit.amount.quantize(Decimal("0.01"))
    assert one.say == f"Beef short ribs at 6.90 a lb is under what it cost, {told} a lb."
    at_cost = exact.per_unit.amount + Decimal("0.0001")
    assert UNDER_COST not in {g.kind for g in guards_of(shop, ("C09", per_lb(str(at_cost))))}
    below = exact.per_unit.amount - Decimal("0.0001")
    assert UNDER_COST in {g.kind for g in guards_of(shop, ("C09", per_lb(str(below))))}


def test_stock_of_unknown_cost_has_no_floor(shop):
    """Nobody told what the chicken cost, so only the jump is asked about."""
    assert [one.kind for one in guards_of(shop, ("C23", per_lb("0.01")))] == [JUMP]


def test_a_jump_is_over_the_share_that_is_set(shop):
    """15 % of 8.00 is 1.20: 9.20 goes, 9.21 is asked about, and so is 6.79."""
    put(shop, ("C11", per_lb("8.00")), why="round")
    assert guards_of(shop, ("C11", per_lb("9.20")), ("C01", per_lb("11.20"))) == ()
    assert guards_of(shop, ("C11", per_lb("6.80"))) == ()
    (up,) = guards_of(shop, ("C11", per_lb("9.21")))
    (down,) = guards_of(shop, ("C11", per_lb("6.79")))
    assert (up.kind, up.limit.amount, down.limit.amount) == (JUMP, Decimal("9.2"), Decimal("6.8"))
    assert up.say == (
        "Beef mince, 20 % fat goes from 8.00 a lb to 9.21 a lb, up 15.1 %;"
        " over 15 % at once needs a reason."
    )
    shop.change_settings({"price_jump": "0.2"}, by="ines", why="free hand", key="s")
    assert guards_of(shop, ("C11", per_lb("9.21"))) == ()


def test_a_jump_is_measured_across_units(shop):
    """8.90 a lb is 19.62 a kg: 19.62 a kg is no jump, though the figure more than doubles."""
    per_kg = UnitPrice.of("19.62", WeightUnit.KG)
    assert guards_of(shop, ("C09", per_kg)) == ()
    kinds = {one.kind for one in guards_of(shop, ("C09", UnitPrice.of("8.90", WeightUnit.KG)))}
    assert kinds == {UNDER_COST, JUMP}


def test_guards_ask_for_a_reason_and_keep_it(shop):
    """Every sentence is told at once, nothing is written; with a reason all of it is."""
    before = lines_of(shop)
    new = [("C09", per_lb("4.00")), ("C11", per_lb("8.00")), ("C12", per_lb("50"))]
    with pytest.raises(BadValue) as asked:
        put(shop, *new, why="ok")
    for words in ("under what it cost", "Beef short ribs goes from", "Beef fillet goes from"):
        assert words in str(asked.value)
    assert asked.value.where == "why"
    assert lines_of(shop) == before
    put(shop, *new, why="last day", key="again")
    assert [str(line_of(shop, one).price.amount) for one, _ in new] == ["4.00", "8.00", "50.00"]
    assert shop.board_changes("C09")[-1].why == "last day"


def test_all_or_none(shop):
    """One bad price, line, or a line named twice: none of them goes up."""
    before = lines_of(shop)
    good = ("C11", per_lb("8.00"))
    for bad, error in (
        (("C99", per_lb("8")), NotFound), (("C09", per_lb("0")), BadValue),
        (("C09", UnitPrice.of("8", WeightUnit.LB, "EUR")), BadValue), (good, BadValue),
        (("C09", UnitPrice.of("8", WeightUnit.OZ)), BadValue),
    ):  # fmt: skip
        with pytest.raises(error):
            put(shop, good, bad, why="because")
    with pytest.raises(BadValue, match="at least one"):
        put(shop)
    with pytest.raises(BadValue, match="no more than"):
        put(shop, *[good] * 2_000)
    assert lines_of(shop) == before


def test_sent_twice_is_put_up_once(shop):
    """The same key gives the same answer and one row."""
    first, again = (put(shop, ("C11", per_lb("8.00"))) for _ in range(2))
    assert first == again
    assert len(shop.board_changes("C11")) == 2


def test_one_price_goes_through_the_same_guard(shop):
    """`board_price` asks for a word as ever, and for a real one where a guard fires."""
    with pytest.raises(BadValue, match="needs a reason"):
        shop.board_price("C09", per_lb("12"), by="ines", why="x", key="a")
    assert shop.board_price("C09", per_lb("9"), by="ines", why="x", key="b") == per_lb("9")
    shop.board_price("C09", per_lb("12"), by="ines", why="last of the year", key="c")
    assert line_of(shop, "C09").price == per_lb("12")


def test_a_first_price_is_no_jump(shop):
    """A new line has no price to jump from."""
    with shop._room.store.write() as conn:
        conn.exec_driver_sql(
            "INSERT INTO case_lines SELECT 'C77', 77, 'Beef cheek', species, form, by_piece,"
            " boneless_fraction, contains, casing, grill_sq_in_per_lb, minutes_low, minutes_high,"
            " method, cook_as, styles, slots, neighbour, usual_per_day, keeps_days FROM case_lines"
            " WHERE id = 'C09'"
        )
    assert guards_of(shop, ("C77", per_lb("99"))) == ()
    put(shop, ("C77", per_lb("99")))
    assert line_of(shop, "C77").is_out


def test_a_price_ahead_waits_and_can_be_withdrawn(shop, clock):
    """Planned for Wednesday; the price in force, put up for the same time, withdraws it."""
    put(shop, ("C11", per_lb("8.20")), ("C09", per_lb("9.00")), from_at=WEDNESDAY)
    assert [(one.case_id, one.from_at) for one in planned(shop)] == [
        ("C11", WEDNESDAY), ("C09", WEDNESDAY),
    ]  # fmt: skip
    assert line_of(shop, "C11").price == per_lb("7.80")
    assert line_of(shop, "C11", WEDNESDAY).price == per_lb("8.20")
    put(shop, ("C11", per_lb("7.80")), key="back", from_at=WEDNESDAY)
    assert [one.case_id for one in planned(shop)] == ["C09"]
    clock.put(WEDNESDAY + timedelta(hours=1))
    assert (line_of(shop, "C11").price, line_of(shop, "C09").price) == (
        per_lb("7.80"), per_lb("9.00"),
    )  # fmt: skip
    assert planned(shop) == ()
    history = reading(shop, lambda conn, chosen: board_changes(conn, "C11", chosen.currency))
    assert [str(one.price.amount) for one in history] == ["7.80", "8.20", "7.80"]


def test_a_jump_ahead_is_measured_from_the_price_of_that_time(shop):
    """9.00 planned for Wednesday: 10.30 the day after is no jump, 10.40 is."""
    put(shop, ("C09", per_lb("9.00")), from_at=WEDNESDAY)
    thursday = WEDNESDAY + timedelta(days=1)
    with pytest.raises(BadValue, match=r"from 9\.00 a lb to 10\.40"):
        put(shop, ("C09", per_lb("10.40")), key="b", from_at=thursday)
    put(shop, ("C09", per_lb("10.30")), key="c", from_at=thursday)


@pytest.mark.parametrize(
    "moment", [datetime(2026, 6, 9, 7, 0), datetime(2026, 6, 10, tzinfo=UTC)]  # noqa: DTZ001
)  # fmt: skip
def test_a_time_past_or_with_a_zone_is_refused(shop, moment):
    """The board goes by the shop's own clock, and never backwards."""
    with pytest.raises(BadValue, match="time"):
        put(shop, ("C11", per_lb("8.00")), from_at=moment)


def test_the_board_of_another_moment(shop, clock, url):
    """As of Tuesday it is Tuesday's price; with the clock set back, the last one stays in force."""
    tuesday = clock.now()
    clock.put(WEDNESDAY)
    put(shop, ("C11", per_lb("8.20")))
    assert line_of(shop, "C11", tuesday).price == per_lb("7.80")
    with open_shop(url, StillClock(tuesday)) as early:
        assert line_of(early, "C11").price == per_lb("8.20")
    before_all = datetime(2020, 1, 1)  # noqa: DTZ001 -- shop-local
    assert lines_of(shop, before_all) == ()


def test_a_line_partly_known_says_so(shop):
    """Trim put on the mince line is 5 lb of 37 lb: its cost is told with that share."""
    shop.cutting.put_in_case("B-41F.07", "trim", "C11", by="marek", key="p", weight=lb("5"))
    found = reading(shop, lambda conn, chosen: known_costs(conn, chosen)["C11"])
    assert (found.per_unit, found.known) == (per_lb("3.0000"), Fraction(5, 37))
    one = guards_of(shop, ("C11", per_lb("2.99")))[0]
    assert one.say == (
        "Beef mince, 20 % fat at 2.99 a lb is under what it cost, 3.00 a lb,"
        " as far as 14 % of it tell."
    )


def test_quotes_held_keep_their_price(shop):
    """The board moves, the quote does not."""
    quote = shop.quote([line("C11", "2")], ask={}, key="q")
    put(shop, ("C11", per_lb("8.20")))
    made = shop.book(order(line("C11", "2")), key="b", quote_id=quote.id)
    assert str(made.total) == "15.60"
