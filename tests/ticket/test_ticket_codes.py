"""Bar codes as modules: every kind is read back by another maker's reader, whole dots only.

The reader is zxing-cpp, which shares no code with the maker; a second maker for QR is segno.
"""

from __future__ import annotations

import doctest
import io
import random
import string

import pytest
import segno
import zxingcpp
from drawn_codes import drawn, read
from PIL import Image

from collop.errors import BadValue
from collop.ticket import (
    digits,
    elements,
    elements_any,
    elements_making,
    elements_values,
    links,
    symbols,
    variable,
)
from collop.ticket.digits import full
from collop.ticket.elements import encode, variable_upc
from collop.ticket.symbols import GS1_KINDS, KINDS, columns_for, symbol_of
from collop.ticket.symbols_png import symbol_path, symbol_png

PACK = "(01)90614141000015(3202)000244(3922)1584"
LONG = f"{PACK}(17)260613(10)L-208.01(21)0007"
READ_AS = {"databar-expanded-stacked": "]e0", "gs1-128": "]C1", "gs1-datamatrix": "]d2",
           "datamatrix": "]d1", "gs1-qr": "]Q3", "qr": "]Q1"}  # fmt: skip


@pytest.mark.parametrize("dots", [2, 3, 4])
@pytest.mark.parametrize("kind", GS1_KINDS)
@pytest.mark.parametrize("data", [PACK, "(01)90614141000015(3103)000620(10)G1125A(21)0007"])
def test_gs1_kinds_are_read_back_as_the_same_line(kind, data, dots):
    """zxing-cpp reads the bracketed line we wrote, and the mark of a GS1 code, at each size."""
    assert read(symbol_of(kind, data), dots) == [(data, READ_AS[kind])]


@pytest.mark.parametrize("dots", [2, 3, 4])
def test_retail_numbers_are_read_back(dots):
    """zxing-cpp reads the 13 digits; a UPC-A is the same number with a zero before it."""
    assert read(symbol_of("upc-a", "200101804990"), dots) == [("0200101804990", "]E0")]
    assert read(symbol_of("ean-13", "2011122912346"), dots) == [("2011122912346", "]E0")]
    upc = zxingcpp.read_barcode(
        drawn(symbol_of("upc-a", "200101804990"), dots), formats=zxingcpp.BarcodeFormat.UPCA
    )
    assert (upc.format, upc.text) == (zxingcpp.BarcodeFormat.UPCA, "0200101804990")


@pytest.mark.parametrize("dots", [2, 3, 4])
@pytest.mark.parametrize("kind", ["datamatrix", "qr"])
@pytest.mark.parametrize(
    "data", ["T12", "T12 L-208.01", "https://shop.example/t/T12?a=1&b=2", "Käse, œufs, шин, 肉"]
)
def test_plain_text_is_read_back(kind, data, dots):
    """zxing-cpp reads the very text, also outside ASCII."""
    assert read(symbol_of(kind, data), dots) == [(data, READ_AS[kind])]


@pytest.mark.parametrize("columns", range(1, 11))
def test_a_stack_of_any_width_is_read_back(columns):
    """One to ten columns hold the same line; the width is that of the columns asked for."""
    code = symbol_of("databar-expanded-stacked", LONG, columns=columns)
    assert read(code, 2) == [(LONG, "]e0")]
    assert code.width <= 49 * columns + 4


@pytest.mark.parametrize("room", [55, 104, 231, 300, 5000])
def test_the_columns_chosen_fit_the_room(room):
    """The stack with its quiet zone is no wider than the room, and one column more would be."""
    columns = columns_for(room)
    assert 49 * columns + 6 <= room
    assert 49 * (columns + 1) + 6 > room or columns == 10


def test_too_little_room_for_a_stack_is_refused():
    """Under 55 modules there is no column."""
    with pytest.raises(BadValue, match="needs 55 modules"):
        columns_for(54)


def _random_item(luck):
    return full("9" + "".join(luck.choices(string.digits, k=12)))


