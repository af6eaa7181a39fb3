"""Changing a setting of prices: validated, all or none, and kept with who, when and why."""

from __future__ import annotations

from datetime import time
from decimal import Decimal

import pytest
from by_hand import REFUSES, past_guards, raw

from collop.errors import BadValue, NotFound, StorageTrouble
from collop.measures import WeightUnit
from collop.shop import Settings, create_shop, open_shop


def test_a_shop_of_before_has_the_starting_figures(url):
    """Where no such row was ever written, the starting figures count."""
    names = ("target_margin", "labour_per_hour", "price_jump", "price_endings", "price_step",
             "worths", "moves_from", "price_cap")  # fmt: skip
    past_guards(url, *(("DELETE FROM settings WHERE name = ?", (name,)) for name in names))
    with open_shop(url) as shop:
        found, usual = shop.settings(), Settings("x")
        assert {name: getattr(found, name) for name in names} == {
            name: getattr(usual, name) for name in names
        }
        shop.change_settings({"price_cap": "1.5"}, by="ines", why="scarce week", key="k")
        assert shop.settings().price_cap == Decimal("1.5")


def test_what_is_changed_is_there_and_told(shop, clock):
    """All kinds of settings at once; each is told with its old value, person, time and reason."""
    changes = {
        "target_margin": "0.4", "labour_per_hour": Decimal("26.50"), "price_jump": "0.2",
        "price_endings": ["0.99", "0.49"], "price_step": "0.1", "moves_from": "15:30",
        "price_cap": 2, "quote_hold_minutes": "90", "worths": {"fat": "0.45"},
    }  # fmt: skip
    found = shop.change_settings(changes, by="Ines", why="spring prices", key="k")
    assert found == shop.settings()
    assert (found.target_margin, found.labour_per_hour) == (Decimal("0.4"), Decimal("26.5"))
    assert found.price_endings == (Decimal("0.49"), Decimal("0.99"))
    assert (found.moves_from, found.quote_hold_minutes) == (time(15, 30), 90)
    assert (found.worths["fat"], found.worths["trim"]) == (Decimal("0.45"), Decimal(3))
    told = {one.name: one for one in shop.setting_changes()}
    assert set(told) == set(changes)
    assert (told["price_jump"].before, told["price_jump"].value) == ("0.15", "0.2")
    assert {(one.by, one.at, one.why) for one in told.values()} == {
        ("ines", clock.now(), "spring prices")
    }


def test_a_setting_that_stays_is_not_told(shop):
    """0.350 is 0.35."""
    shop.change_settings({"target_margin": "0.350"}, by="ines", why="no change", key="k")
    assert shop.setting_changes() == ()


def test_the_same_change_sent_twice_is_made_once(shop):
    """One key, one act."""
    for _ in range(2):
        shop.change_settings({"price_cap": "2"}, by="ines", why="scarce", key="k")
    assert len(shop.setting_changes()) == 1
    with pytest.raises(BadValue, match="another request"):
        shop.change_settings({"price_cap": "3"}, by="ines", why="scarce", key="k")


REFUSED = [
    ("target_margin", "1"), ("target_margin", "-0.1"), ("target_margin", 0.35),
    ("target_margin", "NaN"), ("target_margin", "1e-999999"), ("target_margin", "9" * 5_000),
    ("target_margin", None), ("target_margin", True), ("labour_per_hour", "-1"),
    ("labour_per_hour", "1e9"), ("labour_per_hour", []), ("price_jump", "11"),
    ("price_endings", "0.99"), ("price_endings", ["1.00"]), ("price_endings", ["0.1"] * 21),
    ("price_endings", 7), ("price_endings", [None]), ("price_step", "0"),
    ("price_step", "0.0000001"), ("worths", {"hide": "1"}), ("worths", {"fat": "-1"}),
    ("worths", ["fat"]), ("worths", {("fat",): "1"}), ("moves_from", "teatime"),
    ("moves_from", 16), ("moves_from", "16:00+02:00"), ("price_cap", "0.9"),
    ("quote_hold_minutes", 0), ("quote_hold_minutes", "9" * 5_000), ("quote_hold_minutes", 1.5),
    ("quote_hold_minutes", "²"), ("currency", "EUR"), ("", "x"), (7, "x"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), REFUSED, ids=lambda one: str(one)[:24])
def test_a_value_out_of_range_changes_nothing(shop, name, value):
    """One sentence, and neither it nor the good change beside it is written."""
    before = shop.settings()
    with pytest.raises(BadValue) as refused:
        shop.change_settings({"price_cap": "2", name: value}, by="ines", why="try", key="k")
    assert len(str(refused.value)) < 300
    assert str(refused.value).endswith(".")
    assert shop.settings() == before
    assert shop.setting_changes() == ()


def test_a_change_needs_a_reason_a_person_and_something_to_change(shop):
    """Without these nothing is written."""
    with pytest.raises(BadValue, match="Say why"):
        shop.change_settings({"price_cap": "2"}, by="ines", why=" ", key="k")
    with pytest.raises(BadValue, match="at least one"):
        shop.change_settings({}, by="ines", why="x", key="k")
    with pytest.raises(NotFound, match="works here"):
        shop.change_settings({"price_cap": "2"}, by="zoe", why="x", key="k")
    assert shop.setting_changes() == ()


def test_what_was_changed_is_never_edited(url, shop):
    """The database itself refuses it."""
    shop.change_settings({"price_cap": "2"}, by="ines", why="scarce", key="k")
    for verb in ("UPDATE setting_changes SET why = 'x'", "DELETE FROM setting_changes"):
        with (
            raw(url) as hand,
            pytest.raises(REFUSES, match="never edited"),
        ):
            hand.execute(verb)


def test_a_new_shop_brings_its_own_figures(new_url):
    """A shop in kilograms begins with what its owner says, and a bad figure makes no shop."""
    own = Settings("Ours", currency="EUR", legal_unit=WeightUnit.KG, target_margin=Decimal("0.3"),
                   price_endings=(Decimal("0.90"),), worths={"trim": Decimal("6.5")})  # fmt: skip
    with create_shop(new_url(), settings=own) as shop:
        found = shop.settings()
    assert (found.target_margin, found.price_endings) == (Decimal("0.3"), (Decimal("0.9"),))
    assert found.worths == {"trim": Decimal("6.5")}
    bad = new_url()
    with pytest.raises(BadValue, match="Margin"):
        create_shop(bad, settings=Settings("B", target_margin=Decimal(2)))
    with pytest.raises(StorageTrouble, match="no shop"):
        open_shop(bad)
