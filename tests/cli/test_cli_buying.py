"""``collop buying`` and ``collop longlist``: words, JSON, and one sentence for what is wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import StillClock, create_shop

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "buying.json"


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    found = tmp_path_factory.mktemp("season") / "shop.db"
    create_shop(f"sqlite:///{found}", demo=True, clock=StillClock()).close()
    return str(found)


def run(*words, text=None):
    """Run the command."""
    return CliRunner().invoke(main, words, input=text)


def test_buying_tells_the_offers_in_order():
    """From the documented file, and from standard input as JSON."""
    told = run("buying", str(EXAMPLE))
    assert told.exit_code == 0
    assert "1. Upper Nimmock, one steer, live: 6.33 a lb to sell" in told.output
    assert "wins under 7.41 a lb" in told.output
    plan = json.loads(run("buying", "-", "--json", text=EXAMPLE.read_text()).output)
    assert plan["schema"] == "collop.buying.plan/1"


def test_a_bad_file_gets_one_sentence():
    """And exit code 1."""
    told = run("buying", "-", text="{}")
    assert (told.exit_code, told.output.count("\n")) == (1, 1)


def test_the_long_list_in_words_and_as_json(path):
    """Three weeks of the demo shop."""
    told = run("longlist", "--db", path, "--weeks", "3")
    assert told.exit_code == 0
    assert "Lamb: booked" in told.output
    assert "SHORT" in told.output
    found = json.loads(run("longlist", "--db", path, "--weeks", "3", "--json").output)
    assert [len(found["weeks"]), len(found["rows"][0]["cells"])] == [3, 3]
    assert {"booked", "aside", "hung", "ordered", "short"} < set(found["rows"][0]["cells"][0])


def test_weeks_out_of_range_are_said(path):
    """One sentence, exit 1."""
    told = run("longlist", "--db", path, "--weeks", "99")
    assert (told.exit_code, "from 1 to 53" in told.output) == (1, True)


@pytest.mark.parametrize("name", ["buying", "longlist"])
def test_help_has_an_example(name):
    """As every command."""
    assert "Example: collop" in run(name, "--help").output
