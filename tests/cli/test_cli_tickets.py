"""Tickets in the terminal: told, printed to a file, refused in one sentence."""

from __future__ import annotations

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


def run(db, *args, code=0):
    result = CliRunner().invoke(main, ["tickets", "--db", db, *args])
    assert result.exit_code == code, result.output
    return result.output


PACK = ("print", "C02", "--lot", "C02-0609", "--gross", "4.87", "--tare", "vacuum bag", "--by",
        "Ines")  # fmt: skip


def test_tickets_are_told_by_day_lot_and_booking(db):
    """One line for each; the void one says why; a day without any says so."""
    assert run(db) == "No tickets.\n"
    day = run(db, "--day", "2026-06-08").splitlines()
    assert len(day) == 18
    assert day[5].endswith("VOID: weighed with its tray and no tare taken")
    assert [line[:3] for line in run(db, "--lot", "B-41F.05").splitlines()] == ["T4 ", "T5 "]
    told = json.loads(run(db, "--booking", "H2", "--json"))["tickets"]
    assert [one["ticket"] for one in told] == ["T17", "T18"]
    assert told[0]["total"] == "38.40"
    assert told[0]["booking_line"] == "H2-2"


def test_a_ticket_is_printed_to_a_file(db, tmp_path):
    """A PDF file in one, pictures one for each label; both are kept with their numbers."""
    page, picture = tmp_path / "t.pdf", tmp_path / "t.png"
    said = run(db, *PACK, "--out", str(page))
    assert said.startswith("T19 ")
    assert said.endswith(f"Written: {page}\n")
    assert page.read_bytes().startswith(b"%PDF")
    told = json.loads(run(db, *PACK, "--out", str(picture), "--json"))
    assert (told["ticket"], told["net"], told["total"]) == ("T20", "4.850", "40.74")
    assert told["written"] == [str(picture), str(tmp_path / "t-2.png")]
    assert (tmp_path / "t-2.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("args", "said"),
    [(("--day", "yesterday"), "is no day"), (("--day", "2026-06-08", "--lot", "x"), "not for both"),
     (("--booking", "H99"), "no booking H99"),
     (("print", "C02", "--by", "Ines", "--out", "t.pdf"), "for want of weight, lot and tare"),
     ((*PACK, "--out", "t.txt"), "neither a .pdf nor a .png"),
     ((*PACK, "--out", "none/t.pdf"), "no such folder"),
     ((*PACK, "--form", "10x10", "--out", "t.pdf"), "10x10"),
     ((*PACK, "--code", "x", "--out", "t.pdf"), "use one of"),
     (("print", "C99", "--by", "Ines", "--out", "t.pdf"), "no case line"),
     (("print", "C02", "--by", "Nobody", "--out", "t.pdf"), "Nobody called")],
)  # fmt: skip
def test_what_cannot_be_is_one_sentence(db, args, said):
    """Exit 1, one sentence, no traceback, nothing kept."""
    text = run(db, *args, code=1)
    assert said in text
    assert text.count("\n") == 1
    assert run(db) == "No tickets.\n"
