"""Chalk and the board in a browser: by rule, width and text size; prices slid; a price that moves.

The conversation is invented: a quote made before the board moved, held, and a line added after it.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from test_access import SMALL, axe_faults

from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop import NewLine, NewPrice

STATES = {
    "board": "/board",
    "chalk": "/chalk",
    "animal broken": "/chalk/B-41F",
    "animal hanging": "/chalk/L-207",
    "animal error": "/chalk/B-41F?margin=x",
    "line": "/chalk/line/C11",
    "costs": "/chalk/costs",
    "case moves": "/case?moves=1",
}


@pytest.mark.parametrize("state", STATES)
def test_axe_finds_no_violation_on_chalk(still_counter, open_page, state):
    """All rules of the vendored checker, on each page and state."""
    page = open_page()
    page.goto(still_counter.base + STATES[state])
    assert axe_faults(page) == []


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("width", [320, 820, 1280])
def test_chalk_reflows_and_its_targets_are_large(still_counter, open_page, state, width):
    """No sideways scroll; controls at least 44 px, 24 px inside tables."""
    page = open_page(width=width, height=800)
    page.goto(still_counter.base + STATES[state])
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(SMALL, 44) == []


@pytest.mark.parametrize("state", STATES)
def test_chalk_keeps_everything_at_two_hundred_per_cent(still_counter, open_page, state):
    """Twice the text size on a 1280 px screen: no sideways scroll, no cut text."""
    page = open_page(width=1280, height=900)
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    page.goto(still_counter.base + STATES[state])
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    cut = page.evaluate(
        "Array.from(document.querySelectorAll('button, .button, .chip, h1, h2, .sum p'))"
        ".filter(part => part.scrollWidth > part.clientWidth + 1"
        " && getComputedStyle(part).display !== 'inline' && !part.classList.contains('unseen'))"
        ".map(part => part.textContent.trim())"
    )
    assert cut == []


def slide(page, name, steps):
    """Move a slider by the keyboard and wait until its last move is answered."""
    bar = page.get_by_role("slider", name=f"Slide the price of {name}")
    bar.focus()
    for _ in range(abs(steps)):
        page.keyboard.press("ArrowRight" if steps > 0 else "ArrowLeft")
    return bar


def test_a_slid_price_is_answered_while_the_page_stands(still_counter, open_page):
    """Twelve steps down: field, sums, needed prices and the pull follow; the slider keeps focus."""
    page = open_page()
    page.goto(f"{still_counter.base}/chalk/B-41F")
    before = page.locator("#figures-4").inner_text()
    # 8.30 is 2.90 under the 11.20 it needs
    slide(page, "Beef short ribs", -12)
    page.wait_for_selector("text=Beef short ribs down 2.90:")
    assert page.get_by_label("New price of Beef short ribs per lb").input_value() == "8.30"
    assert "8.90 8.30 down 0.60" in " ".join(page.locator("#figures-3").inner_text().split())
    assert page.locator("#figures-3 s").inner_text() == "8.90"
    assert page.locator("#figures-4").inner_text() != before
    assert "as typed" in page.locator(".chalk-brings").inner_text()
    assert page.evaluate("document.activeElement.className") == "chalk-slide"
    page.wait_for_selector("#chalk-said:has-text('as typed')", state="attached")


def test_a_late_answer_does_not_take_the_place_of_a_newer_one(still_counter, open_page):
    """The first request is answered last: what was typed last stands, and no field was touched."""
    page = open_page()
    page.goto(f"{still_counter.base}/chalk/B-41F")
    script = (
        "([field, text]) => { const at = document.getElementById(field); at.value = text;"
        " at.dispatchEvent(new Event('input', {bubbles: true})); }"
    )
    numbers = []

    def slowly(route):
        numbers.append(re.search(r"number=(\d+)", route.request.post_data).group(1))
        if len(numbers) == 1:
            page.wait_for_timeout(400)
        route.continue_()

    page.route("**/pulls", slowly)
    page.evaluate(script, ["f-price-C09", "8.40"])
    page.wait_for_timeout(150)
    page.evaluate(script, ["f-price-C09", "8.00"])
    page.wait_for_selector("text=Beef short ribs down 3.20:")
    page.wait_for_timeout(300)
    assert "down 0.90" in page.locator("#figures-3").inner_text()
    assert page.get_by_label("New price of Beef short ribs per lb").input_value() == "8.00"
    assert numbers == sorted(set(numbers))


def test_a_lost_counter_is_said_and_the_last_answer_stays(counter, open_page):
    """The strip says so; nothing on the page is emptied."""
    page = open_page()
    page.goto(f"{counter.base}/chalk/B-41F")
    needed = page.locator(".chalk-brings").inner_text()
    counter.stop()
    slide(page, "Beef short ribs", -2)
    page.wait_for_selector("#lost:not([hidden])")
    assert "was not worked out" in page.locator("#lost").inner_text()
    assert page.locator(".chalk-brings").inner_text() == needed


def test_chalk_works_without_script_and_from_the_keyboard(counter, open_page):
    """Type, Work out, Use needed prices, a reason, Put on board; all plain forms."""
    page = open_page(java_script_enabled=False)
    page.goto(f"{counter.base}/chalk/B-41F")
    assert page.locator(".chalk-slide").first.is_hidden()
    field = page.get_by_label("New price of Beef short ribs per lb")
    field.fill("8.40")
    field.press("Enter")
    assert "down 0.50" in page.locator("#figures-3").inner_text()
    page.get_by_role("button", name="Use needed prices").click()
    needed = page.get_by_label("New price of Beef brisket per lb").input_value()
    page.get_by_label("Ines").check()
    page.get_by_role("button", name="Put on board").click()
    assert "needs a reason" in page.locator(".problem").inner_text()
    page.get_by_label("Why").fill("the whole animal must pay")
    page.get_by_role("button", name="Put on board").click()
    page.wait_for_url(re.compile("done=put$"))
    assert counter.shop.chalk.history("C10")[-1].price.amount == Decimal(needed)
    assert "Undo" in page.locator(".bar").inner_text()


def test_the_guard_takes_the_focus_and_passes_axe(counter, open_page):
    """The summary is focused and named in the title; after the reason the price is up."""
    page = open_page()
    page.goto(f"{counter.base}/chalk/B-41F")
    page.get_by_label("New price of Beef short ribs per lb").fill("12.00")
    page.get_by_label("Ines").check()
    page.get_by_role("button", name=re.compile("^Put on board at 08:00")).click()
    page.wait_for_selector(".problem")
    assert page.evaluate("document.activeElement.id") == "problem"
    assert page.title().startswith("Error: ")
    assert axe_faults(page) == []
    page.get_by_label("Why").fill("slow growth, dear feed")
    page.get_by_role("button", name=re.compile("^Put on board at 08:00")).click()
    page.wait_for_selector(".last-change")
    assert axe_faults(page) == []
    page.get_by_label("Kofi").check()
    page.get_by_role("button", name="Undo").click()
    page.wait_for_url(re.compile("done=undone$"))
    amounts = [str(one.price.amount) for one in counter.shop.chalk.history("C09")]
    assert amounts == ["8.90", "12.00", "8.90"]


def test_the_button_says_from_when(still_counter, open_page):
    """Now, a later hour, tomorrow."""
    page = open_page()
    page.goto(f"{still_counter.base}/chalk/line/C11")
    button = page.locator(".main-action")
    assert button.inner_text() == "Put on board at 08:00"
    page.get_by_label("From").fill("10:00")
    assert button.inner_text() == "Put on board at 10:00"
    page.get_by_label("Day").select_option("tomorrow")
    assert button.inner_text() == "Put on board at 10:00 tomorrow"


def test_the_steps_of_a_line_are_drawn(counter, open_page):
    """The library draws the price over time; the table beside says the same."""
    mince = UnitPrice.of("8.60", WeightUnit.LB)
    counter.shop.board_price("C11", mince, by="ines", why="dearer", key="k")
    page = open_page()
    page.goto(f"{counter.base}/chalk/line/C11")
    box = page.locator("#price-chart canvas").bounding_box()
    assert box["width"] > 300
    assert box["height"] > 150
    assert page.locator(".past-table tbody tr").count() == 2


@pytest.mark.parametrize("width", [320, 1280])
def test_a_planned_price_is_taken_back_by_its_button(counter, open_page, width):
    """Named by price and hour, large enough, no sideways scroll; then the plan is gone."""
    counter.shop.chalk.put(
        [NewPrice("C11", UnitPrice.of("8.40", WeightUnit.LB))], by="ines", why="dearer", key="k",
        from_at=counter.clock.now() + timedelta(hours=3),
    )  # fmt: skip
    page = open_page(width=width, height=900)
    page.goto(f"{counter.base}/chalk/line/C11")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert axe_faults(page) == []
    assert page.evaluate(SMALL, 44) == []
    page.get_by_label("Kofi").check()
    page.get_by_role("button", name="Take back 8.40 from Tue 11:00").click()
    page.wait_for_url("**done=withdrawn")
    assert counter.shop.chalk.planned() == ()
    assert page.get_by_role("button", name=re.compile("^Take back")).count() == 0


def test_the_board_on_display_follows_and_never_blanks(counter, open_page):
    """A new price comes by itself; with the counter off the last board stays, with its time."""
    page = open_page()
    page.goto(f"{counter.base}/board")
    row = page.locator("tr", has_text="Beef mince")
    assert "7.80" in row.inner_text()
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    counter.shop.board_price("C11", UnitPrice.of("8.60", WeightUnit.LB), by="ines", why="dearer",
                             key="k")  # fmt: skip
    page.evaluate("document.dispatchEvent(new Event('board:refresh'))")
    page.wait_for_selector("tr:has-text('Beef mince'):has-text('8.60')")
    assert page.locator(".as-of").is_hidden()
    counter.stop()
    page.evaluate("document.dispatchEvent(new Event('board:refresh'))")
    page.wait_for_selector(".as-of:visible")
    assert "8.60" in row.inner_text()
    page.reload()
    assert "Prices as of 08:00" in page.locator(".as-of").inner_text()
    assert "8.60" in row.inner_text()
    assert page.locator(".board-line").count() == 34


def sheets(page, size):
    """Return how many sheets the page prints on."""
    margin = dict.fromkeys(("top", "bottom", "left", "right"), "12mm")
    return len(re.findall(rb"/Type /Page\b", page.pdf(format=size, margin=margin)))


def test_the_board_prints_on_one_sheet_with_a_large_name(still_counter, open_page):
    """34 lines in two columns at 12 pt or more, on Letter and on A4; the name at 24 pt or more."""
    page = open_page()
    page.goto(f"{still_counter.base}/board")
    assert page.locator(".board-line").count() == 34
    page.emulate_media(media="print")
    points = "part => parseFloat(getComputedStyle(document.querySelector(part)).fontSize) * 72 / 96"
    assert page.evaluate(points, ".board-line th") >= 12
    assert page.evaluate(points, ".board-head .paper-only") >= 12
    assert page.evaluate(points, ".board-head h1") >= 24
    columns = "getComputedStyle(document.querySelector('.board-columns')).columnCount"
    assert page.evaluate(columns) == "2"
    assert sheets(page, "Letter") == 1
    assert sheets(page, "A4") == 1


def test_a_long_board_has_its_head_on_every_sheet(still_counter, open_page):
    """Head fixed to each sheet, and the repeated table head keeps its height free."""
    page = open_page()
    page.goto(f"{still_counter.base}/board")
    page.evaluate(
        "() => { for (let n = 0; n < 3; n += 1) { document.querySelectorAll('.board tbody')"
        ".forEach(part => part.parentNode.append(part.cloneNode(true))); } }"
    )
    page.emulate_media(media="print")
    assert sheets(page, "Letter") > 1
    style = "([part, name]) => getComputedStyle(document.querySelector(part))[name]"
    assert page.evaluate(style, [".board-head", "position"]) == "fixed"
    assert page.evaluate(style, [".board thead", "display"]) == "table-header-group"
    head, kept = (page.locator(part).bounding_box()["height"]
                  for part in (".board-head", ".board thead .paper-only"))  # fmt: skip
    assert kept >= head


@pytest.mark.parametrize("width", [360, 820, 1280])
def test_a_line_in_error_keeps_field_and_slider_in_their_places(still_counter, open_page, width):
    """Its field ends where the other fields end, its slider is as wide but for the red rule."""
    page = open_page(width=width, height=1100)
    page.goto(f"{still_counter.base}/chalk/B-41F")
    page.get_by_label("New price of Beef brisket per lb").fill("x")
    page.get_by_role("button", name="Work out", exact=True).click()
    page.wait_for_selector(".chalk-line.bad")

    def box(name):
        field = page.get_by_label(f"New price of {name} per lb").bounding_box()
        bar = page.get_by_role("slider", name=f"Slide the price of {name}").bounding_box()
        return field["x"] + field["width"], bar["width"]

    (bad_end, bad_bar), (end, bar) = box("Beef brisket"), box("Beef shin on the bone")
    assert abs(bad_end - end) <= 1
    assert bar - 24 <= bad_bar <= bar


def test_on_a_phone_now_and_needed_stand_under_the_name(still_counter, open_page):
    """The strip needs no sideways scroll; no row is taller than its band."""
    page = open_page(width=390, height=800)
    page.goto(f"{still_counter.base}/chalk/B-41F")
    table = page.locator(".strip-table")
    assert table.evaluate("part => part.scrollWidth <= part.parentElement.clientWidth")
    below = table.locator("tbody th").first.evaluate(
        "th => getComputedStyle(th, '::after').content"
    )
    assert re.fullmatch(r'"now [0-9.]+, needed [0-9.]+"', below)
    assert table.get_by_role("columnheader", name="Needed").count() == 0
    gaps = table.evaluate(
        "part => Array.from(part.querySelectorAll('tbody tr'), row => row.offsetHeight"
        " - row.querySelector('svg').getBoundingClientRect().height)"
    )
    assert max(gaps) <= 2
    page.set_viewport_size({"width": 1180, "height": 820})
    assert table.get_by_role("columnheader", name="Needed").is_visible()


def pounds(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


def say_yes(page, held):
    """Fill in who collects and when, and book."""
    page.goto(held)
    page.get_by_label("Name").fill("Garden wall")
    page.get_by_label("Phone end").fill("4471")
    page.get_by_label("Dot").check()
    page.get_by_role("button", name=re.compile("^Book [0-9]")).click()


def quoted(counter, key):
    """Hold 9.0 lb of mince and 4.0 lb of rump at the board of now."""
    lines = (NewLine("C11", pounds("9")), NewLine("C13", pounds("4")))
    ask = {"query": "heads=24&day=2026-06-09&time=18:00", "heads": 24,
           "use_at": "2026-06-09T18:00", "contains": [], "dont_eats": []}  # fmt: skip
    return counter.shop.quote(lines, ask=ask, key=key)


def add_mince(page):
    """From the slip: 2.0 lb of mince more, looked at with its reason, then added."""
    page.get_by_role("link", name="Add to it").click()
    page.get_by_label("Cut").select_option("C11")
    page.get_by_label("How much").fill("2")
    page.get_by_role("button", name="Work out the money").click()
    page.wait_for_selector(".why-price")
    assert page.locator(".why-price").inner_text() == (
        "Beef mince, 20 % fat, was booked at 7.80 (quoted 09:40, held until 10:40). The board moved"
        " to 8.60 at 10:00 by Ines: beef is dearer. What is added now is at 8.60."
    )
    assert page.locator("tfoot s").inner_text().endswith("135.80")
    assert page.locator("tfoot b").inner_text().endswith("153.00")
    assert axe_faults(page) == []
    page.get_by_label("Dot").check()
    page.get_by_role("button", name="Add for 17.20").click()
    page.wait_for_url("**done=added")


def agree_at_hand_over(page, counter, booking):
    """Check that walk, slip and board say the same of each line: price, weight and money."""
    base = counter.base
    walk = f"{base}/hook/{booking.id}/hand-over"
    page.goto(walk)
    told = page.locator(".walk-line .booked").all_inner_texts()
    assert [" ".join(one.split()) for one in told] == [
        "booked 9.00 lb at 7.80 /lb", "booked 4.00 lb at 16.40 /lb", "booked 2.00 lb at 8.60 /lb",
    ]  # fmt: skip
    for field, weight in zip(page.get_by_label("Weighed").all(), ("8.9", "4", "2"), strict=True):
        field.fill(weight)
    page.get_by_role("button", name="Work out the money").click()
    page.get_by_label("Dot").check()
    page.get_by_role("button", name="Hand over", exact=True).click()
    page.wait_for_url("**done=gone")
    slip = counter.shop.slip(booking.id)
    # weight times price of each line: 8.9 x 7.80, 4 x 16.40, 2 x 8.60
    assert [str(line.line_total) for line in slip.lines] == ["69.42", "65.60", "17.20"]
    rows = page.locator(".money-table tbody tr").all_inner_texts()
    for row, line in zip(rows, slip.lines, strict=True):
        assert f"{line.unit_price.amount} /lb" in row
        assert row.split()[-1] == str(line.line_total)
    assert "152.22" in page.locator("tfoot").first.inner_text()
    page.goto(f"{base}/board")
    assert "8.60" in page.locator("tr", has_text="Beef mince").inner_text()
    assert "16.40" in page.locator("tr", has_text="Beef rump").inner_text()


def test_a_quote_keeps_its_price_when_the_board_moves(counter, open_page):
    """135.80 at 09:40, 8.60 on the board at 10:00, yes at 10:05: held; 10:20 more at 8.60."""
    page, shop, clock = open_page(), counter.shop, counter.clock
    clock.put(datetime.fromisoformat("2026-06-09T09:40"))
    quote = quoted(counter, "first")
    assert quote.total == Money.of("135.80")
    held = f"{counter.base}/ask/book/{quote.id}"
    page.goto(held)
    assert "Price held until Tue 10:40." in page.locator("main").inner_text()

    clock.put(datetime.fromisoformat("2026-06-09T10:00"))
    page.goto(f"{counter.base}/chalk/line/C11")
    page.get_by_label("New price a lb").fill("8.60")
    page.get_by_label("Why").fill("beef is dearer")
    page.get_by_label("Ines").check()
    page.get_by_role("button", name="Put on board at 10:00").click()
    page.wait_for_url("**done=put")
    assert "On the board at 10:00, Ines" in page.locator(".last-change").inner_text()
    page.goto(f"{counter.base}/board")
    assert "8.60" in page.locator("tr", has_text="Beef mince").inner_text()

    clock.put(datetime.fromisoformat("2026-06-09T10:05"))
    say_yes(page, held)
    page.wait_for_url("**/hook/H*")
    slip = page.locator("main").inner_text()
    assert "135.80" in slip
    assert "7.80 /lb" in slip
    (booking,) = shop.find("Garden wall")
    assert booking.total == Money.of("135.80")

    clock.put(datetime.fromisoformat("2026-06-09T10:20"))
    add_mince(page)
    added = shop.booking(booking.id)
    assert [str(line.unit_price.amount) for line in added.lines] == ["7.80", "16.40", "8.60"]
    assert added.total == Money.of("153.00")
    rows = page.locator(".money-table tbody tr").all_inner_texts()
    assert [re.search(r"(\S+) /lb", row).group(1) for row in rows] == ["7.80", "16.40", "8.60"]
    assert "153.00" in page.locator("tfoot").first.inner_text()
    agree_at_hand_over(page, counter, added)
    change = shop.chalk.history("C11")[-1]
    assert (change.by, change.why, f"{change.from_at:%H:%M}") == ("ines", "beef is dearer", "10:00")


def test_after_the_holding_time_the_new_total_must_be_said_yes_to(counter, open_page):
    """At 10:41 the old total is refused in words; 143.00 is booked only by its own button."""
    page, shop, clock = open_page(), counter.shop, counter.clock
    clock.put(datetime.fromisoformat("2026-06-09T09:40"))
    held = f"{counter.base}/ask/book/{quoted(counter, 'first').id}"
    clock.put(datetime.fromisoformat("2026-06-09T10:00"))
    shop.board_price("C11", UnitPrice.of("8.60", WeightUnit.LB), by="ines", why="dearer", key="up")
    clock.put(clock.now() + timedelta(minutes=41))
    say_yes(page, held)
    page.wait_for_selector(".notice.loud")
    told = page.locator(".notice.loud").first.inner_text()
    assert "Nothing was booked." in told
    assert shop.find("Garden wall") == ()
    page.get_by_role("button", name="Book at today's board").click()
    page.wait_for_url("**/hook/H*")
    (booking,) = shop.find("Garden wall")
    assert booking.total == Money.of("143.00")
    assert "143.00" in page.locator("main").inner_text()


def test_adding_works_without_script_and_from_the_keyboard(counter, open_page):
    """Choose, work out, who, add; a board that moves between is accepted by the button's words."""
    page = open_page(java_script_enabled=False, width=320, height=700)
    page.goto(f"{counter.base}/hook/H8")
    page.get_by_role("link", name="Add to it").press("Enter")
    page.get_by_label("Cut").select_option("C11")
    page.get_by_label("How much").fill("2")
    page.get_by_label("How much").press("Enter")
    assert page.get_by_role("button", name="Add for 15.60").is_visible()
    counter.shop.board_price("C11", UnitPrice.of("8.60", WeightUnit.LB), by="ines", why="dearer",
                             key="k")  # fmt: skip
    page.get_by_label("Dot").press("Space")
    page.get_by_role("button", name="Add for 15.60").press("Enter")
    told = page.get_by_role("alert").first.inner_text()
    assert "8.60 a lb on the board now, not 7.80" in told
    assert "Nothing was added." in told
    lines = len(counter.shop.booking("H8").lines)
    page.get_by_role("button", name="Add at 8.60, for 17.20").press("Enter")
    page.wait_for_url("**/hook/H8?done=added")
    assert len(counter.shop.booking("H8").lines) == lines + 1
