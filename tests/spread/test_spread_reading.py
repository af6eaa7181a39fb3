"""Every bad ask is refused in one sentence with its path; nothing else is ever raised."""

from __future__ import annotations

import json
from copy import deepcopy

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collop.errors import BadValue, Contradiction, ProblemError, UnknownKey
from collop.measures import Money
from collop.spread.problem import Avoid, SlotWish
from spread.asked import ask, full_ask, group, offer, plan, read, rules


def refused(problem):
    with pytest.raises(ProblemError) as caught:
        plan(problem)
    message = caught.value.message
    assert message.endswith((".", "?")), message
    assert "\n" not in message
    return caught.value


def first_group(**more):
    return {"groups": [{"name": "all", "count": 4} | more]}


def first_offer(**more):
    return {"offers": [offer("A") | more]}


BAD = [
    (first_group(count=-1), "$.groups[0].count", "from 0 to 2000"),
    (first_group(count=10_000), "$.groups[0].count", "from 0 to 2000"),
    (first_group(count=2.5), "$.groups[0].count", "whole number"),
    (first_group(count=True), "$.groups[0].count", "whole number"),
    (first_group(count=0), "$.groups", "counts 0 eaters"),
    ({"groups": []}, "$.groups", "counts 0 eaters"),
    ({"groups": [group(2000), group(1, "meat")]}, "$.groups", "counts 2001 eaters"),
    ({"groups": [group(2), group(3)]}, "$.groups[1].name", "used twice"),
    (first_group(kind="giant"), "$.groups[0].kind", "adult, child, crew, meat-free"),
    (first_group(appetite=float("nan")), "$.groups[0].appetite", "from 0.05 to 5"),
    (first_group(appetite=0), "$.groups[0].appetite", "from 0.05 to 5"),
    (first_group(avoids=["allergen:moonlight"]), "$.groups[0].avoids[0]", "does not know"),
    (first_group(avoids=["meat", "species:prok"]), "$.groups[0].avoids[1]", "species:pork"),
    (first_group(avoids=["casing:paper"]), "$.groups[0].avoids[0]", "write species:X"),
    (first_group(avoids=["pork"]), "$.groups[0].avoids[0]", "write species:X"),
    (first_group(avoids="meat"), "$.groups[0].avoids", "must be a list"),
    (first_group(hunger=2), "$.groups[0].hunger", "not a known key"),
    (first_offer(price_per_lb=None), "$.offers[0].price_per_lb", "in quotes"),
    (first_offer(price_per_lb="0"), "$.offers[0].price_per_lb", "set the price"),
    (first_offer(price_per_lb=9.5), "$.offers[0].price_per_lb", "in quotes"),
    (first_offer(price_per_lb="NaN"), "$.offers[0].price_per_lb", "write a decimal"),
    (first_offer(price_per_lb="-1"), "$.offers[0].price_per_lb", "zero or more"),
    (first_offer(price_per_lb="1e-999999999"), "$.offers[0].price_per_lb", "write a decimal"),
    (first_offer(free_lb="0.0005"), "$.offers[0].free_lb", "steps of 0.001"),
    (first_offer(free_lb="1e9"), "$.offers[0].free_lb", "at most 100000"),
    (first_offer(frozen_lb="11"), "$.offers[0].frozen_lb", "more than is free"),
    (first_offer(pieces_lb=["4", "0"]), "$.offers[0].pieces_lb[1]", "a piece weighs something"),
    (first_offer(pieces_lb=["8", "4"]), "$.offers[0].free_lb", "less than its pieces"),
    (first_offer(boneless_fraction=1.01), "$.offers[0].boneless_fraction", "from 0 to 1"),
    (first_offer(minutes=[20, 10]), "$.offers[0].minutes", "the shorter time first"),
    (first_offer(minutes=[20]), "$.offers[0].minutes", "two numbers"),
    (first_offer(styles=["fondue"]), "$.offers[0].styles", "use plate"),
    (first_offer(eating={"plate": 2}), "$.offers[0].eating.plate", "from 0 to 1"),
    (first_offer(casing="paper"), "$.offers[0].casing", "use one of hog"),
    (first_offer(contains=["sesamee"]), "$.offers[0].contains[0]", "did you mean sesame"),
    (first_offer(contains=[{"contains": [{"casing": "x"}]}]),
     "$.offers[0].contains[0].contains[0].casing", "use one of hog"),
    (first_offer(contains=[{"colour": "red"}]), "$.offers[0].contains[0].colour", "not a known"),
    (first_offer(cook_as="raw"), "$.offers[0].cook_as", "whole, ground, poultry, none"),
    (first_offer(cook={"pan": 1}), "$.offers[0].cook.pan", "not a known key"),
    (first_offer(cook=[]), "$.offers[0].cook", "must be an object"),
    (first_offer(cook={"method": "boil"}), "$.offers[0].cook.method", "direct, indirect"),
    (first_offer(cook={"treatment": "raw"}), "$.offers[0].cook.treatment", "whole, tenderised"),
    (first_offer(cook={"rest_min": -1}), "$.offers[0].cook.rest_min", "from 0 to 60"),
    (first_offer(cook={"hold_min": 1e9}), "$.offers[0].cook.hold_min", "whole number"),
    (first_offer(cook={"body": {"form": "cube", "thickness_mm": 9}}),
     "$.offers[0].cook.body.form", "steak, thin"),
    (first_offer(cook={"body": {"form": "steak", "thickness_mm": float("nan")}}),
     "$.offers[0].cook.body.thickness_mm", "from 2 to 400"),
    (first_offer(cook={"body": {"form": "steak", "thickness_mm": 9, "size": 1}}),
     "$.offers[0].cook.body.size", "not a known key"),
    (first_offer(id=" "), "$.offers[0].id", "empty"),
    (first_offer(name=""), "$.offers[0].name", "empty"),
    (first_offer(days_left="3"), "$.offers[0].days_left", "whole number"),
    ({"offers": []}, "$.offers", "nothing is free"),
    ({"offers": [offer("A"), offer("A")]}, "$.offers", "twice"),
    ({"offers": None}, "$.offers", "must be a list"),
    ({"schema": "collop.spread/2"}, "$.schema", "collop.spread/1"),
    ({"currency": "pounds"}, "$.currency", "three letters"),
    ({"rounding": "up-a-bit"}, "$.rounding", "half-up"),
    ({"need_oz": {}}, "$.need_oz", "at least one dish style"),
    ({"need_oz": {"plate": 0.1}}, "$.need_oz.plate", "from 0.5 to 64"),
    ({"need_oz": {"bowl": 4}}, "$.need_oz.bowl", "not a known key"),
    ({"portion_oz": {"wrap": "2"}}, "$.portion_oz.wrap", "must be a number"),
    ({"enough_chance": 1.0}, "$.enough_chance", "from 0.5"),
    ({"appetite_cv": -0.1}, "$.appetite_cv", "from 0 to 1"),
    ({"budget_total": "20.005"}, "$.budget_total", "is wrong"),
    ({"budget_total": 20}, "$.budget_total", "in quotes"),
    ({"budget_per_head": "-1"}, "$.budget_per_head", "zero or more"),
    ({"fire": {"zones": [{"name": "a", "area_sq_in": 9}] * 2}}, "$.fire.zones[1].name", "twice"),
    ({"fire": {"zones": [{"name": str(n), "area_sq_in": 9} for n in range(7)]}},
     "$.fire.zones", "more than six"),
    ({"fire": {"zones": [{"name": "a", "area_sq_in": -1}]}},
     "$.fire.zones[0].area_sq_in", "from 0"),
    ({"fire": {"usable_fraction": 1.5}}, "$.fire.usable_fraction", "from 0.05 to 1"),
    ({"fire": []}, "$.fire", "must be an object"),
    ({"use_at": "Saturday"}, "$.use_at", "2026-06-13T18:00"),
    ({"use_at": "9999-12-31T23:59"}, "$.use_at", "year 9999"),
    ({"use_at": "2026-06-08T08:00", "now": "2026-06-09T08:00"}, "$.use_at", "before $.now"),
    ({"use_at": "2026-06-13T18:00+02:00", "now": "2026-06-09T08:00"}, "$.use_at", "time zone"),
    ({"pinned": ["Z"]}, "$.pinned[0]", "not on offer"),
    ({"pinned": ["A", {"id": "A"}]}, "$.pinned[1].id", "pinned twice"),
    ({"rules": rules(only=["A", "Z"])}, "$.rules.only", "'Z'"),
    ({"rules": {"slots": [{"role": "centre"}]}}, "$.rules.slots[0].role", "not a known key"),
    ({"want": 6}, "$.want", "from 1 to 5"),
    ({"weights": {"eating": -1}}, "$.weights.eating", "from 0 to 100"),
    ({"hurry": True}, "$.hurry", "not a known key"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "where", "words"), BAD, ids=lambda one: str(one)[:50])
