"""docs/costs.md tells what the commands print, and the figures settings begin with."""

from __future__ import annotations

import re
from pathlib import Path

from click.testing import CliRunner

from collop.cli import main
from collop.shop import Settings, create_shop
from collop.shop.pricing_choices import CHANGEABLE

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "costs.md").read_text(encoding="utf-8")


def test_the_worked_lines_are_those_of_the_command(tmp_path):
    """Each printed line of the demo in docs/costs.md is one of `collop costs`."""
    db = tmp_path / "demo.db"
    create_shop(f"sqlite:///{db}", demo=True).close()
    said = CliRunner().invoke(main, ["costs", "--db", str(db)]).output.splitlines()
    lines = re.findall(r"^    ((?:B-41|Cost not).*)$", TEXT, re.MULTILINE)
    assert len(lines) == 5
    assert set(lines) <= set(said)


def test_every_setting_stands_with_what_it_begins_at():
    """The table names each setting that may be changed and its starting figure."""
    usual = Settings("x")
    rows = dict(re.findall(r"^\| `(\w+)` \| ([^|]+) \|", TEXT, re.MULTILINE))
    assert set(rows) >= set(CHANGEABLE)
    for name in ("target_margin", "labour_per_hour", "price_jump", "price_step", "price_cap",
                 "quote_hold_minutes"):  # fmt: skip
        assert rows[name].strip() == str(getattr(usual, name))
    assert rows["moves_from"].strip() == f"{usual.moves_from:%H:%M}"
    assert rows["price_endings"].strip() == "none"
    assert usual.price_endings == ()
    for kind in ("trim", "fat", "bone"):
        assert f"{kind} {usual.worths[kind]:.2f}" in rows["worths"]
    assert usual.worths["fat_bone"] == usual.worths["scrap"] == 0


def test_every_key_of_a_cost_is_described():
    """The keys of `collop costs --json` that carry money stand in the table."""
    for key in ("cost", "cost_per_unit", "invoice", "haulage", "labour", "credit", "shrink",
                "unknown", "notes"):  # fmt: skip
        assert f"`{key}`" in TEXT
