"""``collop till``: the worked slip of the document, and one sentence for what cannot be added."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from collop.cli import main
from collop.errors import CollopError
from collop.rules.till import SCHEMAS, till

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
PROBLEM = json.loads((EXAMPLES / "till.json").read_text(encoding="utf-8"))
PLAN = json.loads((EXAMPLES / "till.plan.json").read_text(encoding="utf-8"))


def run(*args, text=None):
    return CliRunner().invoke(main, ["till", *map(str, args)], input=text)


def test_the_worked_slip_gives_its_plan_in_three_ways():
    """In Python, by the command, and through standard input; both fit their schemas."""
    jsonschema.validate(PROBLEM, SCHEMAS["till"])
    jsonschema.validate(PLAN, SCHEMAS["till.plan"])
    assert till(PROBLEM) == PLAN
    for done in (run(EXAMPLES / "till.json", "--json"),
                 run("-", "--json", text=json.dumps(PROBLEM))):  # fmt: skip
        assert json.loads(done.stdout) == PLAN


def test_it_is_told_to_people_with_whom_to_ask():
    """12.38 at 8.25 per cent bears 1.02 (row TX015, computed); less 20.00, 34.14, in cash 34.15."""
    said = run(EXAMPLES / "till.json").stdout
    for figure in ("53.12", "1.02", "54.14", "34.14", "34.15"):
        assert figure in said
    assert "ask your tax authority" in said


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"on": "13.6.2026"}, "on"), ({"lines": []}, "lines"),
        ({"lines": [{"amount": "1.005"}]}, "more decimals"),
        ({"lines": [{"amount": "-1"}]}, "lines"), ({"lines": [{"amount": 1.5}]}, "amount"),
        ({"lines": [{"amount": "NaN"}]}, "amount"), ({"cash": "up"}, "cash"),
        ({"per": "day"}, "per"), ({"currency": "dollars"}, "currency"), ({"paid": "x"}, "paid"),
        ({"tax_classes": [{"name": "a", "percent": "101"}]}, "percent"), ({"extra": 1}, "extra"),
        ({"lines": [{"amount": "1", "tax_class": "a;b"}]}, "Tax class"),
    ],
)  # fmt: skip
def test_what_cannot_be_added_is_one_sentence(change, where):
    """Exit 1, the place is named, and nothing is added up."""
    done = run("-", text=json.dumps(PROBLEM | change))
    assert done.exit_code == 1
    assert where in done.output
    assert done.output.count("\n") == 1


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(max_size=8),
    lambda some: (
        st.lists(some, max_size=3)
        | st.dictionaries(st.sampled_from([*PROBLEM, "x"]), some, max_size=5)
    ),
)


@given(ANYTHING)
def test_no_value_breaks_it(value):
    """Anything that is no slip is refused in a sentence."""
    try:
        till(value)
    except CollopError as error:
        assert error.message