def test_a_bad_value_is_named_with_its_path_and_what_to_do(change, where, words):
    """Each wrong value: the path in `where` and in the sentence, and what is right."""
    problem = refused(ask(offer("A")) | change)
    assert isinstance(problem, (BadValue, UnknownKey))
    assert problem.where == where
    assert where in problem.message or where.removesuffix(".name") in problem.message
    assert words in problem.message


@pytest.mark.parametrize(
    ("change", "where", "words"),
    [
        ({"groups": [group(4, "species:beef")], "pinned": ["A"]}, "$.pinned[0]", "nobody"),
        ({"groups": [group(4, "species:lamb")],
          "rules": rules(slots=[{"slot": "centre", "species": " Lamb"}])},
         "$.rules.slots[0]", "nobody at this table eats lamb"),
        ({"groups": [group(4, "meat")],
          "rules": rules(slots=[{"slot": "centre", "species": "beef"}])},
         "$.rules.slots[0]", "nobody at this table eats beef"),
        ({"budget_total": "9", "budget_per_head": "3"}, "$.budget_per_head", "keep one"),
        ({"rules": {"min_items": 4, "max_items": 3}}, "$.rules.min_items", "lower the first"),
        ({"rules": {"max_items": 2, "max_share": 0.4}}, "$.rules.max_share", "raise one"),
        ({"pinned": ["A", "B"], "rules": rules(max_items=1)}, "$.pinned", "unpin some"),
        ({"pinned": [{"id": "A", "style": "stew"}]}, "$.pinned[0]", "add it there"),
    ],
)  # fmt: skip
def test_two_wishes_that_cannot_both_hold_are_refused(change, where, words):
    """No lamb with lamb for the centre, a pin nobody eats, two budgets, rules that clash."""
    problem = refused(ask(offer("A"), offer("B")) | change)
    assert isinstance(problem, Contradiction)
    assert problem.where == where
    assert words in problem.message


