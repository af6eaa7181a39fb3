"""The sheet of a blend: what was typed becomes a problem, the plan tables, a fault a sentence."""

from __future__ import annotations

import re

import pytest

from collop.bench.blend import blend
from web.blend_sheet import BLEND

AT = "/chalk/sums/blend"
PROBLEM = {
    "schema": "collop.blend/1", "name": "Friday", "currency": "USD", "unit": "lb",
    "bins": [
        {"id": "Lean beef", "species": "beef", "fat": 0.1, "available": "30", "price": "5.20"},
        {"id": "Beef trim", "species": "beef", "fat": 0.32, "available": "40", "price": "3.10"},
        {"id": "Pork trim", "species": "pork", "fat": 0.45, "price": "1.60"},
        {"id": "Lean pork", "species": "pork", "fat": 0.12, "protein": 0.19, "price": "3.40"},
    ],
    "recipes": [
        {"id": "Mince", "standard": "ground beef", "make": "36", "fat": {"max": 0.2}},
        {"id": "Links", "standard": "breakfast sausage", "make": "24",
         "fat": {"min": 0.25, "max": 0.3}, "bins": ["Pork trim", "Lean pork"], "batch": "10",
         "piece": {"weight": "0.1"}, "casing": {"species": "sheep", "per_unit": "0.55"},
         "added": [
             {"name": "salt", "kind": "salt", "of": "meat", "share": 0.018, "price": "0.50"},
             {"name": "rusk", "kind": "binder", "of": "finished", "share": 0.03,
              "contains": ["wheat"]},
         ]},
    ],
}  # fmt: skip


def test_the_sheet_shows_what_the_kernel_finds(client, words):
    """Every amount, batch, limit, source and bin of the plan stands on the page."""
    plan = blend(PROBLEM)
    answer = client.get(AT, params=BLEND)
    assert answer.status_code == 200
    said = words(answer.text)
    assert f"costs {plan['cost']}" in said
    for recipe in plan["recipes"]:
        for one in (*recipe["bins"], *recipe["added"]):
            assert f"{one['name']} {one['weight']}" in said
        for limit in recipe["limits"]:
            assert limit["say"] is None or limit["say"] in said
        for line in recipe["verdict"]["lines"]:
            assert line["say"] in said
    assert "80 % lean / 20 % fat" in said
    assert "240 links, 0 lb over" in said
    assert "casing: sheep; contains wheat" in said
    assert "heart or tongue in ground beef: not allowed" in said
    assert "from memory, not checked" in said
    for one in plan["bins"]:
        assert f"{one['name']} {one['used']}" in said


def test_a_no_stands_on_the_page_with_the_way_to_a_yes(client, words):
    """200, for it is an answer: no, and the smallest change."""
    typed = BLEND | {"r1_high": "12", "b1_held": "20"}
    answer = client.get(AT, params=typed)
    assert answer.status_code == 200
    said = words(answer.text)
    assert "No blend keeps every limit. It can be made with" in said
    assert "Stays: ground beef / chopped beef: fat: 30 % at the most" in said


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"b1_fat": ""}, "Bin 1, fat: give its share in percent."),
        ({"b1_species": ""}, "Bin 1, animal: write it, such as pork."),
        ({"b1_price": ""}, "Bin 1, worth: write an amount"),
        ({"b2_name": "Lean beef"}, "Bin 2, name is 'Lean beef' once more"),
        ({"b1_contains": "milk, peanit"}, "did you mean peanut?"),
        ({"r1_make": ""}, "Recipe 1, weight wanted is missing"),
        ({"r1_make": "0"}, "Recipe 1, weight wanted is zero"),
        ({"r1_high": "31"}, "the limit for ground beef is 30 % at the most (LB065"),
        ({"r1_standard": "haggis"}, "Recipe 1, sold as is 'haggis'; use one of ground beef"),
        ({"r2_bins": "ham"}, "Recipe 2, bins is 'ham', which is no bin"),
        ({"r2_low": "40"}, "is more than the max; swap them"),
        ({"r2_casing": "nylon"}, "Recipe 2, casing is 'nylon'; use one of hog"),
        ({"r2_casing": ""}, "Recipe 2, casing: name the animal it is of."),
        ({"a1_recipe": "pie"}, "Added 1, into: name one of the recipes."),
        ({"a1_kind": "gold"}, "Added 1, kind: write one of salt"),
        ({"a2_kind": ""}, "Added 2, kind: write one of salt"),
        ({"a2_share": ""}, "Added 2, share: give it in percent."),
        ({"a2_share": "4"}, "the limit for breakfast sausage is 3.5 % at the most (LB082"),
    ],
)
def test_a_fault_names_its_label(client, words, wrong, sentence):
    """422; the sentence says which field, in its words; no key of the problem is shown."""
    answer = client.get(AT, params=BLEND | wrong)
    assert answer.status_code == 422
    said = words(answer.text)
    assert sentence in said
    assert "$." not in said
    summary = answer.text[answer.text.index('id="problem"') : answer.text.index("</section>")]
    for target in re.findall(r'href="#(f-[a-z0-9_]+)"', summary):
        assert f'id="{target}"' in answer.text


def test_one_recipe_needs_no_name_beside_what_is_added(client, words):
    """With a single recipe the column may stay empty; weights may be typed in another unit."""
    typed = {"b1_name": "Pork", "b1_species": "pork", "b1_fat": "25", "b1_price": "3",
             "r1_name": "Links", "r1_make": "5 kg", "a1_name": "salt", "a1_share": "2"}  # fmt: skip
    answer = client.get(AT, params=typed)
    assert answer.status_code == 200
    assert "11.023 lb for" in words(answer.text)
