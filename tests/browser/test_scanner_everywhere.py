"""A scanner set to send F13, the code and Enter, at 8 ms a key, on any page.

The spacing of 7 to 8 ms between keys is the one reported in UX.md, section 7.
"""

from __future__ import annotations

import time

import pytest
from fast_keys import type_fast

KEY_MS = 8
#: Page, code, and where it leads; pages without a ticket field of their own.
ANYWHERE = [
    ("/ask", "H2", "/hook/H2"),
    ("/case", "T3", "/trace?lot=T3"),
    ("/knife", "B-41F", "/trace?lot=B-41F"),
    ("/daybook", "C02-0609", "/trace?lot=C02-0609"),
]


def scan(page, code, *, prefix="F13", enter=True):
    """Send what a scanner sends; `prefix` empty for one that is not set up.

    F13 is no key of the test keyboard, so its events are made in the page; the rest is typed.
    """
    script = """async ([prefix, code, enter, gap]) => {
      const on = () => document.activeElement || document.body;
      const press = key => on().dispatchEvent(new KeyboardEvent("keydown",
        {key: key, bubbles: true, cancelable: true}));
      const keys = [...(prefix ? [prefix] : []), ...code, ...(enter ? ["Enter"] : [])];
      let swallowed = 0;
      for (const key of keys) {
        if (!press(key)) { swallowed += 1; }
        // the last key may lead to another page
        if (key !== "Enter") { await new Promise(done => setTimeout(done, gap)); }
      }
      return [keys.length, swallowed];
    }"""
    return page.evaluate(script, [prefix, code, enter, KEY_MS])


@pytest.mark.parametrize(("path", "code", "leads"), ANYWHERE)
def test_a_scan_on_any_page_leads_to_what_the_ticket_is(
    still_counter, open_page, path, code, leads
):
    """A booking to its slip, a ticket, a piece or a lot to its trace."""
    page = open_page()
    page.goto(still_counter.base + path)
    with page.expect_navigation(url=still_counter.base + leads):
        scan(page, code)
    assert code in page.locator("main").inner_text()


def test_nothing_of_a_scan_lands_in_the_focused_field(still_counter, open_page):
    """Focus stays, the field keeps its text, and real typing goes on as before."""
    page = open_page()
    page.clock.install()
    page.goto(still_counter.base + "/ask")
    field = page.locator("#f-heads").first
    field.fill("3")
    sent, swallowed = scan(page, "ABC123", enter=False)
    assert (sent, swallowed) == (7, 7)
    # keys of the real keyboard between prefix and Enter are swallowed too; the clock of the page
    # stands meanwhile, or a busy machine cuts the scan off before they come
    page.clock.pause_at(page.evaluate("Date.now() + 1000"))
    page.evaluate(
        "document.body.dispatchEvent(new KeyboardEvent('keydown', {key: 'F13', bubbles: true}))"
    )
    page.keyboard.type("99", delay=KEY_MS)
    assert field.input_value() == "3"
    page.clock.run_for(400)
    page.locator("#scanned", has_text="cut off").wait_for()
    page.clock.resume()
    field.focus()
    page.keyboard.press("End")
    page.keyboard.type("4", delay=KEY_MS)
    assert field.input_value() == "34"


def test_a_page_with_a_ticket_field_takes_the_scan_itself(still_counter, open_page):
    """Trace and recall look the scan up where they are."""
    page = open_page()
    page.goto(still_counter.base + "/recall")
    with page.expect_navigation(url="**/recall?*lot=B-41F.03*"):
        scan(page, "B-41F.03")
    assert page.locator("input[name=lot][type=text]").input_value() == "B-41F.03"


def test_the_same_code_twice_within_two_seconds_counts_once(still_counter, open_page):
    """The second is told and does nothing; after two seconds it counts again."""
    page = open_page()
    page.goto(still_counter.base + "/case")
    page.evaluate("sessionStorage.setItem('collop-scan',"
                  " JSON.stringify({code: 'T3', at: Date.now()}))")  # fmt: skip
    scan(page, "T3")
    page.locator("#scanned", has_text="counts once").wait_for()
    assert page.url.endswith("/case")
    page.evaluate("sessionStorage.setItem('collop-scan',"
                  " JSON.stringify({code: 'T3', at: Date.now() - 2100}))")  # fmt: skip
    with page.expect_navigation(url="**/trace?lot=T3"):
        scan(page, "T3")


