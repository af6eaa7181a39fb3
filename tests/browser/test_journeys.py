"""The counter's journeys: ask, spread, book, case, hook; by finger, by keyboard, without script."""

from __future__ import annotations

import re
from decimal import Decimal

from collop.errors import StorageTrouble
from collop.measures import Weight, WeightUnit

ASK = "/ask?heads=34&big=16&money=310&contains=sesame&day=2026-06-12&time=18:30"


def settled(page):
    """Wait until no answer is on its way."""
    page.wait_for_selector(".htmx-request", state="detached")


def tap(page, name, *, exact=True):
    """Tap a button and wait for the answer of the server."""
    button = page.get_by_role("button", name=name, exact=exact).first
    with page.expect_response(lambda answer: "/ask/spread" in answer.url):
        button.click()
    settled(page)


def total_of(page):
    """Return the total on the screen."""
    return Decimal(page.locator(".sum b").first.inner_text().replace(",", ""))


def free_in_case(page, base, name):
    """Return the free pounds of a line as the case page shows them."""
    page.goto(f"{base}/case")
    row = page.locator(".case-table tbody tr", has=page.locator("th", has_text=name)).first
    text = row.locator(".free").inner_text()
    return Decimal(0) if text == "none" else Decimal(text.removesuffix(" lb"))


def fill_in_and_book(page):
    """Say who and press the one main action of the booking page."""
    page.get_by_label("Name").fill("Rowing club")
    page.get_by_label("Phone end").fill("4471")
    page.get_by_label("Dot").check()
    page.get_by_role("button", name=re.compile("^Book [0-9]")).click()
    page.wait_for_url("**/hook/H*")


def test_an_ask_becomes_a_booking_and_the_case_falls_by_exactly_that(counter, open_page):
    """34 eaters with 310: spreads, head price, reasons; booked weight leaves the free weight."""
    page = open_page()
    page.goto(f"{counter.base}/ask")
    page.get_by_label("How many?").fill("34")
    tap(page, "Show a spread")
    page.get_by_label("Money to spend").fill("310")
    with page.expect_response(lambda answer: "/ask/spread" in answer.url):
        page.get_by_label("Money to spend").press("Tab")
    settled(page)
    assert page.locator(".aim").count() >= 3
    assert page.locator(".line").count() >= 3
    assert all(page.locator(".reason").all_inner_texts())
    total = total_of(page)
    head = Decimal(page.locator(".sum b").nth(1).inner_text())
    assert total <= 310
    assert abs(head * 34 - total) <= Decimal("0.17")
    assert f"{head}" in page.locator(".say").inner_text()
    names = page.locator(".line-name").all_inner_texts()
    name = names[0].split("(slow")[0].strip()
    before = free_in_case(page, counter.base, name)
    page.go_back()
    page.get_by_role("button", name="Book spread").click()
    page.wait_for_url("**/ask/book/Q*")
    fill_in_and_book(page)
    booking = counter.shop.find("Rowing club")[0]
    assert booking.total.decimal() == total
    booked = sum((one.weight for one in booking.lines if one.name == name), Weight.zero())
    after = free_in_case(page, counter.base, name)
    assert before - after == booked.decimal(WeightUnit.LB)
    page.goto(f"{counter.base}/hook")
    assert page.locator(".slip", has_text="Rowing club").is_visible()


def test_taps_rebalance_and_undo_brings_the_earlier_ask_back(still_counter, open_page):
    """More heads cost more, cheaper costs less, and undo walks back through both."""
    page = open_page()
    page.goto(still_counter.base + ASK)
    first = total_of(page)
    tap(page, "One more: Heads")
    assert page.get_by_label("Heads", exact=True).input_value() == "35"
    assert "heads=35" in page.url
    tap(page, "Cheaper")
    assert total_of(page) < first
    tap(page, "Undo")
    tap(page, "Undo")
    assert page.get_by_label("Heads", exact=True).input_value() == "34"
    assert total_of(page) == first


