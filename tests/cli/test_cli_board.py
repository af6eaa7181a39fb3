"""The board and what everything cost, in the terminal."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.measures import UnitPrice, WeightUnit
from collop.shop import create_shop


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli") / "demo.db"
    with create_shop(f"sqlite:///{path}", demo=True) as shop:
        shop.board_price("C09", UnitPrice.of("9.20", WeightUnit.LB), by="ines", why="farm price",
                         key="up")  # fmt: skip
    return str(path)


def run(*args, code=0):
    result = CliRunner().invoke(main, [str(arg) for arg in args])
    assert result.exit_code == code, result.output
    return result.output


def told(*args):
    return json.loads(run(*args, "--json"))


def test_the_board_tells_the_price_in_force(db):
    """Both units, since when, and what is out."""
    lines = {one["case_id"]: one for one in told("board", "--db", db)["board"]}
    ribs = lines["C09"]
    assert (ribs["price"], ribs["price_per"], ribs["per_kg"], ribs["out"]) == (
        "9.20", "lb", "20.28", False,
    )  # fmt: skip
    assert lines["C10"]["out"]
    text = run("board", "--db", db)
    assert "9.20 / lb  Beef short ribs" in text
    assert "Beef brisket  out" in text


def test_the_board_of_another_moment(db):
    """On Monday night the price was the old one."""
    lines = told("board", "--db", db, "--at", "2026-06-08T20:00:00")["board"]
    assert {one["case_id"]: one["price"] for one in lines}["C09"] == "8.90"


def test_the_history_of_a_line(db):
    """Who, when and why."""
    changes = told("board", "--db", db, "--history", "C09")["changes"]
    assert [(one["price"], one["by"], one["why"]) for one in changes] == [
        ("8.90", "ines", "Tuesday's board"), ("9.20", "ines", "farm price"),
    ]  # fmt: skip
    assert "farm price" in run("board", "--db", db, "--history", "C09")
    error = json.loads(run("board", "--db", db, "--history", "C99", "--json", code=1))
    assert error["error"]["kind"] == "not-found"


def test_a_history_is_found_by_part_of_a_name(db):
    """One line that fits is told; several are listed with their ids, in one sentence."""
    assert run("board", "--db", db, "--history", "Short RIBS") == (
        run("board", "--db", db, "--history", "C09")
    )
    assert run("board", "--db", db, "--history", "c09") == (
        run("board", "--db", db, "--history", "C09")
    )
    many = run("board", "--db", db, "--history", "mince", code=1)
    assert len(many.strip().splitlines()) == 1
    for name in ("C06 Lamb mince", "Beef mince", "choose one by its id"):
        assert name in many
    assert "and 5 more" not in many
    assert "There is no case line 'short rabs'" in (
        run("board", "--db", db, "--history", "short rabs", code=1)
    )


def test_costs_tell_the_parts_of_every_cost(db):
    """Known ones add up; unknown ones say why and give no figure."""
    answer = told("costs", "--db", db)
    assert (answer["currency"], answer["unit"]) == ("USD", "lb")
    by_lot = {(one["lot"], one["place"]): one for one in answer["costs"]}
    ribs = by_lot["B-41F.03", "case"]
    assert ribs["cost"] == "49.50"
    parts = (ribs[part] for part in ("invoice", "haulage", "labour", "credit"))
    assert sum(map(Decimal, parts)) == Decimal(ribs["cost"])
    chicken = by_lot["C23-0609", "case"]
    assert (chicken["cost"], chicken["cost_per_unit"], chicken["shrink"]) == (None, None, None)
    assert chicken["unknown"] == "Cost not known: it came without a delivery."
    text = run("costs", "--db", db)
    # one line for all that no delivery brought, however many
    unknown = sum(one["cost"] is None for one in answer["costs"])
    assert unknown > 1
    assert text.count("came without a delivery") == 1
    assert f"Cost not known: it came without a delivery ({unknown} lots; --json" in text
    assert "Chicken, whole" not in text
    assert "Assumed: Not on the board" in text


def test_a_shop_that_is_not_there_is_told_in_one_sentence(tmp_path):
    """No traceback."""
    for command in ("board", "costs"):
        assert "There is no shop" in run(command, "--db", tmp_path / "no.db", code=1)
