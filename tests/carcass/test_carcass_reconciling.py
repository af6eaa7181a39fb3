"""Weights that must close: best estimates, the test, and what was probably forgotten."""

from __future__ import annotations

import doctest
import json
from copy import deepcopy
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest
from scipy import stats

from collop.carcass import Part, reconcile, reconciling, weigh_up
from collop.carcass.reconciling_chance import chance_above, limit_of
from collop.carcass.reconciling_schema import SCHEMAS
from collop.errors import BadValue, ProblemError
from collop.measures import Weight, WeightUnit

DOCS = Path(__file__).parents[2] / "docs"
SHOULDER = {"steak": "9.9375", "trim": "5.625", "fat": "1.75", "bone": "1.0625"}
TARES = [{"name": "trim lug", "weight": "2.20"}, {"name": "pan", "weight": "0.85"}]


def leaves(weights):
    return [{"name": name, "weight": weight} for name, weight in weights.items()]


def shoulder(weights=SHOULDER, whole="18.625", **more):
    """Return a pork shoulder weighed whole and in parts, the loss prior about 1 %."""
    return {
        "schema": "collop.balance/1",
        "scale_sd": "0.02",
        "whole": {
            "name": "shoulder",
            "weight": whole,
            "loss": {"weight": "0.186", "sd": "0.10"},
            "parts": leaves(weights),
        },
        "tares": TARES,
    } | more


def side(**weights):
    """Return a side in three large cuts, two of them cut further; the weights close."""
    known = {
        "side": "60.00", "leg": "24.00", "loin": "20.00", "belly": "15.70",
        "leg roast": "15.00", "leg trim": "5.00", "leg bone": "3.88",
        "loin chops": "14.00", "loin ribs": "4.00", "loin bone": "1.90",
    } | weights  # fmt: skip

    def piece(name, *parts):
        return {"name": name, "weight": known[name], "parts": list(parts)}

    return {
        "schema": "collop.balance/1",
        "loss": {"share": 0.005, "sd_share": 0.0025},
        "tares": TARES,
        "whole": piece(
            "side",
            piece("leg", piece("leg roast"), piece("leg trim"), piece("leg bone")),
            piece("loin", piece("loin chops"), piece("loin ribs"), piece("loin bone")),
            piece("belly"),
        ),
    }


def closing(piece):
    """Assert that every printed sum closes exactly."""
    if not piece.get("parts"):
        return
    below = sum(Decimal(part["weight"]) for part in piece["parts"])
    loss = Decimal(piece["loss"]["weight"]) if piece["loss"] else 0
    assert below + loss == Decimal(piece["weight"])
    for part in piece["parts"]:
        closing(part)


@pytest.mark.parametrize("kind", ["balance", "balance.refused"])
def test_the_documented_weights_give_the_documented_plan(kind):
    """The worked files in docs/examples run into their plans and keep their schemas."""
    problem, plan = (
        json.loads((DOCS / f"examples/{kind}{end}.json").read_text(encoding="utf-8"))
        for end in ("", ".plan")
    )
    assert reconcile(problem) == plan
    assert plan["closes"] == (kind == "balance")
    for name, value in (("balance", problem), ("balance.plan", plan)):
        jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])
        jsonschema.validate(value, SCHEMAS[name])


def test_every_key_of_a_balance_is_described():
    """docs/balance.md names each key of the problem and each kind of slip."""
    text = (DOCS / "balance.md").read_text(encoding="utf-8")
    for key in SCHEMAS["balance"]["properties"]:
        assert key in {"schema", "name"} or f"`{key}" in text, key
    for kind in SCHEMAS["balance.plan"]["properties"]["likely"]["items"]["properties"]["kind"][
        "enum"
    ]:
        assert f"| `{kind}` |" in text, kind


def test_the_example_in_the_docstring_is_true():
    """The doctest of `weigh_up` holds."""
    found = doctest.testmod(reconciling)
    assert found.attempted
    assert not found.failed


def test_the_worked_shoulder():
    """Weights seen in S07, spreads illustrative (computed): 9.9396 5.6271 1.7521 1.0646 .2393."""
    plan = reconcile(shoulder())
    whole = plan["whole"]
    found = [round(part["estimate"], 4) for part in whole["parts"]]
    assert found == [9.9396, 5.6271, 1.7521, 1.0646]
    assert round(whole["loss"]["estimate"], 4) == 0.2393
    assert round(whole["estimate"], 4) == 18.6229
    assert round(plan["chi_square"], 2) == 0.34
    assert plan["sums"][0]["gap_weight"] == "0.064"
    # lambda: each part moves by its variance times it
    assert (whole["parts"][0]["estimate"] - 9.9375) / 0.0004 == pytest.approx(5.333, abs=0.01)


