"""The blend of least cost: weights, limits, batches, what more room saves, and a clear no."""

from __future__ import annotations

import copy
from fractions import Fraction

import jsonschema
import pytest

from bench.blend_cases import (
    BEEF,
    FAT,
    LEAN,
    PORK,
    by_scipy,
    kept_exactly,
    problem,
    published_of,
    random_problem,
)
from collop.bench.blend import blend
from collop.bench.blend_schema import SCHEMAS
from collop.bench.blending_amounts import dealt
from collop.errors import Contradiction, ProblemError

SALT = {"name": "salt", "of": "meat", "share": 0.02, "price": "0.50", "kind": "salt"}
RUSK = {"name": "rusk", "of": "finished", "share": 0.1, "price": "1.00", "kind": "binder",
        "contains": ["wheat"]}  # fmt: skip


def made(plan, at=0):
    """Return one recipe of a plan."""
    return plan["recipes"][at]


def weights(recipe):
    """Return the weight from each bin."""
    return {line["bin"]: line["weight"] for line in recipe["bins"]}


def test_two_bins_meet_a_fat_limit_by_the_lever_rule():
    """10 % and 50 % fat make 20 % fat as 3 to 1: worked by hand, 40 lb for 170.00."""
    plan = blend(problem([LEAN, FAT], {"make": "40", "fat": {"max": 0.2}}))
    recipe = made(plan)
    assert weights(recipe) == {"lean": "30", "fat": "10"}
    assert (plan["cost"], recipe["cost_per_unit"]) == ("170.00", "4.2500")
    assert recipe["fat"] == 0.2
    assert recipe["lean_fat"] == "80 % lean / 20 % fat"
    # a point more fat swaps 1/40 of the weight from 5.00 to 2.00: 0.075 a lb
    (limit,) = recipe["limits"]
    assert limit["binds"]
    assert limit["saves_per_unit"] == "0.0750"
    assert limit["say"] == "1 % more fat would save 0.0750 a lb."


def test_a_limit_may_be_of_the_finished_weight():
    """With a tenth of rusk, 18 % fat of the finished weight is 20 % of the meat."""
    recipe = {"make": "40", "fat": {"max": 0.18, "of": "finished"}, "added": [RUSK]}
    found = made(blend(problem([LEAN, FAT], recipe)))
    assert weights(found) == {"lean": "27", "fat": "9"}
    assert (found["meat"], found["fat"], found["fat_finished"]) == ("36", 0.2, 0.18)
    assert found["lean_fat"] is None


def test_what_is_added_is_a_share_of_the_meat_or_of_the_finished_weight():
    """Finished = meat (1 + 0.02) / (1 - 0.1); the weights add up to it, the money too."""
    recipe = {"make": "34", "added": [SALT, RUSK], "bins": ["beef"],
              "casing": {"species": "hog", "per_unit": "0.35"}}  # fmt: skip
    found = made(blend(problem([BEEF], recipe)))
    assert weights(found) == {"beef": "30"}
    assert [one["weight"] for one in found["added"]] == ["0.6", "3.4"]
    # 30 x 3.00 + 0.6 x 0.50 + 3.4 x 1.00 + 34 x 0.35
    assert found["cost"] == "105.60"


def test_allergens_species_and_casing_are_all_declared():
    """Bins in use, added things and the casing; a bin that is not used declares nothing."""
    bins = [BEEF | {"contains": ["soya"]}, PORK | {"contains": ["milk"], "price": "9.00"}]
    recipe = {"make": "10", "added": [RUSK],
              "casing": {"species": "hog", "contains": ["mustard"]}}  # fmt: skip
    found = made(blend(problem(bins, recipe)))
    assert weights(found) == {"beef": "9"}
    assert found["contains"] == ["mustard", "soy", "wheat"]
    assert found["species"] == ["beef", "pork"]
    assert found["casing"] == "hog"


def test_an_allergen_that_rounds_to_nothing_stays_declared():
    """A millionth of sesame weighs 0 here, and is still in it."""
    pinch = {"name": "seed", "of": "meat", "share": 0.000001, "kind": "spice",
             "contains": ["sesame"]}  # fmt: skip
    found = made(blend(problem([BEEF], {"make": "10", "added": [pinch]})))
    assert found["added"][0]["weight"] == "0"
    assert found["contains"] == ["sesame"]


