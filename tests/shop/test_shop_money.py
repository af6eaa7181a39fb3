"""Money noted: what is due, deposits by the written rule, takings to the cent, accounts.

Cash to five cents: 1, 2, 6, 7 go down, 3, 4, 8, 9 up (rows TX023, TX035 of the tax table, "Treasury
FAQ on cash without the penny"). Prices, rates and bookings are invented.
"""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest
from wished import lb

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, sum_money
from collop.shop import DEMO_START, LabelFacts, NewBooking, NewLine, NewPayment, NewSale
from collop.shop.takings_export import TAKINGS_COLUMNS, accounts_json, takings_csv, takings_json

M = Money.of


@pytest.fixture
def taxed(shop):
    """Return the shop with one class, on short ribs, and cash to five cents."""
    facts = LabelFacts(product_class="raw whole", contains=(), tax_class="prepared")
    shop.tickets.set_facts("C09", facts, by="dot", key="facts")
    shop.change_settings(
        {"tax_classes": [{"name": "prepared", "percent": "8.25"}], "cash_rounding": "nearest-5"},
        by="ines", why="office", key="till",
    )  # fmt: skip
    return shop


def sell(shop, cut, pounds, way=None, **more):
    paid = None if way is None else NewPayment(way)
    return shop.selling.sell([NewSale(cut, lb(pounds))], paid, by="dot", **more).booking_id


def gone(shop, pounds="4.15"):
    """Hand over H8: short ribs at 8.90, deposit 20.00 (talk 12)."""
    (line,) = shop.booking("H8").lines
    shop.hand_over("H8", {line.id: lb(pounds)}, by="dot", key="gone")
    return shop.money.of("H8")


def test_the_deposit_is_taken_off_at_hand_over_and_the_rest_is_due(shop):
    """36.94 less 20.00: 16.94 is due, paid in two parts, never more than that."""
    assert shop.money.note("H8", "deposit", "card", by="dot", key="d").deposit_due == Money(0)
    with pytest.raises(WrongState, match="Nothing of that kind"):
        shop.money.note("H8", "deposit", "cash", by="dot", key="d2")
    assert str(gone(shop).due) == "16.94"
    with pytest.raises(BadValue, match=r"17\.00 is more than the 16\.94"):
        shop.money.note("H8", "payment", "card", M("17.00"), by="dot", key="p0")
    assert str(shop.money.note("H8", "payment", "card", M("10.00"), by="dot", key="p1").due) == (
        "6.94"
    )
    found = shop.money.note("H8", "payment", "cash", given=M("10.00"), by="dot", key="p2")
    assert (found.due, str(found.payments[-1].change)) == (Money(0), "3.06")
    with pytest.raises(WrongState):
        shop.money.note("H8", "payment", "cash", by="dot", key="p3")


def test_cash_is_paid_by_the_rounded_total_and_a_card_to_the_cent(taxed):
    """4.15 lb at 8.90 and 8.25 %: 36.94 + 3.05 = 39.99; cash 40.00, the cent is told apart."""
    by_cash, by_card = (sell(taxed, "C09", "1.00", way, key=way) for way in ("cash", "card"))
    cash, card = taxed.money.of(by_cash), taxed.money.of(by_card)
    assert (str(cash.total), str(cash.paid), str(cash.rounding)) == ("9.63", "9.65", "0.02")
    assert (str(card.paid), card.rounding) == ("9.63", Money(0))
    assert cash.due == card.due == Money(0)
    found = gone(taxed)
    assert (str(found.total), str(found.due)) == ("39.99", "19.99")
    done = taxed.money.note("H8", "payment", "cash", by="dot", key="p")
    assert (str(done.paid), str(done.rounding), done.due) == ("20.00", "0.01", Money(0))


def test_a_deposit_that_is_more_than_the_slip_is_given_back(shop):
    """1.50 lb comes to 13.35: of 20.00, 6.65 goes back, and no more."""
    assert str(gone(shop, "1.50").due) == "-6.65"
    with pytest.raises(BadValue, match=r"6\.65 that is open"):
        shop.money.note("H8", "given back", "cash", M("6.66"), by="dot", key="a")
    assert shop.money.note("H8", "given back", "cash", by="dot", key="b").due == Money(0)


