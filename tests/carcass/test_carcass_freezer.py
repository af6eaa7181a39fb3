"""A household's order: weights close, choices show, money is exact, bad values are named."""

from __future__ import annotations

import copy
import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.carcass import large_cuts
from collop.carcass.freezer import LITRES_PER_CUBIC_FOOT, freezer_order
from collop.carcass.freezer_cutting import apportion
from collop.carcass.freezer_reading import FORMS
from collop.carcass.freezer_schema import SCHEMAS
from collop.errors import ProblemError
from ending import that_ends

EXAMPLE = json.loads(
    (Path(__file__).parents[2] / "docs/examples/freezer.json").read_text(encoding="utf-8")
)
LAMB = {"piece": "lamb carcass", "weight": "47.6", "share": "1/2"}


def _order(*parts, **more):
    return freezer_order({"schema": "collop.freezer/1", "parts": list(parts)} | more)


def _closes(part):
    """Tell by sums of our own whether packs, what is left and the loss are the weight."""
    packs = sum(
        pack["count"] * Decimal(pack["weight"])
        for line in part["lines"]
        for pack in line["pack_weights"]
    )
    left = sum(Decimal(one["weight"]) for one in part["left"])
    assert packs == Decimal(part["take_home"])
    assert left == Decimal(part["left_weight"])
    return packs + left + Decimal(part["loss"]) == Decimal(part["weight"])


_KINDS = st.sampled_from(
    [("beef", "beef side"), ("pork", "pork side"), ("lamb", "lamb carcass"),
     ("goat", "goat carcass"), ("beef", "beef forequarter"), ("beef", "beef hindquarter")]
)  # fmt: skip


@st.composite
def _parts(draw):
    species, piece = draw(_KINDS)
    names = [cut.name for cut in large_cuts(species)]
    if piece.endswith("quarter"):
        names = []
    choices = [
        {"large_cut": name, "bone": draw(st.sampled_from(["in", "out"])),
         "as": draw(st.sampled_from(FORMS)), "pieces_per_pack": draw(st.integers(1, 6)),
         "thickness": str(draw(st.integers(2, 24)) / Decimal(8))}
        for name in names
    ]  # fmt: skip
    grams = draw(st.integers(1500, 200_000))
    return {
        "piece": piece, "weight": str(Decimal(grams) / 1000), "choices": choices,
        "share": draw(st.sampled_from(["1", "1/2", "1/3", "1/4"])),
        "bones": draw(st.sampled_from(["take", "leave"])),
        "fat": draw(st.sampled_from(["take", "leave"])),
        "trimmed": draw(st.booleans()),
        "mince": {"share": str(draw(st.integers(0, 4)) / Decimal(4)),
                  "fat_pct": draw(st.sampled_from([None, "5", "20", "40"]))},
    }  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(_parts(), st.sampled_from(["lb", "kg"]))
def test_any_order_closes_to_the_last_count(part, unit):
    """Whatever is chosen, packs + left + loss are the household's weight, and the schema holds."""
    plan = _order(part, unit=unit)
    assert all(_closes(one) and one["closes"] for one in plan["parts"])
    jsonschema.validate(plan, SCHEMAS["freezer.plan"])
    for line in plan["parts"][0]["lines"]:
        assert sum(pack["count"] for pack in line["pack_weights"]) == line["packs"]
        counted = sum(pack["count"] * pack["pieces"] for pack in line["pack_weights"])
        assert counted == line["pieces"]


@given(st.integers(0, 10**6), st.lists(st.integers(0, 50), min_size=1, max_size=12))
def test_largest_remainders_add_up(total, weights):
    """Parts add up to the whole, and none is off its share by one or more."""
    found = apportion(total, [Fraction(one) for one in weights])
    if any(weights):
        assert sum(found) == total
        for part, weight in zip(found, weights, strict=True):
            assert abs(part - Fraction(total * weight, sum(weights))) < 1


def test_half_of_a_lamb_is_23_8_lb():
    """Half of the 47.6 lb that hang: a table of its own sums to 23.80."""
    (part,) = _order(LAMB)["parts"]
    assert part["weight"] == "23.80"
    assert _closes(part)


def test_thicker_chops_are_fewer():
    """Twice as thick is about half as many; millimetres are inches by 25.4."""

    def chops(**thick):
        choice = {"large_cut": "loin", "as": "steaks"} | thick
        return next(line["pieces"] for line in _order(LAMB | {"choices": [choice]})["parts"][0][
            "lines"] if line["large_cut"] == "loin")  # fmt: skip

    assert chops(thickness="0.75") == 2 * chops(thickness="1.5")
    assert chops(thickness="25.4", thickness_unit="mm") == chops(thickness="1")