def test_thirteen_tables_of_dont_eats_are_too_many():
    """Twelve different tables are planned, one more is refused with what to do."""
    cuts = [offer(f"C{n}", species=f"animal{n}") for n in range(13)]
    tables = [group(1, *(f"species:animal{m}" for m in range(n))) for n in range(13)]
    problem = refused(ask(*cuts, groups=tables))
    assert problem.where == "$.groups"
    assert "at most 12" in problem.message
    fewer = ask(*cuts, groups=tables[:12], rules=rules(max_items=20))
    assert plan(fewer)["answer"] == "yes"


def test_what_is_left_out_takes_the_default():
    """Only schema, a group and an offer are needed; the rest is filled in as documented."""
    bare = {
        "schema": "collop.spread/1",
        "groups": [{"name": "all", "count": 12}],
        "offers": [offer("A")],
    }
    found = read(bare)
    assert (found.currency, found.want, found.enough_chance, found.appetite_cv) == (
        "USD", 5, 0.95, 0.25)  # fmt: skip
    assert (found.rules.min_items, found.rules.max_items, found.rules.max_share) == (3, 5, 0.5)
    assert (found.need_oz, found.budget, found.fire) == ({"plate": 7}, None, None)
    assert {style: float(oz) for style, oz in found.portion_oz.items()} == {
        "plate": 7, "shared": 4, "hand": 5, "wrap": 2.5, "stew": 4}  # fmt: skip
    nine = read(bare | {"groups": [{"name": "all", "count": 9}]})
    assert (nine.rules.min_items, nine.rules.max_share) == (1, 1)


@pytest.mark.parametrize(("kind", "appetite"), [("adult", 1), ("child", 0.5), ("crew", 1.3)])
def test_appetite_goes_by_the_kind_of_eater(kind, appetite):
    """An adult one, a child half, crew thirteen tenths; a stated appetite counts."""
    assert read(ask(offer("A")) | first_group(kind=kind)).groups[0].appetite == pytest.approx(
        appetite
    )
    told = read(ask(offer("A")) | first_group(kind=kind, appetite=0.8))
    assert told.groups[0].appetite * 10 == 8


def test_the_budget_is_read_both_ways():
    """Money a head times the heads is the same budget as the total."""
    total = read(ask(offer("A"), budget_total="50.00"))
    each = read(ask(offer("A"), budget_per_head="12.50"))
    assert total.budget == each.budget == Money.of("50.00")
    assert (total.budget_each, each.budget_each) == (None, Money.of("12.50"))


def test_numbers_are_read_as_the_decimals_they_were_written_as():
    """0.72 boneless is exactly 72 hundredths, not the nearest binary fraction."""
    found = read(ask(offer("A", boneless_fraction=0.72), need_oz={"plate": 6.3}))
    assert found.offers[0].boneless * 100 == 72
    assert found.need_oz["plate"] * 10 == 63


