"""Published standards of ground beef and fresh sausage, one check a row.

Source ids, with their titles as in `rules/sources.csv`: VA590 (2VAC5-590-10 Ground beef), GBTRADE
(What's the beef on ground beef labels, quoting 9 CFR 319.15), CFR319_141 (9 CFR 319.141 Fresh pork
sausage), CFR319_144 (9 CFR 319.144 Whole hog sausage), NY319_143 (1 NYCRR 319.143 Breakfast
sausage), FR75NUTR (75 FR 82148, nutrition labeling of ground products).  Recipes, prices and trim
are ours.
"""

from __future__ import annotations

import pytest

from collop.bench.blend import blend
from collop.bench.blending_standards import STANDARDS, limits_of
from collop.errors import Contradiction
from collop.reference import composition_rows


def problem(standard, species, *, added=(), **recipe):
    """Return 20 lb of one recipe; the fat trim is cheaper, so every limit on fat is reached."""
    bins = [
        {"id": "lean", "species": species, "fat": 0.10, "price": "5.00"},
        {"id": "fat", "species": species, "fat": 0.70, "price": "1.00"},
    ]
    made = {"id": "it", "make": "20", "standard": standard, "added": list(added), **recipe}
    return {"schema": "collop.blend/1", "bins": bins, "recipes": [made]}


def water(share, kind="water"):
    """Return an added thing of a share of the finished weight."""
    return {"name": kind, "of": "finished", "share": share, "kind": kind}


SALT = {"name": "salt", "of": "meat", "share": 0.02, "kind": "salt"}


def line(plan, what):
    """Return one line of the verdict."""
    return next(x for x in plan["recipes"][0]["verdict"]["lines"] if x["what"] == what)


@pytest.mark.parametrize(
    ("standard", "species", "most", "rule", "source"),
    [
        ("ground beef", "beef", 0.30, "LB065", "VA590"),
        ("beef patties", "beef", 0.30, "LB071", "VA590"),
        ("fresh pork sausage", "pork", 0.50, "LB073", "CFR319_141"),
        ("whole hog sausage", "pork", 0.50, "LB076", "CFR319_144"),
        ("breakfast sausage", "pork", 0.50, "LB080", "NY319_143"),
    ],
)
def test_the_cheapest_blend_stops_at_the_published_fat(standard, species, most, rule, source):
    """VA590 30 %; CFR319_141, CFR319_144 and NY319_143 50 % (all seen): reached, never passed."""
    (row,) = composition_rows(rule)
    assert (row.is_cited, row.source.source_id, float(row.percent) / 100) == (True, source, most)
    plan = blend(problem(standard, species))
    found = line(plan, "fat")
    assert found["limit"] == most
    assert most - 0.0002 < found["reached"] <= most
    assert found["keeps"]
    assert rule in found["source"]
    assert "from memory" not in found["source"]


@pytest.mark.parametrize(
    ("standard", "species", "most"),
    [("ground beef", "beef", 0.30), ("fresh pork sausage", "pork", 0.50)],
)
def test_a_recipe_that_allows_more_fat_is_refused_with_the_source(standard, species, most):
    """VA590 30 % and CFR319_141 50 % (seen): at the limit it is made, past it never."""
    plan = blend(problem(standard, species, fat={"max": most}))
    assert plan["answer"] == "yes"
    with pytest.raises(Contradiction) as caught:
        blend(problem(standard, species, fat={"max": most + 0.001}))
    assert limits_of(standard)[0].row.source.title in str(caught.value)
    with pytest.raises(Contradiction):
        blend(problem(standard, species, fat={"min": most + 0.001}))


