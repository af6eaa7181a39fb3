"""At the glass in a browser: the scale fills the weight, two touches sell, two tills at once."""

from __future__ import annotations

import re

import pytest
from fast_keys import type_fast
from playwright.sync_api import expect

from collop.measures import Weight, WeightUnit


def put_on_scale(page, base, weight):
    """Send a steady reading, as the command beside the scale does."""
    sent = {"weight": weight, "unit": "lb", "state": "stable"}
    assert page.request.post(f"{base}/scale", form=sent).status == 204


def who(page, name="Dot"):
    page.get_by_label(name, exact=True).check()


def test_two_touches_sell_what_is_on_the_scale(counter, open_page):
    """The live weight stands in the field; touch the cut, touch the money: the slip, and Next."""
    page = open_page()
    page.goto(f"{counter.base}/sell?by=dot")
    put_on_scale(page, counter.base, "1.08")
    expect(page.get_by_label("On the scale, lb")).to_have_value(re.compile(r"^1\.08"))
    page.get_by_role("button", name=re.compile(r"^Beef mince")).click()
    page.wait_for_url("**/sell?line=**")
    page.get_by_role("button", name=re.compile(r"Take the money: cash 8\.42")).click()
    page.wait_for_url("**/sell/H11?done=sold**")
    assert "Paid in full" in page.locator("article").inner_text()
    page.get_by_role("link", name="Next").click()
    page.wait_for_url("**/sell?by=dot")
    assert page.get_by_label("Dot", exact=True).is_checked()
    assert str(counter.shop.money.takings().total) == "8.42"
    assert counter.shop.check() == []


def test_two_tills_sell_beside_each_other(counter, open_page):
    """Two open pages know nothing of each other; back and forth keep each one's lines."""
    pages = [open_page(), open_page(width=390, height=844)]
    for page, cut, weight in zip(pages, ("Lamb mince", "Beef rump"), ("0.5", "1"), strict=True):
        page.goto(f"{counter.base}/sell?by=ines")
        page.get_by_label("On the scale, lb").fill(weight)
        page.get_by_role("button", name=re.compile(f"^{cut}")).click()
        page.wait_for_url("**/sell?line=**")
    pages[0].go_back()
    pages[0].go_forward()
    for page, total in zip(pages, ("4.60", "16.40"), strict=True):
        page.get_by_role("button", name=f"Card {total}").click()
        page.wait_for_url("**/sell/H*")
    assert str(counter.shop.money.takings().total) == "21.00"