def test_a_portion_is_never_more_than_the_whole_meal():
    """Where a meal is 5 oz on the plate, so is the portion."""
    assert read(ask(offer("A"), need_oz={"plate": 5})).portion_oz["plate"] == 5


def test_animals_are_read_in_any_spelling_of_case():
    """Lamb, LAMB and lamb are one animal, in offers and in wishes."""
    found = read(ask(offer("A", species=" Lamb"),
                     rules=rules(slots=[{"slot": "centre", "species": "LAMB"}])))  # fmt: skip
    assert found.offers[0].species == "lamb"
    assert found.rules.slots == (SlotWish("centre", "lamb"),)
    assert Avoid("species", "lamb") in found.offers[0].tags


def test_offers_are_read_in_order_of_their_ids():
    """The order of the case does not matter."""
    found = read(ask(offer("C"), offer("A"), offer("B")))
    assert [one.id for one in found.offers] == ["A", "B", "C"]


def test_the_full_ask_is_a_valid_one():
    """The ask that the fuzzing starts from fills the contract and has an answer."""
    found = plan(full_ask())
    assert found["answer"] == "yes"
    assert len(found["spreads"]) == 3


WORDS = ["", " ", "x", "-1", "0", "0.001", "1e5", "1000000", "1e-20", "NaN", "Infinity", "sesame",
         "pork", "hog", "milk", "\ud800", "\uff19", "2026-06-13", "9999-12-31T23:59", "JPY",
         "0001-01-01T00:00", "2026-06-13T18:00+02:00", "plate", "stew", "bird", "leg", "(x)",
         ", x", "XXX", "half-even", "casing:hog", "meat", "species:beef", "100", "0.1", "whole",
         "Braise", "pot", "meat-free", "child", "2000", "\x00", "é" * 60]  # fmt: skip
NUMBERS = [0, -1, 1, 2, 3, 7, 2000, 10**30, 0.5, -0.5, 1e-300, 1e300, float("nan"), float("inf")]
NESTED = [[], {}, [[]], [1], ["x"], {"x": 1}, [[[[["x"]]]]], [0, 0], [5, 1], [{}], ["leg"]]
VALUES = [None, True, False, *NUMBERS, *WORDS, *NESTED]


def paths(value, path=()):
    """Yield the path of every value below the root."""
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    for key, part in inner:
        yield (*path, key)
        if isinstance(part, (dict, list)):
            yield from paths(part, (*path, key))


def at(value, path):
    for key in path:
        value = value[key]
    return value


def mutate(draw, value):
    """Change one thing: drop, rename, repeat, move, stretch or replace a value."""
    path = draw(st.sampled_from(list(paths(value))))
    parent, key = at(value, path[:-1]), path[-1]
    way = draw(st.sampled_from(("drop", "rename", "repeat", "stretch", "replace", "replace")))
    if way == "drop":
        del parent[key]
    elif way == "rename" and isinstance(parent, dict):
        parent[f"{key}x"] = parent.pop(key)
    elif way == "repeat" and isinstance(parent, list):
        parent.append(deepcopy(parent[key]))
    elif way == "stretch" and isinstance(parent[key], (int, float)):
        parent[key] = parent[key] * draw(st.sampled_from((0.5, 2, 3, 0.001, 1000)))
    else:
        parent[key] = deepcopy(draw(st.sampled_from(VALUES)))


@settings(max_examples=250, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_any_change_to_a_valid_ask_is_planned_or_refused_in_words(data):
    """Up to four mutations of the whole tree: a plan in plain JSON, or a `ProblemError`."""
    problem = full_ask(want=1)
    for _ in range(data.draw(st.integers(1, 4))):
        if list(paths(problem)):
            mutate(data.draw, problem)
    try:
        found = plan(problem)
    except ProblemError as refusal:
        assert refusal.message.endswith((".", "?"))
        assert "\n" not in refusal.message
        assert refusal.where.startswith("$")
    else:
        assert found["answer"] in {"yes", "no"}
        assert bool(found["spreads"]) == (found["answer"] == "yes")
        json.dumps(found, allow_nan=False)


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(st.sampled_from(list(full_ask())), inner, max_size=4)
        ),
        max_leaves=12,
    )
)
def test_any_json_at_all_is_refused_in_words(value):
    """Whatever is not an ask is refused with a path."""
    with pytest.raises(ProblemError) as caught:
        plan(value)
    assert caught.value.where.startswith("$")
