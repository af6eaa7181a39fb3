"""What comes back over the glass: binned, its money and tax exact, out of sales and of recalls."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction

import pytest
from by_hand import raw
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from wished import case_line, lb

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, Weight, WeightUnit, sum_money
from collop.shop import DEMO_START, LabelFacts, NewPayment, NewSale, StillClock, open_shop
from collop.shop.sales import sales_by_day

DAY = DEMO_START.date()


def sell(shop, *lines, key="a", way="cash"):
    sales = [NewSale(cut, lb(pounds)) for cut, pounds in lines]
    return shop.selling.sell(sales, NewPayment(way), by="dot", key=key)


def back(shop, line, pounds=None, key="b", **more):
    weight = None if pounds is None else lb(pounds)
    return shop.selling.take_back(line, weight, "not good", by="dot", key=key, **more)


def sales(shop, cut):
    with shop._room.store.read() as conn:
        return sales_by_day(conn, since=DAY, until=DAY + timedelta(days=1)).get(cut, ())


def test_what_comes_back_is_binned_and_never_free_again(shop):
    """1 of 2 lb back: 7.80 and no more; the case does not rise; sales of the day fall by it."""
    slip = sell(shop, ("C11", "2"))
    before = case_line(shop, "C11").free
    line = slip.lines[0].line_id
    found = back(shop, line, "1", way="cash")
    assert (str(found.money), found.tax, str(found.total)) == ("7.80", Money(0), "7.80")
    assert case_line(shop, "C11").free == before
    (day,) = sales(shop, "C11")
    assert (Weight(day.count, WeightUnit.LB), day.minor) == (lb("1"), 780)
    money = shop.money.of(slip.booking_id)
    assert (money.due, str(money.noted("given back", "cash"))) == (Money(0), "7.80")
    back(shop, line, key="c")
    assert sales(shop, "C11") == ()
    assert str(shop.money.of(slip.booking_id).due) == "-7.80"
    with pytest.raises(BadValue, match=r"0\.00 lb of it is still out"):
        back(shop, line, "0.01", key="d")


def test_returns_that_cannot_be_are_refused(shop):
    """Too much, nothing, no reason, no such line, not gone yet."""
    line = sell(shop, ("C11", "1")).lines[0].line_id
    for at, weight in enumerate(("1.01", "0", "-1")):
        with pytest.raises(BadValue, match="still out"):
            back(shop, line, weight, key=f"w{at}")
    with pytest.raises(BadValue, match="say why"):
        shop.selling.take_back(line, lb("1"), "  ", by="dot", key="y")
    for name in ("", "H11", "H11-9", "H999-1", "H11-1-1", "x" * 99):
        with pytest.raises(NotFound):
            back(shop, name, "0.1", key=f"n{name[:20]}")
    with pytest.raises(WrongState, match="has not gone"):
        back(shop, "H8-1", "0.1", key="g")
    assert shop.selling.returned_on(DAY) == ()


def test_a_return_sent_twice_is_done_once(shop):
    """The same key answers the same return, also after another one."""
    line = sell(shop, ("C11", "1")).lines[0].line_id
    first = back(shop, line, "0.2", key="b")
    back(shop, line, "0.3", key="c")
    assert back(shop, line, "0.2", key="b") == first
    assert [one.weight for one in shop.selling.returned_on(DAY)] == [lb("0.2"), lb("0.3")]


def test_an_unpaid_slip_owes_less_and_nothing_is_given_back(shop):
    """Money that was never paid is not given back."""
    slip = shop.selling.sell([NewSale("C11", lb("1"))], None, by="dot", key="a")
    back(shop, slip.lines[0].line_id, "0.5", way="cash")
    found = shop.money.of(slip.booking_id)
    assert (str(found.due), found.payments) == ("3.90", ())


def test_a_whole_bird_comes_back_whole(shop):
    """Its piece leaves the customer with it; the ledger holds for half of one as well."""
    slip = sell(shop, ("C23", "4.06"))
    back(shop, slip.lines[0].line_id, "1.06")
    assert shop.check() == []
    rest = back(shop, slip.lines[0].line_id, key="c")
    assert rest.weight == lb("3.00")
    assert shop.check() == []


def test_a_recall_does_not_call_whom_has_nothing_left(shop):
    """After part of a sale comes back its customer is called still, after all of it no more."""
    slip = sell(shop, ("C11", "2"))
    line, (lot,) = slip.lines[0].line_id, shop.booking(slip.booking_id).lines[0].lots

    def called():
        found = shop.tracing.recall(lot, scope="lot")
        return {one.booking_id for one in found.customers if one.has_it}

    assert slip.booking_id in called()
    back(shop, line, "1")
    assert slip.booking_id in called()
    back(shop, line, key="c")
    assert slip.booking_id not in called()


def test_a_line_of_several_lots_is_out_of_each_until_all_is_back(shop):
    """Nobody knows which lot it is: every lot of the line stays with its customer till the end."""
    slip = sell(shop, ("C11", "22"))
    lots = shop.booking(slip.booking_id).lines[0].lots
    back(shop, slip.lines[0].line_id, "21.9")
    assert set(shop.tracing.recall(lots[0], scope="lot").customers) or len(lots) == 1
    for lot in lots:
        found = shop.tracing.recall(lot, scope="lot")
        assert slip.booking_id in {one.booking_id for one in found.customers}


def test_bone_that_was_taken_out_is_paid_for_and_comes_back_with_the_rest(shop):
    """13.0 lb of the legs of H1 are boned to 9.36: money back is for the weight that was bought."""
    shop.pickup.work("H1-1", lb("13"), lb("9.36"), words="boned and tied", by="marek", key="w")
    weighed = {one.id: one.held for one in shop.booking("H1").lines}
    slip = shop.hand_over("H1", weighed, by="dot", key="go")
    line = slip.lines[0]
    assert (line.weighed, line.lost) == (lb("26"), lb("3.64"))
    half = back(shop, line.line_id, "11.18")
    assert half.money == Money(line.line_total.minor // 2)
    assert shop.selling.slip("H1").lines[0].lost == lb("3.64")
    (day,) = sales(shop, line.case_id)
    assert (Weight(day.count, WeightUnit.LB), day.minor) == (lb("13"), line.line_total.minor // 2)
    rest = back(shop, line.line_id, key="c")
    assert (rest.weight, half.money + rest.money) == (lb("11.18"), line.line_total)
    assert sales(shop, line.case_id) == ()


def test_the_check_finds_more_back_than_went(url):
    """A return written past the shop, of money that was never charged, is named."""
    with open_shop(url, StillClock()) as own:
        line = sell(own, ("C11", "1")).lines[0].line_id
        back(own, line, "0.5")
        assert own.check() == []
        with raw(url) as file:
            file.execute(
                "INSERT INTO returned_lines (booking_line_id, weight, unit, money, tax, why, at,"
                " by_id, key) SELECT booking_line_id, 1, unit, 391, 0, why, at, by_id, key"
                " FROM returned_lines"
            )
        assert f"{line}: more came back than its slip says went." in own.check()


def set_tax(shop, per="invoice"):
    facts = LabelFacts(product_class="raw whole", contains=(), tax_class="prepared")
    for cut in ("C09", "C13"):
        shop.tickets.set_facts(cut, facts, by="dot", key=f"facts-{cut}")
    shop.change_settings(
        {"tax_classes": [{"name": "prepared", "percent": "8.25"}], "tax_per": per},
        by="ines", why="office", key="till",
    )  # fmt: skip


def test_tax_comes_back_so_that_what_stays_is_taxed_right(shop, clock):
    """8.20 of 20.85 back at 8.25 %: of 1.72 charged, 1.04 is on the rest, so 0.68 goes back."""
    set_tax(shop)
    slip = sell(shop, ("C13", "1"), ("C09", "0.5"))  # 16.40 + 4.45 = 20.85, tax 1.720
    assert str(slip.charged.tax) == "1.72"
    first = back(shop, slip.lines[0].line_id, "0.5")
    kept = Fraction(2085 - 820) * Fraction("0.0825")
    assert first.tax.minor == 172 - round(kept) == 68
    # a label that changes later moves nothing of a slip
    clock.put(DEMO_START + timedelta(minutes=5))
    other = LabelFacts(product_class="raw whole", contains=())
    shop.tickets.set_facts("C13", other, by="dot", key="other")
    rest = [back(shop, slip.lines[0].line_id, key="c"), back(shop, slip.lines[1].line_id, key="d")]
    assert sum_money(one.tax for one in (first, *rest)) == slip.charged.tax
    takings = shop.money.takings()
    assert takings.returned_tax == takings.tax
    assert takings.net == Money(0)


def test_a_whole_sale_is_undone_in_one_act(shop):
    """Two lines, one in part back before: the rest comes back, and the cash that was paid."""
    slip = sell(shop, ("C11", "1"), ("C04", "0.75"))  # 7.80 + 13.95
    back(shop, slip.lines[0].line_id, "0.5", way="cash")
    undo = {"why": "wrong customer", "by": "dot", "key": "all"}
    found = shop.selling.take_back_all(slip.booking_id, **undo)
    assert [(one.line_id[-1], str(one.money)) for one in found] == [("1", "3.90"), ("2", "13.95")]
    money = shop.money.of(slip.booking_id)
    assert (money.due, str(money.noted("given back", "cash"))) == (Money(0), "21.75")
    assert shop.money.takings().drawer == Money(0)
    assert shop.check() == []
    # sent twice it is done once; asked anew there is nothing left
    assert shop.selling.take_back_all(slip.booking_id, **undo) == found
    with pytest.raises(BadValue, match=r"All of .* is back already"):
        shop.selling.take_back_all(slip.booking_id, **undo | {"key": "again"})


def test_undone_money_goes_back_the_way_it_came(shop):
    """36.94: deposit 20.00 by card, 10.00 other, 6.94 cash; each goes back as it came."""
    (line,) = shop.booking("H8").lines
    shop.money.note("H8", "deposit", "card", by="dot", key="d")
    shop.hand_over("H8", {line.id: lb("4.15")}, by="dot", key="go")
    shop.money.note("H8", "payment", "other", Money.of("10.00"), by="dot", key="o")
    shop.money.note("H8", "payment", "cash", by="dot", key="c")
    shop.selling.take_back_all("H8", "bad", by="dot", key="all")
    money = shop.money.of("H8")
    given = {way: str(money.noted("given back", way)) for way in ("card", "other", "cash")}
    assert given == {"card": "20.00", "other": "10.00", "cash": "6.94"}
    assert money.due == Money(0)


def test_what_cannot_be_undone_is_refused_and_unpaid_money_stays_where_it_is(shop):
    """Not gone, no such slip, no reason; an account owes nothing and gets nothing."""
    for name, kind in (("H8", WrongState), ("H999", NotFound), ("x", NotFound)):
        with pytest.raises(kind):
            shop.selling.take_back_all(name, "x", by="dot", key=name)
    slip = shop.selling.sell([NewSale("C11", lb("1"))], NewPayment("account"), by="dot", key="a",
                             name="Inn")  # fmt: skip
    with pytest.raises(BadValue, match="say why"):
        shop.selling.take_back_all(slip.booking_id, " ", by="dot", key="y")
    shop.selling.take_back_all(slip.booking_id, "bad", by="dot", key="b")
    money = shop.money.of(slip.booking_id)
    assert (money.due, money.noted("given back")) == (Money(0), Money(0))
    assert shop.money.accounts() == ()


def test_undoing_cash_gives_back_the_rounded_cash(shop):
    """9.63 was paid with 9.65: all of it back is 9.65, and the drawer is as before."""
    set_tax(shop)
    shop.change_settings({"cash_rounding": "nearest-5"}, by="ines", why="x", key="r")
    slip = sell(shop, ("C09", "1"))
    assert str(shop.money.of(slip.booking_id).paid) == "9.65"
    shop.selling.take_back_all(slip.booking_id, "bad", by="dot", key="b")
    money = shop.money.of(slip.booking_id)
    assert (str(money.noted("given back")), money.due, money.rounding) == (
        "9.65", Money(0), Money(0),
    )  # fmt: skip
    assert shop.money.takings().drawer == Money(0)


def test_a_cent_that_cash_cannot_pay_does_not_stand_in_the_way_of_a_return(shop):
    """0.02 back in cash rounds to nothing: the return is written, the cents stay on the slip."""
    shop.change_settings({"cash_rounding": "nearest-5"}, by="ines", why="x", key="r")
    slip = sell(shop, ("C11", "1"), way="card")
    found = shop.selling.take_back(slip.lines[0].line_id, Weight.of(1, WeightUnit.G), "x", by="dot",
                                   key="b", way="cash")  # fmt: skip
    assert (str(found.money), str(shop.money.of(slip.booking_id).due)) == ("0.02", "-0.02")


def test_a_reason_never_holds_the_number_of_a_card(shop):
    """The reason of a return is kept, so it is held to the same as a note of money."""
    line = sell(shop, ("C11", "1")).lines[0].line_id
    with pytest.raises(BadValue, match="number of a card"):
        shop.selling.take_back(line, None, "card 4111 1111 1111 1111", by="dot", key="b")


PARTS = st.lists(st.integers(min_value=1, max_value=200), min_size=1, max_size=5)


@settings(max_examples=6, suppress_health_check=list(HealthCheck))
@given(cuts=PARTS, per=st.sampled_from(["invoice", "item"]))
def test_the_sum_of_the_parts_is_the_whole(shop, cuts, per):
    """However a line comes back in parts, money and tax back are what was charged, never more."""
    key = f"{per}-{'-'.join(map(str, cuts))}-{shop.money.takings().lines}"
    if not shop.settings().tax_classes:
        set_tax(shop)
    if shop.settings().tax_per != per:
        shop.change_settings({"tax_per": per}, by="ines", why="x", key=f"{key}s")
    whole = Weight.of(sum(cuts), WeightUnit.G)
    if whole > case_line(shop, "C09").free:
        return
    slip = shop.selling.sell(
        [NewSale("C09", whole), NewSale("C13", Weight.of(7, WeightUnit.G))],
        NewPayment("card"), by="dot", key=key,
    )  # fmt: skip
    found = []
    for at, part in enumerate(cuts):
        found.append(shop.selling.take_back(slip.lines[0].line_id, Weight.of(part, WeightUnit.G),
                                            "x", by="dot", key=f"{key}b{at}"))  # fmt: skip
        assert sum_money(one.money for one in found) <= slip.lines[0].line_total
        assert sum_money(one.tax for one in found) <= slip.charged.tax
    assert sum_money(one.money for one in found) == slip.lines[0].line_total
    found.append(shop.selling.take_back(slip.lines[1].line_id, None, "x", by="dot", key=f"{key}e"))
    assert sum_money(one.tax for one in found) == slip.charged.tax
