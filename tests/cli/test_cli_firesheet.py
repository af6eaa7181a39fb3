"""A booking's fire sheet in the terminal."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import create_shop


@pytest.fixture(scope="module")
def db(tmp_path_factory):
    path = tmp_path_factory.mktemp("cli") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return str(path)


def run(*args, code=0):
    result = CliRunner().invoke(main, [str(arg) for arg in args])
    assert result.exit_code == code, result.output
    return result.output


def test_the_sheet_in_words(db):
    """Collection, meal, don't-eats and what was assumed."""
    text = run("firesheet", "H2", "--db", db)
    assert text.startswith("H2, collected Fri 12 Jun, 16:00\nRowing-club cookout\n")
    assert "Chicken, whole" in text
    assert "sesame" in text


def test_the_sheet_as_json(db):
    """Problem and plan, and the path of its page; asked twice it is the same."""
    told = json.loads(run("firesheet", "H2", "--db", db, "--json"))
    assert told["problem"]["schema"] == "collop.fire/1"
    assert told["plan"]["schema"] == "collop.fire.plan/1"
    assert told["path"].startswith("/fire/")
    assert told == json.loads(run("firesheet", "H2", "--db", db, "--json"))


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_sheet_as_a_page(db, tmp_path, paper):
    """One PDF file, the same bytes each time."""
    first, second = tmp_path / "a.pdf", tmp_path / "b.pdf"
    for file in (first, second):
        said = run("firesheet", "H2", "--db", db, "--pdf", file, "--paper", paper, "--site",
                   "https://shop.example/")  # fmt: skip
        assert said == f"Written: {file}\n"
    assert first.read_bytes().startswith(b"%PDF-")
    assert first.read_bytes() == second.read_bytes()


@pytest.mark.parametrize(
    ("booking", "said"),
    [("H99", "no booking"), ("H3", "nothing that goes on a fire"), ("x", "no booking")],
)
def test_what_has_no_sheet_is_told_in_one_sentence(db, booking, said):
    """Exit 1, one sentence, no traceback; as JSON with --json."""
    assert said in run("firesheet", booking, "--db", db, code=1)
    assert said in json.loads(run("firesheet", booking, "--db", db, "--json", code=1))["error"][
        "message"
    ]  # fmt: skip


def test_a_page_that_cannot_be_written_is_told(db, tmp_path):
    """The name is named."""
    said = run("firesheet", "H2", "--db", db, "--pdf", tmp_path / "none" / "a.pdf", code=1)
    assert "cannot be written" in said