def test_quick_taps_all_count(still_counter, open_page):
    """Five taps faster than any answer are five heads more."""
    page = open_page()
    page.goto(still_counter.base + ASK)
    page.evaluate(
        "for (let tap = 0; tap < 5; tap += 1) {"
        " document.querySelector('.stepper.big button:last-child').click(); }"
    )
    page.wait_for_url("**heads=39**")
    settled(page)
    assert page.get_by_label("Heads", exact=True).input_value() == "39"
    assert "for 39" in page.locator(".say").inner_text()


def test_a_fault_of_the_counter_leaves_the_last_answer_on_the_screen(counter, open_page):
    """A 503 is said in a strip; the spread is not replaced by it."""
    page = open_page()
    page.goto(counter.base + ASK)
    total = total_of(page)

    def broken(*_args, **_named):
        raise StorageTrouble("The database cannot be read; see that the disk is there.")

    counter.shop.offers = broken
    with page.expect_response(lambda answer: answer.status == 503):
        page.get_by_role("button", name="Finer").click()
    page.wait_for_selector("#lost:not([hidden])")
    assert "nothing was written" in page.locator("#lost").inner_text()
    assert total_of(page) == total


def test_choosing_an_alternative_and_undoing_it_moves_the_mark(still_counter, open_page):
    """The radio that is on is the spread that is shown, also after undo."""
    page = open_page()
    page.goto(still_counter.base + ASK)
    with page.expect_response(lambda answer: "/ask/spread" in answer.url):
        page.get_by_role("radio", name=re.compile("Least money")).check()
    settled(page)
    assert page.locator(".aim:has(:checked) .aim-name").inner_text() == "Least money"
    tap(page, "Undo")
    assert page.locator(".aim:has(:checked) .aim-name").inner_text() == "Best value"


def test_a_pinned_line_stays_when_the_heads_change(still_counter, open_page):
    """Pin, change, and the line is still there with its weight."""
    page = open_page()
    page.goto(still_counter.base + ASK)
    name = page.locator(".line-name").first.inner_text().split("(slow")[0].strip()
    weight = page.locator(".line .weight").first.inner_text()
    tap(page, re.compile("^Pin "), exact=False)
    tap(page, "One more: Heads")
    line = page.locator(".line", has=page.locator(".line-name", has_text=name))
    assert weight in line.first.inner_text()
    assert page.get_by_role("button", name=re.compile("^Unpin ")).count() == 1


def test_tapping_the_curve_goes_to_that_money(still_counter, open_page):
    """The chart is drawn by the library, and a tap on it is a tap on the nearest row's button."""
    page = open_page()
    page.goto(still_counter.base + ASK)
    over = page.locator("#curve-chart .u-over")
    over.scroll_into_view_if_needed()
    lowest = page.locator("#curve-table tbody button").first.inner_text()
    box = over.bounding_box()
    with page.expect_response(lambda answer: "/ask/spread" in answer.url):
        page.mouse.click(box["x"] + 2, box["y"] + box["height"] / 2)
    settled(page)
    assert "to=" in page.url
    assert total_of(page) <= Decimal(lowest.replace(",", ""))


def focused(page):
    """Return what a screen reader would say of the focused control, roughly."""
    return page.evaluate(
        "(() => { const on = document.activeElement; return [on.tagName, on.id, on.value || '',"
        " on.getAttribute('aria-label') || on.textContent.trim()].join('|'); })()"
    )


def tab_to(page, wanted):
    """Press Tab until the focused control matches; the ring must be visible on it."""
    for _ in range(150):
        page.keyboard.press("Tab")
        if re.search(wanted, focused(page)):
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
            assert outline == "3px"
            return
    raise AssertionError(f"Tab never reached {wanted}")


