"""Selling in the terminal: the same acts as on the page, as lines and as JSON."""

from __future__ import annotations

import csv
import io
import json
import shutil

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import create_shop


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return path


@pytest.fixture
def db(made, tmp_path):
    return str(shutil.copy(made, tmp_path / "shop.db"))


def run(db, name, *args, code=0):
    result = CliRunner().invoke(main, [name, "--db", db, *args])
    assert result.exit_code == code, result.output
    return result.output


def told(db, name, *args):
    return json.loads(run(db, name, *args, "--json"))


def test_an_estimate_sells_nothing(db):
    """What it would come to, what is over what was asked, and why a line would be refused."""
    found = told(db, "sell", "C11=1.08:1", "C12=3", "--estimate")
    assert found["lines"][0]["asked"] == {
        "weight": "1.000", "money": "7.80", "percent": "8.0", "over": True, "beyond": False,
    }  # fmt: skip
    assert "2.50 lb is free" in found["lines"][1]["trouble"]
    assert found["total"] == "110.42"
    assert told(db, "takings")["slips"] == []


def test_a_sale_is_told_with_its_payment_and_change(db):
    """Lines, total, what was paid, the change; the same key sells once."""
    args = ("C11=1", "C09=4.15", "--way", "cash", "--given", "50", "--by", "dot", "--key", "k")
    found = told(db, "sell", *args)
    assert found == told(db, "sell", *args)
    assert (found["slip"], found["total"], found["due"]) == ("H11", "44.74", "0.00")
    assert found["lines"][1]["half_cent"].startswith("36.935 is an exact half cent")
    assert found["payments"][0]["change"] == "5.26"
    assert "change 5.26" in run(db, "sell", *args)


def test_a_return_and_the_takings_are_told(db):
    """Back over the glass; the day's net falls by it; CSV has the named columns."""
    run(db, "sell", "C11=2", "--way", "card", "--by", "dot")
    back = told(db, "takeback", "H11-1", "--weight", "0.5", "--why", "too fat", "--way", "card",
                "--by", "dot")  # fmt: skip
    assert (back["weight"], back["total"]) == ("0.500", "3.90")
    day = told(db, "takings")
    assert (day["lines"], day["returned"], day["net"]) == ("15.60", "3.90", "11.70")
    assert "net sales, without tax" in run(db, "takings")
    rows = list(csv.DictReader(io.StringIO(run(db, "takings", "--csv"), newline="")))
    assert [row["kind"] for row in rows][:2] == ["slip", "return"]


def test_a_deposit_and_an_account_are_noted(db):
    """The rule is told with the deposit; who pays later is listed."""
    run(db, "pay", "H8", "--what", "deposit", "--way", "cash", "--by", "dot")
    assert "48 hours before collection" in run(db, "pay", "H8")
    run(db, "sell", "C11=1", "--way", "account", "--name", "The Lock Inn", "--by", "dot")
    assert told(db, "takings", "--accounts")["accounts"][0]["due"] == "7.80"
    assert "The Lock Inn" in run(db, "takings", "--accounts")
    run(db, "pay", "H11", "--way", "card", "--by", "dot")
    assert run(db, "takings", "--accounts") == "Nobody pays later.\n"


@pytest.mark.parametrize(
    "args",
    [
        ("sell", "C11"), ("sell", "C11=x"), ("sell", "C11=1e-999999"), ("sell", "C11=nan"),
        ("sell", "C11=1"), ("sell", "C11=1:0", "--by", "dot"), ("sell", "T999", "--by", "dot"),
        ("sell", "C99=1", "--by", "dot"), ("sell", "C12=3", "--by", "dot"),
        ("sell", "C11=1", "--by", "nobody"), ("sell", "C04=1.5:1", "--by", "dot"),
        ("sell", "C11=1", "--by", "dot", "--way", "cash", "--given", "x"),
        ("takeback", "H1-1", "--why", "x", "--by", "dot"), ("pay", "H999"),
        ("pay", "H8", "--way", "cash", "--by", "dot"), ("takings", "--day", "x"),
    ],
)  # fmt: skip
def test_a_refusal_is_one_sentence(db, args):
    """Exit 1, one sentence, and nothing is written."""
    name, *rest = args
    result = CliRunner().invoke(main, [name, "--db", db, *rest])
    assert result.exit_code == 1, result.output
    assert result.stderr.strip().endswith(".")
    assert "Traceback" not in result.output
    assert told(db, "takings")["slips"] == []


def test_a_scanned_ticket_and_a_cut_in_small_letters_are_sold(db):
    """What a scanner reads off the pack is its ticket; c11 is C11."""
    found = told(db, "sell", "200107315889", "T2 B-41F.04", "c11=1", "--estimate")
    assert [one["ticket"] for one in found["lines"]] == ["T1", "T2", None]
    assert [one["case_id"] for one in found["lines"]] == ["C07", "C07", "C11"]


def test_a_whole_sale_is_taken_back_by_its_number(db):
    """All lines, in one act; with one key it is done once."""
    run(db, "sell", "C11=1", "C04=0.75", "--way", "card", "--by", "dot")
    args = ("H11", "--why", "wrong customer", "--by", "dot", "--key", "u")
    found = told(db, "takeback", *args)
    assert [one["money"] for one in found["returns"]] == ["7.80", "13.95"]
    assert told(db, "takeback", *args) == found
    assert told(db, "pay", "H11")["due"] == "0.00"
    assert "name one line like H11-1" in run(
        db, "takeback", "H11", "--weight", "1", "--why", "x", "--by", "dot", code=1
    )


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("sell", "C11=1", "--by", "nobody"), "Nobody called 'nobody' works here; choose from"),
        (("sell", "=1", "--by", "dot"), "names no cut"),
        (("sell", "C99=1", "--by", "dot"), "no case line"),
        (("sell", "T1x", "--by", "dot"), "no ticket"),
        (("sell", "C11=nan", "--by", "dot"), "not a weight"),
        (
            (
                "pay",
                "H8",
                "--what",
                "deposit",
                "--way",
                "cash",
                "--amount",
                "\N{FULLWIDTH DIGIT ONE}",
                "--by",
                "dot",
            ),
            "no amount of money",
        ),
        (("takeback", "H99", "--why", "x", "--by", "dot"), "no slip H99"),
        (("takeback", "H8", "--why", "x", "--by", "dot"), "has not gone"),
        (("takeback", "H8-1", "--why", "x", "--by", "nobody"), "works here"),
    ],
)
def test_a_hostile_line_is_refused_and_nothing_is_written(db, args, said):
    """One sentence, no traceback, no slip."""
    output = run(db, args[0], *args[1:], code=1)
    assert said in output
    assert output.count("\n") == 1
    assert told(db, "takings")["slips"] == []
