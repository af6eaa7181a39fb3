"""Tax by class and cash to five cents on slips: as charged, kept, and moved by no later change.

Rates and classes are invented by us.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select
from wished import line, order

from collop.errors import BadValue
from collop.measures import Money
from collop.shop.day_tables import slip_totals
from collop.shop.ticket_model import LabelFacts

PREPARED = {"name": "prepared", "percent": "8.25", "from": None, "until": None}


def classed(shop, case_id, tax_class="prepared", key="facts"):
    """Tell the tax class of a line among the facts of its label."""
    facts = shop.tickets.facts(case_id).facts
    told = LabelFacts(
        product_class=facts.product_class or "raw whole", item=facts.item,
        ingredients=facts.ingredients, contains=facts.contains, tenderised=facts.tenderised,
        lean_pct=facts.lean_pct, fat_pct=facts.fat_pct, tax_class=tax_class,
    )  # fmt: skip
    shop.tickets.set_facts(case_id, told, by="dot", key=key)


def set_till(shop, key="till", **changes):
    return shop.change_settings(changes, by="ines", why="told by the office", key=key)


def sold(shop, *lines, deposit=None, key="sale"):
    """Book lines and hand them over as booked."""
    booking = shop.book(order(*lines, deposit=deposit), key=f"{key}-book")
    weighed = {one.id: one.weight for one in booking.lines}
    return shop.hand_over(booking.id, weighed, by="dot", key=f"{key}-over")


def told(slip):
    return [(one.name, str(one.base), str(one.tax)) for one in slip.charged.taxes]


def test_without_a_class_there_is_no_tax(shop):
    """As it began: the total is that of the lines, in cash to the cent."""
    slip = sold(shop, line("C02", "2.00"))
    assert (slip.charged.taxes, slip.charged.tax.minor) == ((), 0)
    assert slip.charged.total == slip.charged.due == slip.due == slip.total
    assert (slip.charged.cash_rule, slip.charged.cash.to_pay) == ("off", slip.total)


def test_tax_is_on_the_lines_of_its_class_alone(shop):
    """Raw lamb bears none, the marinated thighs 8.25 %; cash goes to the nearest five cents."""
    classed(shop, "C25")
    set_till(shop, tax_classes=[PREPARED], cash_rounding="nearest-5")
    slip = sold(shop, line("C02", "2.00"), line("C25", "1.50"))
    lamb, thighs = (one.line_total for one in slip.lines)
    tax = Money((thighs.minor * 825 + 5000) // 10_000)
    assert told(slip) == [("prepared", str(thighs), str(tax))]
    assert slip.charged.total == lamb + thighs + tax
    assert slip.charged.cash.to_pay.minor % 5 == 0
    assert slip.charged.cash.to_pay - slip.charged.cash.rounding == slip.due


def test_each_line_or_the_class_once(shop):
    """Per item each line is rounded, per invoice the class once."""
    classed(shop, "C33")
    set_till(shop, tax_classes=[PREPARED], tax_per="item")
    each = sold(shop, line("C33", "0.50"), line("C33", "0.50"), line("C33", "0.50"), key="a")
    set_till(shop, key="per", tax_per="invoice")
    once = sold(shop, line("C33", "0.50"), line("C33", "0.50"), line("C33", "0.50"), key="b")
    price = each.lines[0].line_total.minor
    assert {one.line_total.minor for one in (*each.lines, *once.lines)} == {price}
    assert each.charged.tax.minor == 3 * ((price * 825 + 5000) // 10_000)
    assert once.charged.tax.minor == (3 * price * 825 + 5000) // 10_000


def test_a_later_rate_moves_no_old_slip(shop):
    """Rates, rules and the class of a line change; the slip reads as it was charged."""
    classed(shop, "C25")
    set_till(shop, tax_classes=[PREPARED], cash_rounding="nearest-5")
    slip = sold(shop, line("C25", "1.50"))
    set_till(
        shop, key="later", tax_classes=[PREPARED | {"percent": "50"}], tax_per="item",
        cash_rounding="down-5",
    )  # fmt: skip
    classed(shop, "C25", None, key="none")
    assert shop.slip(slip.booking_id) == slip
    after = sold(shop, line("C25", "1.00"), key="after")
    assert (after.charged.taxes, after.charged.cash_rule) == ((), "down-5")


def test_a_rate_holds_for_its_days(shop, clock):
    """The rate of the day of hand-over counts; a day without one says so and adds nothing."""
    today = shop.now().date()
    classed(shop, "C25")
    set_till(
        shop, tax_classes=[PREPARED | {"until": today.isoformat()},
                           PREPARED | {"percent": "9", "from": str(today + timedelta(days=2))}],
    )  # fmt: skip
    charge = [("C25", Money.of("10.00"))]
    taxes = []
    for _ in range(3):
        totals = shop.charge(charge, deposit=Money(0))
        taxes.append((str(totals.tax), bool(totals.cautions)))
        clock.put(shop.now() + timedelta(days=1))
    assert taxes == [("0.83", False), ("0.00", True), ("0.90", False)]


def test_names_of_classes_are_met_in_any_case(shop):
    """A line told to be Prepared is of the class prepared, also when the class came later."""
    classed(shop, "C25", "Prepared")
    set_till(shop, tax_classes=[PREPARED])
    assert shop.charge([("C25", Money.of("10"))], deposit=Money(0)).taxes[0].name == "prepared"


def test_a_class_that_was_taken_away_is_said(shop):
    """A line whose class is none of the shop's any more bears nothing, and a sentence tells so."""
    set_till(shop, tax_classes=[PREPARED])
    classed(shop, "C25")
    set_till(shop, key="gone", tax_classes=[PREPARED | {"name": "hot"}])
    totals = shop.charge([("C25", Money.of("10"))], deposit=Money(0))
    assert (totals.tax.minor, len(totals.cautions)) == (0, 1)
    assert "prepared" in totals.cautions[0]


