"""A quote keeps its prices while it is held, and says so when it no longer does."""

from __future__ import annotations

from datetime import datetime

import pytest
from wished import line, order, per_lb

from collop.errors import BadValue, NotFound, QuoteLapsed, WrongState
from collop.measures import Money
from collop.shop import StillClock, open_shop


def wednesday(hour, minute):
    return datetime(2026, 6, 10, hour, minute)  # noqa: DTZ001 -- shop-local


NINE_AND_FOUR = (line("C11", "9"), line("C13", "4"))


@pytest.fixture
def quoted(shop, clock):
    """Wednesday 09:40: 9.0 lb of mince and 4.0 lb of rump, quoted at 135.80."""
    clock.put(wednesday(9, 40))
    return shop.quote(
        NINE_AND_FOUR, ask={"heads": 16}, say="Mince and rump.", total=Money.of("135.80"),
        key="quote",
    )  # fmt: skip


def raise_mince(shop):
    shop.board_price("C11", per_lb("8.60"), by="ines", why="farm price", key="up")


def test_a_quote_keeps_what_was_shown(shop, quoted):
    """Lines, total, ask and holding time are read back as they were given."""
    assert quoted.total == Money.of("135.80")
    assert quoted.held_until == wednesday(10, 40)
    assert shop.quote_by_id(quoted.id) == quoted
    assert quoted.ask == {"heads": 16}


def test_the_price_changes_in_the_middle_of_an_order(shop, clock, quoted):
    """Quoted 135.80 stays; 2.0 lb more come at 8.60 on a line of their own: 153.00."""
    clock.put(wednesday(10, 0))
    raise_mince(shop)
    clock.put(wednesday(10, 5))
    made = shop.book(order(*NINE_AND_FOUR), key="yes", quote_id=quoted.id)
    assert made.total == Money.of("135.80")
    clock.put(wednesday(10, 20))
    more = shop.add_lines(made.id, [line("C11", "2")], by="dot", key="more")
    assert more.total == Money.of("153.00")
    prices = [(one.case_id, str(one.unit_price.amount)) for one in more.lines]
    assert prices == [("C11", "7.80"), ("C13", "16.40"), ("C11", "8.60")]
    again = shop.quote(NINE_AND_FOUR, ask={}, key="requote")
    assert again.total == Money.of("143.00")
    change = shop.board_changes("C11")[-1]
    assert (change.by, change.why, change.from_at) == ("ines", "farm price", wednesday(10, 0))


def test_what_goes_beyond_a_quote_is_a_line_at_the_board(shop, clock, quoted):
    """Eleven pounds said yes to at once: nine at the quote, two at the board."""
    clock.put(wednesday(10, 0))
    raise_mince(shop)
    made = shop.book(order(line("C11", "11"), line("C13", "4")), key="yes", quote_id=quoted.id)
    assert [str(one.line_total) for one in made.lines] == ["70.20", "17.20", "65.60"]
    assert made.total == Money.of("153.00")


def test_a_lapsed_quote_names_the_new_total_and_needs_a_yes(shop, clock, quoted):
    """One second past the hour 143.00 must be accepted in words."""
    raise_mince(shop)
    clock.put(wednesday(10, 40))
    assert not quoted.has_lapsed(clock.now())
    clock.put(datetime(2026, 6, 10, 10, 40, 1))  # noqa: DTZ001 -- shop-local
    with pytest.raises(QuoteLapsed, match=r"held until 10:40.*143\.00.*135\.80"):
        shop.book(order(), key="yes", quote_id=quoted.id)
    made = shop.book(order(), key="yes2", quote_id=quoted.id, accept_new_price=True)
    assert made.total == Money.of("143.00")


def test_without_lines_the_quote_s_own_are_booked(shop, quoted):
    """Yes to the quote as it stands."""
    made = shop.book(order(), key="yes", quote_id=quoted.id)
    assert (made.total, made.quote_id) == (Money.of("135.80"), quoted.id)


def test_a_quote_is_booked_once_unless_that_booking_is_off(shop, quoted):
    """A second yes by another key is told the first booking; after a release it may be used."""
    first = shop.book(order(), key="yes", quote_id=quoted.id)
    with pytest.raises(WrongState, match=f"already booked as {first.id}"):
        shop.book(order(), key="other", quote_id=quoted.id)
    shop.release(first.id, by="dot", key="off", why="changed her mind")
    assert shop.book(order(), key="third", quote_id=quoted.id).total == Money.of("135.80")