def test_recipes_share_the_bins():
    """Two recipes on 20 lb of lean: the one with the tighter limit gets more of it."""
    bins = [LEAN | {"available": "20"}, FAT]
    plan = blend(problem(bins, {"make": "20", "fat": {"max": 0.2}},
                         {"make": "20", "fat": {"max": 0.4}}))  # fmt: skip
    assert weights(made(plan, 0)) == {"lean": "15", "fat": "5"}
    assert weights(made(plan, 1)) == {"lean": "5", "fat": "15"}
    lean = plan["bins"][0]
    assert (lean["used"], lean["left"]) == ("20", "0")


def test_a_bin_that_runs_out_tells_what_one_more_unit_saves():
    """Cheap trim at 1.00 in place of 3.00: one more pound saves 2.00; the dear one enters at 3."""
    bins = [BEEF | {"id": "cheap", "price": "1.00", "available": "10"}, BEEF,
            BEEF | {"id": "dear", "price": "4.00"}]  # fmt: skip
    plan = blend(problem(bins, {"make": "30"}))
    cheap, beef, dear = plan["bins"]
    assert (cheap["saves"], beef["saves"]) == ("2.0000", None)
    assert dear["enters_at"] == "3.0000"
    assert (cheap["left"], beef["left"]) == ("0", None)


def test_what_has_a_price_is_made_as_long_as_it_pays():
    """Up to its most where it earns, and not at all where it costs more than it takes."""
    plan = blend(problem([BEEF], {"price": "3.20", "most": "12"}, {"price": "2.90", "most": "5"}))
    assert made(plan, 0)["finished"] == "12"
    assert made(plan, 1)["finished"] == "0"
    assert made(plan, 1)["say"] == "r1: none; at its price no blend pays."
    assert (plan["cost"], plan["takings"]) == ("36.00", "38.40")
    assert plan["proof"]["objective"] == "-2.4"


def test_nothing_that_pays_is_a_plan_too():
    """One recipe, and no blend of it pays: nothing is made, nothing is used."""
    plan = blend(problem([BEEF], {"price": "1", "most": "0.001", "batch": "1", "added": [SALT]}))
    assert (plan["answer"], plan["cost"], made(plan)["finished"]) == ("yes", "0.00", "0")
    assert made(plan)["batches"] == []
    jsonschema.validate(plan, SCHEMAS["blend.plan"])


def test_each_batch_keeps_a_published_limit_that_its_own_limit_sits_on():
    """Fat of 30 % exactly in four uneven batches: its own limit to 0.001 a batch, never over."""
    bins = [LEAN | {"fat": 0}, FAT | {"fat": 0.505301}]
    asked = problem(bins, {"make": "3.090", "fat": {"min": 0.3, "max": 0.3}, "batch": "1",
                           "standard": "ground beef"})  # fmt: skip
    recipe = made(blend(asked))
    assert len(recipe["batches"]) > 1
    for batch in recipe["batches"]:
        held = Fraction("0.505301") * Fraction(weights(batch).get("fat", 0))
        assert held <= Fraction(3, 10) * Fraction(batch["finished"])
    assert kept_exactly(asked, {"recipes": [recipe]}) == []


def test_batches_are_even_and_add_up():
    """24 lb in a mixer of 10: three of 8, each thousandth of a pound accounted for."""
    plan = blend(problem([LEAN, FAT], {"make": "24", "batch": "10", "fat": {"max": 0.23},
                                       "added": [SALT], "piece": {"weight": "0.1"}}))  # fmt: skip
    recipe = made(plan)
    assert sum(one["times"] for one in recipe["batches"]) == 3
    assert {one["finished"] for one in recipe["batches"]} == {"8"}
    for name, weight in weights(recipe).items():
        parts = [(Fraction(weights(one)[name]), one["times"]) for one in recipe["batches"]]
        assert sum(part * times for part, times in parts) == Fraction(weight)
    assert (recipe["pieces"], recipe["over"]) == (240, "0")


def test_pieces_are_whole_and_what_is_over_is_told():
    """10 lb of links of 0.15 lb are 66, and 0.1 lb is over."""
    recipe = made(blend(problem([BEEF], {"make": "10", "piece": {"weight": "0.15"}})))
    assert (recipe["pieces"], recipe["over"]) == (66, "0.1")


def test_dealing_gives_each_lot_its_share():
    """Sums of lots differ by one at the most, and nothing is lost."""
    lots = dealt([7, 4, 11], 4)
    assert [sum(column) for column in zip(*lots, strict=True)] == [7, 4, 11]
    assert {sum(lot) for lot in lots} == {5, 6}