def test_the_worked_shoulder_closes_in_every_printed_digit():
    """Rounded each for itself the five figures miss the whole by .0002; the plan's do not."""
    alone = [9.9396, 5.6271, 1.7521, 1.0646, 0.2393]
    assert round(18.6229 - sum(alone), 4) == 0.0002
    for step in ("0.0001", "0.001", "0.01", "0.05"):
        closing(reconcile(shoulder(resolution=step))["whole"])


def test_the_shoulder_without_its_loss_line():
    """Weights seen in S07 (computed): z = 5.6 looks like a weighing error."""
    problem = shoulder()
    problem["whole"]["loss"] = {"share": 0}
    plan = reconcile(problem)
    assert plan["verdict"] == "refused"
    assert round(plan["sums"][0]["z"], 1) == 5.6
    assert plan["whole"] is None
    assert (plan["likely"][0]["kind"], plan["likely"][0]["weight"]) == ("loss", "0.25")


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 13, 30, 101, 250])
@pytest.mark.parametrize("significance", [0.0001, 0.01, 0.05, 0.5])
def test_the_limits_are_those_of_another_library(freedom, significance):
    """Chi-square limits and tails agree with scipy."""
    limit = limit_of(significance, freedom)
    assert limit == pytest.approx(stats.chi2.ppf(1 - significance, freedom), rel=1e-9)
    assert chance_above(limit, freedom) == pytest.approx(significance, rel=1e-9)
    assert chance_above(0.7 * freedom, freedom) == pytest.approx(
        stats.chi2.sf(0.7 * freedom, freedom), rel=1e-9
    )


def test_the_limit_of_one_sum_at_one_in_a_hundred():
    """The default significance refuses above 6.63."""
    plan = reconcile(shoulder())
    assert (round(plan["limit"], 2), plan["significance"], plan["freedom"]) == (6.63, 0.01, 1)


def slip(weights, whole="18.62", **more):
    """Return the first likely slip of a shoulder with something wrong."""
    plan = reconcile(shoulder(SHOULDER | weights, whole, **more))
    assert plan["verdict"] == "refused"
    assert plan["whole"] is None
    return plan["likely"][0]


def test_a_lug_that_was_not_tared_is_named():
    """A part heavier by a tare of the shop names that tub."""
    found = slip({"trim": "7.825"})
    assert (found["kind"], found["weight"]) == ("tare", "2.2")
    assert "just the trim lug" in found["say"]


def test_a_pan_under_the_whole_is_named():
    """A whole heavier by a tare of the shop names the pan under it."""
    found = slip({}, whole="19.475")
    assert (found["kind"], found["where"]) == ("tare", "$.whole")
    assert "The pan (0.85 lb) under the shoulder" in found["say"]


def test_a_tub_weighed_twice_is_named():
    """An excess of just one weight asks whether that was weighed twice."""
    found = slip({"bin": "1.75"})
    assert (found["kind"], found["weight"]) == ("twice", "1.75")
    assert found["where"] in {"$.whole.parts[2]", "$.whole.parts[4]"}


def test_a_forgotten_bone_barrel_is_named():
    """What is missing is asked for by the usual parts that are not there."""
    weights = {name: weight for name, weight in SHOULDER.items() if name != "bone"}
    found = reconcile(shoulder(weights))["likely"][0]
    assert found["kind"] == "missing"
    assert found["say"].endswith("is missing: is the bone barrel still to be weighed?")
    assert Decimal(found["weight"]) == pytest.approx(Decimal("1.0625"), abs=Decimal("0.1"))


def test_the_usual_part_of_about_that_weight_is_asked_for_first():
    """Where the usual weights are known, only the part that fits is named."""
    usual = [
        {"name": "skin", "weight": "1.1"},
        {"name": "trim lug"},
        {"name": "head", "weight": "9"},
    ]
    weights = {name: weight for name, weight in SHOULDER.items() if name not in {"bone", "trim"}}
    plan = reconcile(shoulder(weights, "13.0", usual_parts=usual))
    (found,) = (one for one in plan["likely"] if one["kind"] == "missing")
    assert "is the skin (usually 1.1 lb) still to be weighed" in found["say"]


def test_a_part_named_boneless_does_not_stand_for_the_bones():
    """`boneless loin` is not the bone barrel."""
    found = reconcile(shoulder({"boneless loin": "12.0", "fat": "1.75", "trim": "3.4"}))
    assert "is the bone barrel still" in found["likely"][0]["say"]