@pytest.mark.parametrize(
    ("hours", "back", "keep"),
    [(49, "20.00", "0.00"), (48, "20.00", "0.00"), (47, "10.00", "10.00")],
)
def test_the_written_rule_says_what_goes_back_of_a_deposit(shop, clock, hours, back, keep):
    """48 hours before collection and earlier all of it; later the share the shop keeps."""
    collect = shop.booking("H8").collect_at
    clock.put(collect - timedelta(hours=hours))
    shop.release("H8", by="dot", key="r", why="ill")
    clock.put(collect)  # when it is looked at does not matter: when it went off does
    found = shop.money.on_release("H8")
    assert (str(found.paid), str(found.back), str(found.keep)) == ("20.00", back, keep)
    assert f"of 20.00, {back} is given back and {keep} kept" in found.words
    assert str(shop.money.of("H8").due) == "-20.00"
    # nothing moved by itself; what was done is noted, and never more than the deposit
    shop.money.note("H8", "given back", "cash", M("10.00"), by="dot", key="b")
    done = shop.money.note("H8", "deposit kept", "cash", by="dot", key="k")
    assert done.due == Money(0)
    with pytest.raises(WrongState):
        shop.money.note("H8", "given back", "cash", M("0.01"), by="dot", key="c")
    takings = shop.money.takings()
    assert (str(takings.deposits_back), str(takings.deposits_kept)) == ("10.00", "10.00")
    assert str(takings.drawer) == "-10.00"


def test_the_rule_is_the_shops_own(shop):
    """Words, hours and share are settings; odd cents go by the rounding rule."""
    words = "A deposit stays with us."
    shop.change_settings(
        {"deposit_words": words, "deposit_hours": 1440, "deposit_kept": "0.3333"},
        by="ines", why="told by Ines", key="s",
    )  # fmt: skip
    assert shop.money.deposit_rule() == words
    found = shop.money.on_release("H8")
    assert found.words.startswith(words)
    assert (str(found.back), str(found.keep)) == ("13.33", "6.67")  # 20 x 0.3333 = 6.666


@pytest.mark.parametrize(
    "bad", [{"deposit_hours": -1}, {"deposit_hours": "x"}, {"deposit_kept": "1.1"},
            {"deposit_words": "a\nb"}, {"deposit_words": "x" * 301}, {"over_share": "2"}],
)  # fmt: skip
def test_a_choice_out_of_its_range_is_refused(shop, bad):
    """One sentence, and nothing is changed."""
    before = shop.settings()
    with pytest.raises(BadValue):
        shop.change_settings(bad, by="ines", why="x", key="s")
    assert shop.settings() == before


@pytest.mark.parametrize(
    "note", ["4111 1111 1111 1111", "4111-1111-1111", "card 4111111111111111111 ok",
             "4111/1111/1111/1111", "4111  1111  1111", "4111_1111_1111",
             "4111\N{EN DASH}1111\N{EN DASH}1111", "\N{FULLWIDTH DIGIT FOUR}" * 12],
)  # fmt: skip
def test_a_note_that_may_hold_the_number_of_a_card_is_refused(shop, note):
    """12 digits and more, however they are parted, are never kept."""
    gone(shop)
    with pytest.raises(BadValue, match="number of a card"):
        shop.money.note("H8", "payment", "card", note=note, by="dot", key="a")
    assert shop.money.note("H8", "payment", "card", note="till 2, 15:04, 12345678901", by="dot",
                           key="b").due == Money(0)  # fmt: skip


@pytest.mark.parametrize(
    ("what", "way", "amount", "kind"),
    [("gift", "cash", None, BadValue), ("payment", "shells", None, BadValue),
     ("payment", "cash", M("0.00"), BadValue), ("payment", "cash", M("-1.00"), BadValue),
     ("payment", "cash", Money(1, "EUR"), BadValue), ("payment", "card", Money(10**30), BadValue),
     ("deposit", "account", None, BadValue), ("deposit kept", "cash", None, WrongState),
     ("given back", "cash", None, WrongState), ("given back", "account", None, BadValue)],
)  # fmt: skip
def test_money_that_does_not_fit_is_refused(shop, what, way, amount, kind):
    """Kind, way, amount and state are held to; nothing is written."""
    gone(shop)
    with pytest.raises(kind):
        shop.money.note("H8", what, way, amount, by="dot", key="a")
    assert shop.money.of("H8").payments == ()