def test_two_hundred_random_packs_are_read_back():
    """zxing-cpp reads all of 200 random packs in all GS1 kinds and UPC-A, 2 dots a module."""
    luck = random.Random(7)
    letters = string.ascii_letters + string.digits + "-./"
    for number in range(200):
        values = {
            "01": _random_item(luck),
            f"320{luck.randrange(4)}": f"{luck.randrange(1, 100_000):06d}",
            "3922": str(luck.randrange(1, 10**6)),
            "10": "".join(luck.choices(letters, k=luck.randint(1, 8))),
        }
        line = encode(values).element_string
        kind = GS1_KINDS[number % len(GS1_KINDS)]
        assert read(symbol_of(kind, line), 2) == [(line, READ_AS[kind])]
        upc = variable_upc(f"{luck.randrange(100_000):05d}", luck.randrange(1, 10_000))
        assert read(symbol_of("upc-a", upc), 2) == [(f"0{upc}", "]E0")]


def test_segno_makes_a_qr_that_says_the_same():
    """A second maker's QR of the same text and level is no smaller, and read as the same text."""
    for data in ("T12", "https://shop.example/01/09520123456788/10/ABC1", "x" * 300):
        ours = symbol_of("qr", data)
        theirs = segno.make(data, error="m", boost_error=False, micro=False)
        assert ours.width <= theirs.symbol_size(border=0)[0]
        buffer = io.BytesIO()
        theirs.save(buffer, kind="png", scale=3)
        buffer.seek(0)
        (other,) = zxingcpp.read_barcodes(Image.open(buffer).convert("L"))
        assert read(ours, 3) == [(other.text, "]Q1")]


@pytest.mark.parametrize(("kind", "zone"), [
    ("upc-a", (9, 0)), ("ean-13", (11, 0)), ("gs1-128", (10, 0)), ("gs1-qr", (4, 4)),
    ("qr", (4, 4)), ("datamatrix", (1, 1)), ("gs1-datamatrix", (1, 1)),
    ("databar-expanded-stacked", (1, 1)),
])  # fmt: skip
def test_quiet_zones(kind, zone):
    """From memory, not checked: GS1 General Specifications 5.2, light space in modules."""
    data = {"upc-a": "200101804990", "ean-13": "2011122912346"}.get(kind, PACK)
    assert symbol_of(kind, data).quiet == zone


@pytest.mark.parametrize("kind", KINDS)
def test_modules_are_whole_and_within_the_symbol(kind):
    """Rectangles of whole modules lie inside and nowhere cover each other; matrices are square."""
    data = {"upc-a": "200101804990", "ean-13": "2011122912346"}.get(kind, PACK)
    code = symbol_of(kind, data)
    cells = [
        (column, row)
        for x, y, width, height in code.bars
        for column in range(x, x + width)
        for row in range(y, y + height)
    ]
    assert len(cells) == len(set(cells))
    assert all(0 <= column < code.width and 0 <= row < code.height for column, row in cells)
    assert max(row for _, row in cells) == code.height - 1
    assert code.is_matrix == (kind in {"qr", "gs1-qr", "datamatrix", "gs1-datamatrix"})
    assert code.width == code.height or not code.is_matrix
    assert bool(code.text) != code.is_matrix


def test_guard_bars_reach_below_the_others():
    """In a retail number the bars at both ends and in the middle are 5 modules longer."""
    code = symbol_of("ean-13", "2011122912346")
    long = {x for x, _, _, height in code.bars if height == code.height}
    assert long == {0, 2, 46, 48, 92, 94}
    assert {height for _, _, _, height in code.bars} == {code.height, code.height - 5}


def test_the_line_under_the_bars():
    """Digits in groups for retail numbers, brackets for GS1 lines, nothing under a matrix."""
    assert symbol_of("upc-a", "200101804990").text == "2 00101 80499 0"
    assert symbol_of("ean-13", "2011122912346").text == "2 011122 912346"
    assert symbol_of("gs1-128", PACK).text == PACK
    assert symbol_of("gs1-qr", PACK).text == ""


def test_a_transmitted_line_is_as_good_as_a_bracketed_one():
    """What a scanner read can be drawn again."""
    sent = encode({"01": "90614141000015", "10": "A(1", "21": "7"})
    assert symbol_of("gs1-qr", sent.transmitted) == symbol_of("gs1-qr", sent.element_string)