def test_swapped_digits_are_named():
    """9.94 written as 9.49: the gap is a multiple of nine hundredths."""
    found = slip({"steak": "9.49"})
    assert (found["kind"], found["weight"]) == ("digits", "0.45")
    assert "9.49 lb for the steak may be 9.94 lb" in found["say"]


def test_kilograms_among_pounds_are_named():
    """A figure read in kilograms is 2.2046 times too light."""
    found = slip({"steak": "4.508"})
    assert found["kind"] == "unit"
    assert "4.508 lb for the steak may have been kg" in found["say"]


def test_a_figure_turned_into_pounds_twice_is_named():
    """A figure multiplied once too often is 2.2046 times too heavy."""
    found = slip({"steak": "21.908"})
    assert found["kind"] == "unit"
    assert "turned from kg once too often" in found["say"]


def test_a_point_one_place_off_is_named():
    """Ten times the weight is a slipped point."""
    found = slip({"trim": "56.25"})
    assert found["kind"] == "point"
    assert "5.625 lb" in found["say"]


def test_an_excess_of_no_known_size_asks_the_two_usual_questions():
    """Too much by no tare and no weight: tub or twice."""
    found = slip({"steak": "12.60"})
    assert found["kind"] == "too-much"
    assert "not tared, or a part weighed twice" in found["say"]


def test_a_sound_side_closes_at_every_level():
    """Three sums at once: the verdict is accepted and each printed sum closes."""
    plan = reconcile(side())
    assert (plan["verdict"], plan["freedom"]) == ("accepted", 3)
    closing(plan["whole"])


def test_a_wrong_large_cut_is_the_one_to_weigh_again():
    """The reading that spoils two sums alike is named, with the weight that would fit."""
    plan = reconcile(side(leg="25.33"))
    first = plan["likely"][0]
    assert first["kind"] == "reweigh"
    assert first["where"] == "$.whole.parts[0]"
    assert Decimal(first["weight"]) == pytest.approx(Decimal("1.33"), abs=Decimal("0.1"))


def test_a_part_left_out_of_one_large_cut_is_looked_for_there():
    """A missing part is looked for under the large cut whose own sum misses it."""
    plan = reconcile(side(**{"leg bone": "0.11"}))
    first = plan["likely"][0]
    assert (first["kind"], first["where"]) == ("missing", "$.whole.parts[0]")


def test_two_slips_at_once_still_name_what_explains_most():
    """Nothing explains both; the greater one is named."""
    plan = reconcile(side(**{"leg trim": "9.31", "loin ribs": "7.07"}))
    assert plan["verdict"] == "refused"
    assert len(plan["likely"]) == 1
    assert plan["likely"][0]["chi_square_then"] > plan["limit"]


def test_what_was_not_weighed_is_worked_out():
    """A large cut nobody weighed is the sum of its parts and loss."""
    plan = reconcile(side(leg=None))
    leg = plan["whole"]["parts"][0]
    assert (plan["verdict"], plan["freedom"]) == ("accepted", 2)
    assert leg["reading"] is None
    assert float(leg["weight"]) == pytest.approx(24.0, abs=0.1)
    closing(plan["whole"])


def test_a_side_and_a_large_cut_in_it_may_both_be_unweighed():
    """The side is then the sum of what was weighed, with the large cut worked out in between."""
    problem = side(side=None, leg=None)
    plan = reconcile(problem)
    whole = plan["whole"]
    assert (plan["verdict"], plan["freedom"]) == ("accepted", 1)
    assert whole["estimate"] == pytest.approx(60.0, abs=0.1)
    below = sum(part["estimate"] for part in whole["parts"]) + whole["loss"]["estimate"]
    assert whole["estimate"] == pytest.approx(below, abs=1e-5)
    closing(whole)


def test_a_part_not_weighed_is_what_remains():
    """One part without a weight is worked out; nothing is left to be tested."""
    plan = reconcile(shoulder(SHOULDER | {"bone": None}))
    assert (plan["freedom"], plan["chance"]) == (0, 1.0)
    assert float(plan["whole"]["parts"][3]["weight"]) == pytest.approx(1.1265, abs=0.001)
    assert any("nothing could be tested" in note for note in plan["assumptions"])


def test_the_whole_may_be_unweighed_too():
    """Parts alone give the whole, with its loss."""
    plan = reconcile(shoulder(whole=None))
    assert plan["whole"]["weight"] == "18.561"
    closing(plan["whole"])


