"""The paper set: everything of the day is on it, nothing leaves its box, and it is large enough.

What is on a page is read back from the PDF by another library (pdfium), not from our own layout.
"""

from __future__ import annotations

import re
from contextlib import contextmanager
from datetime import date, datetime, timedelta

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.shop import DEMO_START, NewBooking, NewLine, StillClock, open_shop
from collop.shop.papers_drawing import PAPERS, Column, Pages, Words, draw
from collop.shop.papers_model import KINDS, ORDERS_A_PAGE, PAD_PAGES, SALES_A_PAGE
from collop.shop.papers_sheets import paper_pages, papers_pdf

# ours: what is read on paper is set in 12 pt at least
LEAST_PT = 12
_MARGIN = 20.0


@contextmanager
def read(data):
    """Yield the pages of a PDF as pdfium reads them."""
    pdf = pypdfium2.PdfDocument(data)
    pages = [pdf[number] for number in range(len(pdf))]
    texts = [page.get_textpage() for page in pages]
    yield list(zip(pages, texts, strict=True))
    for one in (*texts, *pages, pdf):
        one.close()


def plain(text):
    """Return text without spaces: where a line ends does not matter."""
    return re.sub(r"[\s\u00a0\u2026\ufffe-]", "", text)


def words_of(data):
    with read(data) as pages:
        return [plain(text.get_text_range()) for _, text in pages]


@pytest.fixture
def saturday(url):
    """Return the shop on the wedding's Saturday morning."""
    with open_shop(url, StillClock(datetime(2026, 6, 13, 7, 55))) as shop:  # noqa: DTZ001
        yield shop


def test_the_set_has_every_booking_price_and_place(saturday):
    """Each of Saturday's bookings with each line, weight and money; each price; each place."""
    pages = words_of(saturday.papers.set())
    whole = "".join(pages)
    day = date(2026, 6, 13)
    booked = [one for one in saturday.bookings(day, day) if one.state.holds]
    assert len(booked) >= 2
    for one in booked:
        for said in (one.id, one.name, one.phone_end, f"{one.collect_at:%H:%M}", str(one.deposit)):
            assert plain(said) in whole, said
        for line in one.lines:
            for said in (line.name, line.weight.text(), str(line.line_total)):
                assert plain(said) in whole, said
    board = saturday.chalk.board()
    assert len(board) == 34
    for line in board:
        for said in (line.name, str(line.per_lb), str(line.per_kg)):
            assert plain(said) in whole, said
    for place in saturday.day.places():
        assert plain(place.name) in whole
    for hour in saturday.day.rounds():
        assert f"{hour:%H:%M}" in whole
    for line in saturday.bench.lines().lines:
        assert plain(line.what) in whole


def test_each_page_says_shop_day_its_place_and_its_sheet(saturday):
    """Tollebank, Sat 13 Jun 2026, as of 07:55, page 1 of N, and a number no other page has."""
    pages = words_of(saturday.papers.set())
    numbers = []
    for at, text in enumerate(pages, 1):
        assert "TollebankMeats" in text
        assert "Sat13Jun2026" in text
        assert f"asofSat07:55,page{at}of{len(pages)}" in text
        numbers.append(re.search(r"P0613[A-Z][0-9]+", text)[0])
    assert len(set(numbers)) == len(pages)
    assert {number[5] for number in numbers} == {letter for letter, _ in KINDS.values()}


@pytest.mark.parametrize(
    ("paper", "moment"),
    [("letter", DEMO_START), ("a4", datetime(2026, 6, 12, 7, 0))],  # noqa: DTZ001
)
def test_nothing_leaves_its_box_and_nothing_is_small(url, paper, moment):
    """All text of each cell lies inside its rectangle, all of it inside the margins, 12 pt up."""
    with open_shop(url, StillClock(moment)) as shop:
        on = shop.papers.day()
    laid = paper_pages(on, tuple(KINDS), paper)
    check_boxes(laid, papers_pdf(on, tuple(KINDS), paper), paper)


def check_boxes(laid, data, paper):
    width, height = PAPERS[paper]
    with read(data) as pages:
        assert len(pages) == len(laid)
        for page, (_, text) in zip(laid, pages, strict=True):
            for cell in page.cells:
                found = text.get_text_bounded(
                    cell.x - 0.5, height - cell.top - cell.height - 0.5, cell.x + cell.width + 0.5,
                    height - cell.top + 0.5,
                )  # fmt: skip
                assert plain(cell.text) in plain(found) or "\u2026" in found, (cell, found)
            for at in range(text.count_chars()):
                left, bottom, right, top = text.get_charbox(at, loose=False)
                if right > left:
                    assert left >= _MARGIN, page.sheet
                    assert right <= width - _MARGIN, page.sheet
                    assert bottom >= _MARGIN, page.sheet
                    assert top <= height - _MARGIN, page.sheet
                    assert pdfium.FPDFText_GetFontSize(text.raw, at) >= LEAST_PT - 1e-6


def test_cells_do_not_lie_on_one_another(shop):
    """No two cells of a page share a point: a row grows with its text."""
    for page in paper_pages(shop.papers.day(), tuple(KINDS), "letter"):
        cells = page.cells
        for at, one in enumerate(cells):
            for other in cells[at + 1 :]:
                assert any(
                    first_end <= start + 0.01
                    for first_end, start in (
                        (one.x + one.width, other.x), (other.x + other.width, one.x),
                        (one.top + one.height, other.top), (other.top + other.height, one.top),
                    )
                ), (one, other)  # fmt: skip


