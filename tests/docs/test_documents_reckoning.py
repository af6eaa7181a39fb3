"""docs/reckoning.md and docs/drift.md give the figures that the code has, and commands that run."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.carcass.drifting_reading import MOST_BREAKS, MOST_GROUPS, MOST_PARTS
from collop.cli import main
from collop.shop import create_shop
from collop.shop.reckoning_bars import MOST_LINES
from collop.shop.reckoning_say import MOST_BEFORE

DOCS = Path(__file__).parents[2] / "docs"
NUMBERS = {5: "five", 6: "six"}
PAGE = (DOCS / "reckoning.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^    collop (reckoning.*)$", PAGE, flags=re.MULTILINE)


def words(name):
    """Return a page in one line."""
    return " ".join((DOCS / name).read_text(encoding="utf-8").split())


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("docs") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return str(path)


def test_the_pages_name_the_figures_in_use():
    """How many lines stand alone, how many animals are compared, and what a problem may hold."""
    assert f"the {NUMBERS[MOST_LINES]} best by themselves" in words("reckoning.md")
    assert f"at most {NUMBERS[MOST_BEFORE]}." in words("reckoning.md")
    limits = f"At most {MOST_BREAKS:,} breaks, {MOST_PARTS} parts and {MOST_GROUPS} hands"
    assert limits in words("drift.md")


def test_every_command_of_the_page_is_here():
    """The page shows rows, one animal, a day, a week and the drift."""
    assert len(COMMANDS) == 5


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_of_the_page_runs(db, command):
    """On the demo, as it is written."""
    done = CliRunner().invoke(main, command.replace("demo.db", db).split())
    assert done.exit_code == 0, done.output
    assert done.output
