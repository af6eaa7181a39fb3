"""A board for a published hog: weights of Hog carcass breakdown, University of Kentucky (S20).

The weights were seen at S20. The ratios of ham and bacon to bone-in chops are computed from the ERS
retail prices of February 2025 as told by LMIC (P04, Retail beef price shows sharp gains over pork,
chicken). All else is illustrative, invented to show the arithmetic: cost of 1.60 a pound hanging,
120.00 of labour, margin 35 %, shrink 4 %, the other ratios. The expected prices are that worked
example's, done by hand to the cent.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

import jsonschema
import pytest

from collop.chalk import chalk
from collop.chalk.chalk_schema import SCHEMAS
from collop.reference import cutting_test_rows, price_ratio_rows

ROWS = [row for row in cutting_test_rows("CT18") if row.role == "component"]
NEWEST = {
    row.numerator: row.ratio
    for row in price_ratio_rows("pork")
    if row.denominator == "chops bone-in" and row.date == "2025-02"
}
# rounded to two places, as in the worked example
HAM, BACON = (float(round(NEWEST[cut], 2)) for cut in ("ham", "bacon sliced"))
#: name: (end of the printed part, relative); a part may be printed under several large cuts
CUTS = {
    "boneless loin": (": boneless loin", 1.05),
    "country ribs": (": country-style ribs", 0.75),
    "sirloin roast": (": sirloin roast", 0.70),
    "tenderloin": (": tenderloin", 1.60),
    "back ribs": (": backribs", 1.50),
    "blade steak": (": blade steaks", 0.80),
    "blade roast": (": blade roast", 0.72),
    "boneless picnic": (": boneless picnic meat", 0.68),
    "cured ham": (": cured ham", HAM),
    "fresh ham": (": fresh ham", 0.75),
    "bacon": (": cured bacon", BACON),
    "spareribs": (": spareribs", 0.90),
    "trim": (": trimmings", 0.78),
    "jowl, feet, bones": (": jowls feet tail neckbones etc", 0.25),
}
PRICES = {
    "boneless loin": "5.57", "tenderloin": "8.49", "back ribs": "7.96", "blade steak": "4.25",
    "boneless picnic": "3.61", "cured ham": "5.26", "bacon": "8.07", "trim": "4.14",
    "jowl, feet, bones": "1.33",
}  # fmt: skip
WASTE = ("skin fat and bone", ": fat and bone", ": fat")


def weight(ending):
    """Return the pounds printed for a part, over all large cuts."""
    return sum((row.weight for row in ROWS if row.part.endswith(ending)), Decimal(0))


WEIGHTS = {name: weight(ending) for name, (ending, _) in CUTS.items()}


def hog(**more):
    """Return the board of the worked example."""
    return {
        "schema": "collop.chalk/1",
        "cost": {"bought": "294.40", "labour_minutes": "300", "labour_per_hour": "24.00"},
        "margin": 0.35,
        "cuts": [
            {"name": name, "weight": str(WEIGHTS[name]), "shrink": 0.04, "relative": relative}
            for name, (_, relative) in CUTS.items()
        ],
    } | more  # fmt: skip


def cent(text):
    return round(Decimal(text), 2)


def test_the_published_parts_are_those_that_are_sold():
    """Hog breakdown (S20, seen): fourteen cuts weigh 139.8 lb; ham and bacon ratios are P04's."""
    assert sum(WEIGHTS.values()) == Decimal("139.8")
    assert all(row.source.source_id == "S20" for row in ROWS)
    assert (HAM, BACON) == (0.99, 1.52)


def test_the_worked_board_of_the_hog():
    """Hog breakdown (S20, seen), illustrative costs: 637.54 needed, base 5.31, nine prices."""
    plan = chalk(hog())
    jsonschema.validate(plan, SCHEMAS["chalk.plan"])
    assert plan["cost"] == "414.40"
    assert plan["needed"] == "637.54"
    assert cent(plan["base"]) == Decimal("5.31")
    exact = {cut["name"]: cent(cut["exact"]) for cut in plan["cuts"]}
    assert {name: exact[name] for name in PRICES} == {k: Decimal(v) for k, v in PRICES.items()}


def test_the_base_is_need_over_weighted_weights():
    """Hog breakdown (S20, seen): the base follows from the printed weights by one division."""
    plan = chalk(hog())
    weighted = sum(
        WEIGHTS[name] * Decimal(str(relative)) * Decimal("0.96")
        for name, (_, relative) in CUTS.items()
    )
    base = Decimal("414.40") / Decimal("0.65") / weighted
    assert abs(Decimal(plan["base"]) - base) < Decimal("0.000001")


@pytest.mark.parametrize("endings", [{"step": "0.05"}, {"of": ["0.29", "0.49", "0.99"]}, None])
def test_the_hog_on_endings_keeps_cost_and_margin(endings):
    """Hog breakdown (S20, seen): written prices bring 637.54 or a little more."""
    plan = chalk(hog(endings=endings))
    brings = sum(Decimal(cut["price"]) * Decimal(cut["sells"]) for cut in plan["cuts"])
    assert brings >= Decimal("414.40") / Decimal("0.65")
    assert brings - Decimal("414.40") / Decimal("0.65") < Decimal(plan["step_on_smallest"])
    # the tenderloin is the lightest: 1.6 lb less 4 %
    step = {None: "0.01", "step": "0.05", "of": "0.50"}[next(iter(endings or {}), None)]
    assert Decimal(plan["step_on_smallest"]) == Decimal(step) * Decimal("1.536")
    assert plan["margin"] >= 0.35


def test_a_dearer_move_of_one_cut_raises_the_others_in_proportion():
    """Hog breakdown (S20, seen): blade roast down 0.50 raises each other cut by d w r / sum w r."""
    plan = chalk(hog(pulls=[{"id": "blade roast", "by": "-0.50"}]))
    pull = plan["pulls"][0]
    moved = Decimal("0.50") * WEIGHTS["blade roast"]
    rest = sum(
        WEIGHTS[name] * Decimal(str(relative))
        for name, (_, relative) in CUTS.items()
        if name != "blade roast"
    )
    for one in pull["together"]:
        rise = moved * Decimal(str(CUTS[one["id"]][1])) / rest
        assert Decimal(one["up"]) == rise.quantize(Decimal("0.01"), ROUND_CEILING)
    assert len(pull["together"]) == 13
    assert pull["alone"][0]["id"] == "cured ham"


def test_the_hog_closes_with_its_skin_fat_and_bone():
    """Hog breakdown (S20, seen): 139.8 sold, 42.6 skin, fat and bone, 1.8 loss against 184."""
    waste = weight(WASTE)
    credit = [{"name": "skin, fat and bone", "weight": str(waste)}]
    plan = chalk(hog(credits=credit, start_weight="184", loss_weight="1.8"))
    assert waste == Decimal("42.6")
    assert plan["closes"]
    assert plan["gap_weight"] == "-0.2"