def test_a_bin_limit_holds_and_tells_what_it_costs():
    """No more than a quarter of the cheap bin."""
    limits = [{"bin": "fat", "max": 0.25}]
    recipe = made(blend(problem([LEAN, FAT], {"make": "40", "bin_limits": limits})))
    assert weights(recipe) == {"lean": "30", "fat": "10"}
    (limit,) = recipe["limits"]
    assert (limit["what"], limit["bin"], limit["saves_per_unit"]) == ("bin", "fat", "0.0300")


def test_a_no_names_the_smallest_change_that_makes_it_a_yes():
    """At most 15 % fat with 20 lb of lean for 40 lb: each of three changes is enough."""
    asked = problem([LEAN | {"available": "20"}, FAT], {"make": "40", "fat": {"max": 0.15}})
    plan = blend(asked)
    assert plan["answer"] == "no"
    assert plan["recipes"] == []
    changes = {one["changes"][0]["change"]: one["changes"][0] for one in plan["no"]["nearest"]}
    # by hand: 35 lb of lean; 22.857 lb made; 30 % fat
    assert (changes["available"]["to"], changes["available"]["bin"]) == ("35", "lean")
    assert changes["make"]["to"] == "22.857"
    assert changes["fat max"]["to"] == 0.3
    for one in plan["no"]["nearest"]:
        assert blend(changed(asked, one["changes"]))["answer"] == "yes"
    assert "It can be made with" in plan["no"]["say"]
    jsonschema.validate(plan, SCHEMAS["blend.plan"])


def test_no_change_is_offered_past_a_published_limit():
    """All trim is fatter than the standard allows: no way to a yes, and the limit is named."""
    plan = blend(problem([FAT], {"make": "10", "standard": "ground beef"}))
    assert plan["no"]["nearest"] == []
    assert "a published one stands in the way" in plan["no"]["say"]
    assert "LB065" in plan["no"]["published"][0]


def changed(asked, changes):
    """Return a problem with the changes of a nearest yes."""
    new = copy.deepcopy(asked)
    for one in changes:
        recipe = next((r for r in new["recipes"] if r["id"] == one["recipe"]), None)
        if one["change"] == "available":
            next(b for b in new["bins"] if b["id"] == one["bin"])["available"] = one["to"]
        elif one["change"] == "make":
            recipe["make"] = one["to"]
        else:
            what, side = one["change"].split()
            limits = recipe if what != "bin" else None
            place = limits[what] if limits else next(
                line for line in recipe["bin_limits"] if line["bin"] == one["bin"])  # fmt: skip
            place[side] = one["to"]
    return new


@pytest.mark.parametrize("part", range(10))
def test_random_blends_cost_what_another_solver_finds(part):
    """200 random blends: SciPy's figure to 1e-6, the same verdict, limits kept exactly."""
    for seed in range(part * 20, part * 20 + 20):
        asked = random_problem(seed)
        plan, other = blend(asked), by_scipy(asked, published_of(asked))
        assert (plan["answer"] == "yes") == (other is not None), seed
        if other is not None:
            assert abs(float(plan["proof"]["objective"]) - other) < 1e-6, seed
            assert kept_exactly(asked, plan) == [], seed
        else:
            for one in plan["no"]["nearest"]:
                assert blend(changed(asked, one["changes"]))["answer"] == "yes", seed


def test_what_a_point_saves_is_the_difference_of_two_plans():
    """The figure beside a limit is what SciPy finds with the limit moved by one point."""
    asked = problem([LEAN, FAT, BEEF | {"price": "3.30", "available": "9"}],
                    {"make": "30", "fat": {"max": 0.22}, "added": [SALT]})  # fmt: skip
    plan = blend(asked)
    moved = changed(asked, [{"change": "fat max", "recipe": "r0", "to": 0.23}])
    saved = (by_scipy(asked) - by_scipy(moved)) / 30
    (limit,) = made(plan)["limits"]
    assert abs(float(limit["saves_per_unit"]) - saved) <= 0.00005 + 1e-9
    more = copy.deepcopy(asked)
    more["bins"][2]["available"] = "10"
    saved = by_scipy(asked) - by_scipy(more)
    assert abs(float(plan["bins"][2]["saves"]) - saved) <= 0.00005 + 1e-9


def test_the_order_of_lines_does_not_matter():
    """The same money with bins the other way round."""
    asked = random_problem(3)
    turned = asked | {"bins": asked["bins"][::-1]}
    assert blend(asked)["cost"] == blend(turned)["cost"]


