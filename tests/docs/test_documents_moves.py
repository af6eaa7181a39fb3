"""docs/moves.md prints what the command says, and names the figures the code has."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import ageing, create_shop

TEXT = (Path(__file__).parents[2] / "docs" / "moves.md").read_text(encoding="utf-8")


def test_the_printed_moves_are_the_demo_s(tmp_path):
    """Each line of docs/moves.md is one the command prints, and no line is missing."""
    file = tmp_path / "demo.db"
    create_shop(f"sqlite:///{file}", demo=True).close()
    command = re.search(r"\$ collop (moves --db )demo\.db (--at \S+)", TEXT)
    told = CliRunner().invoke(main, ["moves", "--db", str(file), *command[2].split()])
    assert told.output in TEXT


@pytest.mark.parametrize(("name", "figure"), re.findall(r"\| `([A-Z_]+)` \| ([0-9.]+) \|", TEXT))
def test_the_starting_figures_are_those_of_the_code(name, figure):
    """The table of docs/moves.md has the constants' own values."""
    assert float(getattr(ageing, name)) == float(figure)


def test_every_starting_figure_is_told():
    """No constant of the moves goes without a word."""
    code = Path(ageing.__file__).read_text(encoding="utf-8")
    named = set(re.findall(r"^([A-Z][A-Z_]+) = ", code, re.MULTILINE))
    assert named == set(re.findall(r"\| `([A-Z_]+)` \|", TEXT))
