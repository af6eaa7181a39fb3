"""``collop recall``: all of one source in the terminal, as JSON and as a table."""

from __future__ import annotations

import csv
import io
import json

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import create_shop


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("recall") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return str(path)


def run(*args, code=0):
    result = CliRunner().invoke(main, [str(arg) for arg in args])
    assert result.exit_code == code, result.output
    return result.output


def test_it_tells_what_to_hold_and_whom_to_call(db):
    """Lots in the shop with their places, bookings with their phone ends."""
    told = run("recall", "B-41F.03", "--db", db)
    assert "B-41: beef of Upper Nimmock, plant F-01 (made up), killed 2026-05-24" in told
    assert "100.00 % of 326.00 lb found" in told
    assert "146.20 lb rail" in told
    assert "call H9" in told
    assert "Local authorities come first" in told


def test_json_and_csv_hold_the_same_lots(db):
    """For other programs."""
    told = json.loads(run("recall", "B-41F.03", "--json", "--db", db))
    assert told["schema"] == "collop.recall/1"
    rows = list(csv.DictReader(io.StringIO(run("recall", "B-41F.03", "--csv", "--db", db))))
    assert {row["lot"] for row in rows if row["row"] == "lot"} == {
        one["lot"] for one in told["lots"] if one["where"]
    }


def test_what_is_not_there_is_one_sentence(db):
    """Exit 1, in words or as JSON."""
    assert "There is no lot 'nix'" in run("recall", "nix", "--db", db, code=1)
    assert "error" in json.loads(run("recall", "nix", "--json", "--db", db, code=1))


def test_trace_and_recall_begin_at_a_ticket(db):
    """A number of the shop leads to the farm; with the lot of another pack it is refused."""
    told = json.loads(run("trace", "T3", "--json", "--db", db))
    (one,) = told["traces"]
    assert one["origins"][0]["farm"] == "Upper Nimmock"
    assert f"T3 {one['lot']}" in run("recall", f"T3 {one['lot']}", "--db", db)
    for command in ("trace", "recall"):
        said = run(command, "T3 C02-0609", "--db", db, code=1)
        assert f"T3 is of lot {one['lot']}, and the code says C02-0609" in said
