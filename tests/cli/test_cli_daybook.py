"""``collop daybook`` and ``collop cold``: read in words, as JSON and as a table; written once."""

from __future__ import annotations

import csv
import io
import json

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import StillClock, create_shop


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    path = tmp_path_factory.mktemp("daybook") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()).close()
    return str(path)


def run(*args):
    """Run the command; return its exit code and what it said."""
    done = CliRunner().invoke(main, [*args], catch_exceptions=False)
    return done.exit_code, done.output


def test_a_day_is_told_with_what_is_over_and_every_line(demo):
    """The case was over on 22 May, and what was done stands beside it."""
    code, said = run("daybook", "--db", demo, "--day", "2026-05-22")
    assert code == 0
    assert "OVER Case, Fri 22 May 13:02: over for at least 29 min, at most 5 h 51 min" in said
    assert "told Ines" in said


def test_today_tells_what_is_due(demo):
    """As JSON: tiles, rounds, gaps and lines."""
    code, said = run("daybook", "--db", demo, "--json")
    assert code == 0
    told = json.loads(said)
    assert {tile["tile"] for tile in told["due"]} == {
        "receive", "cold", "clean", "mince", "scale", "probe",
    }  # fmt: skip
    assert {one["state"] for one in told["rounds"]} == {"due", "ahead"}


def test_many_days_are_told_gaps_first(demo):
    """In words and as JSON; the table holds the same lines."""
    code, said = run("daybook", "--db", demo, "--from", "2026-05-19", "--to", "2026-06-09")
    assert code == 0
    assert said.splitlines()[1].startswith("  GAP Freezer, Thu 28 May 13:00")
    span = ("--from", "2026-05-19", "--to", "2026-06-09")
    told = json.loads(run("daybook", "--db", demo, *span, "--json")[1])
    assert [gap["name"] for gap in told["gaps"]] == ["Freezer", "Cutting room"]
    rows = list(csv.DictReader(io.StringIO(run("daybook", "--db", demo, *span, "--csv")[1])))
    assert len(rows) == len(told["gaps"]) + len(told["lines"])


@pytest.mark.parametrize(("args", "said"), [
    (("--day", "soon"), "is no day"), (("--to", "2026-06-09"), "Give the first day"),
    (("--day", "2026-06-09", "--from", "2026-06-09"), "not both"),
    (("--from", "2026-01-01"), "at most 90 days"), (("--from", "2026-06-10"), "turn them round"),
])  # fmt: skip
def test_days_that_cannot_be_are_refused_in_one_sentence(demo, args, said):
    """Exit 1, one line."""
    code, told = run("daybook", "--db", demo, *args)
    assert code == 1
    assert said in told
    assert len(told.strip().splitlines()) == 1


def test_a_cold_check_is_written_once_for_its_key(demo):
    """By name or id, in either scale, below zero too."""
    first = json.loads(run("cold", "Walk-in", "3.9C", "--by", "Kofi", "--db", demo, "--key", "k",
                           "--json")[1])  # fmt: skip
    again = json.loads(run("cold", "Walk-in", "3.9C", "--by", "Kofi", "--db", demo, "--key", "k",
                           "--json")[1])  # fmt: skip
    assert first == again
    assert first["reading_f"] == "39.0"
    code, said = run("cold", "freezer", "-2F", "--by", "kofi", "--db", demo)
    assert code == 0
    assert "Freezer: -2 °F (-18.9 °C), limit 0 °F (-17.8 °C) or below" in said


@pytest.mark.parametrize(("args", "said"), [
    (("case", "44", "--by", "Kofi"), "say what was done about it"),
    (("case", "NaN", "--by", "Kofi"), "write the degrees like"),
    (("case", "1e-999999", "--by", "Kofi"), "write the degrees like"),
    # 8 C in a fridge of 5 C at most is over; taken for 8 F it would be well within
    (("case", "8", "--by", "Kofi"), "is it 8 °F (-13.3 °C)? Write 8 F or 8 C"),
    (("attic", "39", "--by", "Kofi"), "There is no place"),
    (("case", "39", "--by", "Ghost"), "Nobody called"),
    (("case", "39", "--by", "Kofi", "--at", "soon"), "is no time"),
    (("case", "39", "--by", "Kofi", "--at", "2030-01-01T08:00"), "lies ahead"),
])  # fmt: skip
def test_a_cold_check_that_cannot_be_is_refused_in_one_sentence(demo, args, said):
    """Exit 1, one line, and nothing written."""
    code, told = run("cold", *args, "--db", demo)
    assert code == 1
    assert said in told
    assert len(told.strip().splitlines()) == 1