def test_defaults_are_said():
    """Scale and loss that were not given are named as common practice."""
    problem = shoulder()
    del problem["scale_sd"]
    del problem["whole"]["loss"]
    notes = reconcile(problem)["assumptions"]
    assert len(notes) == 2
    assert all("common practice, no published source" in note for note in notes)
    assert reconcile(shoulder())["assumptions"] == []


def test_no_weight_falls_below_zero():
    """A loss that would be negative is held at zero, and the rest closes without it."""
    plan = reconcile(shoulder(whole="18.33"))
    whole = plan["whole"]
    assert whole["loss"]["estimate"] == 0
    assert whole["loss"]["weight"] == "0"
    assert sum(part["estimate"] for part in whole["parts"]) == pytest.approx(whole["estimate"])
    closing(whole)


def test_mixed_units_close_in_the_unit_asked_for():
    """Kilograms, ounces and pounds on one sheet."""
    plan = reconcile({
        "schema": "collop.balance/1",
        "unit": "kg",
        "whole": {"name": "loin", "weight": "22.05", "unit": "lb", "parts": [
            {"name": "chops", "weight": "7.9"},
            {"name": "bone", "weight": "70.5", "unit": "oz"},
        ]},
    })  # fmt: skip
    assert plan["closes"]
    assert plan["whole"]["reading"] == "10.001712"
    closing(plan["whole"])


BAD = {
    "no parts": (shoulder() | {"whole": {"name": "a", "weight": "1"}}, "$.whole"),
    "not to be known": (
        shoulder(SHOULDER | {"bone": None, "fat": None}), "$.whole.parts[3]"),
    "less than nothing": (shoulder({"a": "10", "b": None}, "8"), "$.whole.parts[1]"),
    "an exact scale": (shoulder(scale_sd="0"), "$.scale_sd"),
    "a loss of no spread": (shoulder(loss={"share": 0.1, "sd_share": 0}), "$.loss.sd_share"),
    "loss twice": (
        shoulder() | {"whole": shoulder()["whole"] | {
            "loss": {"share": 0.1, "weight": "1", "sd": "1"}}}, "$.whole.loss.share"),
    "loss of a cut": (
        shoulder() | {"whole": shoulder()["whole"] | {
            "parts": [{"name": "a", "weight": "1", "loss": {"share": 0.1}}]}},
        "$.whole.parts[0].loss"),
    "an empty tub": (shoulder(tares=[{"name": "tub", "weight": "0"}]), "$.tares[0].weight"),
    "a nameless part": (shoulder(usual_parts=[" "]), "$.usual_parts[0].name"),
    "too many": (
        shoulder({f"p{n}": "1" for n in range(300)}), "$.whole.parts[299]"),
    "a binary weight": (shoulder(SHOULDER | {"fat": 1.75}), "$.whole.parts[2].weight"),
    "a key nobody knows": (shoulder(scale="good"), "$.scale"),
}  # fmt: skip


@pytest.mark.parametrize("how", BAD)
def test_a_wrong_balance_gets_one_sentence_with_its_path(how):
    """Each wrong problem is refused in one sentence that names the place."""
    problem, where = BAD[how]
    with pytest.raises(ProblemError) as caught:
        reconcile(problem)
    assert caught.value.where == where
    assert caught.value.message.endswith(".")
    assert "\n" not in caught.value.message


def test_a_tree_too_deep_is_refused():
    """More levels than a carcass has are refused, not followed."""
    whole = {"name": "cut", "weight": "1"}
    for _ in range(15):
        whole = {"name": "cut", "weight": "1", "parts": [whole]}
    with pytest.raises(BadValue, match="nested too deeply"):
        reconcile({"schema": "collop.balance/1", "whole": whole})


def test_the_balance_is_left_as_it_was():
    """Balancing changes nothing in the problem."""
    problem = side()
    before = deepcopy(problem)
    reconcile(problem)
    assert problem == before


def lb(text):
    return Weight.of(text, WeightUnit.LB)


PIECES = [Part("steak", lb("9.94")), Part("trim", lb("5.62")), Part("fat", lb("1.75")),
          Part("bone", lb("1.06"))]  # fmt: skip


def test_the_bench_function_closes_in_exact_weights():
    """`weigh_up` gives weights of the shop that sum to the whole exactly."""
    verdict = weigh_up(lb("18.62"), PIECES)
    assert verdict.closes
    assert verdict.likely == ()
    total = verdict.loss
    for part in verdict.reconciled:
        total += part.weight
    assert total == verdict.whole
    assert [part.name for part in verdict.reconciled] == ["steak", "trim", "fat", "bone"]
    assert verdict.unaccounted == lb("0.25")
    assert verdict.gap == lb("0.064")