def test_packs_are_as_asked():
    """Pieces to a pack, roasts by weight, and packs of mince of about a pound."""
    choices = [
        {"large_cut": "rack", "as": "steaks", "pieces_per_pack": 3},
        {"large_cut": "leg", "as": "roasts", "roast_weight": "2"},
    ]
    (part,) = _order(LAMB | {"choices": choices, "mince": {"pack_weight": "0.5"}})["parts"]
    rack = next(line for line in part["lines"] if line["large_cut"] == "rack")
    assert all(pack["pieces"] == 3 for pack in rack["pack_weights"][:-1])
    leg = next(line for line in part["lines"] if line["cut"] == "leg roast")
    assert leg["packs"] == round(float(leg["weight"]) / 2)
    mince = next(line for line in part["lines"] if line["as"] == "mince")
    assert abs(Decimal(mince["pack_weights"][0]["weight"]) - Decimal("0.5")) < Decimal("0.26")


def test_leaner_mince_is_less_mince_and_its_fat_stays_told():
    """From 25 % to 15 %, M (25 - 15) / (85 - 15) of the mince is cut off as fat: 1 lb of 7."""
    part = {"piece": "lamb carcass", "weight": "70", "mince": {"share": "1"}}
    whole = _order(part)["parts"][0]
    lean = _order(part | {"mince": {"share": "1", "fat_pct": "15"}})["parts"][0]
    before, after = (
        next(Decimal(line["weight"]) for line in one["lines"] if line["as"] == "mince")
        for one in (whole, lean)
    )
    assert whole["mince_fat_pct"] == "25.0"
    assert abs(Decimal(lean["mince_fat_pct"]) - 15) <= Decimal("0.1")  # the scale reads 0.01 lb
    assert abs(before / 7 - (before - after)) <= Decimal("0.01")
    off = next(one for one in lean["left"] if one["what"] == "fat off the mince")
    assert Decimal(off["weight"]) == before - after


def test_bones_and_fat_go_where_they_are_asked():
    """Taken, they are packs; left, they are told of as left; meat is the same."""
    leave, take = (
        _order(LAMB | {"bones": word, "fat": word})["parts"][0] for word in ("leave", "take")
    )
    assert leave["meat"] == leave["take_home"] == take["meat"] != take["take_home"]
    assert {"bones", "fat"} <= {line["as"] for line in take["lines"]}
    assert {one["what"] for one in take["left"]} == {"outer fat and carcass trim"}


def test_money_by_hanging_weight_and_per_pound_taken_home():
    """24.5 x 7.40 = 181.30 and 24.5 x 0.65 = 15.925, a half cent by its named rule."""
    part = LAMB | {"price": {"per_unit": "7.40", "weight": "24.5", "weight_is": "hot"}}
    fees = [{"name": "cutting", "per": "hanging", "amount": "0.65"}]
    up = _order(part, fees=fees)
    even = _order(part, fees=fees, rounding="half-even")
    assert [line["money"] for line in up["money"]["lines"]] == ["181.30", "15.93"]
    assert even["money"]["total"] == "197.22"
    assert up["money"]["half_cent"]
    assert up["money"]["total"] == "197.23"
    per = Decimal("197.23") / Decimal(up["take_home"])
    assert abs(per - Decimal(up["money"]["per_take_home"])) <= Decimal("0.005")


def test_the_board_is_matched_by_words_or_not_at_all():
    """A line of the case is used only where it says nothing but the cut; the rest is told."""
    board = [
        {"name": "Lamb leg, bone in", "species": "lamb", "price_per_unit": "11.20"},
        {"name": "Lamb loin chops", "species": "lamb", "price_per_unit": "18.60"},
        {"name": "Pork loin chops", "species": "pork", "price_per_unit": "1.00"},
    ]
    plan = _order(LAMB, board=board)
    lines = plan["parts"][0]["lines"]
    named = {line["cut"]: line["board_line"] for line in lines}
    assert named["leg roast"] == "Lamb leg, bone in"
    assert named["loin chops"] == "Lamb loin chops"
    assert named["rib chops"] is None
    money = sum(Decimal(line["board_money"]) for line in lines if line["board_money"])
    assert plan["money"]["board"] == str(money)
    with_, without = (Decimal(plan["money"][key]) for key in ("board_weight", "no_board_weight"))
    assert with_ + without == Decimal(plan["take_home"])


def test_the_freezer_is_a_band_from_memory():
    """40 lb boneless fills 1 to 1.14 cubic feet; a cubic foot is 28.3 litres; it says its mark."""
    part = {
        "piece": "beef side", "weight": "63", "choices": [
            {"large_cut": cut.name, "bone": "out", "as": "mince"} for cut in large_cuts("beef")
        ],
    }  # fmt: skip
    plan = _order(part)
    room, pounds = plan["freezer"], Decimal(plan["take_home"])
    assert abs(Decimal(room["cubic_feet_low"]) - pounds / 40) <= Decimal("0.005")
    assert abs(Decimal(room["cubic_feet_high"]) - pounds / 35) <= Decimal("0.005")
    assert Fraction(3048, 1000) ** 3 == LITRES_PER_CUBIC_FOOT
    assert room["mark"] == "from memory, not checked"


