"""A farm call that cannot be read ends in one sentence that says where and what to do."""

from __future__ import annotations

import json

import jsonschema
import pytest
from farm_calls import one_cut, tiny
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.bench.farm_checker import check_farmcall
from collop.bench.farm_reading import read_farmcall
from collop.bench.farmcall import farmcall
from collop.bench.farmcall_schema import SCHEMAS
from collop.errors import CollopError, ProblemError
from ending import that_ends


def put(problem, path, value):
    """Return a copy with one value put in place; `path` is its keys."""
    found = json.loads(json.dumps(problem))
    here = found
    for key in path[:-1]:
        here = here[key]
    here[path[-1]] = value
    return found


CASES = [
    (("week_of",), "15 June", "$.week_of is '15 June'; write a date such as 2026-06-15."),
    (("week_of",), "2026-02-31", "$.week_of is '2026-02-31'"),
    (("animals",), [], "$.animals names nothing"),
    (("animals", 0, "kind"), "ox", "$.animals[0].kind is 'ox', which is no kind"),
    (("animals", 0, "weight"), "0", "$.animals[0].weight is 0"),
    (("animals", 0, "most"), -1, "$.animals[0].most is -1"),
    (("animals", 0, "most"), 1.5, "$.animals[0].most must be a whole number"),
    (("animals", 0, "least"), 21, "$.animals[0].most is 20; it must be from 21"),
    (("animals", 0, "colour"), "red", "$.animals[0].colour is not a known key"),
    (("cuts", 0, "week"), "NaN", "$.cuts[0].week is 'NaN'"),
    (("cuts", 0, "week"), "1e-999999", "$.cuts[0].week is '1e-999999'"),
    (("cuts", 0, "week"), 40, "$.cuts[0].week must be a decimal in quotes"),
    (("cuts", 0, "cv"), 9, "$.cuts[0].cv is 9; it must be from 0 to 2."),
    (("cuts", 0, "keeps_days"), 3, "$.cuts[0].keeps_days is not a known key"),
    (("cuts", 0, "price"), "0", "$.cuts[0].price is 0"),
    (("cuts",), [], "$.cuts names nothing"),
    (("bins",), [{"id": "b", "fat": "1.2"}], "$.bins[0].fat is 1.2"),
    (("makes",), [{"cut": "leg", "bins": []}], "$.makes[0].bins is empty"),
    (("hanging",), [{"kind": "ox", "weight": "1"}], "$.hanging[0].kind is 'ox'"),
    (("standing",), [{"name": "Inn", "cut": "tail", "weight": "1"}], "$.standing[0].cut is 'tail'"),
    (("standing",), [{"name": "", "cut": "leg", "weight": "1"}], "$.standing[0].name is empty"),
    (("bookings",), {}, "$.bookings must be a list"),
    (("labour",), {"per_hour": "3"}, "$.labour.minutes is missing"),
    (("labour",), {"minutes": "9", "per_hour": "3", "overtime_per_hour": "2"},
     "$.labour.overtime_per_hour is under per_hour"),
    (("room",), {"rail": "10", "hanging": "11"}, "$.room.hanging is more than the rail holds"),
    (("season",), [{"what": "beef", "index": 1.1}], "$.season[0].what is 'beef'; name a cut"),
    (("season",), [{"what": "all"}], "$.season[0].index is missing"),
    (("season",), [{"what": "all", "index": 0}], "$.season[0].index is 0"),
    (("holidays",), [{"what": ["all"], "index": 1}], "$.holidays[0].what must be text"),
    (("scenarios",), {"count": 0}, "$.scenarios.count is 0"),
    (("scenarios",), {"seed": -1}, "$.scenarios.seed is -1"),
    (("scenarios",), {"count": 3, "list": [{"chance": 1}]}, "$.scenarios.count stands beside list"),
    (("scenarios",), {"list": []}, "$.scenarios.list has chances that sum to 0"),
    (("scenarios",), {"list": [{"chance": 0.4}]}, "$.scenarios.list has chances that sum to 0.4"),
    (("scenarios",), {"list": [{"chance": 1, "factors": {"ox": 1}}]}, "factors.ox is 'ox'"),
    (("scenarios",), {"list": [{"chance": 1, "factors": {"leg": -1}}]}, "factors.leg is -1"),
    (("scenarios",), {"list": [{"chance": 1, "factors": [1]}]}, "factors must be an object"),
    (("currency",), "dollars", "$.currency is 'dollars'"),
    (("unit",), "stone", "$.unit is 'stone'"),
    (("schema",), "collop.bench/1", "$.schema is 'collop.bench/1'"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "words"), CASES)