def test_the_bench_function_is_the_balance():
    """`weigh_up` and the JSON problem give the same figures."""
    verdict = weigh_up(lb("18.62"), PIECES, scale_sd=lb("0.02"), loss_sd=lb("0.1"))
    problem = shoulder({part.name: str(part.weight.decimal(WeightUnit.LB)) for part in PIECES},
                       "18.62")  # fmt: skip
    problem["whole"]["loss"] = {"weight": "0.1862", "sd": "0.10"}
    plan = reconcile(problem)
    assert round(verdict.chi_square, 4) == plan["chi_square"]
    found = [str(part.weight.decimal(WeightUnit.LB, 3)) for part in verdict.reconciled]
    assert [Decimal(weight) for weight in found] == [
        Decimal(part["weight"]) for part in plan["whole"]["parts"]
    ]


def test_the_bench_function_names_a_pan():
    """Six pounds too much, just the pan."""
    heavy = [*PIECES[:1], Part("trim", lb("11.62")), *PIECES[2:]]
    verdict = weigh_up(lb("18.62"), heavy, tares=[("pan", lb("6.00"))], name="shoulder")
    assert not verdict.closes
    assert verdict.reconciled == ()
    assert verdict.whole is None
    assert verdict.loss is None
    assert verdict.gap < Weight.zero()
    first = verdict.likely[0]
    assert (first.kind, first.weight) == ("tare", lb("6.00"))
    assert first.sentence == (
        "The parts of the shoulder weigh 6 lb too much, just the pan: was it tared?"
    )


def test_the_bench_function_expects_what_the_plan_expects():
    """The parts still to come, with their usual weights, are what is asked for."""
    verdict = weigh_up(
        lb("18.62"), PIECES[:3], usual_parts=[("bone barrel", lb("1.2")), ("skin", lb("4"))]
    )
    assert "the bone barrel (usually 1.2 lb)" in verdict.likely[0].sentence
    assert "skin" not in verdict.likely[0].sentence


def test_several_parts_still_to_come_are_asked_for_together():
    """Half-way through a quarter the set of parts that makes the gap is named."""
    parts = [Part("chuck", lb("80.1")), Part("rib", lb("30.2")), Part("brisket", lb("17.4"))]
    usual = [("bone barrel", lb("20")), ("fat", lb("12")), ("trim lug", lb("16"))]
    verdict = weigh_up(lb("166.70"), parts, usual_parts=usual, name="forequarter")
    assert verdict.likely[0].sentence.startswith(
        "37.333 lb of the forequarter is missing: is the bone barrel and the trim lug (usually "
        "36 lb together)"
    )


def test_the_bench_function_works_in_kilograms():
    """Parts in pounds of a piece in kilograms are answered in kilograms."""
    start = Weight.of("8.446", WeightUnit.KG)
    verdict = weigh_up(start, PIECES)
    assert verdict.closes
    assert verdict.whole.unit is WeightUnit.KG
    total = verdict.loss
    for part in verdict.reconciled:
        total += part.weight
    assert total == verdict.whole


@pytest.mark.parametrize(
    ("start", "parts", "more"),
    [
        ("0", PIECES, {}),
        ("18.62", [], {}),
        ("18.62", [Part("fat", -lb("1"))], {}),
        ("18.62", [Part("fat", lb("1"), Weight.zero())], {}),
        ("18.62", PIECES, {"loss_share": 1.5}),
        ("18.62", PIECES, {"loss_share": float("nan")}),
        ("18.62", PIECES, {"significance": 0}),
        ("18.62", PIECES, {"scale_sd": Weight.zero()}),
        ("18.62", PIECES, {"loss_sd": Weight.zero()}),
    ],
)
def test_the_bench_function_refuses_what_is_no_weight(start, parts, more):
    """Nothing weighed, negative weights and exact scales are refused in one sentence."""
    with pytest.raises(BadValue) as caught:
        weigh_up(lb(start), parts, **more)
    assert caught.value.message.endswith(".")


def test_the_bench_function_without_a_loss_line():
    """A loss share of zero carries no loss: the gap is all that is unaccounted for."""
    verdict = weigh_up(lb("18.62"), PIECES, loss_share=0)
    assert not verdict.closes
    assert verdict.gap == verdict.unaccounted == lb("0.25")
    assert verdict.likely[0].kind == "loss"
