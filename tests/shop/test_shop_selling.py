"""Sales at the glass: one act, never more than is free, at the board, the ticket or not at all.

The case, its prices and its bookings are the demo's, which are invented (scenario tables).
"""

from __future__ import annotations

import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test
from wished import case_line, lb

from collop.errors import BadValue, CollopError, NotEnoughFree, NotFound, ShopError, WrongState
from collop.measures import Money, Rounding, UnitPrice, Weight, WeightUnit, sum_money
from collop.shop import DEMO_START, NewPayment, NewSale, NewTicket, State, StillClock, open_shop
from collop.shop.selling_model import gap_of

CASH = NewPayment("cash")


def sale(cut, pounds, **more):
    return NewSale(cut, lb(pounds), **more)


def free(shop, cut):
    return case_line(shop, cut).free


def test_a_sale_is_a_booking_that_has_gone_with_its_slip_and_its_money(shop):
    """One act: free weight falls, the slip stands, the money is noted, nothing hangs on a hook."""
    before = free(shop, "C11")
    slip = shop.selling.sell([sale("C11", "1.08"), sale("C04", "0.75")], CASH, by="dot", key="a")
    assert [str(one.line_total) for one in slip.lines] == ["8.42", "13.95"]
    assert str(slip.total) == "22.37"
    assert before - free(shop, "C11") == lb("1.08")
    found = shop.booking(slip.booking_id)
    assert (found.kind, found.name, found.state) == ("counter", "Counter", State.GONE)
    assert found.lines[0].lots
    hanging = shop.bookings(DEMO_START.date(), DEMO_START.date() + timedelta(days=7))
    assert slip.booking_id not in {one.id for one in hanging}
    money = shop.money.of(slip.booking_id)
    assert [(one.what, one.way, str(one.amount)) for one in money.payments] == [
        ("payment", "cash", "22.37")
    ]
    assert money.due == Money(0)


def test_the_same_sale_sent_twice_is_sold_once(shop):
    """One key is one sale; the key with another sale is refused."""
    first = shop.selling.sell([sale("C11", "1")], CASH, by="dot", key="a")
    before = free(shop, "C11")
    assert shop.selling.sell([sale("C11", "1")], CASH, by="dot", key="a") == first
    assert free(shop, "C11") == before
    with pytest.raises(BadValue, match="another request"):
        shop.selling.sell([sale("C11", "2")], CASH, by="dot", key="a")


def test_more_than_is_free_is_refused_with_what_is_free_and_booked(shop):
    """C12 has 2.5 lb free and 2.1 booked; C10 and C14 look full and are wholly promised."""
    with pytest.raises(NotEnoughFree, match=r"2\.50 lb is free.*3\.00 lb.*2\.10 lb is booked"):
        shop.selling.sell([sale("C12", "3")], CASH, by="dot", key="a")
    for cut in ("C10", "C14"):
        with pytest.raises(NotEnoughFree, match=r"nothing is free.*is booked"):
            shop.selling.sell([sale(cut, "0.5")], CASH, by="dot", key=cut)


def test_two_lines_of_one_cut_together_are_not_more_than_is_free(shop):
    """Each line alone would do; both do not, and then nothing is sold."""
    before = free(shop, "C12")
    lines = [sale("C12", "1.5"), sale("C12", "1.5")]
    assert "1.00 lb is free" in shop.selling.estimate(lines).trouble
    with pytest.raises(NotEnoughFree):
        shop.selling.sell(lines, CASH, by="dot", key="a")
    assert free(shop, "C12") == before


def test_what_is_past_its_day_is_not_sold(shop, clock):
    """A fortnight on all mince is past its use-by: refused, and the sentence says so."""
    clock.put(DEMO_START + timedelta(days=14))
    with pytest.raises(WrongState, match="past its use-by; do not sell it"):
        shop.selling.sell([sale("C11", "1")], CASH, by="dot", key="a")