def test_the_whole_journey_works_from_the_keyboard_alone(counter, open_page):
    """Tab, digits, Enter and arrows only, from the empty ask to the slip."""
    page = open_page()
    page.goto(f"{counter.base}/ask")
    tab_to(page, "^INPUT.f-heads")
    page.keyboard.type("12")
    with page.expect_response(lambda answer: "/ask/spread" in answer.url):
        page.keyboard.press("Enter")
    page.wait_for_selector(".line")
    tab_to(page, "^INPUT.f-money")
    page.keyboard.type("140")
    with page.expect_response(lambda answer: "/ask/spread" in answer.url):
        page.keyboard.press("Enter")
    settled(page)
    assert page.get_by_label("Money to spend").input_value() == "140"
    tab_to(page, "Book spread$")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ask/book/Q*")
    tab_to(page, "^INPUT.f-name")
    page.keyboard.type("Garden twelve")
    tab_to(page, "^INPUT.f-phone")
    page.keyboard.type("4471")
    tab_to(page, "^INPUT.f-by")
    page.keyboard.press("Space")
    tab_to(page, r"^BUTTON\|\|\|Book [0-9]")
    page.keyboard.press("Enter")
    page.wait_for_url("**/hook/H*")
    assert counter.shop.find("Garden twelve")


def test_a_problem_takes_the_focus_and_leads_to_its_field(still_counter, open_page):
    """The summary is focused, its link goes to the field, the title says Error."""
    page = open_page()
    page.goto(still_counter.base + ASK)
    page.get_by_label("Heads", exact=True).fill("-3")
    with page.expect_response(lambda answer: answer.status == 422):
        page.get_by_label("Heads", exact=True).press("Enter")
    page.wait_for_selector(".problem")
    assert page.evaluate("document.activeElement.id") == "problem"
    assert page.title().startswith("Error: ")
    assert page.locator(".stamp").inner_text() == "before"
    page.get_by_role("link", name=re.compile("too few")).click()
    assert page.evaluate("document.activeElement.id") == "f-heads"
    assert page.get_by_label("Heads", exact=True).input_value() == "-3"


def test_the_ask_works_without_script(still_counter, open_page):
    """Plain forms: one more head, a spread, a held price."""
    page = open_page(java_script_enabled=False)
    page.goto(still_counter.base + ASK)
    page.get_by_role("button", name="One more: Heads").click()
    assert page.get_by_label("Heads", exact=True).input_value() == "35"
    page.get_by_role("button", name="Undo").click()
    assert page.get_by_label("Heads", exact=True).input_value() == "34"
    page.get_by_role("button", name="Book spread").click()
    assert "/ask/book/Q" in page.url


def test_the_last_copy_is_shown_with_its_time_when_the_counter_is_off(counter, open_page):
    """Static files from the cache, the page from its last copy, and a banner that says so."""
    page = open_page()
    page.goto(f"{counter.base}/case")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.goto(counter.base + ASK)
    assert page.locator(".as-of").is_hidden()
    counter.stop()
    page.goto(f"{counter.base}/case")
    assert page.locator(".as-of").is_visible()
    assert "Tue 9 Jun, 08:00" in page.locator(".as-of").inner_text()
    assert page.locator(".case-table tbody tr").count() > 20
    assert page.evaluate("getComputedStyle(document.body).display") == "flex"
    page.goto(counter.base + ASK)
    page.get_by_role("button", name="Cheaper").click()
    page.wait_for_selector("#lost:not([hidden])")
    assert "was not worked out" in page.locator("#lost").inner_text()


def test_the_customer_side_keeps_the_shop_s_business_to_itself(still_counter, open_page):
    """Reached by one tap; no stock, no cost, no slow mark on it."""
    page = open_page()
    page.goto(still_counter.base + ASK)
    total = total_of(page)
    page.get_by_role("link", name="Customer side").click()
    text = page.locator("main").inner_text()
    assert f"{total}" in text
    assert page.locator(".slow").count() == 0
    for hidden in ("free", "hand", "/lb", "slow", "cost", "Cheaper"):
        assert hidden not in text
