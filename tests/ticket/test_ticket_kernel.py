"""The ticket kernel: amounts, lines, elements with their rules, bar codes, by class of product."""

from __future__ import annotations

from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.reference.rulebook import rule_row, safe_handling_parts
from collop.ticket import ticket
from collop.ticket.elements import decode
from collop.ticket.layout_model import FORMS
from collop.ticket.ticket_schema import SCHEMAS
from collop.ticket.variable import read_variable
from ticket.ticket_problems import ground, line_of, rules_of, sausage, ticket_problem

KINDS_OF_PRODUCT = {
    "whole": {},
    "ground": ground(lean_pct="80", fat_pct="20"),
    "sausage": sausage(casing="hog"),
    "marinated": {"name": "Chicken thigh, soy and sesame", "species": "chicken",
                  "class": "raw marinated", "cook_as": "poultry",
                  "ingredients": ["chicken", "soy sauce", "sesame oil"],
                  "contains": ["soy", "wheat", "sesame"]},
    "ready": {"name": "Roast pork", "species": "pork", "class": "ready to eat", "cook_as": "none"},
    "meat-free": {"name": "Grilling cheese", "species": "none", "class": "meat-free",
                  "cook_as": "none", "contains": ["milk"]},
    "tenderised": {"name": "Beef rump", "species": "beef", "tenderised": "needle"},
    "frozen": {"frozen": True},
    "thawed": {"previously_frozen": True},
    "vacuum": {"vacuum": True},
}  # fmt: skip


def test_the_drawn_ticket_of_the_screens_comes_out():
    """The shoulder of lamb: net, both prices, total and lines as the picture has them."""
    plan = ticket(ticket_problem())
    assert (plan["net"], plan["tare"], plan["total"]) == ("4.85", "0.02", "40.74")
    assert (plan["price_per"], plan["price_other"]) == ("8.40", "18.52")
    assert line_of(plan, "contains") == ["Contains: none declared"]
    assert line_of(plan, "cook") == ["Cook: 145 F in the middle, then rest 3 min"]
    assert line_of(plan, "dates") == ["Packed Wed 10 Jun, use or freeze by Sat 13 Jun"]
    roles = [line["role"] for line in plan["lines"]]
    order = ["shop", "name", "net", "price", "total", "dates", "keep", "contains", "lot"]
    assert [role for role in roles if role in order] == order


@pytest.mark.parametrize("kind", KINDS_OF_PRODUCT)
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", FORMS)
def test_every_class_on_every_form_keeps_the_schema(kind, dpi, size):
    """Each plan is valid by its schema, and so is its problem."""
    problem = ticket_problem(KINDS_OF_PRODUCT[kind], form={"size": size, "dpi": dpi})
    jsonschema.validate(problem, SCHEMAS["ticket"])
    jsonschema.validate(ticket(problem), SCHEMAS["ticket.plan"])


@pytest.mark.parametrize("kind", KINDS_OF_PRODUCT)
def test_every_element_stands_on_the_ticket_and_in_the_tables(kind):
    """The words of each element are drawn, and its rule is a row with that status."""
    plan = ticket(ticket_problem(KINDS_OF_PRODUCT[kind]))
    drawn = " | ".join(line["text"] for line in plan["lines"])
    for row in plan["elements"]:
        if row["element"] == "safe handling":
            continue
        assert row["words"] in drawn, row
        if not row["rule"]:
            assert row["element"] in {"lot", "origin"}
            assert "common practice" in row["source"]
        elif not row["element"].startswith("safe handling:"):
            assert rule_row(row["rule"]).status.value == row["status"]
        assert (row["status"] == "memory") is (
            "from memory, not checked" in row["source"] or not row["rule"]
        )