def test_goods_sold_whole_are_sold_whole(shop):
    """The bird nearest to the scale goes, at its scale weight; half a bird is refused."""
    pieces = case_line(shop, "C23").piece_lb
    slip = shop.selling.sell([sale("C23", "4.06")], CASH, by="dot", key="a")
    assert str(slip.total) == "21.52"  # 4.06 x 5.30 = 21.518
    assert len(case_line(shop, "C23").piece_lb) == len(pieces) - 1
    with pytest.raises(BadValue, match="sold whole"):
        shop.selling.sell([sale("C23", "2")], CASH, by="dot", key="b")
    two = NewSale("C23", lb("8.1"), pieces=pieces[1:3])
    shop.selling.sell([two], CASH, by="dot", key="c")
    assert len(case_line(shop, "C23").piece_lb) == len(pieces) - 3
    with pytest.raises(BadValue, match="leave the pieces out"):
        shop.selling.sell([NewSale("C11", lb("1"), pieces=(lb("1"),))], CASH, by="dot", key="d")


def test_a_pound_of_mince_is_shown_over_and_taken_when_agreed(shop):
    """1.08 for 1 lb: 8 % over, both sums; over the shop's limit the customer is asked first."""
    (line,) = shop.selling.estimate([sale("C11", "1.08", asked=lb("1"))]).lines
    assert line.gap.words == "0.08 lb over (8.0 %)"
    assert (str(line.gap.money), str(line.gap.asked_money)) == ("8.42", "7.80")
    assert not line.trouble
    far = sale("C11", "1.2", asked=lb("1"))
    assert "ask whether it is taken" in shop.selling.estimate([far]).trouble
    with pytest.raises(BadValue, match=r"0\.20 lb over \(20\.0 %\), 9\.36 instead of 7\.80"):
        shop.selling.sell([far], CASH, by="dot", key="a")
    shop.selling.sell([sale("C11", "1.2", asked=lb("1"), agreed=True)], CASH, by="dot", key="a")
    shop.change_settings({"over_share": "0.05"}, by="ines", why="stricter", key="s")
    assert shop.selling.estimate([sale("C11", "1.08", asked=lb("1"))]).trouble


@pytest.mark.parametrize(
    ("net", "words", "beyond"),
    [("1.10", "0.10 lb over (10.0 %)", False), ("1.11", "0.11 lb over (11.0 %)", True),
     ("0.90", "0.10 lb under (10.0 %)", False), ("0.89", "0.11 lb under (11.0 %)", True),
     ("1.00", "", False)],
)  # fmt: skip
def test_the_limit_itself_is_still_taken(net, words, beyond):
    """The gap is over the asked weight, either way; at the limit nobody is asked."""
    price = UnitPrice.of("7.80", WeightUnit.LB)
    found = gap_of(lb("1"), lb(net), price, Rounding.HALF_UP, limit=Decimal("0.10"))
    assert (found.words, found.beyond) == (words, beyond)


def test_an_exact_half_cent_names_its_rule(shop):
    """Short ribs, 4.15 x 8.90 = 36.935 (talk 12): the slip says which rule gave 36.94."""
    slip = shop.selling.sell([sale("C09", "4.15")], CASH, by="dot", key="a")
    assert str(slip.lines[0].line_total) == "36.94"
    assert slip.lines[0].half_cent == "36.935 is an exact half cent: half up gives 36.94"


def test_a_ticket_is_sold_once_from_its_lot_at_its_price(shop):
    """The ticket's net, price and lot hold whatever the board says; then it is sold."""
    new = NewTicket(case_id="C02", gross=lb("4.87"), tare="vacuum bag", lot="C02-0609")
    ticket = shop.tickets.print(new, by="dot", key="t")
    shop.board_price("C02", UnitPrice.of("9.00", WeightUnit.LB), by="ines", why="up", key="p")
    slip = shop.selling.sell([NewSale(ticket=ticket.id)], CASH, by="dot", key="a")
    assert slip.total == ticket.total
    assert slip.lines[0].weighed == ticket.net
    assert shop.booking(slip.booking_id).lines[0].lots == ("C02-0609",)
    with pytest.raises(WrongState, match=f"sold already, on {slip.booking_id}"):
        shop.selling.sell([NewSale(ticket=ticket.id)], CASH, by="dot", key="b")


