"""The cutting room in the terminal: rail, stock, trace, flow, and a shop of one's own."""

from __future__ import annotations

import json
import socket
from decimal import Decimal

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import Settings, create_shop, migrate_shop


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return str(path)


def run(*args, code=0):
    result = CliRunner().invoke(main, [str(arg) for arg in args])
    assert result.exit_code == code, result.output
    return result.output


def told(*args):
    return json.loads(run(*args, "--json"))


def test_rail_tells_lost_weight_in_money_and_the_draw_price(db):
    """Eight pieces hang on Tuesday; the hindquarter lost 5.8 lb to air."""
    pieces = {one["tag"]: one for one in told("rail", "--db", db)["pieces"]}
    assert len(pieces) == 8
    assert pieces["B-41H"]["lost_money"] == "24.78"
    assert Decimal(pieces["B-41H"]["draw_price"]) > 5
    assert pieces["L-209"]["bookings"] == ["H3"]
    assert "B-41H" in run("rail", "--db", db)


def test_stock_goes_back_to_any_moment(db):
    """At nine on Monday the forequarter was half way under the knife."""
    lines = told("stock", "--db", db, "--at", "2026-06-08T09:00:00")["stock"]
    found = {(one["lot"], one["place"]): one["weight_lb"] for one in lines}
    assert found["B-41F", "block"] == "130.700"
    assert ("B-41F.04", "case") not in found
    assert "B-41H" in run("stock", "--db", db)


def test_trace_leads_from_a_pack_to_its_farm_and_sisters(db):
    """A lot, and every lot of a booking."""
    (one,) = told("trace", "B-41F.03", "--db", db)["traces"]
    assert (one["origins"][0]["tag"], one["origins"][0]["farm"]) == ("B-41", "Upper Nimmock")
    assert len(one["sisters"]) == 9
    assert {trace["lot"] for trace in told("trace", "H8", "--db", db)["traces"]} == {"B-41F.03"}
    assert "Upper Nimmock" in run("trace", "B-41F.03", "--db", db)
    assert "There is no lot" in run("trace", "X", "--db", db, code=1)


def test_flow_accounts_for_every_pound_of_an_animal(db):
    """What left each node is what came into it, and the animal is 326 lb."""
    found = told("flow", "B-41F", "--db", db)
    assert found["into_lb"] == "326.000"
    sources = {one["source"] for one in found["links"]}
    ends = [one for one in found["links"] if one["target"] not in sources]
    assert sum(Decimal(one["weight_lb"]) for one in ends) == 326
    assert told("flow", "--day", "2026-06-08", "--db", db)["into_lb"] == "461.200"
    assert told("flow", "--week", "2026-06-08", "--db", db)["into_lb"] == "461.200"
    assert "loss and drip" in run("flow", "B-41F", "--db", db)
    run("flow", "--db", db, code=2)
    run("flow", "B-41F", "--day", "2026-06-08", "--db", db, code=2)


def test_check_is_clean_on_the_demo(db):
    """Exit 0 and one sentence."""
    assert "add up" in run("check", "--db", db)
    assert told("check", "--db", db) == {"ok": True, "found": []}


def test_a_new_shop_is_empty_and_never_written_over(tmp_path):
    """The same file is refused a second time."""
    path = tmp_path / "ours.db"
    args = ("new", "--db", path, "--name", "Our shop", "--person", "Ann", "--unit", "kg")
    assert "collop serve" in run(*args)
    assert told("rail", "--db", path)["pieces"] == []
    assert "exists already" in run(*args, code=1)


def test_an_older_shop_is_brought_up_and_a_copy_is_kept(tmp_path):
    """The step before is refused by every command but this one, which says how."""
    path = tmp_path / "old.db"
    create_shop(f"sqlite:///{path}", settings=Settings("Old")).close()
    migrate_shop(f"sqlite:///{path}", "0003")
    assert "collop migrate" in run("rail", "--db", path, code=1)
    assert "has the form of this version" in run("migrate", "--db", path)
    assert told("rail", "--db", path)["pieces"] == []
    assert list(tmp_path.glob("old.db.before-*"))
    assert "There is no shop" in run("migrate", "--db", tmp_path / "none.db", code=1)


def test_a_port_that_is_taken_is_one_sentence_and_makes_no_shop(tmp_path):
    """Nothing is left behind."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        said = run("serve", "--db", tmp_path / "x.db", "--port", port, code=1)
    assert "choose another with --port" in said
    assert not (tmp_path / "x.db").exists()


def test_the_demo_begins_on_monday_if_asked(tmp_path):
    """On the breaking day nine pieces hang."""
    path = tmp_path / "monday.db"
    create_shop(f"sqlite:///{path}", demo=True, day="monday").close()
    assert len(told("rail", "--db", path)["pieces"]) == 9
