"""After a release: what came back, its value, until when, and the moves; page and command."""

from __future__ import annotations

import json
from datetime import datetime

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.measures import Weight, WeightUnit

THURSDAY = datetime(2026, 6, 11, 17, 0)  # noqa: DTZ001 -- shop-local


def lb(amount):
    return Weight.of(amount, WeightUnit.LB)


@pytest.fixture
def off(shop, clock):
    """Return the shop with two legs boned and the wedding off."""
    clock.put(THURSDAY)
    shop.pickup.work("H1-1", lb("13.0"), lb("9.36"), words="boned and tied", by="marek", key="b")
    shop.release("H1", by="ines", key="off", why="the wedding is off")
    return shop


def test_the_slip_leads_to_the_moves(client, off, words, read_page):
    """356.39 to re-home by Sat 18:00, three lines of meat, and the deposit by the rule."""
    assert "/hook/H1/re-home" in read_page(client.get("/hook/H1").text).links
    answer = client.get("/hook/H1/re-home")
    text = words(answer.text)
    assert "356.39 of meat at the board to re-home by Sat 18:00." in text
    for name in ("Lamb leg, bone in 13.00 lb", "Lamb leg, boned and tied 9.36 lb",
                 "Chicken, whole 12.30 lb"):  # fmt: skip
        assert f"{name} came back" in text
    assert off.money.on_release("H1").words in text
    assert "common practice, no published source" in text
    assert text.index("In front of the case") < text.index("Freeze as portions")
    assert read_page(answer.text).inline == []


def test_a_booking_that_stands_is_told_to_be_released_first(client, words):
    """No moves for what is still promised."""
    answer = client.get("/hook/H1/re-home")
    assert answer.status_code == 409
    assert "release it first" in words(answer.text)


def test_undone_the_boned_legs_hang_on_the_slip_again(client, off, words):
    """Undo on the slip promises the very same lots."""
    was = off.booking("H1").lines[0]
    assert not was.held
    form = {"by": "ines", "key": "u"}
    assert client.post("/hook/H1/undo", data=form).status_code == 303
    assert off.booking("H1").lines[0].held == lb("22.36")
    assert off.check() == []


def test_the_command_tells_the_same(off, tmp_path):
    """`collop rehome` and `collop pickup` print what the page shows, and JSON of it."""
    path = str(tmp_path / "shop.db")
    told = CliRunner().invoke(main, ["rehome", "H1", "--db", path, "--json"])
    assert told.exit_code == 0, told.output
    found = json.loads(told.output)
    assert (found["value"], found["deposit"]["paid"]) == ("356.39", "100.00")
    assert [one["name"] for one in found["items"]][:2] == [
        "Lamb leg, bone in", "Lamb leg, boned and tied",
    ]  # fmt: skip
    assert all(isinstance(move["money"], str) for one in found["items"] for move in one["moves"])
    plain = CliRunner().invoke(main, ["rehome", "H1", "--db", path])
    assert "356.39 of meat at the board" in plain.output
    off.pickup.weigh("H8-1", lb("4.15"), "drip", by="dot", key="w")
    told = CliRunner().invoke(main, ["pickup", "H8", "--db", path, "--json"])
    found = json.loads(told.output)
    assert (found["total"], found["due"], found["rounding"]) == ("36.94", "16.94", "half up")
    assert found["lines"][0]["half_cent"].startswith("36.935 is an exact half cent")
    assert [way["what"] for way in found["lines"][0]["ways"]] == [
        "take", "top up", "swap", "left out",
    ]  # fmt: skip
    plain = CliRunner().invoke(main, ["pickup", "H8", "--db", path])
    assert "Six still get 6.9 oz instead of 8.3" in plain.output
    told = CliRunner().invoke(main, ["rehome", "H8", "--db", path])
    assert (told.exit_code, "release it first" in told.output) == (1, True)
