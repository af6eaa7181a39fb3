"""A booking never promises more than is free, and a request sent twice is done once."""

from __future__ import annotations

from datetime import UTC, timedelta

import pytest
from wished import SATURDAY, case_line, free_lb, lb, line, order

from collop.errors import BadValue, NotEnoughFree, NotFound, QuoteLapsed, WrongState
from collop.measures import Money
from collop.shop import DEMO_START, State


def test_a_booking_takes_its_weight_out_of_free_and_leaves_it_on_hand(shop):
    """Three pounds booked: three less free, three more booked, on hand the same."""
    before = case_line(shop, "C02")
    made = shop.book(order(line("C02", "3")), key="a")
    after = case_line(shop, "C02")
    assert (after.free, after.booked) == (before.free - lb("3"), before.booked + lb("3"))
    assert after.on_hand == before.on_hand
    assert (made.id, made.state, made.total) == ("H11", State.BOOKED, Money.of("25.20"))
    assert made.lines[0].id == "H11-1"
    assert made.lines[0].lots == ("C02-0609",)


def test_more_than_free_is_refused_with_how_much_is_free_and_of_what(shop):
    """The sentence names 8.00 lb and the lamb leg; nothing of the order is kept."""
    with pytest.raises(NotEnoughFree, match=r"Only 8\.00 lb of Lamb leg, bone in \(C01\) is free"):
        shop.book(order(line("C02", "1"), line("C01", "8.001")), key="a")
    assert free_lb(shop, "C02") == "15.00"
    with pytest.raises(NotFound):
        shop.booking("H11")


def test_two_lines_of_one_cut_count_together(shop):
    """Five and four pounds of eight free are too much even on two lines."""
    with pytest.raises(NotEnoughFree, match=r"Only 3\.00 lb"):
        shop.book(order(line("C01", "5"), line("C01", "4")), key="a")


def test_nothing_free_says_nothing(shop):
    """Brisket looks full and is wholly booked."""
    with pytest.raises(NotEnoughFree, match="Nothing of Beef brisket"):
        shop.book(order(line("C10", "1")), key="a")


def test_whole_birds_are_booked_whole_and_two_bookings_never_share_one(shop):
    """Ten birds are free: six and four go, the eleventh is refused."""
    six = shop.book(order(line("C23", "24.6", pieces=["4.1"] * 6)), key="six")
    four = shop.book(order(line("C23", "16.4")), key="four")
    assert (len(six.lines[0].pieces), len(four.lines[0].pieces)) == (6, 4)
    assert case_line(shop, "C23").piece_lb == ()
    with pytest.raises(NotEnoughFree, match="Nothing of Chicken, whole"):
        shop.book(order(line("C23", "4.1", pieces=["4.1"])), key="one")


def test_too_many_birds_says_how_many_there_are(shop):
    """Eleven birds asked, ten of 4.10 lb free."""
    with pytest.raises(NotEnoughFree, match=r"Only 10 pieces of 4\.10 lb .* and 11 pieces"):
        shop.book(order(line("C23", "45.1", pieces=["4.1"] * 11)), key="a")


@pytest.mark.parametrize(
    ("wish", "sentence"),
    [
        (line("C23", "5"), "no whole number"),
        (line("C23", "9", pieces=["4.1", "4.1"]), "do not add up"),
        (line("C01", "2", pieces=["2"]), "sold by weight"),
        (line("C01", "0"), "more than 0"),
        (line("C01", "-1"), "more than 0"),
    ],
)
def test_a_line_that_makes_no_sense_is_refused_in_words(shop, wish, sentence):
    """Weight without pieces, pieces without weight, nothing and less than nothing."""
    with pytest.raises(BadValue, match=sentence):
        shop.book(order(wish), key="a")


def test_an_unknown_cut_or_person_is_named(shop):
    """The wrong name stands in the sentence, people with who works here."""
    with pytest.raises(NotFound, match="'C99'"):
        shop.book(order(line("C99", "1")), key="a")
    with pytest.raises(NotFound, match=r"'Otto'.*Dot, Ines, Kofi, Marek"):
        shop.book(order(line("C01", "1"), by="Otto"), key="a")


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"name": "  "}, "needs a name"),
        ({"heads": 0}, "heads is 0"),
        ({"collect_at": SATURDAY + timedelta(days=1)}, "shut on Sunday 14 June.*Tuesday 16 June"),
        ({"collect_at": DEMO_START - timedelta(days=1)}, "is over"),
        ({"collect_at": SATURDAY.replace(tzinfo=UTC)}, "leave the zone out"),
        ({"deposit": Money(-1)}, "zero or more"),
        ({"deposit": Money(1, "EUR")}, "in USD"),
        ({"state": State.GONE}, "asked or booked"),
        ({"note": "x" * 2001}, "shorten"),
        ({"ask": {"heads": float("nan")}}, "plain JSON"),
    ],
)
def test_a_field_out_of_range_is_refused_in_words(shop, change, sentence):
    """Name, heads, day, deposit, state, note and ask are checked before anything is written."""
    with pytest.raises(BadValue, match=sentence):
        shop.book(order(line("C01", "1"), **change), key="a")
    assert free_lb(shop, "C01") == "8.00"


