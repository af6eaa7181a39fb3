"""The reckoning in the terminal: rows, one animal, money on slips, drift."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.measures import Weight, WeightUnit
from collop.shop import create_shop

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "drift.json"


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli") / "demo.db"
    with create_shop(f"sqlite:///{path}", demo=True) as shop:
        ribs = Weight.of("5.0", WeightUnit.LB)
        shop.hand_over("H8", {"H8-1": ribs}, by="dot", key="h8")
    return str(path)


def run(*args, code=0, text=None):
    result = CliRunner().invoke(main, [str(arg) for arg in args], input=text)
    assert result.exit_code == code, result.output
    return result.output


def told(*args):
    return json.loads(run(*args, "--json"))


def test_every_animal_has_a_line(db):
    """Money as decimal strings, weights in pounds; later animals alone by --since."""
    rows = {one["tag"]: one for one in told("reckoning", "--db", db)["animals"]}
    side = rows["B-41"]
    assert (side["cost"], side["sold"], side["result"]) == ("1440.98", "44.50", "-1396.48")
    assert (side["air"], side["sold_weight"]) == ("13.100", "5.000")
    assert side["lines"] == [
        {"case_id": "C09", "name": "Beef short ribs", "weight": "5.000", "money": "44.50"}
    ]
    text = run("reckoning", "--db", db)
    assert any(line.split()[:2] == ["B-41", "1440.98"] for line in text.splitlines())
    late = told("reckoning", "--db", db, "--since", "2026-06-04")["animals"]
    assert [one["tag"] for one in late] == ["P-59", "B-42"]
    assert run("reckoning", "--db", db, "--since", "2027-01-01") == "No animal came then.\n"


def test_one_animal_goes_from_cost_to_result(db):
    """The steps end at the result that the row has, and its sentences follow."""
    found = told("reckoning", "B-41F.03", "--db", db)
    assert found["bars"][-1]["end"] == found["row"]["if_sold"]
    text = run("reckoning", "B-41", "--db", db)
    assert "= Result so far" in text
    for sentence in found["say"]:
        assert sentence in text


def test_money_on_slips_closes(db):
    """A day and its week tell the same and say that it closes."""
    day = told("reckoning", "--day", "2026-06-09", "--db", db)
    assert (day["slips"], day["total"], day["closes"]) == ("44.50", "44.50", True)
    assert day["animals"] == [{"tag": "B-41", "money": "44.50", "weight": "5.000"}]
    week = told("reckoning", "--week", "2026-06-10", "--db", db)
    assert (week["first"], week["last"], week["total"]) == ("2026-06-08", "2026-06-14", "44.50")
    assert "Closes to the cent" in run("reckoning", "--day", "2026-06-09", "--db", db)


def test_the_shops_drift_is_a_problem_for_the_kernel(db):
    """What --drift --json prints is answered by `collop drift -`."""
    problem = run("reckoning", "--drift", "--db", db, "--json")
    assert "nothing to compare" in run("drift", "-", text=problem)
    assert "nothing to compare" in run("reckoning", "--drift", "--db", db)


def test_drift_tells_what_stands_out_first(db):
    """The worked example's first line is the kernel's first sentence."""
    plan = told("drift", EXAMPLE)
    assert plan["say"][0] in run("drift", EXAMPLE).splitlines()[:2]
    assert any(one["verdict"] == "chance" for one in plan["compared"])


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("reckoning", "nobody"), "There is no lot 'nobody'"),
        (("reckoning", "C01-0609"), "is not of one animal"),
        (("reckoning", "B-41", "--drift"), "Ask for one thing"),
        (("reckoning", "--day", "1990-01-01"), "within ten years"),
    ],
)
def test_what_cannot_be_told_is_one_sentence(db, args, said):
    """Exit 1 and one line."""
    text = run(*args, "--db", db, code=1)
    assert said in text
    assert len(text.strip().splitlines()) == 1


def test_a_bad_file_is_one_sentence():
    """No break, no style: told with its path."""
    bad = json.dumps({"schema": "collop.drift/1", "styles": []})
    assert "$.styles has 0 styles" in run("drift", "-", text=bad, code=1)
    assert json.loads(run("drift", "-", "--json", text=bad, code=1))["error"]["where"] == "$.styles"


@pytest.mark.parametrize("name", ["drift", "drift.plan"])
def test_the_schemas_are_printed(name):
    """`collop schema` knows both."""
    assert json.loads(run("schema", name))["title"] == f"collop.{name}/1"