@pytest.mark.parametrize("kind", KINDS_OF_PRODUCT)
def test_the_safe_handling_block_is_on_raw_meat_only(kind):
    """Six parts in the prescribed words on raw meat; none on ready-to-eat and meat-free food."""
    plan = ticket(ticket_problem(KINDS_OF_PRODUCT[kind]))
    block = line_of(plan, "handling_head") + line_of(plan, "handling")
    if kind in {"ready", "meat-free"}:
        assert block == []
        assert "LB009" not in rules_of(plan)
        assert line_of(plan, "cook") == []
    else:
        assert block == [part.words for part in safe_handling_parts()]
        assert "LB009" in rules_of(plan)


def test_contains_is_never_blank_and_stands_after_the_ingredients():
    """The allergen line follows the list of ingredients and names what is declared."""
    plan = ticket(ticket_problem(sausage(contains=["Wheat", "soya"], ingredients=["pork", "soy"])))
    roles = [line["role"] for line in plan["lines"]]
    assert roles.index("contains") == roles.index("ingredients") + 1
    assert line_of(plan, "contains") == ["Contains: wheat, soy"]
    assert rules_of(plan, "contains") == ["LB105", "LB102", "LB103"]


def test_the_casing_is_told_with_the_ingredients():
    """A casing has a species, and somebody who avoids it can read it."""
    plan = ticket(ticket_problem(sausage(casing="hog")))
    assert line_of(plan, "ingredients") == ["Ingredients: pork, salt, sage. In hog casing."]


def test_the_kind_of_meat_is_added_where_the_name_leaves_it_out():
    """`Short ribs` alone does not tell the animal: it stands under the name."""
    plan = ticket(ticket_problem({"name": "Short ribs", "species": "beef"}))
    assert line_of(plan, "also") == ["Beef"]
    assert line_of(ticket(ticket_problem()), "also") == []


def test_pierced_meat_carries_its_designation_in_the_name_and_is_cooked_as_ground():
    """The designation stands in the name's own line, so in its size; the higher minimum rules."""
    plan = ticket(ticket_problem({"name": "Beef rump", "species": "beef", "tenderised": "blade"}))
    assert line_of(plan, "name") == ["Beef rump, blade tenderized"]
    assert line_of(plan, "cook") == ["Cook: 160 F in the middle, checked with a thermometer"]
    assert any("minimum for ground" in one for one in plan["cautions"])
    spelled = {"name": "Blade-tenderised beef rump", "species": "beef", "tenderised": "blade"}
    assert line_of(ticket(ticket_problem(spelled)), "name") == ["Blade tenderized beef rump"]


def test_a_bird_told_as_whole_meat_is_ruled_as_poultry():
    """What was said too low is raised, and the ticket says so."""
    plan = ticket(ticket_problem({"name": "Duck legs", "species": "duck", "cook_as": "whole"}))
    assert line_of(plan, "cook") == ["Cook: 165 F in the middle"]
    assert rules_of(plan, "cook to") == ["SF057"]


@pytest.mark.parametrize("kind", ["raw ground", "raw sausage"])
def test_the_class_rules_the_cooking_where_the_name_says_nothing(kind):
    """Ground meat under any name, told as whole, is cooked as ground meat."""
    told = {"name": "Beef, pepper mix", "species": "beef", "class": kind, "cook_as": "whole",
            "ingredients": ["beef", "pepper"]}  # fmt: skip
    assert line_of(ticket(ticket_problem(told)), "cook") == ["Cook: 160 F in the middle"]


def test_a_last_day_may_be_the_day_of_packing():
    """Mince for the same day has one date for both."""
    (dates,) = line_of(ticket(ticket_problem(ground(), use_by="2026-06-10")), "dates")
    assert dates == "Packed Wed 10 Jun, use or freeze by Wed 10 Jun"


