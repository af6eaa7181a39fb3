"""What docs/sell.md and docs/takings.md say is what the product does."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from click.testing import CliRunner

from collop.cli import main
from collop.shop import create_shop, open_shop
from collop.shop.selling_model import Takings

DOCS = Path(__file__).parents[2] / "docs"


def test_every_command_of_the_documents_runs(tmp_path, monkeypatch):
    """The commands run as written, one after the other, on one demo shop."""
    monkeypatch.chdir(tmp_path)
    create_shop("sqlite:///demo.db", demo=True).close()
    for name in ("sell.md", "takings.md"):
        text = (DOCS / name).read_text(encoding="utf-8")
        commands = re.findall(r"^    collop (.+--db demo\.db)$", text, re.MULTILINE)
        assert len(commands) >= 3, name
        for command in commands:
            result = CliRunner().invoke(main, shlex.split(command))
            assert result.exit_code == 0, (command, result.output)
    with open_shop("sqlite:///demo.db") as shop:
        assert shop.check() == []


def test_the_python_of_the_document_runs(tmp_path, monkeypatch):
    """The example sells and takes back all of it: nothing is due, nothing was kept."""
    monkeypatch.chdir(tmp_path)
    create_shop("sqlite:///demo.db", demo=True).close()
    text = (DOCS / "sell.md").read_text(encoding="utf-8")
    code = text.split("## In Python\n\n")[1]
    exec("\n".join(line[4:] for line in code.splitlines()), {})  # noqa: S102 -- our own document
    with open_shop("sqlite:///demo.db") as shop:
        found = shop.money.takings()
        assert isinstance(found, Takings)
        assert (str(found.lines), str(found.net)) == ("8.42", "0.00")


def test_the_starting_figures_are_those_of_a_new_shop(tmp_path):
    """Limit, hours and share of the documents are what a shop begins with."""
    with create_shop(f"sqlite:///{tmp_path}/demo.db", demo=True) as shop:
        chosen = shop.settings()
    text = (DOCS / "sell.md").read_text(encoding="utf-8")
    assert f"{(chosen.over_share * 100).normalize():f} % of\nwhat was asked" in text
    assert f"`deposit_hours` {chosen.deposit_hours}" in text
    assert f"`deposit_kept` {(chosen.deposit_kept * 100).normalize():f} %" in text
