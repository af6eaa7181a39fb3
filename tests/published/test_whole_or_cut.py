"""Whole against separated, beside published cutting tests and prices (S07, S18, P13)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.chalk import most_loss, whole
from collop.chalk.whole_or_cut import break_even
from collop.chalk.whole_reading import read_piece
from collop.reference import cutting_test_rows


def _rows(test_id):
    return {row.step: row for row in cutting_test_rows(test_id)}


def _piece(weight, cuts, **more):
    return {"schema": "collop.whole/1", "piece": {"weight": weight}, "cuts": cuts} | more


def test_pork_shoulder_whole_or_steaks_and_trim():
    """Pork shoulder cutting test (S07: weights and prices seen; shrink and labour ours): 1.73."""
    rows = _rows("CT06")
    billed, steak, trim = rows[1], rows[4], rows[6]
    assert (billed.status.value, billed.source.source_id) == ("computed", "S07")
    assert steak.status.value == trim.status.value == "seen"
    shares = [float(row.weight / billed.weight) for row in (steak, trim)]
    assert shares == [0.53, 0.3]
    plan = whole(
        _piece(
            str(billed.weight),
            [
                {"id": row.part, "share": share, "price": str(row.value_per_unit), "shrink": loss}
                for row, share, loss in zip((steak, trim), shares, (0.04, 0.06), strict=True)
            ],
            labour_per_unit="0.35",
        )
    )
    assert plan["gross_per_unit"] == "2.0825"
    assert plan["break_even"] == "1.7325"
    assert [term["weight"] for term in plan["terms"]] == [
        f"{row.weight:f}" for row in (steak, trim)
    ]
    # the loss lines of the sheet are what brings nothing: 18.75 - 9.9375 - 5.625
    assert plan["unsold_weight"] == "3.1875"


def test_whole_chicken_against_its_parts():
    """Magazine comparison of whole chickens and parts (S18, seen): parts are 80 % of the bird."""
    rows = _rows("CT15")
    bird, waste, factor, even = rows[1], rows[2], rows[3], rows[6]
    share = 1 - float(waste.weight / bird.weight)
    assert share == pytest.approx(0.8)
    # parts at p/.8, the published multiplier 1.25, bring what the whole bird does at p
    parts = bird.value_per_unit * factor.printed
    found = read_piece(_piece(str(bird.weight), [{"id": "parts", "share": 0.8,
                                                  "price": str(parts)}]))  # fmt: skip
    assert break_even(found) == Fraction(bird.value_per_unit)
    # the break-even of the shelf prices seen, as the reference table computes it
    per_pound = rows[5].printed / bird.weight
    plan = whole(_piece(str(bird.weight), [{"id": "parts", "share": 0.8,
                                            "price": str(round(per_pound, 12))}]))  # fmt: skip
    assert Decimal(plan["break_even"]) == even.expected == Decimal("3.1429")


def test_what_boning_a_shoulder_may_lose():
    """Weekly pork prices (P13, seen): boneless .97 over bone-in .81 leaves 16.5 % to lose."""
    from collop.reference import price_ratio_rows, price_rows

    prices = {row.cut: row for row in price_rows() if row.source.source_id == "P13"}
    boned, bone_in = prices["butt boneless 1/4 trim"], prices["butt 1/4 trim"]
    assert boned.status.value == bone_in.status.value == "seen"
    ratio = Fraction(boned.price) / Fraction(bone_in.price)
    assert round(float(most_loss(ratio)) * 100, 1) == 16.5
    listed = [row for row in price_ratio_rows() if row.source.source_id == "P13"
              and row.numerator == "butt boneless 1/4 trim"]  # fmt: skip
    assert [row.status.value for row in listed] == ["computed"]
    assert float(listed[0].ratio) == round(float(ratio), 3) == 1.198
