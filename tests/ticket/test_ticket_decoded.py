"""Every code of every drawn ticket is read back by a reader of another maker (zxing-cpp)."""

from __future__ import annotations

import io
import json
from itertools import product
from pathlib import Path
from random import Random

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from collop.errors import BadValue
from collop.ticket import pdf, pngs, symbol_of
from collop.ticket.layout import layout
from ticket.ticket_plans import CLASSES, FORMS, code, plan, random_plan

SETS = {"58x40": ("upc-a",), "58x60": ("upc-a", "qr"), "80x50": ("ean-13", "datamatrix"),
        "80x80": ("databar-expanded-stacked",), "4x6": ("gs1-128", "gs1-datamatrix")}  # fmt: skip
KINDS = ("upc-a", "ean-13", "databar-expanded-stacked", "gs1-128", "gs1-datamatrix", "datamatrix",
         "gs1-qr", "qr")  # fmt: skip
TICKETS = 500


def picture(png: bytes) -> Image.Image:
    return Image.open(io.BytesIO(png)).convert("L")


def pages(plans, dpi: int):
    """Render the pages of plans at the printer's dots."""
    file = pypdfium2.PdfDocument(pdf(plans))
    return [page.render(scale=dpi / 72).to_pil().convert("L") for page in file]


def read(image) -> list[str]:
    return sorted(found.text for found in zxingcpp.read_barcodes(image))


def expected(ticket) -> list[str]:
    # the reader tells a UPC-A as the 13 digits it is in the till's file, with a zero before it
    return sorted(("0" if one["kind"] == "upc-a" else "") + one["data"] for one in ticket["codes"])


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize(("size", "kind"), list(product(FORMS, CLASSES)))
def test_every_form_and_class_is_read_back(size, kind, dpi):
    """Each form, resolution and product class is read back from the picture and from the page."""
    try:
        ticket = plan(size, dpi, kind, SETS[size])
        parts = pngs(ticket)
    except BadValue as refusal:
        assert (size, kind) in {("58x40", "sausage"), ("58x40", "tenderised")}, refusal.message
        assert "58x60" in refusal.message
        return
    assert read(picture(parts[0])) == expected(ticket)
    drawn = pages([ticket], dpi)
    assert read(drawn[0]) == expected(ticket)
    # a further part has no code: what is rung up is read once
    assert all(read(page) == [] for page in drawn[1:])
    assert len(drawn) == len(parts)


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_code_is_read_back(kind, dpi):
    """Each kind of code on the largest form is read back from the picture and from the page."""
    ticket = plan("4x6", dpi, "ready to eat", (kind,))
    assert read(picture(pngs(ticket)[0])) == expected(ticket)
    assert read(pages([ticket], dpi)[0]) == expected(ticket)


def test_none_of_500_tickets_at_203_dots_is_undecodable():
    """Of 500 tickets by chance at 203 dpi every code is read back; the refused name a way out."""
    draws = Random(20_260_610)
    printed = refused = 0
    unread = []
    while printed < TICKETS:
        ticket = random_plan(draws)
        try:
            parts = pngs(ticket)
        except BadValue as refusal:
            refused += 1
            assert "use form" in refusal.message, refusal.message
            continue
        printed += 1
        if read(picture(parts[0])) != expected(ticket):
            unread.append(ticket)
    assert unread == []
    # were most of them refused, this would show nothing
    assert refused < TICKETS // 4


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("kind", KINDS)
def test_a_page_has_its_bars_on_the_pictures_dots(kind, dpi):
    """A code on the page, drawn at the printer's dots, is the picture's dot for dot."""
    ticket = plan("4x6", dpi, "ready to eat", (kind,))
    (box,) = layout(ticket).parts[0].codes
    room = (box.x, box.y, box.x + box.w, box.y + box.h)
    page = pages([ticket], dpi)[0].crop(room)
    assert page.tobytes() == picture(pngs(ticket)[0]).crop(room).tobytes()


def test_none_of_60_tickets_on_pages_is_undecodable():
    """Of 60 tickets by chance as pages, drawn at 203 and 300 dpi, every code is read back."""
    draws = Random(8)
    for dpi in (203, 300):
        printed = 0
        while printed < 30:
            ticket = random_plan(draws, dpi)
            try:
                layout(ticket)
            except BadValue:
                continue
            printed += 1
            assert read(pages([ticket], dpi)[0]) == expected(ticket)


EXAMPLES = sorted((Path(__file__).parents[2] / "docs/examples").glob("ticket*.plan.json"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_kernels_own_plans_are_drawn_and_read_back(path):
    """Each worked plan of the documents is drawn at the dots it says, and its codes read back."""
    ticket = json.loads(path.read_text(encoding="utf-8"))
    image = picture(pngs(ticket)[0])
    assert image.size == (ticket["form"]["width_dots"], ticket["form"]["height_dots"])
    assert read(image) == expected(ticket)
    assert read(pages([ticket], ticket["form"]["dpi"])[0]) == expected(ticket)


def test_there_are_worked_plans():
    """The test above has something to draw."""
    assert len(EXAMPLES) > 5


def drawn_at(kind: str, data: str, dots: float) -> Image.Image:
    """Draw a code with modules of a width that need not be whole, edges set to the next dot."""
    found = symbol_of(kind, data)
    side, above = (10, 10)
    tall = 60 if not found.is_matrix else found.height
    image = Image.new(
        "L", (round((found.width + 2 * side) * dots), round((tall + 2 * above) * dots)), 255
    )
    for x, y, w, h in found.bars:
        bottom = y + h if found.is_matrix else tall
        left, right = round((x + side) * dots), round((x + w + side) * dots)
        up, down = round((y + above) * dots), round((bottom + above) * dots)
        if right > left and down > up:
            image.paste(0, (left, up, right, down))
    return image


def unread_of(dots: float) -> int:
    """Return how many of 60 price codes drawn at a width are not read, or not rightly."""
    draws = Random(3)
    unread = 0
    for _ in range(60):
        made = code("upc-a", cents=draws.randint(1, 9999), item=f"{draws.randint(0, 99999):05d}")
        unread += read(drawn_at("upc-a", made["data"], dots)) != ["0" + made["data"]]
    return unread


def test_the_reader_sees_modules_that_are_not_whole_dots():
    """The same codes with modules of 1.5 dots fail where whole dots do not: the test can see."""
    assert unread_of(3) == 0
    assert unread_of(1.5) > 30
