"""The Fire Sheet in a browser: from the slip to the customer's telephone and the paper."""

from __future__ import annotations

import itertools
import re

import pypdfium2
import pytest
import zxingcpp
from test_access import SMALL, axe_faults


def customer(counter, booking="H2"):
    return f"{counter.base}/fire/{counter.shop.fire.sheet(booking).token}"


def test_a_fire_is_put_right_at_the_counter_and_the_customer_sees_it(counter, open_page):
    """Slip, Fire Sheet, half an hour later; the customer's page in °C, and its paper."""
    desk = open_page()
    desk.goto(f"{counter.base}/hook/H2")
    desk.get_by_role("link", name="Fire Sheet").click()
    desk.wait_for_url("**/hook/H2/fire")
    form = desk.locator(".fire-renew")
    form.get_by_label("Dot").check()
    form.get_by_role("button", name="Make the sheet's address").click()
    desk.wait_for_url("**/hook/H2/fire?done=made")
    assert "The code on the paper leads to" in desk.locator("main").inner_text()
    address = desk.get_by_role("link", name="Customer's page").get_attribute("href")
    desk.get_by_label("Time 1").fill("19:00")
    desk.get_by_label("Ride home").fill("20")
    desk.get_by_label("Dot").first.check()
    desk.get_by_role("button", name="Put the fire right").click()
    desk.wait_for_url("**/hook/H2/fire?done=changed")
    assert "The fire is put right" in desk.locator(".notice[role=status]").inner_text()

    phone = open_page(width=390, height=800)
    phone.goto(counter.base + address)
    assert phone.locator(".top").count() == 0
    assert "19:00" in phone.locator(".fire-when").inner_text()
    least = phone.locator(".fire-least").first
    assert re.match(r"\d+ °F \(\d+ °C\)", least.inner_text())
    fahrenheit = re.match(r"(\d+) °F", least.inner_text())[1]
    phone.get_by_label("°C").check()
    phone.get_by_role("button", name="Show", exact=True).click()
    phone.wait_for_url("**heat=C**")
    celsius = re.match(r"(\d+) °C \((\d+) °F\)", least.inner_text())
    assert celsius[2] == fahrenheit
    assert (int(celsius[1]) * 9 / 5) + 32 >= int(fahrenheit)  # rounded up, never down
    steps = " ".join(phone.locator(".fire-steps").all_inner_texts())
    assert re.search(r"\d °C \(\d+ °F\)", steps)
    assert not re.search(r"°F(?!\))", steps)
    phone.goto(counter.base + address)
    assert phone.get_by_label("°C").is_checked()
    drawn = phone.locator(".fire-picture")
    assert drawn.evaluate("picture => picture.complete && picture.naturalWidth") == 340
    assert "narrow=1" in drawn.evaluate("picture => picture.currentSrc")

    link = phone.get_by_role("link", name="Print on A4").get_attribute("href")
    paper = pypdfium2.PdfDocument(phone.request.get(counter.base + link).body())
    assert len(paper) == 1
    codes = zxingcpp.read_barcodes(paper[0].render(scale=2).to_pil())
    assert codes[0].text == counter.base + address
    printed = paper[0].get_textpage().get_text_range().replace("\N{NO-BREAK SPACE}", " ")
    assert f"{celsius[1]} °C ({fahrenheit} °F)" in printed


def test_a_new_address_takes_the_old_page_away(counter, open_page):
    """After the renewal the old code leads to words, the new one to the sheet."""
    old = customer(counter)
    page = open_page()
    page.goto(f"{counter.base}/hook/H2/fire")
    form = page.locator(".fire-renew")
    form.get_by_label("Dot").check()
    form.get_by_role("button", name="Give a new address").click()
    page.wait_for_url("**/hook/H2/fire?done=renewed")
    page.goto(old)
    assert page.get_by_role("heading", level=1).inner_text() == (
        "There is no sheet at this address."
    )
    page.goto(customer(counter))
    assert page.locator(".fire-sheet").is_visible()


def test_a_fault_takes_the_focus_and_leads_to_its_field(counter, open_page):
    """The summary is focused, its link goes to the field, what was typed stays."""
    page = open_page()
    page.goto(f"{counter.base}/hook/H2/fire")
    page.get_by_label("Coals last").fill("two hours")
    page.get_by_role("button", name="Put the fire right").click()
    page.wait_for_selector(".problem")
    assert page.title().startswith("Error:")
    assert page.evaluate("document.activeElement.id") == "problem"
    assert axe_faults(page) == []
    page.locator(".problem a").first.click()
    assert page.evaluate("document.activeElement.name") == "coals_min"
    assert page.get_by_label("Coals last").input_value() == "two hours"


@pytest.mark.parametrize("booking", ["H2", "H1"])
@pytest.mark.parametrize("width", [320, 820, 1280])
def test_the_customer_s_page_reads_at_every_width(still_counter, open_page, booking, width):
    """No rule broken, no sideways scroll, targets of 44 px."""
    page = open_page(width=width, height=800)
    page.goto(customer(still_counter, booking))
    assert axe_faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(SMALL, 44) == []


def test_the_customer_s_page_keeps_everything_at_twice_the_text(still_counter, open_page):
    """Twice the text size on a 1280 px screen: no sideways scroll."""
    page = open_page(width=1280, height=900)
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    page.goto(customer(still_counter))
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280


def test_a_phone_with_twice_the_text_has_each_thing_in_rows_below_each_other(
    still_counter, open_page
):
    """390 px at 32 px letters: no bars, name, on, least and off stacked, nothing cut."""
    page = open_page(width=390, height=844)
    page.goto(customer(still_counter))
    assert page.locator(".fire-picture").is_visible()
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    page.goto(customer(still_counter))
    assert not page.locator(".fire-picture").is_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    cells = page.locator(".fire-table tbody tr").first.locator("th, td")
    boxes = sorted((cell.bounding_box() for cell in cells.all()), key=lambda box: box["y"])
    assert len(boxes) == 4
    for above, below in itertools.pairwise(boxes):
        assert above["y"] + above["height"] <= below["y"] + 1
        assert above["x"] == pytest.approx(below["x"], abs=1)
    assert all(box["x"] + box["width"] <= 390 for box in boxes)
    labels = "cells => cells.map(cell => getComputedStyle(cell, '::before').content)"
    told = page.locator(".fire-table tbody tr").first.locator("td").evaluate_all(labels)
    assert [re.sub(r'["\s]+', " ", one).strip() for one in told] == ["On", "Middle at least", "Off"]


def test_no_device_keeps_a_customer_s_sheet(counter, open_page):
    """The counter's own offline copy leaves the pages under /fire/ alone."""
    page = open_page()
    page.goto(f"{counter.base}/hook")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.goto(customer(counter))
    page.goto(f"{counter.base}/hook")
    kept = page.evaluate(
        "caches.keys().then(names => Promise.all(names.map(name => caches.open(name)"
        ".then(store => store.keys())))).then(all => all.flat().map(one => one.url))"
    )
    assert any(url.endswith("/hook") for url in kept)
    assert not any("/fire/" in url for url in kept)