def test_the_worths_prove_the_answer():
    """Cost and bound of the proof agree, and worse worths only bound it from further below."""
    from collop.bench.blending_bounds import bounds_of
    from collop.bench.blending_program import Model, lowest_cost, solve
    from collop.bench.blending_reading import read_blend

    asked = read_blend(problem([LEAN, FAT], {"make": "40", "fat": {"max": 0.2}}))
    model = Model.of(asked, bounds_of(asked))
    answer = solve(model)
    assert abs(answer.cost - 170) < Fraction(1, 10**9)
    assert abs(answer.bound - 170) < Fraction(1, 10**9)
    for worths in ((0.0, 0.0), (-50.0, 1.0), (9.0, 4.0), (-7.5, 9.0)):
        assert lowest_cost(model, worths) <= answer.bound


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bins": []}, "$.bins is empty"),
        ({"bins": [LEAN] * 2}, "once more"),
        ({"bins": [LEAN | {"fat": 1.2}]}, "$.bins[0].fat is 1.2"),
        ({"bins": [LEAN | {"fat": float("nan")}]}, "$.bins[0].fat"),
        ({"bins": [LEAN | {"fat": 1e-9}]}, "to a millionth"),
        ({"bins": [LEAN | {"protein": 0.95}]}, "more than the whole"),
        ({"bins": [LEAN | {"price": "1e-999999"}]}, "write a decimal"),
        ({"bins": [LEAN | {"price": 5}]}, "decimal in quotes"),
        ({"bins": [LEAN | {"contains": ["peanit"]}]}, "did you mean peanut?"),
        ({"bins": [LEAN | {"contains": ["moonlight"]}]}, "not known here"),
        ({"bins": [LEAN | {"species": " "}]}, "write the animal"),
        ({"bins": [LEAN | {"id": f"b{at}"} for at in range(10_000)]}, "has 10000 lines"),
        ({"recipes": "all"}, "must be a list"),
        ({"moon": 1}, "$.moon is not a known key"),
    ],
)
def test_bad_bins_get_one_sentence(change, words):
    """What is wrong, with its path."""
    with pytest.raises(ProblemError) as caught:
        blend(problem([LEAN], {"make": "4"}) | change)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("recipe", "words"),
    [
        ({}, "make is missing"),
        ({"make": "0"}, "make is zero"),
        ({"make": "1.00005"}, "finer than 0.001"),
        ({"make": "9" * 20}, "at most 100000"),
        ({"make": "4", "most": "5"}, "beside make"),
        ({"price": "4"}, "most is missing"),
        ({"make": "4", "fat": {}}, "neither min nor max"),
        ({"make": "4", "fat": {"min": 0.3, "max": 0.2}}, "swap them"),
        ({"make": "4", "fat": {"max": "0.2"}}, "must be a number"),
        ({"make": "4", "bins": []}, "bins is empty"),
        ({"make": "4", "bins": ["veal"]}, "no bin"),
        ({"make": "4", "bin_limits": [{"bin": "veal"}]}, "no bin of this recipe"),
        ({"make": "4", "bin_limits": [{"bin": "lean", "min": 0.9}, {"bin": "fat", "min": 0.9}]},
         "more than the whole"),
        ({"make": "4", "bin_limits": [{"bin": "lean"}] * 2}, "once more"),
        ({"make": "4", "protein": {"min": 0.1}, "bins": ["lean", "beef"]}, "beef is not known"),
        ({"make": "4", "added": [RUSK | {"share": 0.95}]}, "more than 90 %"),
        ({"make": "4", "added": [RUSK | {"kind": "gold"}]}, "use one of salt"),
        ({"make": "4", "casing": {"species": "nylon"}}, "use one of hog"),
        ({"make": "4", "piece": {}}, "weight is missing"),
        ({"make": "4000", "batch": "0.001"}, "over 200 times"),
        ({"make": "4", "standard": "haggis"}, "use one of ground beef"),
    ],
)  # fmt: skip
def test_bad_recipes_get_one_sentence(recipe, words):
    """What is wrong, with its path."""
    with pytest.raises(ProblemError) as caught:
        blend(problem([LEAN, FAT, BEEF], recipe))
    assert words in str(caught.value)
    assert str(caught.value).startswith("$.")


def test_a_recipe_over_its_standard_is_a_contradiction():
    """The kind of the error is told to programs as well."""
    with pytest.raises(Contradiction):
        blend(problem([LEAN], {"make": "4", "standard": "ground beef", "fat": {"max": 0.35}}))