def test_packs_weighed_replace_the_plan_and_keep_the_price():
    """Weighed packs make the pounds and the price a pound; the hanging money stays."""
    price = {"price": {"per_unit": "7.40"}}
    plan = _order(LAMB | price)
    packs = [{"cut": "leg", "packs": 1, "weight": "5.10"}, {"cut": "the rest", "packs": 9,
             "weight": "11.00"}]  # fmt: skip
    done = _order(LAMB | price | {"weighed": packs})
    assert done["take_home"] == "16.10"
    assert done["packs"] == 10
    assert done["money"]["total"] == plan["money"]["total"]
    assert done["money"]["per_take_home"] == "10.94"  # 176.12 / 16.10
    assert done["parts"][0]["weighed"]["left_and_loss"] == "7.70"
    with pytest.raises(ProblemError, match="weigh the packs again"):
        _order(LAMB | {"weighed": [{"cut": "x", "packs": 1, "weight": "23.81"}]})


def test_the_problem_is_not_touched_and_the_answer_is_the_same():
    """Same inputs, same answer."""
    problem = copy.deepcopy(EXAMPLE)
    assert freezer_order(problem) == freezer_order(problem)
    assert problem == EXAMPLE


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"weight": "NaN"}, "$.parts[0].weight"),
        ({"weight": "1e-999999"}, "$.parts[0].weight"),
        ({"weight": "1e9"}, "$.parts[0].weight"),
        ({"weight": 47.6}, "$.parts[0].weight"),
        ({"weight": "0"}, "$.parts[0].weight"),
        ({"weight": "1.0000000000001"}, "$.parts[0].weight"),
        ({"share": "2"}, "$.parts[0].share"),
        ({"share": "1/0"}, "$.parts[0].share"),
        ({"share": "9" * 300 + "/1"}, "$.parts[0].share"),
        ({"take": "10"}, "$.parts[0].take"),
        ({"piece": "duck"}, "$.parts[0].piece"),
        ({"piece": "beef wing"}, "$.parts[0].piece"),
        ({"large_cuts": []}, "$.parts[0].large_cuts"),
        ({"large_cuts": ["round"]}, "$.parts[0].large_cuts"),
        ({"choices": [{"large_cut": "leg"}, {"large_cut": "gigot"}]},
         "$.parts[0].choices[1].large_cut"),
        ({"choices": [{"large_cut": "leg", "thickness": "90"}]}, "$.parts[0].choices[0].thickness"),
        ({"choices": [{"large_cut": "leg", "style": "spiral"}]}, "$.parts[0].choices[0].style"),
        ({"choices": [{"large_cut": "leg", "roast_weight": "0"}]},
         "$.parts[0].choices[0].roast_weight"),
        ({"choices": [{}] * 10_000}, "$.parts[0].choices"),
        ({"mince": {"share": "1.5"}}, "$.parts[0].mince.share"),
        ({"mince": {"trim_fat_pct": "99"}}, "$.parts[0].mince.trim_fat_pct"),
        ({"price": {"per_unit": "5", "weight": "400"}}, "$.parts[0].price.weight"),
        ({"take_home_pct": "3"}, "$.parts[0].take_home_pct"),
        ({"weighed": []}, "$.parts[0].weighed"),
        ({"colour": "red"}, "$.parts[0].colour"),
    ],
)  # fmt: skip
def test_a_bad_value_is_named_with_its_path(change, where):
    """Each hostile or wrong value gets one sentence with its path."""
    with that_ends(), pytest.raises(ProblemError) as caught:
        _order(LAMB | change)
    assert caught.value.where == where
    assert caught.value.message.count("\n") == 0


@pytest.mark.parametrize("parts", [[], [LAMB] * 9, None, "x", [3]])
def test_a_bad_list_of_parts_is_named(parts):
    """No part, too many, or no list: one sentence."""
    with pytest.raises(ProblemError, match="parts"):
        freezer_order({"schema": "collop.freezer/1", "parts": parts})


def test_the_example_keeps_its_schema():
    """Problem and plan of the document are valid, and the schemas are schemas."""
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(EXAMPLE, SCHEMAS["freezer"])
    jsonschema.validate(freezer_order(EXAMPLE), SCHEMAS["freezer.plan"])


def test_the_weight_that_is_priced_is_told_as_exact_as_it_is():
    """24.505 lb at 7.40 is 181.337: the line does not say 24.51 or 24.50."""
    part = LAMB | {"price": {"per_unit": "7.40", "weight": "24.505"}}
    (line,) = _order(part)["money"]["lines"]
    assert line["how"].startswith("24.505 lb hanging")
    assert line["money"] == "181.34"