@pytest.mark.parametrize(
    ("standard", "rule"),
    [
        ("fresh pork sausage", "LB074"),
        ("whole hog sausage", "LB077"),
        ("breakfast sausage", "LB081"),
    ],
)
def test_three_percent_of_water_and_no_more(standard, rule):
    """CFR319_141, CFR319_144 and NY319_143 (seen): water or ice 3 % of the total ingredients."""
    (row,) = composition_rows(rule)
    assert (row.is_cited, row.percent) == (True, 3)
    for make in ("20", "17.333", "0.05"):
        plan = blend(problem(standard, "pork", added=[SALT, water(0.03)], make=make, batch="7"))
        assert line(plan, "water")["keeps"]
        for batch in plan["recipes"][0]["batches"]:
            weight = float(batch["added"][1]["weight"])
            assert weight <= 0.03 * float(batch["finished"]) + 1e-12
    with pytest.raises(Contradiction) as caught:
        blend(problem(standard, "pork", added=[SALT, water(0.0301)]))
    assert row.source.title in str(caught.value)
    # 3.1 % of the meat is still under 3 % of a whole with salt in it; 3.2 % is over
    blend(problem(standard, "pork", added=[SALT, water(0.031) | {"of": "meat"}]))
    with pytest.raises(Contradiction):
        blend(problem(standard, "pork", added=[SALT, water(0.032) | {"of": "meat"}]))


def test_three_and_a_half_percent_of_binder_in_breakfast_sausage():
    """NY319_143 (seen): extenders or binders 3.5 % of the finished product."""
    plan = blend(problem("breakfast sausage", "pork", added=[water(0.035, "binder")]))
    assert line(plan, "binder")["reached"] == 0.035
    with pytest.raises(Contradiction):
        blend(problem("breakfast sausage", "pork", added=[water(0.036, "binder")]))


@pytest.mark.parametrize("standard", ["ground beef", "hamburger"])
@pytest.mark.parametrize("kind", ["water", "binder"])
def test_nothing_of_the_kind_in_ground_beef(standard, kind):
    """GBTRADE (seen), quoting 9 CFR 319.15: no added water, binders or extenders at all."""
    with pytest.raises(Contradiction) as caught:
        blend(problem(standard, "beef", added=[water(0.001, kind)]))
    assert "LB068" in str(caught.value)


def test_no_fat_as_such_in_ground_beef_but_in_hamburger():
    """GBTRADE (seen), quoting 9 CFR 319.15(a); from what share on it is fat as such is ours."""
    asked = problem("ground beef", "beef")
    asked["bins"].append(
        {"id": "suet", "name": "Suet", "species": "beef", "fat": 0.9, "price": "0"}
    )
    asked["bins"][1]["price"] = "3.00"
    plan = blend(asked)
    assert {one["bin"] for one in plan["recipes"][0]["bins"]} == {"lean", "fat"}
    assert any("Suet" in note and "LB066" in note for note in plan["assumptions"])
    asked["recipes"][0]["standard"] = "hamburger"
    assert "suet" in {one["bin"] for one in blend(asked)["recipes"][0]["bins"]}


def test_lean_is_stated_only_beside_fat_and_they_add_to_100():
    """FR75NUTR (seen): a lean percentage only with the fat percentage beside it."""
    assert composition_rows("LB024")[0].is_cited
    told = blend(problem("ground beef", "beef", fat={"max": 0.2}))["recipes"][0]["lean_fat"]
    lean, fat = (float(part.split(" %")[0]) for part in told.split(" / "))
    assert lean + fat == 100
    assert told == "80 % lean / 20 % fat"


@pytest.mark.parametrize("standard", STANDARDS)
def test_a_limit_from_memory_is_held_and_says_so(standard):
    """No source is claimed for what was not read: such a limit carries its mark everywhere."""
    species = "pork" if "pork" in standard or "hog" in standard else "beef"
    plan = blend(problem(standard, species))
    for found in plan["recipes"][0]["verdict"]["lines"]:
        assert found["keeps"]
        assert (found["status"] == "memory") == ("from memory, check your code" in found["source"])
    recalled = {limit.what for limit in limits_of(standard) if not limit.row.is_cited}
    for what in recalled:
        assert any(f"limit on {what} " in note for note in plan["assumptions"])


def test_another_animal_is_not_in_what_its_name_says():
    """Common practice, no published source: beef mince is of beef."""
    with pytest.raises(Contradiction) as caught:
        blend(problem("ground beef", "pork", bins=["lean"]))
    assert "of beef alone" in str(caught.value)
