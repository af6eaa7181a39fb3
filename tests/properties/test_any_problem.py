"""Every kernel, handed problems nobody would write, answers with a plan or one plain sentence.

The contract is the published schema of each plan (JSON Schema draft 2020-12, checked by the
reference library jsonschema) and the one sentence of `collop.errors`. The long run over a hundred
thousand problems is ``benchmarks/fuzz/problems.py``.
"""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from problem_mutations import (
    KERNELS,
    end_of,
    end_of_command,
    no_sentence,
    problem_of,
    schemas_of,
    seeds_of,
    text_of,
)

from collop.cli.asks import _SCHEMA_MODULES
from collop.errors import BadValue

SLOW = {"spread", "bench", "benches", "farmcall", "fire", "heat", "freezer", "clearing"}
#: Problems of the long run that once ended in a crash, or in what was no sentence.
FOUND = [("spread", 13), ("spread", 63), ("yields", 44), ("yields", 122), ("yields", 138),
         ("balance", 14)]  # fmt: skip


def test_every_command_that_has_a_schema_is_among_them():
    """A kernel that is added is fuzzed too."""
    assert set(KERNELS) == set(_SCHEMA_MODULES)


@pytest.mark.parametrize("name", KERNELS)
def test_worked_examples_are_problems_and_end_in_plans(name):
    """What is bent is good before: each example is answered with a valid plan."""
    assert seeds_of(name)
    for seed in seeds_of(name):
        assert end_of(name, seed).kind == "plan", name
        assert schemas_of(name)


@pytest.mark.parametrize("name", KERNELS)
def test_any_problem_ends_in_a_valid_plan_or_one_sentence(name):
    """Types, signs, sizes, ids and depth are wrong, and no traceback comes of it."""
    ends = [end_of(name, problem_of(name, 100_000 + number))
            for number in range(8 if name in SLOW else 80)]  # fmt: skip
    assert [end for end in ends if end.is_finding] == []
    assert name in SLOW or {end.kind for end in ends} == {"plan", "refused"}


@pytest.mark.parametrize("name", KERNELS)
def test_any_text_sent_to_the_command_ends_so_too(name):
    """Half JSON, a hundred thousand brackets, half letters and NaN among them."""
    ends = [end_of_command(name, text_of(name, 200_000 + number), CliRunner())
            for number in range(4 if name in SLOW else 12)]  # fmt: skip
    assert [end for end in ends if end.is_finding] == []


@pytest.mark.parametrize(("name", "number"), FOUND)
def test_what_was_found_stays_mended(name, number):
    """Problems that were answered badly before."""
    assert not end_of(name, problem_of(name, number)).is_finding


def test_half_a_letter_in_a_name_is_refused():
    """It could be written into no plan."""
    text = '{"parts": [{"name": "\\ud800"}]}'
    assert end_of_command("drift", text, CliRunner()).kind == "refused"


def test_a_sentence_is_told_from_what_is_none():
    """The check of sentences can fail."""
    assert no_sentence("The weight is too large; enter less.") == ""
    assert no_sentence("The weight is too large")
    assert no_sentence("a\nb.")
    assert no_sentence("x" * 400 + ".")
    assert no_sentence("<class 'int'> is no weight.")
    assert no_sentence(BadValue("a\nb " + "long " * 500 + "end.").message) == ""
