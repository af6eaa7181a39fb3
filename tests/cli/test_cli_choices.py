"""The pricing choices in the terminal."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import create_shop, open_shop


@pytest.fixture
def db(tmp_path):
    path = tmp_path / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return str(path)


@pytest.fixture
def changed(db):
    with open_shop(f"sqlite:///{db}") as shop:
        shop.change_settings(
            {"target_margin": "0.38", "worths": {"fat": "0.45"}, "price_endings": ["0.99", "0.5"]},
            by="ines", why="spring figures", key="k",
        )  # fmt: skip
    return db


def run(*args, code=0):
    result = CliRunner().invoke(main, [str(arg) for arg in args])
    assert result.exit_code == code, result.output
    return result.output


def told(*args):
    return json.loads(run(*args, "--json"))


def test_a_new_shop_tells_the_figures_it_began_with(db):
    """Every choice, with its unit and meaning; nobody changed any."""
    answer = told("choices", "--db", db)
    assert (answer["currency"], answer["unit"], answer["changes"]) == ("USD", "lb", [])
    values = {one["name"]: one["value"] for one in answer["choices"]}
    assert values == {
        "target_margin": 0.35, "price_jump": 0.15, "price_cap": 1.25, "price_step": "0.05",
        "price_endings": [], "labour_per_hour": "24", "worths.trim": "3", "worths.fat": "0.3",
        "worths.bone": "0.2", "worths.fat_bone": "0", "worths.scrap": "0",
        "moves_from": "16:00:00", "quote_hold_minutes": 60, "tax_classes": [],
        "tax_per": "invoice", "cash_rounding": "off", "over_share": 0.1,
        "deposit_hours": 48, "deposit_kept": 0.5, "deposit_words": "",
    }  # fmt: skip
    assert {one["since"] for one in answer["choices"]} == {None}
    text = run("choices", "--db", db)
    assert "Target margin, per cent of sales: 35 %" in text
    assert "Fat and bone together, USD a lb: 0.00 a lb" in text
    assert "As it began." in text
    # the cap holds what is cleared, not the board of an animal, and its words say so
    cap = "Prices that clear what hangs stay under it; the board of an animal has no cap."
    assert cap in text
    assert run("choices", "--db", db, "--history") == "Nothing was changed yet.\n"


def test_a_change_is_told_with_who_and_why(changed):
    """The last one beside its figure, all of them as the history."""
    answer = told("choices", "--db", changed)
    one = {one["name"]: one for one in answer["choices"]}
    assert (one["target_margin"]["value"], one["target_margin"]["by"]) == (0.38, "ines")
    assert one["price_endings"]["value"] == ["0.5", "0.99"]
    assert one["worths.trim"]["since"] is None
    assert [(c["name"], c["before"], c["value"], c["why"]) for c in answer["changes"]] == [
        ("target_margin", 0.35, 0.38, "spring figures"),
        ("worths.fat", "0.3", "0.45", "spring figures"),
        ("price_endings", [], ["0.5", "0.99"], "spring figures"),
    ]
    assert "ines: spring figures" in run("choices", "--db", changed)
    history = run("choices", "--db", changed, "--history")
    assert "target_margin: 35 % -> 38 %  ines  spring figures" in history
    assert "price_endings: none -> 0.50, 0.99" in history


def test_a_shop_that_is_not_there_is_told_in_one_sentence(tmp_path):
    """No traceback."""
    assert "There is no shop" in run("choices", "--db", tmp_path / "no.db", code=1)
    error = json.loads(run("choices", "--db", tmp_path / "no.db", "--json", code=1))
    assert error["error"]["message"]