def test_an_order_without_lines_is_refused(shop):
    """There must be something to promise."""
    with pytest.raises(BadValue, match="add a cut"):
        shop.book(order(), key="a")


def test_of_a_phone_number_only_the_last_four_digits_are_kept(shop):
    """The rest is nobody's business."""
    made = shop.book(order(line("C01", "1"), phone_end="(555) 010-0199"), key="a")
    assert made.phone_end == "0199"


def test_the_same_request_twice_is_done_once(shop):
    """The second answer is the first booking, and free weight falls once."""
    wish = order(line("C01", "3"))
    first = shop.book(wish, key="same")
    assert shop.book(wish, key="same") == first
    assert free_lb(shop, "C01") == "5.00"


def test_a_key_used_for_another_request_is_refused(shop):
    """Same key, other weight: a clear sentence and nothing booked."""
    shop.book(order(line("C01", "3")), key="same")
    with pytest.raises(BadValue, match="used for another request"):
        shop.book(order(line("C01", "4")), key="same")
    with pytest.raises(BadValue, match="used for another request"):
        shop.release("H11", by="dot", key="same", why="no")
    assert free_lb(shop, "C01") == "5.00"


@pytest.mark.parametrize("key", ["", "k" * 201])
def test_every_write_needs_a_key(shop, key):
    """No key, or one too long, is refused."""
    with pytest.raises(BadValue, match="key"):
        shop.book(order(line("C01", "1")), key=key)


def test_a_refused_request_may_be_sent_again_with_its_key(shop):
    """Only what was done is remembered."""
    wish = order(line("C01", "10"))
    with pytest.raises(NotEnoughFree):
        shop.book(wish, key="again")
    shop.release("H1", by="ines", key="off", why="wedding is off")
    assert shop.book(wish, key="again").lines[0].held == lb("10")


def test_a_price_the_customer_did_not_see_is_not_charged(shop):
    """Without a quote, the price on the line must be the board's or be accepted in words."""
    wish = order(line("C11", "9", price="7.50"))
    with pytest.raises(QuoteLapsed, match=r"7\.80 a lb.*not 7\.5.*70\.20"):
        shop.book(wish, key="a")
    assert shop.book(wish, key="b", accept_new_price=True).total == Money.of("70.20")


def test_stock_past_its_use_by_cannot_be_promised(shop, clock):
    """On Thursday Tuesday's mince is not free any more."""
    clock.put(DEMO_START + timedelta(days=2))
    with pytest.raises(NotEnoughFree, match="Nothing of Beef mince"):
        shop.book(order(line("C11", "1")), key="a")


def test_lines_collected_after_their_use_by_are_told(shop):
    """H2's mince, links and marinated thighs are Tuesday's, and it is collected on Friday."""
    assert [one.case_id for one in shop.booking("H2").out_of_date] == ["C11", "C21", "C25"]


def test_rebooking_takes_the_old_one_off_and_makes_the_new_or_neither(shop):
    """H2 without sesame, all in one step; a rebooking that does not fit changes nothing."""
    with pytest.raises(NotEnoughFree):
        shop.rebook("H2", order(line("C11", "27.1")), key="a")
    assert shop.booking("H2").state is State.BOOKED
    made = shop.rebook("H2", order(line("C11", "27")), key="b")
    old = shop.booking("H2")
    assert (old.state, old.events[-1].why) == (State.OFF, f"{made.id} in its place")
    assert (free_lb(shop, "C11"), free_lb(shop, "C25")) == ("0.00", "8.00")
    with pytest.raises(WrongState, match="H2 is off"):
        shop.rebook("H2", order(line("C25", "1")), key="c")


def test_bookings_are_found_by_name_phone_end_and_id(shop):
    """Part of a name in any case, four digits, or the id as said."""
    for text in ("rowing", "0134", "h2", " H2 "):
        assert [found.id for found in shop.find(text)] == ["H2"]
    for nothing in ("", "%", "no such name", "h" * 500):
        assert shop.find(nothing) == ()


@pytest.mark.parametrize("name", ["H11", "", "Q1", "H0", "H-1", "H999999999999999999", "drop"])
def test_an_unknown_booking_is_not_found(shop, name):
    """Any other text is no booking."""
    with pytest.raises(NotFound):
        shop.booking(name)


def test_days_the_wrong_way_round_are_refused(shop):
    """The later day comes second."""
    with pytest.raises(BadValue, match="comes before"):
        shop.bookings(SATURDAY.date(), DEMO_START.date())