def test_a_total_the_board_does_not_give_is_not_quoted(shop, quoted):
    """If the board moved between showing and quoting, the new total is said."""
    raise_mince(shop)
    with pytest.raises(QuoteLapsed, match=r"143\.00 now, not 135\.80"):
        shop.quote(NINE_AND_FOUR, ask={}, total=Money.of("135.80"), key="late")


def test_a_quoted_price_covers_whole_birds_only(shop, clock):
    """Two birds quoted, three taken after the board moved: the third at the new price."""
    two = shop.quote([line("C23", "8.2", pieces=["4.1", "4.1"])], ask={}, key="q")
    shop.board_price("C23", per_lb("5.90"), by="ines", why="farm price", key="up")
    made = shop.book(order(line("C23", "12.3", pieces=["4.1"] * 3)), key="b", quote_id=two.id)
    assert [(len(one.pieces), str(one.unit_price.amount)) for one in made.lines] == [
        (2, "5.30"),
        (1, "5.90"),
    ]


def test_a_held_price_never_covers_part_of_a_bird(shop):
    """Five pounds quoted cover one bird of 4.1 lb; the second is wholly at the board."""
    five = shop.quote([line("C23", "5")], ask={}, key="q")
    shop.board_price("C23", per_lb("5.90"), by="ines", why="farm price", key="up")
    made = shop.book(order(line("C23", "8.2")), key="b", quote_id=five.id)
    assert [str(one.line_total) for one in made.lines] == ["21.73", "24.19"]


def test_a_plan_and_a_say_line_are_kept(shop):
    """The whole plan is there for later, and nonsense is refused."""
    kept = shop.quote([line("C01", "1")], ask={"a": [1]}, plan={"answer": "yes"}, say="s", key="q")
    assert (kept.plan, kept.say) == ({"answer": "yes"}, "s")
    with pytest.raises(BadValue, match="say-line"):
        shop.quote([line("C01", "1")], ask={}, say="x" * 401, key="r")
    with pytest.raises(BadValue, match="JSON"):
        shop.quote([line("C01", "1")], ask={"when": object}, plan={"a": float("inf")}, key="s")


def test_an_unknown_quote_is_not_found(shop):
    """Neither read nor booked."""
    with pytest.raises(NotFound, match="Q7"):
        shop.quote_by_id("Q7")
    with pytest.raises(NotFound, match="'nonsense'"):
        shop.book(order(line("C01", "1")), key="a", quote_id="nonsense")


def test_a_scheduled_price_waits_for_its_time(shop, clock):
    """On the board at 10:00 means not at 09:59."""
    clock.put(wednesday(9, 0))
    ten = wednesday(10, 0)
    shop.board_price("C11", per_lb("8.60"), by="ines", why="ten", key="a", from_at=ten)
    prices = {}
    for moment in (wednesday(9, 59), ten):
        prices[moment] = next(str(c.price.amount) for c in shop.case(moment) if c.id == "C11")
    assert list(prices.values()) == ["7.80", "8.60"]
    with pytest.raises(BadValue, match="in the past"):
        shop.board_price("C11", per_lb("8"), by="ines", why="x", key="b",
                         from_at=wednesday(8, 0))  # fmt: skip


def test_a_clock_set_back_does_not_bring_an_old_price_back(shop, clock, url):
    """The last price put up stays in force, and a later change still wins."""
    clock.put(wednesday(11, 0))
    raise_mince(shop)
    with open_shop(url, StillClock(wednesday(8, 0))) as early:
        price = next(c.price for c in early.case() if c.id == "C11")
        assert price == per_lb("8.60")
        early.board_price("C11", per_lb("8.10"), by="dot", why="mistake", key="c")
        price = next(c.price for c in early.case() if c.id == "C11")
        assert price == per_lb("8.10")


@pytest.mark.parametrize("amount", ["0", "100000.01", "1.1234567"])
def test_a_price_out_of_range_is_no_board_price(shop, amount):
    """Zero, absurd or finer than six decimals."""
    with pytest.raises(BadValue, match="no board price"):
        shop.board_price("C11", per_lb(amount), by="ines", why="x", key="a")


def test_a_price_change_needs_a_reason_and_a_cut(shop):
    """Who and why are kept; an unknown cut has no price."""
    with pytest.raises(BadValue, match="why"):
        shop.board_price("C11", per_lb("8"), by="ines", why=" ", key="a")
    with pytest.raises(NotFound, match="C99"):
        shop.board_price("C99", per_lb("8"), by="ines", why="x", key="a")