@pytest.mark.parametrize(
    ("kind", "data", "reason"),
    [
        ("code-93", "1", "is no kind of bar code"),
        ("upc-a", "20010180499", "with its check digit it is 200101804990"),
        ("upc-a", "200101804991", "its check digit must be 0"),
        ("upc-a", "٢٠٠١٠١٨٠٤٩٩٠", "must be 12 digits and nothing else"),
        ("ean-13", "200101804990", "is a UPC-A; as an EAN-13 it is 0200101804990"),
        ("ean-13", "201112291234", "with its check digit it is 2011122912346"),
        ("ean-13", "12", "has 2 digits; it must have 13"),
        ("qr", "", "nothing to encode"),
        ("qr", None, "nothing to encode"),
        ("qr", "a\nb", "no control characters"),
        ("qr", "x" * 1201, "do not fit a bar code on a ticket"),
        ("datamatrix", "字" * 1100, "does not fit a datamatrix code"),
        ("gs1-128", "12", "is no identifier known here"),
        ("gs1-128", f"(01)90614141000015(10){'A' * 20}(21){'B' * 20}", "holds 48 characters"),
        ("databar-expanded-stacked",
         f"(01)90614141000015(10){'A' * 20}(21){'b' * 20}(251){'c' * 30}",
         "A DataBar Expanded has no room for (01)9"),
        ("gs1-qr", "(01)90614141000014", "its check digit must be 5"),
        ("gs1-qr", "(3202)000244", "must come with (01) or (02)"),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused_in_one_sentence(kind, data, reason):
    """The kind, the digits, the length and the line are checked before anything is drawn."""
    with pytest.raises(BadValue) as caught:
        symbol_of(kind, data)
    assert reason in caught.value.message
    assert len(caught.value.message) < 250


@pytest.mark.parametrize("columns", [0, 11, -1, True])
def test_columns_out_of_range_are_refused(columns):
    """A stack has one to ten columns."""
    with pytest.raises(BadValue, match="1 to 10 columns"):
        symbol_of("databar-expanded-stacked", PACK, columns=columns)


@pytest.mark.parametrize("dots", [1, 2, 3, 4, 7])
@pytest.mark.parametrize("kind", KINDS)
def test_the_picture_is_the_modules_in_whole_dots(kind, dots):
    """The PNG has one bit a dot, exact size, and dark dots only where a bar is."""
    data = {"upc-a": "200101804990", "ean-13": "2011122912346"}.get(kind, PACK)
    code = symbol_of(kind, data)
    picture = Image.open(io.BytesIO(symbol_png(code, dots, dpi=203)))
    side, above = code.quiet
    assert picture.mode == "1"
    assert picture.size == ((code.width + 2 * side) * dots, (code.height + 2 * above) * dots)
    assert [round(one) for one in picture.info["dpi"]] == [203, 203]
    dark = picture.convert("L").histogram()[0]
    assert dark == dots * dots * sum(width * height for _, _, width, height in code.bars)
    (found,) = zxingcpp.read_barcodes(picture.convert("L"))
    assert found.text in {code.data, f"0{code.data}"}


def test_a_picture_of_no_dots_is_refused():
    """A module is 1 to 20 dots wide."""
    for dots in (0, 21, True):
        with pytest.raises(BadValue, match="1 to 20 dots"):
            symbol_png(symbol_of("qr", "T12"), dots)


def test_the_path_of_a_drawing_has_one_box_a_bar():
    """A bar at x, y becomes a closed box shifted by the quiet zone."""
    code = symbol_of("upc-a", "200101804990")
    path = symbol_path(code)
    assert path.startswith(f"M9 0h1v{code.height}h-1z")
    assert path.count("z") == len(code.bars)


@pytest.mark.parametrize(
    "module",
    [digits, elements, elements_any, elements_making, elements_values, links, symbols, variable],
    ids=lambda module: module.__name__,
)
def test_the_examples_in_the_docstrings_are_true(module):
    """Each example gives what it says."""
    done = doctest.testmod(module)
    assert done.attempted > 0
    assert done.failed == 0