def test_a_ticket_that_may_not_be_sold_is_refused(shop):
    """Unknown, void, twice on one sale, of a booking, or with another weight."""
    new = NewTicket(case_id="C02", gross=lb("2.02"), tare="vacuum bag", lot="C02-0609")
    ticket = shop.tickets.print(new, by="dot", key="t")

    def refused(kind, match, *lines):
        with pytest.raises(kind, match=match):
            shop.selling.sell(list(lines), CASH, by="dot", key=match)

    refused(NotFound, "no ticket T999", NewSale(ticket="T999"))
    refused(NotFound, "There is no ticket", NewSale(ticket="x"))
    refused(BadValue, "twice", NewSale(ticket=ticket.id), NewSale(ticket=ticket.id.lower()))
    refused(BadValue, "sell what it says", NewSale("C02", lb("3"), ticket=ticket.id))
    refused(BadValue, "sell what it says", NewSale("C01", ticket=ticket.id))
    booked = shop.tickets.tickets_of(booking="H2")[0]
    refused(WrongState, "hand that booking over", NewSale(ticket=booked.id))
    shop.tickets.void(ticket.id, "torn", by="dot", key="v")
    refused(WrongState, r"void \(torn\)", NewSale(ticket=ticket.id))


def test_a_pack_that_went_with_its_booking_is_sold(shop):
    """T3 lies in H9: before hand-over it is for H9, after it was sold on H9, and never twice."""

    def refusal(key):
        with pytest.raises(WrongState) as caught:
            shop.selling.sell([NewSale(ticket="T3")], CASH, by="dot", key=key)
        return caught.value.message

    assert refusal("a") == "T3 is for H9-2; hand that booking over instead."
    weighed = {one.id: one.held for one in shop.booking("H9").lines}
    shop.hand_over("H9", weighed, by="dot", key="go")
    assert refusal("b") == "T3 was sold already, on H9; weigh the pack again."


def test_a_pack_whose_booking_is_off_or_left_it_is_weighed_again(shop):
    """Nobody is sent to a booking that is off; a line left out at the counter was not sold."""
    shop.release("H9", by="dot", key="r", why="ill")
    with pytest.raises(WrongState, match="was for H9, which is off; weigh the pack again"):
        shop.selling.sell([NewSale(ticket="T3")], CASH, by="dot", key="a")
    weighed = {one.id: Weight.zero() for one in shop.booking("H2").lines}
    shop.hand_over("H2", weighed, by="dot", key="go")
    with pytest.raises(WrongState, match="H2, which went without it"):
        shop.selling.sell([NewSale(ticket="T18")], CASH, by="dot", key="b")


def test_a_packing_called_as_a_ticket_sells_no_ticket(shop):
    """A tare of the name T1 on a sale is not the ticket T1."""
    shop.selling.sell([sale("C11", "1", tare="T1")], CASH, by="dot", key="a")
    slip = shop.selling.sell([NewSale(ticket="T1")], CASH, by="dot", key="b")
    assert str(slip.total) == "15.88"


@pytest.mark.parametrize("tare", ["4111 1111 1111 1111", "x" * 81, "a\nb"])
def test_the_name_of_a_packing_is_a_short_word(shop, tare):
    """It is kept with the sale, so it is held to as other words are."""
    with pytest.raises(BadValue, match="Packing"):
        shop.selling.sell([sale("C11", "1", tare=tare)], CASH, by="dot", key="a")


@pytest.mark.parametrize(
    "text", ["T1", " t1 ", "T1 B-41F.04", "]Q1T1 B-41F.04", "2 00107 31588 9", "200107315889",
             "0200107315889", "]E00200107315889"],
)  # fmt: skip
def test_a_ticket_is_meant_by_what_a_scanner_reads_off_it(shop, text):
    """Its number, its square code, or its till code (as printed in the demo, which is invented)."""
    assert shop.selling.ticket_meant(text) == "T1"