def test_money_of_nothing_is_told(shop):
    """No such booking; nothing is due before it has gone."""
    with pytest.raises(NotFound):
        shop.money.of("H999")
    with pytest.raises(NotFound):
        shop.money.note("H999", "payment", "cash", by="dot", key="a")
    with pytest.raises(WrongState, match="H8 is booked"):
        shop.money.note("H8", "payment", "cash", by="dot", key="b")
    assert shop.money.of("H8").due == Money(0)


def test_what_is_on_account_is_listed_by_name_until_it_is_paid(shop):
    """Two slips of one name, however it is written; one is paid, the other stays."""
    first, second = (
        sell(shop, "C11", pounds, "account", key=name, name=name)
        for name, pounds in (("The Lock Inn", "1"), ("the lock inn", "2"))
    )
    (found,) = shop.money.accounts()
    assert ([one.booking_id for one in found.slips], str(found.due)) == ([first, second], "23.40")
    assert shop.money.takings().unpaid == ()
    with pytest.raises(WrongState):
        shop.money.note(first, "payment", "account", by="dot", key="again")
    shop.money.note(first, "payment", "card", by="dot", key="paid")
    (found,) = shop.money.accounts()
    assert ([one.booking_id for one in found.slips], str(found.due)) == ([second], "15.60")
    assert accounts_json((found,))[0]["slips"][0]["due"] == "15.60"


def test_the_takings_of_a_day_add_up_to_the_cent(taxed, clock):
    """Lines + tax = total; money in by way, less rounding, is what was due; the rest is unpaid."""
    taxed.money.note("H8", "deposit", "cash", by="dot", key="dep")
    gone(taxed)
    taxed.money.note("H8", "payment", "cash", by="dot", key="p")
    slips = [
        sell(taxed, "C09", "0.73", "cash", key="a"), sell(taxed, "C11", "1.37", "card", key="b"),
        sell(taxed, "C09", "0.41", key="c"),
        sell(taxed, "C04", "0.5", "account", key="d", name="Inn"),
    ]  # fmt: skip
    found = taxed.money.takings()
    assert [one.money.booking_id for one in found.slips] == ["H8", *slips]
    by_hand = [taxed.selling.slip(name) for name in ("H8", *slips)]
    assert found.lines == sum_money(one.total for one in by_hand)
    assert (
        found.tax
        == sum_money(one.charged.tax for one in by_hand)
        == sum_money(one.tax for one in found.taxes)
    )
    assert found.total == found.lines + found.tax
    unpaid = sum_money(one.open for one in found.unpaid)
    assert [one.booking_id for one in found.unpaid] == [slips[2]]
    came = sum_money(came for came, _ in found.ways.values())
    due = found.total - found.deposits_used
    assert came - found.deposits_taken - found.rounding == due - unpaid
    assert found.drawer == found.ways["cash"][0]
    clock.put(DEMO_START + timedelta(days=1))
    taxed.money.note(slips[2], "payment", "card", by="dot", key="late")
    later = taxed.money.takings()
    assert (later.slips, later.earlier) == ((), later.ways["card"][0])
    assert taxed.money.takings(DEMO_START.date()).unpaid == ()


def test_takings_are_told_as_json_and_as_csv(taxed):
    """Money as decimal text; named columns whose sums are the day's; no cell is a sum."""
    sell(taxed, "C09", "0.73", "cash", key="a", name="=1+1")
    name = sell(taxed, "C11", "1", "card", key="b")
    taxed.selling.take_back(f"{name}-1", lb("0.4"), "@smell", by="dot", key="c", way="card")
    found = taxed.money.takings()
    told = takings_json(found)
    assert (told["net"], told["returned"]) == (str(found.net), "3.12")
    assert {one["way"]: (one["in"], one["out"]) for one in told["ways"]}["card"] == (
        "7.80", "3.12",
    )  # fmt: skip
    rows = list(csv.DictReader(io.StringIO(takings_csv(found), newline="")))
    assert tuple(rows[0]) == TAKINGS_COLUMNS
    assert sum_money(M(row["lines"]) for row in rows if row["lines"]) == found.net
    assert rows[0]["name"] == "'=1+1"
    assert next(row for row in rows if row["kind"] == "return")["note"] == "'@smell"


