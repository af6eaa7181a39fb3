"""What the rules do with figures that are from memory, not checked: no published check."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from collop.errors import BadValue
from collop.measures import Temperature, Weight, WeightUnit
from collop.reference.rulebook import rule_row
from collop.rules import (
    RetailSales,
    keep_until,
    lot_code,
    normal_retail,
    receiving_limit,
    retail_limit,
    retail_verdict,
    roast_hold,
    sanitiser,
    shelf_of,
)

ROWS = ("SF001", "SF044", "SF048", "SF088", "SF089", "SF097", "TR019", "TR020", "TR049", "TR053",
        "TR061", "TR062", "TR085")  # fmt: skip


def test_these_rows_are_from_memory():
    """The module's name holds: none of them was read in its source."""
    assert not any(rule_row(one).is_cited for one in ROWS)


def test_meat_on_arrival():
    """SF001, from memory, not checked: 41 F; the limit carries its status."""
    assert receiving_limit().temperature == Temperature.fahrenheit(41)
    assert not receiving_limit().row.is_cited


def test_the_oldest_roast_table_is_longer():
    """SF048, from memory, not checked: 121 min at 130 F for 2009 and older; only ever longer."""
    found = roast_hold(130, "2009")
    assert (found.seconds, found.row.is_cited) == (121 * 60, False)
    assert found.seconds > roast_hold(130, "2013").seconds
    assert roast_hold(131, "2009") == roast_hold(131, "2022")


def test_a_recalled_row_shortens_no_hold():
    """SF044, from memory, not checked, gives 34 s at 153 F; the 54 s of 151 F are taken."""
    assert roast_hold(153).seconds > 34


def test_other_sanitisers():
    """SF088 and SF089, from memory, not checked: iodine at 68 F, quaternary ammonium at 75 F."""
    iodine, quat = sanitiser("iodine"), sanitiser("quaternary ammonium")
    assert (iodine.least, iodine.contact_s) == (Temperature.fahrenheit(68), 30)
    assert (quat.least, quat.contact_s) == (Temperature.fahrenheit(75), 30)
    assert not iodine.row.is_cited
    assert not quat.row.is_cited


def test_tenderised_meat_lies_with_mince():
    """SF097, from memory, not checked."""
    assert shelf_of("tenderised") == shelf_of("ground")


def test_worked_days_of_records():
    """TR019 and TR020, our own working: 2028-12-31 and 2027-11-25."""
    assert keep_until("traded", date(2026, 3, 10)).until == date(2028, 12, 31)
    assert keep_until("grind", date(2026, 11, 25)).until == date(2027, 11, 25)


def test_a_year_without_a_notice():
    """TR049, from memory, not checked: 2026 was not found; the last year stands, with a caution."""
    known = retail_limit(2026)
    assert (known.of_year, known.meat) == (2025, 103600)
    assert "Read the notice of 2026" in known.caution
    own = retail_limit(2026, {"retail_meat_2026": "105000", "retail_poultry_2026": "75500"})
    assert (own.meat, own.poultry, own.of_year) == (105000, 75500, 2026)
    half = retail_limit(2026, {"retail_meat_2026": "105000"})
    assert half.of_year == 2025
    with pytest.raises(BadValue, match="the first is that of 2003"):
        retail_limit(1999)


def test_a_published_year_is_never_replaced():
    """What a shop puts in for another year moves nothing of a published one."""
    chosen = {"retail_meat_2025": "999999", "retail_meat_2026": "105000"}
    assert retail_limit(2025, chosen).meat == 103600


def test_one_cent_over():
    """TR053, our own working: 103,600.01 is over, 103,600.00 is not; warnings at 80 and 95 %."""
    worked = (("103600.01", "over"), ("103600.00", "near"), ("98420.00", "near"),
              ("98419.99", "warn"), ("82880.00", "warn"), ("82879.99", "within"))  # fmt: skip
    for sold, state in worked:
        some = RetailSales(Decimal(sold), Decimal(0), Decimal(0), Decimal(900_000))
        assert retail_verdict(some, 2025)[0].state == state


def test_half_a_carcass_and_poultry():
    """TR062, our own working: 310 lb of beef is over 300; TR061, from memory: poultry 75 lb."""
    side = normal_retail("beef", Weight.of("310", WeightUnit.LB))
    assert side.is_over
    assert "ask the inspector" in side.say
    birds = normal_retail("chicken", Weight.of("75.01", WeightUnit.LB))
    assert birds.is_over
    assert "from memory, not checked" in birds.say
    assert normal_retail("venison", Weight.of("500", WeightUnit.LB)) is None


def test_a_lot_code():
    """TR085, from memory, not checked: 25 November 2026 is day 329, so 26329-G1-02."""
    assert lot_code(date(2026, 11, 25), "G1", 2) == "26329-G1-02"
    assert lot_code(date(2028, 12, 31), "ABCDEF", 99) == "28366-ABCDEF-99"
    wrong = (("", 1), ("G 1", 1), ("G-1", 1), ("TOOLONG", 1), ("G1", 0), ("G1", 100),
             ("G1", True), ("\N{GREEK SMALL LETTER ALPHA}", 1))  # fmt: skip
    for machine, number in wrong:
        with pytest.raises(BadValue):
            lot_code(date(2026, 11, 25), machine, number)
