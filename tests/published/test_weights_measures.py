"""Weights and measures: every row that was seen and is a computation, by its own figures.

Sources of reference/tables/rules/sources.csv: NIST133C2 (NIST Handbook 133 Chapter 2, Gravimetric
Testing, web reprint), AZTARE (Arizona Department of Agriculture, "Tare"), CASTP20 (Measurement
Canada, STP-20 Accuracy of price computation), DRYTARE1 (FSIS final rule on net weight, as
reported), WMSCO (Pre-Packaged Commodities Labeling), NIPMO (Price Marking Order (Northern Ireland)
2004, art. 13), POUND (International avoirdupois pound definition).

No computations, but words quoted: WM022, WM023, WM043, WM048 to WM055 and WM060 (what a package or
a display must show, which the ticket carries or exempts), WM063 (when a check scale is verified,
which every plan of a lot cites), WM127 (what dry tare means) and WM128 (a survey's findings).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.errors import BadValue
from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.reference import rule_row
from collop.rules.netweight import largest_division, netweight
from collop.rules.weighing import (
    dry_tare_net,
    net_of,
    price_of,
    small_unit_price,
    tare_was_missed,
)

LB, KG, G = WeightUnit.LB, WeightUnit.KG, WeightUnit.G


def seen(rule_id, source_id):
    """Return a row, which must have been read in that source."""
    row = rule_row(rule_id)
    assert row.is_cited
    assert row.source.source_id == source_id
    return row


def one_package(unit, label, net, **more):
    return netweight(
        {"schema": "collop.netweight/1", "lot_size": 1, "unit": unit, "label": label,
         "packages": [{"net": net}], **more}
    )  # fmt: skip


def test_an_empty_pan_with_a_tare_has_no_price():
    """WM021, CASTP20: tare 0.05 lb on an empty pan, net -0.05 lb: no price; nor over capacity."""
    row = seen("WM021", "CASTP20")
    assert row.worked_inputs == "tare 0.05 lb, pan empty: net -0.05 lb"
    scale = {"division": Weight.of("0.01", LB), "capacity": Weight.of(30, LB)}
    price = UnitPrice.of("8.40", LB)
    for gross in ("0", "30.01"):
        with pytest.raises(BadValue):
            price_of(Weight.of(gross, LB), Weight.of("0.05", LB), price, **scale)
    assert Weight.zero() - Weight.of("0.05", LB) == Weight.of("-0.05", LB)


@pytest.mark.parametrize("cents", range(1, 100))
def test_a_price_is_to_the_nearest_cent(cents):
    """WM024, CASTP20: computed to the nearest cent; no other cent is nearer."""
    assert seen("WM024", "CASTP20").figure == Decimal("0.01")
    price = UnitPrice.of(f"9.{cents:02d}", KG, "CAD")
    net = Weight.of("1.235", KG)
    exact = Fraction("1.235") * (900 + cents)
    for rule in Rounding:
        assert abs(price.line(net, rule).minor - exact) <= Fraction(1, 2)


def test_the_price_is_of_the_net_weight():
    """WM044, AZTARE: the price reflects the net weight; packaging is never paid for."""
    assert seen("WM044", "AZTARE").value == "net (tare taken off)"
    bare = price_of(
        Weight.of("1.21", LB), Weight.zero(), UnitPrice.of("9.99", LB),
        division=Weight.of("0.01", LB), capacity=Weight.of(30, LB),
    )  # fmt: skip
    packed = price_of(
        Weight.of("1.24", LB), Weight.of("0.03", LB), UnitPrice.of("9.99", LB),
        division=Weight.of("0.01", LB), capacity=Weight.of(30, LB),
    )  # fmt: skip
    assert packed.total == bare.total


def test_a_package_that_reads_its_label_had_no_tare_taken():
    """WM045, AZTARE: reads 1.24 lb, says 1.24 lb net: the tare was not taken."""
    row = seen("WM045", "AZTARE")
    assert row.worked_inputs == "package on scale reads 1.24 lb, label says 1.24 lb net"
    label = Weight.of("1.24", LB)
    assert tare_was_missed(label, label)
    assert tare_was_missed(Weight.of("1.23", LB), label)
    assert not tare_was_missed(Weight.of("1.25", LB), label)
    plan = one_package("lb", "1.24", None, packages=[{"gross": "1.24", "tare": "0.03"}])
    assert any("its tare was not taken off" in note for note in plan["cautions"])


def test_the_usual_bag_is_one_step_of_a_counter_scale():
    """WM046, WMSCO: a plastic produce bag, usually 0.01 lb: taken off, it changes the price."""
    bag = Weight.of(seen("WM046", "WMSCO").figure, LB)
    assert net_of(Weight.of("1.00", LB), bag) == Weight.of("0.99", LB)


def test_packages_without_a_pattern_are_random():
    """WM047, AZTARE: packages of differing net weights are random, alike ones standard."""
    seen("WM047", "AZTARE")
    packages = [{"label": "1.24", "net": "1.24"}, {"label": "1.31", "net": "1.31"}]
    lot = {"schema": "collop.netweight/1", "lot_size": 2, "packages": packages}
    assert netweight(lot)["kind"] == "random"
    lot["packages"][1] = {"label": "1.24", "net": "1.24"}
    assert netweight(lot)["kind"] == "standard"


@pytest.mark.parametrize(
    ("unit", "label", "allowance", "sixth", "largest"),
    [("g", "113", "7.2", "1.2", "1"), ("lb", "0.25", "0.016", "0.002667", "0.002")],
)
def test_the_largest_step_of_a_check_scale(unit, label, allowance, sixth, largest):
    """WM061 and WM087, NIST133C2: 113 g (0.25 lb), MAV 7.2 g (0.016 lb), 7.2/6 = 1.2 g; 1 g ok."""
    row = seen("WM061", "NIST133C2")
    assert "7.2/6 = 1.2 g (0.002 lb)" in row.worked_result
    assert seen("WM087", "NIST133C2").figure == Decimal("0.016")
    plan = one_package(unit, label, label, division=largest)
    (package,) = plan["packages"]
    assert (package["allowance"], package["rule"]) == (allowance, "WM087")
    assert plan["scale"] == {
        "division": largest, "sixth_of_allowance": sixth, "largest_division": largest, "fits": True,
    }  # fmt: skip
    coarse = {"g": "2", "lb": "0.005"}[unit]
    assert one_package(unit, label, label, division=coarse)["scale"]["fits"] is False


def test_a_check_scale_has_a_hundred_divisions():
    """WM062, NIST133C2: 100 divisions do, 99 do not."""
    assert seen("WM062", "NIST133C2").figure == 100
    for capacity, fits in (("100", True), ("99", False)):
        plan = one_package("g", "90", "90", division="1", capacity=capacity)
        assert plan["scale"]["fits"] is fits
    assert largest_division(Fraction("1.2")) == 1


def test_a_soaked_pad_is_never_taken_as_tare():
    """WM126, DRYTARE1: gross 1.54, dry 0.04, soaked 0.09: net 1.50 lb, not 1.45 lb."""
    row = seen("WM126", "DRYTARE1")
    assert row.worked_result == "dry tare: net 1.50 lb; wet tare would give 1.45 lb"
    gross, dry, soaked = (Weight.of(text, LB) for text in ("1.54", "0.04", "0.09"))
    assert dry_tare_net(gross, dry) == Weight.of("1.50", LB)
    assert gross - soaked == Weight.of("1.45", LB)
    plan = one_package("lb", "1.50", None, packages=[{"gross": "1.54", "tare": "0.04"}])
    assert plan["packages"][0]["net"] == "1.5"


@pytest.mark.parametrize(
    ("exact", "shown"),
    [("0.4974", "0.497"), ("0.4975", "0.498"), ("0.49749", "0.497"), ("0.0005", "0.001")],
)
def test_small_unit_prices_go_to_a_tenth_of_a_penny(exact, shown):
    """WM135, NIPMO: under GBP 1 to 0.1 p; 5 or more in the next digit up, 4 or less down."""
    assert "5 or more in the next digit rounds up" in seen("WM135", "NIPMO").note
    assert str(small_unit_price(Fraction(exact))) == shown
    assert str(small_unit_price(Fraction("1.2349"))) == "1.23"


def test_the_pound_is_exact():
    """TX039, POUND: 1 lb = 0.45359237 kg exactly, both ways."""
    row = rule_row("TX039")
    assert (row.is_cited, row.source.source_id) == (True, "POUND")
    assert Weight.of(1, LB) == Weight.of(row.value, KG)
    assert Weight.of(1, LB).exact(G) == Fraction("453.59237")
