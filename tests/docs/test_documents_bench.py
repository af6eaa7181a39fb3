"""docs/bench.md says what the command ``bench`` does."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from pathlib import Path

import jsonschema

from collop.bench import bench
from collop.bench.bench_schema import SCHEMAS
from collop.bench.checker import check_plan
from collop.bench.reading import MOST_DAYS, read_problem
from collop.bench.reading_case import USUAL_ELASTICITY, USUAL_STEPS
from collop.bench.reading_size import MOST_WAYS

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "bench.md").read_text(encoding="utf-8")


def _read(name):
    return json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))


def test_the_worked_example_gives_the_documented_plan():
    """The worked problem runs into its plan."""
    assert bench(_read("bench.json")) == _read("bench.plan.json")


def test_the_documented_plan_keeps_every_rule():
    """The independent check, which has no solver, finds no fault in the documented plan."""
    assert check_plan(read_problem(_read("bench.json")), _read("bench.plan.json")) == []


def test_problem_and_plan_keep_their_schemas():
    """The pair is valid by the printed schemas."""
    for name in ("bench", "bench.plan"):
        jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])
        jsonschema.validate(_read(f"{name}.json"), SCHEMAS[name])


def test_a_plan_that_falls_short_keeps_the_schema():
    """A plan with a booking that cannot be met, and a piece kept, is valid too."""
    problem = _read("bench.json") | {"locks": [{"tag": "P-118B"}]}
    problem["bookings"][0]["lines"][0]["weight"] = "30"
    plan = bench(problem)
    assert plan["answer"] == "short"
    assert plan["kept"]
    jsonschema.validate(plan, SCHEMAS["bench.plan"])


def _keys(schema):
    """Yield every key of a schema, however deep."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for value in schema.values():
            yield from _keys(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from _keys(value)


def test_every_key_of_a_problem_is_described():
    """The page names each key of the problem, of whatever line."""
    for key in set(_keys(SCHEMAS["bench"])) - {"schema"}:
        assert re.search(rf"`{key}(\[\])?`", TEXT), key


def test_every_part_of_a_plan_is_described():
    """The page names each top key of the plan."""
    for key in set(SCHEMAS["bench.plan"]["properties"]) - {"schema"}:
        assert re.search(rf"`{key}(\[\])?`", TEXT), key


def test_defaults_and_limits_on_the_page_are_those_in_use():
    """Days, ways, steps and elasticity on the page are the kernel's."""
    assert f"1 to {MOST_DAYS} dates in a row" in TEXT
    assert f"{MOST_WAYS:,} ways" in TEXT
    steps = ", ".join(f"{float(step):g}" for step in USUAL_STEPS)
    assert f"highest first | {steps} |" in TEXT
    assert f"| {USUAL_ELASTICITY} |" in TEXT


def test_figures_told_of_the_example_are_those_of_its_plan():
    """Each figure that the page takes from the worked plan stands in it."""
    plan = _read("bench.plan.json")
    worked = TEXT.split("## The worked week")[1].split("\n## ")[0]
    told = f"brings {plan['contribution']}, and none brings more than {plan['proof']['bound']}"
    assert told in worked
    for one in plan["breaks"]:
        assert f"| {one['day']} | {one['id']} | {one['style_name']} | {one['weight']} |" in worked
    runners_up = {one["id"]: one["runner_up"]["say"] for one in plan["breaks"]}
    for one in ("L-207", "P-118A/Pork loin"):
        assert f'"{runners_up[one]}"' in " ".join(worked.split())
    made = sum(Fraction(one["weight"]) for one in plan["makes"])
    assert f"{float(made):.3f} lb of links" in worked
    cuts = {one["id"]: one for one in plan["cuts"]}
    for cut, worth in {"P03": "3.20", "C01": "11.40", "C03": "1.53"}.items():
        assert {round(float(one), 2) for one in cuts[cut]["worth"]} == {float(worth)}
    assert cuts["P02"]["made"] == "11.4"
    assert cuts["P02"]["booked"] == "9"
    assert {at["step"] for day in cuts["P05"]["days"] for at in day["at"]} == {"0.9"}