def test_equal_till_codes_mean_one_pack_after_the_other(shop):
    """Two equal packs of a lot: the second scan is the second pack; of two lots it is asked."""
    new = NewTicket(case_id="C07", gross=lb("1.27"), tare="Small tray, pad and film",
                    lot="B-41F.04")  # fmt: skip
    second = shop.tickets.print(new, by="dot", key="t").id
    code = "200107315889"
    assert shop.selling.ticket_meant(code, besides={"T1"}) == second
    shop.selling.sell([NewSale(ticket="T1")], CASH, by="dot", key="a")
    assert shop.selling.ticket_meant(code) == second
    # all of them sold: the sale then says so
    shop.selling.sell([NewSale(ticket=second)], CASH, by="dot", key="b")
    with pytest.raises(WrongState, match="sold already"):
        shop.selling.sell([NewSale(ticket=shop.selling.ticket_meant(code))], CASH, by="dot",
                          key="c")  # fmt: skip


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [("T1 B-41F.05", BadValue, "of lot B-41F.04, not B-41F.05"), ("x", NotFound, "no ticket"),
     ("200107315880", BadValue, "check digit"), ("T999", NotFound, "no ticket"),
     ("T999 B-1", NotFound, "no ticket"), ("", NotFound, "no ticket"),
     ("9" * 500, NotFound, "no ticket"), ("T\uff11", NotFound, "no ticket"),
     ("200107699996", NotFound, "No ticket here says")],
)  # fmt: skip
def test_what_is_no_ticket_is_said(shop, text, kind, said):
    """A wrong digit, another lot, nothing: one sentence."""

    def scan():
        found = shop.selling.ticket_meant(text)
        shop.selling.sell([NewSale(ticket=found)], CASH, by="dot", key="a")

    with pytest.raises(kind, match=said):
        scan()


def test_change_is_due_for_cash_that_is_given(shop):
    """20.00 for 7.80 gives 12.20 back; less than is to pay, or given by card, is refused."""
    paid = NewPayment("cash", Money.of("20.00"))
    slip = shop.selling.sell([sale("C11", "1")], paid, by="dot", key="a")
    (one,) = shop.money.of(slip.booking_id).payments
    assert (str(one.given), str(one.change)) == ("20.00", "12.20")
    with pytest.raises(BadValue, match=r"2\.80 is missing"):
        shop.selling.sell([sale("C11", "1")], NewPayment("cash", Money.of("5.00")), by="dot",
                          key="b")  # fmt: skip
    with pytest.raises(BadValue, match="Only cash"):
        shop.selling.sell([sale("C11", "1")], NewPayment("card", Money.of("9.00")), by="dot",
                          key="c")  # fmt: skip


def test_a_total_the_customer_was_not_told_is_refused(shop):
    """The board moved between the page and the tap: nothing is sold before it is told."""
    told = shop.selling.estimate([sale("C11", "1")]).totals.total
    shop.board_price("C11", UnitPrice.of("8.60", WeightUnit.LB), by="ines", why="up", key="p")
    with pytest.raises(WrongState, match=r"8\.60 now, not 7\.80"):
        shop.selling.sell([sale("C11", "1")], CASH, by="dot", key="a", total=told)


@pytest.mark.parametrize(
    ("lines", "kind"),
    [
        ([], BadValue), ([NewSale()], NotFound), ([NewSale("C99", lb("1"))], NotFound),
        ([NewSale("C11")], BadValue), ([NewSale("C11", Weight.zero())], BadValue),
        ([NewSale("C11", lb("-1"))], BadValue), ([NewSale("C11", lb("100000"))], BadValue),
        ([NewSale("C11", lb("1"), asked=Weight.zero())], BadValue),
        ([NewSale("C11", lb("0.01"))] * 61, BadValue),
    ],
)  # fmt: skip
def test_what_cannot_be_sold_is_said_in_one_sentence(shop, lines, kind):
    """No traceback, nothing written."""
    with pytest.raises(kind) as caught:
        shop.selling.sell(lines, CASH, by="dot", key="a")
    assert caught.value.message.endswith(".")
    assert shop.money.takings().slips == ()


def test_account_needs_a_name(shop):
    """Nobody can be asked for money under the name of the counter."""
    with pytest.raises(BadValue, match="needs a name"):
        shop.selling.sell([sale("C11", "1")], NewPayment("account"), by="dot", key="a")


def test_two_tills_never_sell_more_than_is_free(shop, url):
    """Both sell the last 2.5 lb of fillet in halves: five go, the rest are refused."""
    sold, refused = [], []

    def till(name):
        with open_shop(url, StillClock()) as own:
            for at in range(5):
                try:
                    sold.append(own.selling.sell([sale("C12", "0.5")], CASH, by="dot",
                                                 key=f"{name}{at}"))  # fmt: skip
                except NotEnoughFree as error:
                    refused.append(error)

    both = [threading.Thread(target=till, args=(name,)) for name in "ab"]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert (len(sold), len(refused)) == (5, 5)
    assert free(shop, "C12") == Weight.zero()


GRAMS = st.integers(min_value=1, max_value=3_000)


