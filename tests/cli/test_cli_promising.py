"""``collop freeby``, ``reminders``, ``pickups`` and ``standing`` in the terminal and as JSON."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import create_shop


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("promising") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return str(path)


def run(*args, code=0):
    result = CliRunner().invoke(main, [str(arg) for arg in args])
    assert result.exit_code == code, result.output
    return result.output


def test_a_day_is_told_line_by_line(db):
    """Every line of the case with where it comes from."""
    told = run("freeby", "2026-06-11", "--db", db).splitlines()
    assert told[0] == "Free by Thursday 11 June"
    assert len(told) == 35
    hanger = next(one for one in told if one.startswith("C14"))
    assert "0.87 lb  from B-41H, cut on Thu 11 Jun" in hanger


def test_a_wish_is_answered_in_a_sentence_and_as_json(db):
    """The same answer both ways."""
    said = run("freeby", "2026-06-11", "--line", "C10", "--weight", "5", "--db", db).strip()
    assert said == (
        "Thursday no, none of Beef brisket, but Beef rump yes."
        " No other day of the next 28 has 5.00 lb."
    )
    told = json.loads(run("freeby", "2026-06-11", "--line", "C10", "--weight", "2.2kg", "--json",
                          "--db", db))  # fmt: skip
    answer = told["answer"]
    assert (answer["yes"], answer["asked"], answer["cousin"]) == (False, "2.20", "C13")
    (row,) = told["lines"]
    assert (row["weight"], row["unit"], row["parts"]) == ("0.00", "lb", [])


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("2026-06-01",), "is over"), (("2026-06-11", "--weight", "5"), "Name the line"),
        (("2026-06-11", "--line", "C99"), "no case line"),
        (("2026-06-11", "--line", "C10", "--weight", "x"), "weight"),
        (("2026-06-11", "--line", "C10", "--weight", "0"), "more than 0"),
        (("2026-06-11", "--line", "C10", "--weight", "1e-999999"), "weight"),
        (("2026-06-11", "--line", "C10", "--weight", "9" * 400), "weight"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_one_sentence(db, more, said):
    """Exit 1."""
    told = run("freeby", *more, "--db", db, code=1)
    assert said in told
    assert len(told.strip().splitlines()) == 1


def test_reminders_are_told_with_the_phone_end(db):
    """One line each; as JSON the same sentences."""
    told = run("reminders", "--db", db).splitlines()
    assert told[0] == "H4   0140 pick-up  Your order is for today at 11:00, 328.58 so far."
    rows = json.loads(run("reminders", "--day", "2026-06-11", "--json", "--db", db))["reminders"]
    assert {one["booking"] for one in rows} == {"H3", "H8", "H2", "H9"}
    assert "is over" in run("reminders", "--day", "2026-06-01", "--db", db, code=1)


def test_pick_ups_are_told_and_written_as_a_calendar(db, tmp_path):
    """Nine hang in the demo week; the file is the feed."""
    file = tmp_path / "pickups.ics"
    told = run("pickups", "--ics", file, "--db", db).splitlines()
    assert len(told) == 10
    feed = file.read_bytes()
    assert (feed.count(b"BEGIN:VEVENT"), feed[-2:]) == (9, b"\r\n")
    rows = json.loads(run("pickups", "--json", "--db", db))["pickups"]
    assert [one["booking"] for one in rows][:3] == ["H4", "H10", "H7"]
    assert "cannot be written" in run("pickups", "--ics", tmp_path, "--db", db, code=1)
    assert run("pickups", "--ics", "-", "--db", db).startswith("BEGIN:VCALENDAR")


def test_standing_orders_are_told_and_made_once(tmp_path):
    """Two in the demo; up to the 16th one is due, made by somebody, and then not again."""
    path = tmp_path / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    told = run("standing", "--until", "2026-06-16", "--db", path)
    assert "S2   Household, weekly box" in told
    assert "Due  Tue 16 Jun 11:00  S1 Restaurant standing order" in told
    assert "Say who" in run("standing", "--make", "--db", path, code=1)
    made = json.loads(run("standing", "--make", "--by", "Ines", "--until", "2026-06-16", "--json",
                          "--db", path))  # fmt: skip
    assert [one["booking"] for one in made["made"]] == ["H11"]
    assert made["due"] == []
    assert made["orders"][0]["days"] == ["Tue", "Fri"]
    again = run("standing", "--make", "--by", "Dot", "--until", "2026-06-16", "--db", path)
    assert "Made" not in again
    assert "62 days" in run("standing", "--until", "2030-01-01", "--db", path, code=1)


def test_each_command_shows_an_example():
    """Help is enough to begin."""
    for name in ("freeby", "reminders", "pickups", "standing"):
        assert f"Example: collop {name}" in run(name, "--help")