def test_a_deposit_is_taken_off_after_tax(shop):
    """Due is lines and tax less the deposit, and that is what cash rounds; also when given back."""
    classed(shop, "C25")
    set_till(shop, tax_classes=[PREPARED], cash_rounding="nearest-5")
    for deposit in ("5.00", "90.01"):
        slip = sold(shop, line("C25", "1.00"), deposit=Money.of(deposit), key=deposit)
        assert slip.due == slip.total + slip.charged.tax - Money.of(deposit)
        assert slip.charged.cash.to_pay.minor % 5 == 0
        assert abs(slip.charged.cash.rounding.minor) <= 2


def test_a_slip_from_before_has_no_tax(shop):
    """Slips made before there was tax read as they were sold, whatever the settings are now."""
    slip = sold(shop, line("C25", "1.00"))
    with shop._room.store.write() as conn:
        # nothing that was written can be deleted while the guards stand
        triggers = conn.exec_driver_sql(
            "select name from sqlite_master where type = 'trigger' and tbl_name = 'slip_totals'"
        ).scalars().all()  # fmt: skip
        for name in triggers:
            conn.exec_driver_sql(f"drop trigger {name}")
        conn.exec_driver_sql("delete from slip_totals")
    classed(shop, "C25")
    set_till(shop, tax_classes=[PREPARED], cash_rounding="down-5")
    read = shop.slip(slip.booking_id)
    assert (read.due, read.charged.taxes, read.charged.cash_rule) == (slip.total, (), "off")


def test_what_was_charged_is_written_once(shop):
    """The same hand-over sent twice makes one slip and one row of totals, which stays."""
    slip = sold(shop, line("C02", "1.00"))
    weighed = {one.line_id: one.weighed for one in slip.lines}
    again = shop.hand_over(slip.booking_id, weighed, by="dot", key="sale-over")
    assert again == slip
    with shop._room.store.read() as conn:
        assert len(conn.execute(select(slip_totals)).all()) == 1


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"cash_rounding": "up-5"}, "cash_rounding"),
        ({"tax_per": "week"}, "tax_per"),
        ({"tax_classes": "prepared 8"}, "tax_classes"),
        ({"tax_classes": [PREPARED, PREPARED]}, "tax_classes"),
        ({"tax_classes": [PREPARED | {"percent": 8.25}]}, "tax_classes"),
        ({"cash_rounding": None}, "cash_rounding"),
    ],
)
def test_wrong_settings_are_refused(shop, changes, where):
    """Each with its place; nothing changes."""
    before = shop.settings()
    with pytest.raises(BadValue) as said:
        set_till(shop, **changes)
    assert said.value.where == where
    assert shop.settings() == before


def test_every_change_is_kept_with_who_and_why(shop):
    """Rates are kept as they were written, before and after."""
    set_till(shop, tax_classes=[PREPARED])
    set_till(shop, key="two", tax_classes=[], cash_rounding="down-5")
    changes = [(one.name, one.before, one.value, one.by) for one in shop.setting_changes()]
    assert changes == [
        ("tax_classes", [], [PREPARED], "ines"),
        ("tax_classes", [PREPARED], [], "ines"),
        ("cash_rounding", "off", "down-5", "ines"),
    ]
