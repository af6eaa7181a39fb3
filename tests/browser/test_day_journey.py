"""A morning at the counter: a cold check, a ticket, a clean-down, and a recall of that ticket."""

from __future__ import annotations

import re

import pypdfium2
import zxingcpp
from PIL import Image

from collop.measures import Weight, WeightUnit


def test_a_cold_check_over_the_limit_asks_what_was_done(counter, open_page):
    """Tile, place, number, done: 46 °F is not written before somebody says what happened."""
    page = open_page()
    page.goto(f"{counter.base}/daybook")
    page.get_by_role("link", name="Cold check").first.click()
    page.wait_for_url("**/daybook/cold**")
    assert page.get_by_label("What the thermometer says").input_value() == ""
    page.get_by_label("Walk-in").check()
    page.get_by_label("What the thermometer says").fill("46")
    page.get_by_label("Dot").check()
    page.get_by_role("button", name="Done", exact=True).click()
    page.wait_for_selector("main [role=alert], main .bad")
    before = [one for one in counter.shop.day.page().lines if one.tile == "cold"]
    assert before == []
    page.get_by_label("What was done").fill("moved to the case, door was open")
    page.get_by_label("Who was told").fill("Ines")
    page.get_by_role("button", name="Done", exact=True).click()
    page.wait_for_url(re.compile(r"/daybook/cold\?.*by=dot"))
    (line,) = [one for one in counter.shop.day.page().lines if one.tile == "cold"]
    assert line.is_over
    page.goto(f"{counter.base}/daybook")
    assert "moved to the case" in page.locator("main").inner_text()


def test_a_ticket_is_weighed_printed_read_back_and_recalled(counter, open_page):
    """Line, scale, tare, print; a scanner reads the code; its ticket leads to the animal."""
    page = open_page()
    page.goto(f"{counter.base}/tickets")
    page.get_by_role("link", name=re.compile("Beef short ribs")).click()
    page.wait_for_url("**/tickets?case=C09**")
    page.get_by_label(re.compile("On the scale|Gross|Weight")).first.fill("2.00")
    page.get_by_label(re.compile("Large tray")).check()
    page.get_by_label(re.compile(r"^B-41F\.03")).check()
    page.get_by_label("Dot").check()
    page.get_by_role("button", name=re.compile("^Print")).click()
    page.wait_for_url(re.compile(r"/tickets/T\d+"))
    name = re.search(r"T\d+", page.url)[0]
    ticket = counter.shop.tickets.ticket(name)
    assert ticket.lot == "B-41F.03"
    assert Weight.zero() < ticket.net < Weight.of("2.00", WeightUnit.LB)

    paper = pypdfium2.PdfDocument(page.request.get(f"{counter.base}/tickets/{name}.pdf").body())
    drawn = paper[0].render(scale=203 / 72, grayscale=True).to_numpy()
    read = {code.text for code in zxingcpp.read_barcodes(Image.fromarray(drawn.squeeze()))}
    scanned = next(text for text in read if name in text)

    page.goto(f"{counter.base}/trace")
    page.get_by_label("Scan or type a ticket").fill(scanned)
    page.get_by_label("Scan or type a ticket").press("Enter")
    page.wait_for_url("**/trace?lot=**")
    said = page.locator(".trace-line").inner_text()
    assert "Upper Nimmock" in said
    assert name in said
    page.get_by_role("link", name="Recall: where it is").click()
    page.wait_for_url("**/recall?**")
    said = page.locator("main").inner_text()
    assert "All of 326.00 lb is found" in said
    assert name in said


def test_a_clean_down_is_written_by_keyboard(counter, open_page):
    """Who, what, and Enter on the button; the newest one is this."""
    page = open_page()
    page.goto(f"{counter.base}/daybook/clean")
    page.get_by_label("Kofi").check()
    page.get_by_label("Cutting room").first.check()
    page.get_by_role("button", name="Cleaned down").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/daybook/clean?said=**")
    last, *_ = counter.shop.day.clean_downs(
        counter.shop.now().replace(hour=0, minute=0), counter.shop.now()
    )
    assert (last.what, last.by) == ("cutting room", "kofi")
