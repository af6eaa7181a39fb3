"""A meat cutter's account of pork shoulders (S07), kept as the account of one animal of a shop.

Source S07 of the table of pricing sources, "Meat cutting test: pork shoulder butts (working meat
cutter's post)": weights, prices and cost of the pieces are seen rows of test CT06. The post's own
slip (11.10 where 5.625 x 1.99 is 11.19) is in the table of known misprints.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.reference import cutting_test_rows
from collop.shop import (
    NewCaseLine,
    NewDelivery,
    NewPart,
    NewPiece,
    NewSale,
    NewStyle,
    Person,
    Settings,
    StillClock,
    create_shop,
)

ROWS = {row.step: row for row in cutting_test_rows() if row.test_id == "CT06"}
STEAK, TRIM, FAT, BONE, PIECES, PROFIT = (ROWS[step] for step in (4, 6, 9, 10, 11, 14))
PRINTED_SLIP = Decimal("11.19") - Decimal("11.10")


def weighed(row):
    """Return a row's weight as the post's scale said it, in whole ounces."""
    return Weight.of(Fraction(row.weight) * 16, WeightUnit.OZ)


def per_lb(row):
    return UnitPrice.of(str(row.value_per_unit), WeightUnit.LB)


@pytest.fixture
def shop(tmp_path):
    """Return a shop that broke the shoulders as the post did, with no labour and no by-products."""
    made = create_shop(
        f"sqlite:///{tmp_path / 'own.db'}", clock=StillClock(), people=[Person("ann", "Ann")],
        settings=Settings("Ours", labour_per_hour=Decimal(0), worths={"fat": Decimal(0),
                                                                    "bone": Decimal(0)}),
    )  # fmt: skip
    with made:
        lines = {}
        for name, row, rule in (("Pork steak", STEAK, "whole"), ("Ground pork", TRIM, "ground")):
            line = NewCaseLine(name, "pork", per_lb(row), keeps_days=4, cook_as=rule)
            lines[name] = made.cutting.add_case_line(line, by="ann", key=f"line {name}")
        whole = Fraction(PIECES.weight)
        parts = [
            NewPart(name, kind, place, Fraction(row.weight) / whole, lines.get(name),
                    4 if name in lines else None)
            for name, kind, place, row in (
                ("Pork steak", "cut", "case", STEAK), ("Ground pork", "cut", "case", TRIM),
                ("Fat", "fat", "fat", FAT), ("Bone", "bone", "bone", BONE))
        ]  # fmt: skip
        parts.append(NewPart("Loss", "loss", "drip", Fraction(0)))
        made.cutting.add_style(
            NewStyle("butt", "pork", "pork shoulder", "Shoulder to steaks", parts), by="ann",
            key="style",
        )  # fmt: skip
        made.cutting.receive(
            NewDelivery("P-1", "pork", "a plant", [NewPiece("P-1", "butts", "pork shoulder",
                                                            weighed(PIECES))], weighed(PIECES),
                        papers=("inspection mark", "invoice"), price=per_lb(PIECES),
                        not_measured_because="as in the post"), by="ann", key="door",
        )  # fmt: skip
        cut = made.cutting.start_break("P-1", "butt", by="ann", key="start")
        for part, row in zip(cut.style.parts, (STEAK, TRIM, FAT, BONE), strict=False):
            made.cutting.weigh_part(cut.number, part.id, weighed(row), by="ann", key=part.name)
        made.cutting.close_break(cut.number, by="ann", key="close")
        for name, row in (("Pork steak", STEAK), ("Ground pork", TRIM)):
            made.selling.sell([NewSale(lines[name], weighed(row))], by="ann", key=f"sell {name}")
        yield made
        assert made.check() == []


def test_the_account_is_the_posts_profit_but_for_its_slip(shop):
    """Cost 22.42, steak 29.71 and ground pork 11.19 sold: 18.39 as printed and the slip's 0.09."""
    assert {row.status for row in (STEAK, TRIM, FAT, BONE, PIECES, PROFIT)} == {"seen"}
    row = shop.reckoning.animal("P-1").row
    assert row.cost.decimal() == round(PIECES.printed, 2)
    steak, ground = row.lines
    assert steak.money.decimal() == STEAK.printed
    assert ground.money.decimal() == TRIM.printed + PRINTED_SLIP
    assert row.result.decimal() == PROFIT.printed + PRINTED_SLIP
    told = shop.reckoning.day(shop.now().date())
    assert (told.closes, told.animals[0].money, told.rest.minor) == (True, row.sold, 0)


def test_what_is_left_is_fat_and_bone_that_carry_no_cost(shop):
    """Without a worth by-products carry nothing, so all of the cost is in what was sold."""
    row = shop.reckoning.animal("P-1").row
    assert row.sold_cost == row.cost
    assert (row.left, row.left_board.minor) == (weighed(FAT) + weighed(BONE), 0)
    assert row.if_sold == row.result