class Till(RuleBasedStateMachine):
    """A busy glass; a model beside it keeps what must be on hand and what was charged."""

    places, source = None, ""

    def __init__(self):
        super().__init__()
        self.url = self.places.copy(self.source)
        self.clock = StillClock()
        self.shop = open_shop(self.url, self.clock)
        self.free = {one.id: one.free.count for one in self.shop.case()}
        self.keys, self.slips, self.back = 0, [], []

    def teardown(self):
        """Close the shop and remove its copy."""
        self.shop.close()
        self.places.drop(self.url)

    def key(self):
        """Return a key nobody used yet; a moment passes."""
        self.keys += 1
        self.clock.put(DEMO_START + timedelta(seconds=self.keys))
        return f"key-{self.keys}"

    @rule(cuts=st.lists(st.tuples(st.sampled_from(["C12", "C04", "C11"]), GRAMS), min_size=1,
                        max_size=3),
          way=st.sampled_from(["cash", "card", "other", None]))  # fmt: skip
    def sell(self, cuts, way):
        """Sell it, which works exactly if all of it is free."""
        wanted = {}
        for cut, grams in cuts:
            wanted[cut] = wanted.get(cut, 0) + Weight.of(grams, WeightUnit.G).count
        lines = [NewSale(cut, Weight.of(grams, WeightUnit.G)) for cut, grams in cuts]
        fits = all(count <= self.free[cut] for cut, count in wanted.items())
        try:
            slip = self.shop.selling.sell(lines, NewPayment(way) if way else None, by="dot",
                                          key=self.key())  # fmt: skip
        except NotEnoughFree:
            assert not fits
            return
        assert fits
        self.slips.append(slip)
        for cut, count in wanted.items():
            self.free[cut] -= count

    @rule(at=st.integers(0, 9), line=st.integers(0, 2), grams=GRAMS | st.none(),
          way=st.sampled_from(["cash", "card", None]))  # fmt: skip
    def take_back(self, at, line, grams, way):
        """Take back: never free again, and never more than went."""
        if not self.slips:
            return
        slip = self.slips[at % len(self.slips)]
        one = slip.lines[line % len(slip.lines)]
        weight = None if grams is None else Weight.of(grams, WeightUnit.G)
        try:
            self.back.append(self.shop.selling.take_back(one.line_id, weight, "back", by="dot",
                                                         key=self.key(), way=way))  # fmt: skip
        except CollopError as error:
            assert "still out" in error.message

    @rule(at=st.integers(0, 9), way=st.sampled_from(["cash", "card", "account"]))
    def pay(self, at, way):
        """Pay what is open, as far as anything is."""
        if self.slips:
            name = self.slips[at % len(self.slips)].booking_id
            try:
                self.shop.money.note(name, "payment", way, by="dot", key=self.key())
            except ShopError as error:
                assert "is open" in error.message

    @invariant()
    def it_holds(self):
        """Hold ledger, stock and takings against the model; no slip owes twice."""
        assert self.shop.check() == []
        found = {one.id: one.free.count for one in self.shop.case()}
        assert found == self.free
        takings = self.shop.money.takings()
        assert takings.lines == sum_money(one.total for one in self.slips)
        assert takings.lines + takings.tax == takings.total
        assert takings.returned == sum_money(one.money for one in self.back)
        for one in takings.slips:
            money = one.money
            noted = money.paid - money.noted("given back")
            assert money.total - money.returned == noted + money.due
        came = sum_money(came for way, (came, _) in takings.ways.items() if way != "account")
        assert came == sum_money(one.money.paid for one in takings.slips)
        for slip in self.slips:
            back = [one for one in self.back if one.line_id.split("-")[0] == slip.booking_id]
            for line in slip.lines:
                parts = [one for one in back if one.line_id == line.line_id]
                money = sum_money(one.money for one in parts)
                assert money <= line.line_total
                if sum(one.weight.count for one in parts) == line.weighed.count:
                    assert money == line.line_total


def test_whatever_is_sold_and_comes_back_the_sums_hold(places, demos):
    """Any sequence of sales, returns and payments keeps ledger, stock and takings in step."""
    Till.places, Till.source = places, demos("tuesday")
    run_state_machine_as_test(
        Till,
        settings=settings(max_examples=5, stateful_step_count=12, deadline=None,
                          suppress_health_check=list(HealthCheck)),
    )  # fmt: skip
