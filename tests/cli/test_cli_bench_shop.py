"""The commands ``worths`` and ``benchplan`` on the open shop: lines, JSON, refusals."""

from __future__ import annotations

import json
import shutil
from datetime import date
from decimal import Decimal

import jsonschema
import pytest
from click.testing import CliRunner

from collop.bench.bench_schema import SCHEMAS
from collop.cli import main
from collop.shop import create_shop, open_shop
from collop.shop.bench_worth import worth_sold


@pytest.fixture(scope="module")
def unplanned(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli-bench") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return path


@pytest.fixture(scope="module")
def planned(unplanned, tmp_path_factory):
    """Return a copy with one kept plan, and that plan."""
    path = shutil.copy(unplanned, tmp_path_factory.mktemp("cli-planned") / "shop.db")
    with open_shop(f"sqlite:///{path}") as shop:
        return path, shop.bench.refresh()


def run(*args):
    return CliRunner().invoke(main, [str(one) for one in args])


def test_the_worths_are_those_of_the_kept_plan(planned):
    """Each line with board price, worth of one more, and worth elsewhere, on the first day."""
    path, kept = planned
    done = run("worths", "--db", path, "--json")
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert (told["plan"], told["day"], told["unit"]) == (1, kept.plan["days"][0], "lb")
    prices = {cut["id"]: cut["price"] for cut in kept.problem["cuts"]}
    assert told["cuts"] == [
        {"case_id": cut["id"], "name": cut["name"], "price": prices[cut["id"]],
         "worth": cut["worth"][0], "elsewhere": f"{worth_sold(cut, 0):f}"}
        for cut in kept.plan["cuts"]
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("on", "at"), [("2026-06-12", 3), ("2026-06-01", 0), ("2027-01-01", 6)]
)  # fmt: skip
def test_another_day_is_taken_of_the_plan(planned, on, at):
    """A day outside it is its nearest."""
    path, kept = planned
    told = json.loads(run("worths", "--db", path, "--on", on, "--json").stdout)
    assert told["day"] == kept.plan["days"][at]
    assert [one["worth"] for one in told["cuts"]] == [
        cut["worth"][at] for cut in kept.plan["cuts"]
    ]  # fmt: skip


def test_people_get_a_table(planned):
    """One line for each case line of the plan, with its three figures to the cent."""
    path, kept = planned
    done = run("worths", "--db", path)
    lines = done.stdout.splitlines()
    day = date.fromisoformat(kept.plan["days"][0])
    assert lines[0] == f"Worth of a lb on {day:%a %d %b}, by plan 1"
    assert len(lines) == 2 + len(kept.plan["cuts"])
    for line, cut in zip(lines[2:], kept.plan["cuts"], strict=True):
        assert line.split()[0] == cut["id"]
        assert line.split()[-2:] == [
            f"{Decimal(cut['worth'][0]):.2f}", f"{worth_sold(cut, 0):.2f}"
        ]  # fmt: skip


def test_without_a_plan_one_is_made_and_not_kept(unplanned):
    """The table says so; the shop has no plan afterwards."""
    done = run("worths", "--db", unplanned)
    assert done.exit_code == 0
    assert done.stdout.splitlines()[0].endswith("by a plan made now, not kept")
    with open_shop(f"sqlite:///{unplanned}") as shop:
        assert shop.bench.latest() is None


def test_the_plan_of_now_is_printed_and_not_kept(unplanned):
    """As JSON it holds to the schema; in lines it begins with the shop; nothing is kept."""
    done = run("benchplan", "--db", unplanned, "--json")
    assert done.exit_code == 0, done.output
    plan = json.loads(done.stdout)
    jsonschema.validate(plan, SCHEMAS["bench.plan"])
    told = run("benchplan", "--db", unplanned).stdout
    assert told.startswith(plan["name"])
    for one in plan["breaks"]:
        assert one["tag"] in told
    assert f"brings {plan['contribution']}" in told
    with open_shop(f"sqlite:///{unplanned}") as shop:
        assert shop.bench.latest() is None


@pytest.mark.parametrize("command", ["worths", "benchplan"])
def test_a_shop_that_is_not_there_is_one_sentence(command, tmp_path):
    """Exit 1, one sentence on standard error, or the same as JSON."""
    gone = tmp_path / "gone.db"
    plain, as_json = run(command, "--db", gone), run(command, "--db", gone, "--json")
    assert plain.exit_code == as_json.exit_code == 1
    assert plain.stdout == ""
    assert len(plain.stderr.strip().splitlines()) == 1
    assert json.loads(as_json.stdout)["error"]["message"] == plain.stderr.strip()


def test_the_ask_of_the_demo_has_the_worths_of_its_meal(planned):
    """The command's offers are those of Friday, the day the rowers eat."""
    path, kept = planned
    told = json.loads(run("demo", "--db", path, "--json").stdout)
    at = kept.plan["days"].index(told["ask"]["use_at"][:10])
    worths = {cut["id"]: worth_sold(cut, at) for cut in kept.plan["cuts"]}
    offers = {one["id"]: Decimal(one["worth_per_lb"]) for one in told["ask"]["offers"]}
    assert any(offers[key] for key in worths if key in offers)
    for key, worth in worths.items():
        if key in offers:
            assert offers[key] == max(worth, Decimal("0.01"))