def test_a_scan_that_is_cut_off_is_told_and_does_nothing(still_counter, open_page):
    """No Enter within 300 ms: one sentence, and the page stays."""
    page = open_page()
    page.goto(still_counter.base + "/case")
    began = time.monotonic()
    scan(page, "B-41", enter=False)
    page.locator("#scanned", has_text="The scan was cut off. Scan it again.").wait_for()
    assert time.monotonic() - began > 0.3
    assert page.url.endswith("/case")


def test_without_the_prefix_only_the_focused_field_gets_it(still_counter, open_page):
    """A scanner that is not set up types into the field, as a keyboard does, and nowhere else."""
    page = open_page()
    page.goto(still_counter.base + "/trace")
    page.locator("input[name=lot]").focus()
    page.keyboard.type("T3", delay=KEY_MS)
    assert page.locator("input[name=lot]").input_value() == "T3"
    with page.expect_navigation(url="**/trace?lot=T3"):
        page.keyboard.press("Enter")
    page.goto(still_counter.base + "/case")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.type("T3", delay=KEY_MS)
    page.keyboard.press("Enter")
    assert page.locator("#scanned").is_hidden()
    assert page.url.endswith("/case")


@pytest.mark.parametrize("code", ["T4", "00107000000123"])
def test_a_ticket_field_keeps_a_code_though_a_scale_types_too(still_counter, open_page, code):
    """On the page of the scale, without a prefix: the ticket is asked for, the weight untouched."""
    page = open_page()
    page.goto(still_counter.base + "/sell")
    page.get_by_label("Or a ticket").focus()
    with page.expect_navigation():
        type_fast(page, code)
    assert page.get_by_label("On the scale, lb").input_value() == ""
    added = "T4, lot B-41F.05" in page.locator(".sell-slip").inner_text()
    kept = page.get_by_label("Or a ticket").input_value() == code
    assert (added, kept) == ((True, False) if code == "T4" else (False, True))


def test_a_search_field_keeps_its_words_though_a_scale_types_too(still_counter, open_page):
    """Find, typed fast: the cut is found, and its number is no weight."""
    page = open_page()
    page.goto(still_counter.base + "/sell")
    page.get_by_label("Find a cut, by name or number").focus()
    with page.expect_navigation(url="**/sell?*find=C23*"):
        type_fast(page, "C23")
    assert page.get_by_label("On the scale, lb").input_value() == ""


def test_a_code_is_never_taken_as_a_weight(still_counter, open_page):
    """In the field of the weight it is told, and the ticket's field is next; a weight counts."""
    page = open_page()
    page.goto(still_counter.base + "/sell?find=C04")
    page.get_by_label("On the scale, lb").focus()
    type_fast(page, "00107000000123")
    page.locator("#scanned", has_text="That was a code, not a weight.").wait_for()
    assert page.get_by_label("On the scale, lb").input_value() == ""
    assert page.evaluate("document.activeElement.id") == "f-ticket"
    page.evaluate("document.activeElement.blur()")
    type_fast(page, "00107000000123")
    assert page.get_by_label("On the scale, lb").input_value() == ""
    assert page.url.endswith("/sell?find=C04")
    with page.expect_navigation(url="**/sell?line=*"):
        type_fast(page, "ST,GS,+00001.08lb")


def test_an_unknown_code_is_told_in_the_shops_own_sentence(still_counter, open_page):
    """The trace page says that nothing has this name."""
    page = open_page()
    page.goto(still_counter.base + "/case")
    with page.expect_navigation(url="**/trace?lot=NIX-1"):
        scan(page, "NIX-1")
    assert page.locator(".problem").count() == 1


def test_sounds_are_off_until_the_device_switches_them_on(still_counter, open_page):
    """No tone by default; switched on, a scan taken and one refused have each their own."""
    page = open_page()
    page.goto(still_counter.base + "/case")
    scan(page, "B-41", enter=False)
    page.locator("#scanned", has_text="cut off").wait_for()
    assert page.evaluate("document.documentElement.dataset.sounded || ''") == ""
    page.context.add_cookies([
        {"name": "collop_sounds", "value": "on", "url": still_counter.base},
    ])  # fmt: skip
    page.goto(still_counter.base + "/case")
    scan(page, "B-41", enter=False)
    page.locator("#scanned", has_text="cut off").wait_for()
    assert page.evaluate("document.documentElement.dataset.sounded") == "refused"
    with page.expect_navigation(url="**/trace?lot=T4"):
        scan(page, "T4")
    page.goto(still_counter.base + "/hook/H2?done=booked")
    assert page.evaluate("document.documentElement.dataset.sounded") == "booked"
    page.goto(still_counter.base + "/trace?lot=NIX-1")
    assert page.evaluate("document.documentElement.dataset.sounded") == "refused"