def test_frozen_and_thawed_goods_say_so():
    """Frozen goods have the year in their dates; thawed ones their statement."""
    frozen = ticket(ticket_problem({"frozen": True}))
    assert line_of(frozen, "keep") == ["Keep frozen"]
    assert line_of(frozen, "dates") == ["Packed Wed 10 Jun 2026, use or freeze by Sat 13 Jun 2026"]
    thawed = ticket(ticket_problem({"previously_frozen": True}))
    assert any("handled frozen" in text for text in line_of(thawed, "keep"))
    assert "LB008" in rules_of(thawed)
    assert any("from memory" in one for one in thawed["cautions"])


def test_a_vacuum_pack_says_how_cold_and_until_when_in_bold():
    """Both instructions of a vacuum pack are bold."""
    plan = ticket(ticket_problem({"vacuum": True}))
    keeps = [line for line in plan["lines"] if line["role"] == "keep"]
    assert [line["text"] for line in keeps] == [
        "Keep refrigerated at 41 F or below", "Discard if not used or frozen by Sat 13 Jun"
    ]  # fmt: skip
    assert all(line["bold"] for line in keeps)


def test_the_shop_may_keep_it_colder_than_the_code():
    """A stricter temperature is printed; in degC it is rounded down."""
    plan = ticket(ticket_problem(keep_at_most_f="40"))
    assert line_of(plan, "keep") == ["Keep refrigerated at 40 F or below"]
    metric = ticket(
        ticket_problem(weight={"gross": "2.200", "unit": "kg", "division": "0.005", "tare": "0",
                               "capacity": "15"}, price={"per": "kg"}, keep_at_most_f="40")
    )  # fmt: skip
    assert line_of(metric, "keep") == ["Keep refrigerated at 4 C or below"]
    assert line_of(metric, "cook") == ["Cook: 63 C in the middle, then rest 3 min"]
    assert line_of(metric, "tare") == ["Tare 0 kg: no packing"]


def test_the_other_unit_can_be_left_off():
    """With one unit only, neither weight nor price is shown in the other."""
    plan = ticket(ticket_problem(weight_unit_also=False))
    assert line_of(plan, "net") == ["Net 4.85 lb"]
    assert line_of(plan, "price") == ["$8.40/lb"]
    assert "WM059" not in rules_of(plan)


def test_a_price_per_the_other_unit_shows_both_and_says_why():
    """A price per kg on a scale in lb is priced exactly, and the ticket shows both."""
    plan = ticket(ticket_problem(price={"amount": "18.50", "per": "kg"}, weight_unit_also=False))
    exact = Fraction("4.85") * Fraction("0.45359237") * Fraction("18.50")
    assert abs(Fraction(plan["total"]) - exact) <= Fraction(1, 200)
    assert "kg" in line_of(plan, "net")[0]
    assert any("price is per kg" in one for one in plan["cautions"])


def test_the_upc_holds_item_and_total():
    """Read back, the number gives the item and the price of the ticket."""
    code = ticket(ticket_problem())["codes"][0]
    read = read_variable(code["data"], "us")
    assert (read.item, str(read.amount)) == ("00101", "40.74")
    assert code["text"].replace(" ", "") == code["data"]
    assert [len(part) for part in code["text"].split()] == [1, 5, 5, 1]


def test_the_ean_of_a_place_holds_its_own_structure():
    """In Great Britain the number begins with 20; elsewhere it is the American one behind a 0."""
    british = ticket_problem(codes=["ean-13"], ean13={"place": "gb", "prefix": "20"},
                             price={"currency": "GBP"})  # fmt: skip
    read = read_variable(ticket(british)["codes"][0]["data"], "gb")
    assert (read.item, str(read.amount)) == ("00101", "40.74")
    plain = ticket(ticket_problem(codes=["ean-13"]))["codes"][0]["data"]
    assert plain == "0" + ticket(ticket_problem())["codes"][0]["data"]


