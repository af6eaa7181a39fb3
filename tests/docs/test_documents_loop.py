"""docs/loop.md prints what the command says, and names the figures the code has."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import clock, create_shop
from collop.web import bench_state, bench_worths, create_app
from collop.web.replanning import Replanner

TEXT = (Path(__file__).parents[2] / "docs" / "loop.md").read_text(encoding="utf-8")


def test_the_printed_worths_are_the_demo_s(tmp_path, monkeypatch):
    """The table of docs/loop.md is the one the command prints."""
    # the demo week stands at its start again, however long this run has been going on
    monkeypatch.setattr(clock, "_opened_at", [])
    file = tmp_path / "demo.db"
    create_shop(f"sqlite:///{file}", demo=True).close()
    assert "$ collop worths --db demo.db" in TEXT
    told = CliRunner().invoke(main, ["worths", "--db", str(file)])
    assert told.exit_code == 0
    assert told.output in TEXT


@pytest.mark.parametrize(("name", "figure"), re.findall(r"\| `([A-Z_]+)` \| ([0-9.]+) \|", TEXT))
def test_the_starting_figures_are_those_of_the_code(name, figure):
    """The table of docs/loop.md has the constants' own values."""
    assert float(getattr(bench_worths, name)) == float(figure)


def test_every_starting_figure_is_told():
    """No constant of the marks goes without a word."""
    code = Path(bench_worths.__file__).read_text(encoding="utf-8")
    named = set(re.findall(r"^([A-Z][A-Z_]+) = ", code, re.MULTILINE))
    assert named == set(re.findall(r"\| `([A-Z_]+)` \|", TEXT))


def test_the_seconds_are_those_of_the_code():
    """Look every 3, wait 2, the strip for ten minutes and every 5 seconds; off unless asked for."""
    usual = inspect.signature(Replanner).parameters
    assert f"every {usual['poll'].default:g} seconds" in TEXT
    assert f"nothing moved for {usual['wait'].default:g} seconds" in TEXT
    assert bench_state._NEWS.total_seconds() == 600
    assert "For ten minutes" in TEXT
    script = Path(bench_state.__file__).parent / "static/replan.js"
    every = int(re.search(r"EVERY_MS = (\d+)", script.read_text(encoding="utf-8"))[1])
    assert f"every {every // 1000} seconds, and" in TEXT.replace("\n", " ")
    assert inspect.signature(create_app).parameters["replan"].default is False
