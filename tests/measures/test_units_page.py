"""The examples of the measures, in the modules and on the page about units."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

PAGE = Path(__file__).resolve().parents[2] / "docs" / "units.md"
MODULES = ["rounding", "weight", "money", "temperature"]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_each_module_are_true(name):
    """Every example in a docstring gives what it says."""
    module = importlib.import_module(f"collop.measures.{name}")
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


def test_the_examples_of_the_page_about_units_are_true():
    """Every example on the page gives what it says."""
    result = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert result.attempted > 20
    assert result.failed == 0