def test_a_weight_field_needs_a_scale_in_kg():
    """A place whose number holds the weight takes it from a scale in kg alone."""
    metric = {"gross": "1.020", "tare": "0.020", "unit": "kg", "division": "0.005",
              "capacity": "15"}  # fmt: skip
    problem = ticket_problem({"item": "001234"}, weight=metric, price={"per": "kg"},
                             codes=["ean-13"], ean13={"place": "se", "prefix": "23"})  # fmt: skip
    read = read_variable(ticket(problem)["codes"][0]["data"], "se")
    assert str(read.amount) == "1.000"


def test_an_element_string_holds_weight_price_day_and_lot():
    """Decoded again it says what the ticket says."""
    problem = ticket_problem(codes=["databar-expanded-stacked", "gs1-qr", "gs1-datamatrix"])
    codes = ticket(problem)["codes"]
    assert len({code["data"] for code in codes}) == 1
    found = {one.ai: one.decoded for one in decode(codes[0]["data"])}
    assert found["3202"] == "4.85 lb"
    assert found["3922"] == "40.74"
    assert found["17"] == "2026-06-13"
    assert found["10"] == "L-208.01"
    assert codes[2]["text"] == ""


def test_a_gs1_128_that_fits_holds_what_the_others_do():
    """Without a last day the code of cartons has room: 48 characters at the most (BC133)."""
    problem = ticket_problem(codes=["gs1-128", "gs1-datamatrix"], use_by=None)
    first, second = ticket(problem)["codes"]
    assert first["data"] == second["data"]
    assert first["text"] == first["data"]


@pytest.mark.parametrize(
    ("words", "ai"), [("best if used by", "15"), ("sell by", "16"), ("use by", "17")]
)
def test_the_day_in_a_code_means_what_its_words_say(words, ai):
    """A quality day, a last day of sale and a last day of use have their own identifiers."""
    plan = ticket(ticket_problem(codes=["gs1-datamatrix"], date_words=words))
    assert f"({ai})260613" in plan["codes"][0]["data"]


def test_the_trace_code_says_ticket_and_lot():
    """The trace number goes first; without one the ticket's, without both the lot alone."""

    def data(**changes):
        return ticket(ticket_problem(codes=["qr"], **changes))["codes"][0]["data"]

    assert data() == "T12 L-208.01"
    assert data(trace="A7") == "A7 L-208.01"
    assert data(trace=None) == "T12 L-208.01"
    assert data(trace=None, ticket=None) == "L-208.01"


def test_the_same_problem_gives_the_same_plan_and_is_not_changed():
    """The kernel is pure."""
    problem = ticket_problem(sausage())
    first = ticket(problem)
    assert problem == ticket_problem(sausage())
    assert ticket(problem) == first


def test_a_scale_that_was_not_told_is_said():
    """Division and capacity left out are taken as a usual counter scale's, and said."""
    problem = ticket_problem()
    problem["weight"] = {"gross": "4.87", "tare": "0.02"}
    plan = ticket(problem)
    assert plan["net"] == "4.85"
    assert sum("scale is taken" in one for one in plan["assumptions"]) == 2


@settings(max_examples=150)
@given(gross=st.integers(25, 3000), tare=st.integers(0, 20), price=st.integers(100, 9999),
       rule=st.sampled_from(["half-up", "half-even"]))  # fmt: skip
def test_money_and_weights_are_exact(gross, tare, price, rule):
    """The total is within half a cent of net times price; the other weight never overstates."""
    plan = ticket(ticket_problem(
        weight={"gross": f"{gross / 100:.2f}", "tare": f"{tare / 100:.2f}"},
        price={"amount": f"{price / 100:.2f}"}, codes=[], rounding=rule,
    ))  # fmt: skip
    net = Fraction(gross - tare, 100)
    assert Fraction(plan["net"]) == net
    assert abs(Fraction(plan["total"]) - net * Fraction(price, 100)) <= Fraction(1, 200)
    kilos = net * Fraction("0.45359237")
    assert 0 <= kilos - Fraction(plan["net_other"]) < Fraction(1, 1000)