def test_every_act_of_money_is_done_once(shop):
    """The same key again changes nothing and answers the same."""
    gone(shop)
    one = shop.money.note("H8", "payment", "card", M("5.00"), by="dot", key="a")
    assert shop.money.note("H8", "payment", "card", M("5.00"), by="dot", key="a") == one
    assert len(one.payments) == 1


def test_a_deposit_nobody_noted_is_told_and_can_be_noted_after_hand_over(shop):
    """20.00 came off the slip and lies in no figure: it is named until its way is said."""
    gone(shop)
    found = shop.money.takings()
    assert [one.booking_id for one in found.without_deposit] == ["H8"]
    assert (str(found.deposits_not_noted), found.drawer) == ("20.00", Money(0))
    assert takings_json(found)["deposit_not_noted"] == ["H8"]
    done = shop.money.note("H8", "deposit", "cash", by="dot", key="d")
    # it moves what is due no second time
    assert (str(done.due), done.deposit_due) == ("16.94", Money(0))
    found = shop.money.takings()
    assert (found.without_deposit, str(found.drawer)) == ((), "20.00")


def test_money_that_is_owed_to_a_customer_is_listed(shop):
    """1.50 lb comes to 13.35 and the deposit was 20.00: 6.65 stand open until given back."""
    gone(shop, "1.50")
    assert [one.booking_id for one in shop.money.takings().to_give_back] == ["H8"]
    shop.money.note("H8", "given back", "cash", by="dot", key="b")
    assert shop.money.takings().to_give_back == ()


def test_a_cell_of_the_takings_is_no_formula_whatever_it_begins_with(shop):
    """The guard is that of every list of the shop."""
    sell(shop, "C11", "1", "card", key="a", name="=1+1")
    sell(shop, "C11", "1", "card", key="b", name="-2+3")
    rows = list(csv.DictReader(io.StringIO(takings_csv(shop.money.takings()), newline="")))
    assert [row["name"] for row in rows if row["kind"] == "slip"] == ["'=1+1", "'-2+3"]


def test_a_deposit_given_back_that_never_came_in_is_told_until_it_is_noted(shop):
    """H1 (talk 16): 100.00 booked and not noted; given back in cash, the drawer is short by it."""
    assert shop.money.of("H1").deposit_words == "Deposit, not noted"
    shop.release("H1", by="dot", key="off", why="the wedding is off")
    shop.money.note("H1", "given back", "cash", by="dot", key="back")
    found = shop.money.takings()
    assert (str(found.drawer), str(found.deposits_back)) == ("-100.00", "100.00")
    (one,) = found.back_not_noted
    said = (
        "100.00 given back of a deposit that was not noted: note it, or the drawer is short by it."
    )
    assert (one.booking_id, one.words) == ("H1", said)
    assert takings_json(found)["given_back_and_not_noted"] == ["H1"]
    part = shop.money.note("H1", "deposit", "cash", M("60.00"), by="dot", key="d1")
    assert part.deposit_words == "Deposit, 40.00 of it not noted"
    assert str(shop.money.takings().deposits_back_not_noted) == "40.00"
    done = shop.money.note("H1", "deposit", "cash", by="dot", key="d2")
    # nothing is due by it: it was owed and given back before
    assert (done.due, done.deposit_words) == (Money(0), "Deposit paid")
    found = shop.money.takings()
    assert (found.back_not_noted, found.drawer) == ((), Money(0))


@pytest.mark.parametrize(
    ("way", "deposit", "where"),
    [("account", "5.00", "way"), ("shells", "5.00", "way"), ("cash", None, "deposit"),
     ("cash", "0.00", "deposit")],
)  # fmt: skip
def test_a_booking_whose_deposit_cannot_be_so_is_refused_whole(shop, way, deposit, where):
    """No booking and no money is written."""
    new = NewBooking(
        name="Nobody", collect_at=DEMO_START + timedelta(days=1), by="dot", deposit_way=way,
        deposit=None if deposit is None else M(deposit), lines=(NewLine("C11", lb("1")),),
    )  # fmt: skip
    with pytest.raises(BadValue) as told:
        shop.book(new, key="k")
    assert (told.value.where, shop.find("Nobody")) == (where, ())
