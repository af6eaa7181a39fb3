"""``collop barcode``: the contract's JSON, lines for people, refusals, and the picture."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
import zxingcpp
from click.testing import CliRunner
from PIL import Image

from collop.cli import main

PACK = "(01)90614141000015(3202)000244(3922)1584"


def run(*args, text=None):
    return CliRunner().invoke(main, ["barcode", *args], input=text)


def told(*args, text=None):
    done = run(*args, "--json", text=text)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_the_contract_of_check_digit_and_verifier():
    """The keys and values of the contract, and nothing beside."""
    assert told("check-digit", "629104150021") == {"check_digit": "3", "full": "6291041500213"}
    assert told("verifier", "2875") == {"verifier": "9"}
    assert told("verifier", "14685") == {"verifier": "6"}


def test_the_contract_of_decode():
    """Identifier, value and words of each element, in order; GS1 engine's string (GS1ENG, seen)."""
    assert told("decode", "0109520123456788310300019539220299") == {
        "valid": True,
        "elements": [
            {"ai": "01", "value": "09520123456788", "decoded": "09520123456788"},
            {"ai": "3103", "value": "000195", "decoded": "0.195 kg"},
            {"ai": "3922", "value": "0299", "decoded": "2.99"},
        ],
    }


def test_the_contract_of_encode():
    """A mapping on standard input, both forms out; the separator is the sign itself."""
    given = {"01": "90614141000015", "3202": "000137", "10": "L1", "21": "7"}
    assert told("encode", text=json.dumps(given)) == {
        "element_string": "(01)90614141000015(3202)000137(10)L1(21)7",
        "transmitted": "0190614141000015320200013710L1\x1d217",
    }


def test_encode_reads_a_file_too(tmp_path):
    """A file's name in place of standard input."""
    file = tmp_path / "code.json"
    file.write_text('{"01": "90614141000015"}', encoding="utf-8")
    assert told("encode", str(file))["transmitted"] == "0190614141000015"


@pytest.mark.parametrize(
    ("args", "text", "reason"),
    [
        (["check-digit", "12"], None, "it must have 7 to 17"),
        (["verifier", "123"], None, "it must have 4 to 5"),
        (["decode", "(01)90614141000014"], None, "its check digit must be 5"),
        (["decode", "(3202)000244"], None, "(3202) must come with (01) or (02)"),
        (["encode"], "[]", "one JSON object"),
        (["encode"], "{}", "nothing to encode"),
        (["encode"], '{"01": 5}', "text in quotes"),
        (["encode", "/no/such/file"], None, "cannot be read"),
        (["read", "200101704990"], None, "its check digit must be"),
        (["read", "200101804990", "--place", "x"], None, "is no place known here"),
        (["draw", "upc-a", "20010180499", "--out", "x.png"], None, "it is 200101804990"),
        (["draw", "qr", "T12", "--out", "/no/such/place/x.png"], None, "cannot be written"),
        (["draw", "qr", "T12", "--out", "x.png", "--dots", "99"], None, "1 to 20 dots"),
    ],
)  # fmt: skip
def test_a_refusal_is_one_sentence_and_exit_1(args, text, reason):
    """On standard error in words, as an object with --json, and no traceback."""
    done = run(*args, text=text)
    assert done.exit_code == 1
    assert reason in done.stderr
    assert done.stderr.count("\n") == 1
    done = run(*args, "--json", text=text)
    assert done.exit_code == 1
    assert reason in json.loads(done.stdout)["error"]["message"]


def test_people_get_lines_to_read():
    """Short lines; what is from memory says so; the separator is written {GS}."""
    assert run("check-digit", "03600029145").stdout == "check digit 2, whole number 036000291452\n"
    assert run("verifier", "2875").stdout == "verifier 9\n"
    assert "net weight, lb: 2.44 lb" in run("decode", PACK).stdout
    assert "from memory, not checked" in run("decode", "(91)X").stdout
    assert "from memory" not in run("decode", PACK).stdout
    given = '{"01": "90614141000015", "10": "L1", "21": "7"}'
    assert "019061414100001510L1{GS}217" in run("encode", text=given).stdout
    lines = run("read", "200101804990").stdout
    assert "item: 00101 (from memory, not checked)" in lines


def test_the_worked_pair_of_the_document_is_true():
    """docs/examples/barcode.json runs into barcode.plan.json."""
    examples = Path(__file__).parents[2] / "docs/examples"
    plan = json.loads((examples / "barcode.plan.json").read_text(encoding="utf-8"))
    assert told("encode", str(examples / "barcode.json")) == plan


def test_the_separator_may_be_typed():
    """{GS} stands for it on the command line."""
    found = told("decode", "019061414100001510L1{GS}217")["elements"]
    assert [one["value"] for one in found] == ["90614141000015", "L1", "7"]


def test_read_tells_any_code():
    """A pack of another place, with the status of the rule it was read by."""
    assert told("read", "2011122912346", "--place", "gb") == {
        "valid": True,
        "kind": "weighed pack (gb)",
        "facts": [
            {"name": "item", "value": "11122", "code": "11122", "status": "seen"},
            {"name": "price", "value": "12.34", "code": "1234", "status": "seen"},
        ],
    }


@pytest.mark.parametrize(
    ("kind", "data", "text"),
    [("upc-a", "200101804990", "0200101804990"), ("databar-expanded-stacked", PACK, PACK),
     ("gs1-datamatrix", PACK, PACK), ("qr", "T12 L-208.01", "T12 L-208.01")],
)  # fmt: skip
def test_a_drawn_code_is_read_back(tmp_path, kind, data, text):
    """The file written is a picture that zxing-cpp reads, of the size told."""
    file = tmp_path / "code.png"
    size = told("draw", kind, data, "--out", str(file), "--dots", "2", "--dpi", "203")["dots"]
    with Image.open(file) as picture:
        assert picture.size == (size["width"], size["height"])
        assert round(picture.info["dpi"][0]) == 203
        (found,) = zxingcpp.read_barcodes(picture.convert("L"))
    assert found.text == text


def test_columns_change_the_width(tmp_path):
    """A stack of four columns is wider than one of two."""
    file = str(tmp_path / "code.png")
    two = told("draw", "databar-expanded-stacked", PACK, "--out", file)["dots"]
    four = told("draw", "databar-expanded-stacked", PACK, "--out", file, "--columns", "4")["dots"]
    assert four["width"] > two["width"]
    assert four["height"] < two["height"]


def test_the_command_loads_its_maker_late():
    """Importing the command line loads neither the tables nor the maker of bar codes."""
    code = (
        "import sys, collop.cli\n"
        "late = {'zint', 'collop.ticket.symbols', 'collop.ticket.identifiers'}\n"
        "heavy = late & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_plain_number_is_told_where_to_be_read():
    """A price code is no element string: the sentence names the command that reads it."""
    done = run("decode", "200107238102")
    assert done.exit_code == 1
    assert "collop barcode read" in done.output
    assert told("read", "2 00101 80499 0")["facts"][1]["value"] == "4.99"
