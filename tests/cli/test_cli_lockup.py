"""The lock-up in the terminal: the sheet of the shop, and the choice from a file."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.chalk.counting import counting
from collop.cli import main
from collop.measures import Weight, WeightUnit
from collop.shop import StillClock, create_shop, open_shop

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "counting.json"


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return str(path)


def run(*args, code=0, text=None):
    result = CliRunner().invoke(main, [str(arg) for arg in args], input=text)
    assert result.exit_code == code, result.output
    return result.output


def test_the_sheet_is_told_in_words_and_as_json(db):
    """Ten lines with the ways that bring money; the JSON's problem gives the same lines again."""
    told = json.loads(run("lockup", "--db", db, "--json"))
    assert len(told["lines"]) == 10
    plan = counting(told["problem"])
    assert [one["id"] for one in plan["lines"]] == [one["case_id"] for one in told["lines"]]
    text = run("lockup", "--db", db)
    assert "Lock-up, Tue 09 Jun; open next Wed 10 Jun" in text
    assert "at risk; 24 lines left out" in text
    piped = json.loads(run("counting", "-", "--json", text=json.dumps(told["problem"])))
    assert piped == plan


def test_a_locked_day_is_told_with_its_facts(db, tmp_path):
    """Of a day gone by only what was written; a day to come is refused in one sentence."""
    clock = StillClock(datetime.fromisoformat("2026-06-09T18:00"))
    with open_shop(f"sqlite:///{db}", clock) as shop:
        shop.lockup.count("C12", Weight.of("4.5", WeightUnit.LB), by="dot", key="c")
        shop.lockup.lock(by="ines", key="l", words={"H4": "short"})
    told = json.loads(run("lockup", "--db", db, "--day", "2026-06-09", "--json"))
    assert told["locked"]["facts"]["gap_at_board"] == "-3.40"
    assert told["locked"]["by"] == "ines"
    assert "Locked Tue 18:00 by ines" in run("lockup", "--db", db)
    assert "still to come" in run("lockup", "--db", db, "--day", "2026-09-01", code=1)


def test_the_choice_is_made_from_a_file():
    """In words, with what was left out and assumed; nonsense is one sentence."""
    text = run("counting", EXAMPLE)
    assert "Saturday evening" in text
    assert "Skipped the last time." in text
    assert "1 line left out" in text
    assert "is missing; add it." in run("counting", "-", text="{}", code=1)
    assert "Example:" in run("lockup", "--help") + run("counting", "--help")
