"""Every value of the three problems, replaced by every wrong kind: a plan or one sentence."""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path

import jsonschema
import pytest

from collop.carcass import combine_yields, cuttingtest, reconcile
from collop.carcass.combining_schema import SCHEMAS as YIELDS
from collop.carcass.cuttingtest_schema import SCHEMAS as CUTTINGTEST
from collop.carcass.reconciling_schema import SCHEMAS as BALANCE
from collop.errors import ProblemError

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
KERNELS = {
    "cuttingtest": (cuttingtest, CUTTINGTEST),
    "yields": (combine_yields, YIELDS),
    "balance": (reconcile, BALANCE),
}
VALIDATORS = {
    name: jsonschema.Draft202012Validator(schema)
    for _, schemas in KERNELS.values()
    for name, schema in schemas.items()
}
WRONG = [None, True, 0, -1, 0.5, 1e308, 10**400, "", "x", "-1", "0", "1e9999999", "NaN", "1000000",
         "9" * 300, [], {}, [[]], [None], ["x"], {"x": 1}, {"weight": "1"}]  # fmt: skip


def _places(value, path=()):
    """Yield the path of every value below `value`."""
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    for key, below in steps:
        yield (*path, key)
        if isinstance(below, (dict, list)):
            yield from _places(below, (*path, key))


def _at(problem, path):
    for key in path:
        problem = problem[key]
    return problem


def _examples():
    for name in KERNELS:
        for path in sorted(EXAMPLES.glob(f"{name}*.json")):
            if ".plan" not in path.name:
                yield name, json.loads(path.read_text(encoding="utf-8"))


CASES = [
    pytest.param(name, problem, path, id=f"{name}-{'.'.join(map(str, path))}")
    for name, problem in _examples()
    for path in _places(problem)
]


def _plan_or_sentence(name, problem):
    """Return the plan, kept to its schema, or None for a refusal in one sentence."""
    solve = KERNELS[name][0]
    try:
        plan = solve(problem)
    except ProblemError as error:
        assert error.message.endswith(".")
        assert "\n" not in error.message
        assert len(error.message) < 600
        assert error.where.startswith("$")
        return None
    VALIDATORS[f"{name}.plan"].validate(plan)
    json.dumps(plan, allow_nan=False)
    return plan


@pytest.mark.parametrize(("name", "problem", "path"), CASES)
def test_a_wrong_kind_gives_a_plan_or_one_sentence(name, problem, path):
    """No value of any kind, at any place, gives more than one sentence with its path."""
    for wrong in WRONG:
        spoilt = deepcopy(problem)
        _at(spoilt, path[:-1])[path[-1]] = wrong
        plan = _plan_or_sentence(name, spoilt)
        plain = wrong is not None and wrong != "1e9999999"
        if plan is not None and plain:
            VALIDATORS[name].validate(spoilt)


@pytest.mark.parametrize(("name", "problem", "path"), CASES)
def test_a_key_left_out_or_misspelt_gives_a_plan_or_one_sentence(name, problem, path):
    """A missing key is a default or one sentence; a key nobody knows is always one sentence."""
    without = deepcopy(problem)
    del _at(without, path[:-1])[path[-1]]
    _plan_or_sentence(name, without)
    if isinstance(_at(problem, path), dict):
        odd = deepcopy(problem)
        _at(odd, path)["moonstone"] = 1
        assert _plan_or_sentence(name, odd) is None


@pytest.mark.parametrize("name", KERNELS)
@pytest.mark.parametrize("wrong", [*WRONG, "text"], ids=range(len(WRONG) + 1))
def test_what_is_no_object_is_refused(name, wrong):
    """A problem that is no object of the right schema is refused."""
    with pytest.raises(ProblemError):
        KERNELS[name][0](wrong)
