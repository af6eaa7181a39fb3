"""``collop papers``, ``export``, ``import``: whole files, and one sentence for what is wrong."""

from __future__ import annotations

import json

import pypdfium2
import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import StillClock, create_shop


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    path = tmp_path_factory.mktemp("papers") / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()).close()
    return str(path)


def run(*args, **more):
    """Run the command; return its exit code and what it said."""
    done = CliRunner().invoke(main, [*args], catch_exceptions=False, **more)
    return done.exit_code, done.output


def test_the_set_is_written_and_its_sheets_are_told(demo, tmp_path):
    """A PDF with as many pages as sheets are told; one sheet alone; as JSON."""
    to = tmp_path / "papers.pdf"
    code, said = run("papers", "--db", demo, "--pdf", str(to), "--paper", "a4")
    assert code == 0
    pdf = pypdfium2.PdfDocument(to.read_bytes())
    assert len(pdf) == said.count("P-0609-")
    pdf.close()
    code, said = run("papers", "--db", demo, "--sheet", "sales", "--json")
    told = json.loads(said)
    assert told["sheets"] == ["P-0609-S1", "P-0609-S2", "P-0609-S3"]
    assert [one.name for one in tmp_path.iterdir()] == ["papers.pdf"]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("papers", "--day", "x"), "is no day"),
        (("papers", "--day", "2026-01-01"), "Papers are printed"),
        (("papers", "--pdf", "/no/such/folder/x.pdf"), "cannot be written"),
        (("export",), "Give the file"),
        (("import", "/no/such.zip"), "cannot be read"),
        (("import", "--list", "board", "/no/such.csv"), "cannot be read"),
    ],
)
def test_what_is_wrong_is_one_sentence(demo, args, said):
    """Exit 1, no traceback."""
    code, output = run(args[0], "--db", demo, *args[1:])
    assert code == 1
    assert said in output
    assert "Traceback" not in output


def test_everything_goes_out_and_a_copy_is_made(demo, tmp_path):
    """Export, import, export again: the same bytes; a second import is refused."""
    first, copy, second = (str(tmp_path / name) for name in ("a.zip", "copy.db", "b.zip"))
    assert run("export", "--db", demo, "--to", first)[0] == 0
    code, said = run("import", first, "--db", copy, "--json")
    assert code == 0
    assert json.loads(said)["rows"]["people"] == 4
    assert run("export", "--db", copy, "--to", second)[0] == 0
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()
    code, said = run("import", first, "--db", copy)
    assert code == 1
    assert "exists already" in said
    assert run("check", "--db", copy)[0] == 0


def test_a_list_is_tried_then_written_and_goes_out_again(demo, tmp_path):
    """From a file and from standard input; without --write nothing changes."""
    sheet = tmp_path / "board.csv"
    sheet.write_text("name,price\nBeef rump,16.80\n", encoding="utf-8")
    code, said = run("import", "--list", "board", str(sheet), "--db", demo, "--by", "ines")
    assert code == 0
    assert "1 price change, nothing else. Only tried; --write does it." in said
    assert "16.80" not in run("export", "--db", demo, "--list", "board")[1]
    code, said = run("import", "--list", "board", "-", "--db", demo, "--by", "ines", "--write",
                     "--json", input=sheet.read_bytes())  # fmt: skip
    assert json.loads(said)["changes"][0]["words"] == "16.40 a lb to 16.80 a lb"
    assert "16.80" in run("export", "--db", demo, "--list", "board")[1]
    code, said = run("import", "--list", "board", str(sheet), "--db", demo)
    assert code == 1
    assert "works here" in said
