"""Mince lots and batches in the terminal."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from textwrap import indent

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.measures import Weight, WeightUnit
from collop.shop import NewMaterial, StillClock, create_shop, open_shop


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        shop.day.clean_down(by="marek", key="c")
        box = NewMaterial(Weight.of("5", WeightUnit.LB), what="=1+1")
        shop.making.open("beef", "G1", "Beef mince", box, by="marek", key="o")
    return str(path)


def run(*args, code=0):
    result = CliRunner().invoke(main, ["mince", *[str(arg) for arg in args]])
    assert result.exit_code == code, result.output
    return result.output


def test_the_list_tells_state_and_weights_and_what_is_not_closed_comes_first(db):
    """Tuesday's open lot stands over Monday's closed one."""
    first, second = run("--db", db).splitlines()
    assert first.startswith("26160-G1-01") and first.endswith("  open")  # noqa: PT018 -- one line
    assert "37.40 lb in   36.60 lb out  closed" in second
    assert "26159-B-01" in run("--batches", "--db", db)


def test_the_record_of_one_lot_names_the_seven_fields(db):
    """Told and missing, field by field, with the sum of the weights."""
    text = run("26159-G1-01", "--db", db)
    for number in range(1, 8):
        assert f"TR00{number}" in text
    assert "37.40 lb in = 36.60 lb out + 0.00 lb carried on + 0.80 lb lost" in text
    assert "missing" not in text
    assert "missing: production date of =1+1" in run("26160-G1-01", "--db", db)


def test_json_gives_weights_as_text_and_what_is_missing(db):
    """The same record for other programs."""
    made = json.loads(run("26160-G1-01", "--db", db, "--json"))
    assert (made["schema"], made["state"], made["unit"]) == ("collop.making/1", "open", "lb")
    assert made["mass"]["came_in"] == "5.000"
    assert [one["rule"] for one in made["record"]] == [f"TR00{one}" for one in range(1, 8)]
    assert made["missing"]
    listed = json.loads(run("--db", db, "--json"))["makings"]
    assert [one["code"] for one in listed] == ["26160-G1-01", "26159-G1-01"]


def test_a_table_for_other_programs_holds_no_formula(db):
    """A name that begins with = gets an apostrophe."""
    rows = list(csv.reader(io.StringIO(run("26160-G1-01", "--db", db, "--csv"))))
    assert rows[0] == ["field", "told", "missing", "source"]
    assert any("'=1+1" in row[1] for row in rows)
    assert not any(cell.startswith(("=", "+", "@")) for row in rows for cell in row)


def test_a_code_nobody_knows_is_one_sentence(db):
    """Exit 1, no traceback."""
    result = CliRunner().invoke(main, ["mince", "26160-G9-01", "--db", db])
    assert result.exit_code == 1
    assert result.stderr.startswith("There is no mince lot or batch '26160-G9-01'")


def test_the_printed_record_is_the_demo_s(db):
    """docs/making.md prints what the command says."""
    text = (Path(__file__).parents[2] / "docs" / "making.md").read_text(encoding="utf-8")
    assert indent(run("26159-G1-01", "--db", db), "    ") in text
