"""Every long list is searched: by the shop where it is paged, elsewhere as one types."""

from __future__ import annotations

import re
from urllib.parse import quote

import pytest

#: Pages whose own field asks the shop, with a word and what must be left.
BY_THE_SHOP = {
    "/case": ("mushrooms", "main .case-table tbody tr"),
    "/hook": ("rowing", "main .slip, main a[href^='/hook/H']"),
    "/log": ("demo", "main tbody tr"),
}
#: Long pages that are searched as one types.
AS_ONE_TYPES = [
    "/rail",
    "/rules",
    "/styles",
    "/recall?lot=B-41F",
    "/trace?lot=B-41F",
    "/reckoning/B-41",
    "/long-list",
    "/daybook/print",
    "/daybook/places",
    "/yields/tables",
    "/chalk",
    "/chalk/costs",
    "/chalk/sums/whole?tag=P-118",
    "/chalk/sums/share-cost?tag=P-118",
    "/flow?lot=B-41",
    "/lockup",
    "/free-by",
    "/chalk/sums/clearing?from=shop",
    "/chalk/sums/equation?tag=B-41F",
    "/farm",
    "/replay",
]
#: Short pages, and a sheet of empty lines, in which there is nothing to find.
SHORT = ["/buying", "/net-weight", "/yields", "/device", "/ask"]

# lines that are seen and what they hold, as a reader of the page would say
LINES = """() => {
  const kinds = "tbody > tr, ul > li, ol > li";
  const lines = [...document.querySelectorAll("#main :is(" + kinds + ")")]
    .filter(one => !one.closest("nav, .bar, .chips, .problem, #find-here"))
    .filter(one => one.tagName === "TR" || one.querySelectorAll("tbody > tr").length <= 5);
  const plain = text => text.normalize("NFKD").replace(/\\p{M}/gu, "").toLowerCase();
  return lines.filter(one => getComputedStyle(one).display !== "none")
    .filter(one => one.checkVisibility() || one.closest("details:not([open])"))
    .filter(one => !lines.some(other => other !== one && other.contains(one)))
    .map(one => plain([one.textContent, ...[...one.querySelectorAll(
      "input:not([type=hidden], [type=radio], [type=checkbox]), textarea")]
      .map(field => field.value)].join(" ")));
}"""


def some_word(lines):
    """Return a word of the last line that has one which not every line has."""
    for line in reversed(lines):
        for word in sorted(re.findall(r"[a-z]{4,}", line), key=len, reverse=True):
            if not all(word in other for other in lines):
                return word
    raise AssertionError("all lines are alike")


@pytest.mark.parametrize("path", AS_ONE_TYPES)
def test_typing_leaves_only_lines_that_match(still_counter, open_page, path):
    """The field is there, hides what does not match, counts, and gives everything back."""
    page = open_page()
    page.goto(still_counter.base + path)
    field = page.get_by_role("textbox", name="Find on this page")
    before = page.evaluate(LINES)
    assert len(before) > 10
    word = some_word(before)
    field.fill(word.upper())
    shown = page.evaluate(LINES)
    assert shown == [line for line in before if word in line]
    said = page.locator("#found-here").inner_text()
    assert said.split()[0].isdigit()
    assert "lines" in said
    field.fill("zzzz")
    assert page.evaluate(LINES) == []
    assert page.locator("#found-here").inner_text() == "No line here matches."
    field.press("Escape")
    assert page.evaluate(LINES) == before
    assert page.locator("#found-here").inner_text() == ""


@pytest.mark.parametrize("path", BY_THE_SHOP)
def test_a_paged_or_kept_list_is_searched_by_the_shop(still_counter, open_page, path):
    """The page's own field answers with matching lines only; no second field stands beside it."""
    page = open_page()
    page.goto(still_counter.base + path)
    assert page.locator("#find-here").is_hidden()
    assert page.locator("main input[name=find]").count() == 1
    word, lines = BY_THE_SHOP[path]
    page.goto(f"{still_counter.base}{path}?find={quote(word)}")
    found = page.locator(lines).all_inner_texts()
    assert found
    assert all(word in text.casefold() for text in found)


def test_accents_and_case_do_not_matter_and_all_words_count(still_counter, open_page):
    """Each word must be somewhere in the line, however it is written."""
    page = open_page()
    page.goto(still_counter.base + "/chalk")
    field = page.get_by_role("textbox", name="Find on this page")
    field.fill("  SHÓULDER   lämb ")
    lines = page.evaluate(LINES)
    assert lines
    assert all("shoulder" in line and "lamb" in line for line in lines)


@pytest.mark.parametrize("path", SHORT)
def test_a_short_page_has_no_field(still_counter, open_page, path):
    """Ten lines are read faster than typed for."""
    page = open_page()
    page.goto(still_counter.base + path)
    assert page.locator("#find-here").is_hidden()


def test_without_script_the_whole_page_is_there(still_counter, open_page):
    """The field needs the script and is hidden without; every line is shown."""
    page = open_page(java_script_enabled=False)
    page.goto(still_counter.base + "/rules")
    assert page.locator("#find-here").is_hidden()
    assert page.locator("main li").count() > 10


def test_what_a_form_holds_is_sent_whether_its_line_is_shown_or_not(still_counter, open_page):
    """Finding hides; it takes nothing out of a form."""
    page = open_page()
    page.goto(still_counter.base + "/chalk/sums/whole?tag=P-118")
    count = "document.querySelector('main form').elements.length"
    texts = "[...new FormData(document.querySelector('main form')).entries()].length"
    before = page.evaluate(count), page.evaluate(texts)
    page.get_by_role("textbox", name="Find on this page").fill("loin")
    assert (page.evaluate(count), page.evaluate(texts)) == before