@given(st.lists(st.text(max_size=300), min_size=1, max_size=6), st.sampled_from(sorted(PAPERS)))
@settings(max_examples=8)
def test_any_text_stays_in_its_box(texts, paper):
    """Whatever is written in a note or a name, the row grows and nothing leaves it."""
    pages = Pages(paper, "Any sheet", "Tue", lambda page: f"P-0609-B{page}")
    pages.table([Column("One", 60), Column("Two", 200), Column("Three", 80, right=True)])
    for text in texts:
        cell = [Words(text, bold=True, framed=True), Words(text[::-1])]
        pages.row([text[:20], cell, "1.00"])
    data = draw(pages.pages, paper, "any", ("as of 08:00", "Shop"))
    width, height = PAPERS[paper]
    with read(data) as found:
        for _, text in found:
            for at in range(text.count_chars()):
                left, bottom, right, top = text.get_charbox(at)
                if right > left:
                    assert left >= _MARGIN
                    assert right <= width - _MARGIN
                    assert bottom >= 0
                    assert top <= height


def test_dont_eats_and_allergens_are_framed(shop):
    """A booking with a sesame allergy and a line that holds sesame says so in a frame."""
    shop.book(NewBooking(
        name="Rowing juniors", collect_at=DEMO_START + timedelta(hours=4), by="dot",
        lines=(NewLine("C25", Weight.of("1.00", WeightUnit.LB)),), heads=8,
        ask={"contains": ["sesame"], "dont_eats": ["2 no pork"]},
    ), key="allergy")  # fmt: skip
    on = shop.papers.day()
    told = next(one for one in on.bookings if one.booking.name == "Rowing juniors")
    assert any("sesame allergy: this holds sesame" in care for care in told.all_cares)
    pages = paper_pages(on, ("bookings",), "letter")
    framed = " ".join(cell.text for page in pages for cell, thick in page.frames if thick > 1)
    assert "sesame allergy: this holds sesame" in framed
    assert "2 no pork" in framed
    (text,) = [one for one in words_of(papers_pdf(on, ("bookings",), "letter"))
               if "Rowingjuniors" in one]  # fmt: skip
    assert "sesameallergy:thisholdssesame,askbeforeitiscut" in text


def test_an_orders_note_is_printed_once_and_pointed_to_from_its_other_lines(shop):
    """Six lines of one order say its note on the first, and under which number on the rest."""
    note = "leave the bones in a bag, the dog is good"
    shop.book(NewBooking(
        name="Rowing juniors", collect_at=DEMO_START + timedelta(hours=4), by="dot", note=note,
        lines=tuple(NewLine(case, Weight.of("1.00", WeightUnit.LB)) for case in ("C01", "C02")),
    ), key="note")  # fmt: skip
    on = shop.papers.day()
    lines = [one for one in on.bench.lines if one.note == note]
    assert len(lines) == 2
    text = "".join(words_of(papers_pdf(on, ("bench",), "letter")))
    assert text.count(plain(note)) == 1
    assert plain(f"note: see No. {lines[0].number}") in text


def test_the_order_pad_has_its_own_box_for_an_allergy(shop):
    """In a thick frame on every order, apart from what somebody does not eat."""
    pages = paper_pages(shop.papers.day(), ("orders",), "letter")
    framed = sum(thick > 1 for page in pages for _, thick in page.frames)
    assert framed == len(pages) * ORDERS_A_PAGE
    text = "".join(words_of(papers_pdf(shop.papers.day(), ("orders",), "letter")))
    assert text.count("ALLERGY,offthewholetable") == framed
    assert len(pages) == PAD_PAGES["orders"]


def test_a_sheet_alone_keeps_its_number_and_the_same_day_gives_the_same_bytes(shop):
    """The sheet of sales alone is P-0609-S1 as in the set, with a row for each number."""
    alone = words_of(shop.papers.set(kinds=["sales"]))
    assert "P0609S1" in alone[0]
    assert len(alone) == 3
    for row in range(1, SALES_A_PAGE + 1):
        assert str(row) in alone[0]
    assert shop.papers.set() == shop.papers.set()


def test_another_day_and_wrong_wishes(shop):
    """Tomorrow can be printed, yesterday cannot, and what is no sheet is told."""
    assert "Wed10Jun2026" in words_of(shop.papers.set(date(2026, 6, 10)))[0]
    for wrong in (date(2026, 6, 8), date(2026, 9, 1)):
        with pytest.raises(BadValue, match="Papers are printed"):
            shop.papers.set(wrong)
    with pytest.raises(BadValue, match="no sheet 'slips'"):
        shop.papers.set(kinds=["slips"])
    with pytest.raises(BadValue, match="no paper 'a5'"):
        shop.papers.set(paper="a5")


def test_an_empty_shop_has_papers_too(new_url):
    """Nothing booked, no place named, no price: the pads and the sheets are there all the same."""
    from collop.shop import Settings, create_shop

    with create_shop(new_url(), settings=Settings("New shop"),
                     clock=StillClock()) as shop:  # fmt: skip
        whole = "".join(words_of(shop.papers.set(paper="a4")))
    assert "Nothingisbookedforthisday" in whole
    assert "Noplaceisnamedyet" in whole