def test_a_slip_is_told_with_its_path(path, value, words):
    """One sentence: what is wrong, where, what to do."""
    with pytest.raises(ProblemError) as caught:
        read_farmcall(put(one_cut(), path, value))
    assert words in caught.value.message
    assert caught.value.message.endswith((".", "`."))
    assert "\n" not in caught.value.message


def test_the_least_must_fit_on_the_rail():
    """What must be ordered and has no room is told before anything is solved."""
    problem = put(one_cut(room={"rail": "60", "hanging": "35"}), ("animals", 0, "least"), 3)
    with pytest.raises(ProblemError, match="weighs 30, and the rail has room for 25"):
        farmcall(problem)


def test_too_much_is_refused():
    """Ten thousand lines, and weeks times cuts beyond reckoning, end in a sentence."""
    cut = one_cut()["cuts"][0]
    many = put(one_cut(), ("cuts",), [{**cut, "id": f"c{at}"} for at in range(10_000)])
    wide = put(one_cut(), ("cuts",), [cut, *({**cut, "id": f"c{at}"} for at in range(300))])
    wide["scenarios"] = {"count": 1000}
    with that_ends(), pytest.raises(ProblemError, match="has 10000 lines; give 500"):
        farmcall(many)
    with that_ends(), pytest.raises(ProblemError, match="more than can be reckoned"):
        farmcall(wide)


def test_nearly_whole_chances_are_taken_as_whole():
    """Three weeks of 0.333 are a third each."""
    problem = one_cut(scenarios={"list": [{"chance": 0.333, "name": n} for n in "abc"]})
    plan = farmcall(problem)
    assert [one["chance"] for one in plan["scenarios"]] == [0.333333333] * 3
    assert check_farmcall(read_farmcall(problem), plan) == []


def test_figures_far_apart_still_give_a_sound_plan():
    """A steep answer to deep mark-downs, tiny and large weights: the plan still closes."""
    problem = put(one_cut(), ("cuts", 0), {
        "id": "leg", "name": "Leg", "species": "lamb", "price": "0.01", "week": "0.001", "cv": 2,
        "elasticity": 10, "steps": ["1", "0.3"], "salvage": "999999"})  # fmt: skip
    problem["animals"][0].update(weight="100000", price_per_unit="0")
    problem["scenarios"] = {"count": 5}
    plan = farmcall(problem)
    assert check_farmcall(read_farmcall(problem), plan) == []
    assert any("no price step is taken" in one.lower() for one in plan["assumptions"])


_VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-(10**400), 10**400), st.floats(), st.text(max_size=8),
    st.sampled_from(["0", "1", "-1", "1e-999999", "NaN", "99999999999999999999", "leg", "all"]),
    st.lists(st.integers(), max_size=2), st.dictionaries(st.text(max_size=3), st.integers()),
)  # fmt: skip


def _paths(value, here=()):
    yield here
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    if isinstance(value, (dict, list)):
        for key, inner in steps:
            yield from (
                _paths(inner, (*here, key)) if isinstance(inner, (dict, list)) else [(*here, key)]
            )


BASE = tiny(5)
PATHS = [path for path in _paths(BASE) if path]


@settings(max_examples=150)
@given(path=st.sampled_from(PATHS), value=_VALUES)
def test_any_value_anywhere_is_read_or_told(path, value):
    """Whatever stands in any place: a sound plan, or one sentence."""
    problem = json.loads(json.dumps(BASE))
    here = problem
    for key in path[:-1]:
        here = here[key]
    here[path[-1]] = value
    try:
        read = read_farmcall(problem)
    except CollopError as error:
        assert error.message
        assert "\n" not in error.message
        return
    jsonschema.validate(problem, SCHEMAS["farmcall"])
    assert read.animals
