"""10,000 mutated ticket problems: no crash; what is refused has a reason, what passes is whole."""

from __future__ import annotations

import random
from fractions import Fraction

from collop.errors import ProblemError
from collop.reference.rulebook import safe_handling_parts
from collop.ticket import ticket
from ticket.ticket_problems import GOOD, ground, line_of, sausage, ticket_problem

RUNS = 10_000
SEED = 20_260_610
JUNK = [None, True, 0, -3, 1e308, float("nan"), "", " ", "NaN", "Infinity", "1e-999999", "-1",
        "0.1.2", "4,87", "\x00", "\u202e", "\ud800", "é" * 90, "x" * 5000, [], [[]], {}, [None],
        {"x": "y"}, "lb", "raw", "2026-13-01", ["qr"] * 50]  # fmt: skip
USUAL = {
    ("product", "name"): ["Ground lamb", "Fresh lamb", "Beef mince, 20 % fat", "Short ribs",
                          "Jumbo pound lamb", "Blade tenderized beef", "Pork & fennel links"],
    ("product", "species"): ["beef", "pork", "goat", "chicken", "none", "duck", "venison"],
    ("product", "class"): ["raw whole", "raw ground", "raw sausage", "raw marinated",
                           "ready to eat", "meat-free"],
    ("product", "cook_as"): ["whole", "ground", "poultry", "none"],
    ("product", "ingredients"): [["pork", "salt"], ["wheat rusk"], ["sesame oil"], ["coconut milk"],
                                 ["almonds", "fish sauce"], ["pork"] * 60],
    ("product", "contains"): [["wheat"], ["milk", "soy"], ["salmon"], ["nuts"], ["moonlight"],
                              ["sesame", "wheat", "fish", "tree nuts"]],
    ("product", "casing"): ["hog", "sheep"],
    ("product", "lean_pct"): ["80", "90", "100", "101", "79.95"],
    ("product", "fat_pct"): ["20", "10", "31", "0", "50"],
    ("product", "tenderised"): ["mechanically", "blade", "needle"],
    ("product", "frozen"): [True, False],
    ("product", "previously_frozen"): [True, False],
    ("product", "vacuum"): [True, False],
    ("product", "origin"): [{"country": "NZ"}, {"country": "US"}, {"words": "Product of USA"},
                            {"born": "US", "raised": "US", "slaughtered": "US",
                             "processed": "US"}],
    ("product", "item"): ["00211", "1", "999999"],
    ("product", "gtin"): ["90614141000015", "90614141000016", "036000291452"],
    ("weight", "gross"): ["0.02", "0.03", "12.00", "30.00", "30.01", "4.875", "1e2"],
    ("weight", "tare"): ["0", "0.015", "5", "4.87"],
    ("weight", "unit"): ["kg", "oz"],
    ("weight", "division"): ["0.005", "0.02", "0.03", "1", "1000"],
    ("weight", "capacity"): ["15", "0", "5"],
    ("price", "amount"): ["0.01", "12.995", "0", "99999", "100000.01"],
    ("price", "per"): ["kg", "g"],
    ("price", "currency"): ["EUR", "JPY", "KWD", "usd"],
    ("lot",): ["L 1", "L-1", "L" * 30, "ÄÖ"],
    ("packed",): ["2026-06-13", "2026-06-14", "1999-01-01"],
    ("use_by",): ["2026-06-10", "2026-07-11", "2027-01-01"],
    ("date_words",): ["best if used by", "sell by", "13", "until"],
    ("codes",): [["ean-13"], ["gs1-128", "qr"], ["databar-expanded-stacked"], ["datamatrix"], [],
                 ["gs1-qr", "gs1-datamatrix"]],
    ("form", "size"): ["58x40", "80x50", "80x80", "4x6", "9x9"],
    ("form", "dpi"): [300, 203, 250],
    ("rounding",): ["half-even", "down"],
    ("vacuum_days",): [14, 31],
    ("keep_at_most_f",): ["40", "42"],
    ("ean13",): [{"place": "gb", "prefix": "20"}, {"place": "se", "prefix": "23"}, {"place": "x"}],
}  # fmt: skip
STARTS = ({}, ground(lean_pct="80", fat_pct="20"), sausage(casing="hog"))


def _every_path():
    found = set(USUAL)
    for key, value in GOOD.items():
        found |= {(key,)} | (
            {(key, below) for below in value} if isinstance(value, dict) else set()
        )
    return sorted(found)


def _mutated(draw, paths):
    problem = ticket_problem(draw.choice(STARTS))
    for _ in range(draw.choice((1, 1, 2, 3))):
        path = draw.choice(paths)
        part = problem
        for key in path[:-1]:
            part = part.get(key) if isinstance(part, dict) else None
        if not isinstance(part, dict):
            continue
        act = draw.random()
        usual = USUAL.get(path, JUNK)
        if act < 0.08:
            part.pop(path[-1], None)
        elif act < 0.12:
            part["".join(draw.sample("abcdef", 3))] = draw.choice(JUNK)
        else:
            part[path[-1]] = draw.choice(usual if act < 0.8 else JUNK)
    return problem


def _check_whole(problem, plan):
    """Assert what every printed ticket must have, from the problem alone."""
    product = problem["product"]
    raw = product["class"].startswith("raw")
    assert problem["lot"].strip()
    assert line_of(plan, "lot") == [f"Lot {problem['lot'].strip()}"]
    assert len(line_of(plan, "contains")[0]) > len("Contains: ")
    assert len(line_of(plan, "handling")) == (len(safe_handling_parts()) - 1 if raw else 0)
    assert line_of(plan, "tare")
    assert line_of(plan, "name")[0].strip()
    net, price, total = (Fraction(plan[key]) for key in ("net", "price_per", "total"))
    assert net > 0
    assert total > 0
    assert net <= Fraction(str(problem["weight"]["gross"])) - Fraction(plan["tare"])
    assert Fraction(plan["tare"]) >= Fraction(problem["weight"]["tare"])
    if plan["unit"] == plan["price_unit"]:
        smallest = {"JPY": 1, "KWD": Fraction(1, 1000)}.get(plan["currency"], Fraction(1, 100))
        assert abs(total - net * price) <= smallest / 2
    if product.get("previously_frozen"):
        assert "fresh" not in line_of(plan, "name")[0].casefold()
        assert any("frozen" in text for text in line_of(plan, "keep"))
    if product.get("lean_pct") is not None:
        assert Fraction(product["lean_pct"]) + Fraction(product["fat_pct"]) == 100
    if "sesame oil" in (product.get("ingredients") or []):
        assert "sesame" in line_of(plan, "contains")[0]
    assert all(row["words"] and row["source"] for row in plan["elements"])
    assert len(plan["codes"]) == len(problem.get("codes") or [])


def test_ten_thousand_mutated_tickets():
    """Each is a whole ticket or is refused with one sentence; both happen often."""
    draw = random.Random(SEED)
    paths = _every_path()
    printed, reasons = 0, set()
    for _ in range(RUNS):
        problem = _mutated(draw, paths)
        try:
            plan = ticket(problem)
        except ProblemError as error:
            assert error.message.strip().endswith(".")
            assert len(error.message) < 1200
            reasons.add(error.message)
            continue
        printed += 1
        _check_whole(problem, plan)
    assert printed > RUNS // 10
    assert len(reasons) > 200