@pytest.mark.parametrize(("width", "height"), [(1180, 820), (390, 844)])
def test_the_total_and_the_money_are_always_in_view(counter, open_page, width, height):
    """However many lines, the total and the main action stand on the screen without scrolling."""
    page = open_page(width=width, height=height)
    page.goto(f"{counter.base}/sell?by=dot")
    for _ in range(6):
        page.get_by_label("On the scale, lb").fill("0.25")
        page.get_by_role("button", name=re.compile(r"^Beef mince")).click()
        page.wait_for_load_state()
    button = page.get_by_role("button", name=re.compile("Take the money"))
    page.evaluate("window.scrollTo(0, 0)")
    box = button.bounding_box()
    assert box["y"] >= 0
    assert box["y"] + box["height"] <= height
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_it_sells_without_script_and_the_slip_is_72_mm_wide(counter, chromium):
    """No script at all: find, add, over what was asked, take it, pay, take back; then print."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{counter.base}/sell")
    page.get_by_label("Find a cut, by name or number").fill("C04")
    page.get_by_role("button", name="Find").click()
    page.get_by_label("On the scale, lb").fill("1.5")
    page.get_by_label("Asked for, lb").fill("1")
    page.get_by_role("button", name=re.compile("^Lamb loin chops")).click()
    page.get_by_role("link", name="Take it").click()
    who(page)
    page.get_by_role("button", name=re.compile("^Card")).click()
    assert page.url.split("?")[0].endswith("/sell/H11")
    page.get_by_text("Take back over the glass").click()
    page.get_by_label("Weight, lb, if not all").fill("0.5")
    page.get_by_label("Why").fill("not trimmed")
    back = page.locator("form[action$='/back']")
    back.get_by_label("card back").check()
    back.get_by_label("Dot", exact=True).check()
    back.get_by_role("button", name="Take back").click()
    assert "not trimmed" in page.locator("article").inner_text()
    (found,) = counter.shop.selling.returned_on(counter.clock.now().date())
    assert found.weight == Weight.of("0.5", WeightUnit.LB)
    paper = page.pdf(prefer_css_page_size=True)
    width_pt = float(re.search(rb"/MediaBox \[0 0 ([0-9.]+)", paper)[1])
    assert abs(width_pt / 72 * 25.4 - 72) < 0.5
    context.close()


@pytest.mark.parametrize("delay", [0, 90])
@pytest.mark.parametrize("script", [True, False])
def test_enter_in_the_weight_field_adds_the_line(counter, chromium, delay, script):
    """Typed by hand, or as fast as by a scale, with script or without: Enter is Add."""
    context = chromium.new_context(java_script_enabled=script)
    page = context.new_page()
    page.goto(f"{counter.base}/sell?by=dot&line=cut%3DC11%26net%3D45359237000lb&find=C04")
    page.get_by_label("On the scale, lb").click()
    if delay:
        page.keyboard.type("1.08", delay=delay)
        page.keyboard.press("Enter")
    else:
        type_fast(page, "1.08")
    page.wait_for_url(lambda url: url.count("line=") == 2)
    assert "Lamb loin chops" in page.locator(".sell-lines").inner_text()
    assert counter.shop.money.takings().slips == ()
    context.close()


@pytest.mark.parametrize("script", [True, False])
def test_a_cut_touched_first_is_kept_and_enter_after_its_weight_adds_it(counter, chromium, script):
    """No weight yet: no box and no fault, the focus waits in the weight; then one Enter."""
    context = chromium.new_context(
        java_script_enabled=script, viewport={"width": 1180, "height": 820}
    )
    page = context.new_page()
    page.goto(f"{counter.base}/sell?by=dot")
    tile = page.get_by_role("button", name=re.compile("^Lamb neck slices"))
    before = tile.bounding_box()
    tile.click()
    page.locator(".sell-tile.is-chosen", has_text="Lamb neck slices").wait_for()
    assert page.get_by_text("There is a problem").count() == 0
    assert tile.bounding_box() == before
    expect(page.get_by_text("Lamb neck slices: put it on the scale")).to_be_visible()
    expect(page.get_by_label("On the scale, lb")).to_be_focused()
    page.keyboard.type("1", delay=90)
    page.keyboard.press("Enter")
    page.wait_for_url("**/sell?line=**")
    assert "Lamb neck slices" in page.locator(".sell-lines").inner_text()
    assert counter.shop.money.takings().slips == ()
    context.close()


def test_the_next_touch_after_a_touch_without_weight_takes_the_cut_under_the_finger(
    counter, open_page
):
    """Scrolled down a long list: nothing moves but the mark, and a weight goes to the last one."""
    page = open_page()
    page.goto(f"{counter.base}/sell?by=dot&name=Bo")
    first = page.get_by_role("button", name=re.compile("^Beef rump"))
    second = page.get_by_role("button", name=re.compile("^Pork loin chops"))
    places = [one.bounding_box() for one in (first, second)]
    first.click()
    second.click()
    assert [one.bounding_box() for one in (first, second)] == places
    assert page.locator(".sell-tile.is-chosen").count() == 1
    assert page.get_by_role("button", name="Add C17").is_visible()
    put_on_scale(page, counter.base, "1.00")
    expect(page.get_by_label("On the scale, lb")).to_have_value(re.compile(r"^1"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/sell?line=**name=Bo**")
    assert "Pork loin chops" in page.locator(".sell-lines").inner_text()
