"""The Farm Call on a telephone and with large text: one more and one less without scrolling."""

from __future__ import annotations

import pytest
from test_access import axe_faults

SEEN = """() => {
  const wide = document.documentElement.clientWidth, found = [];
  for (const cell of document.querySelectorAll('.farm-orders tbody :is(th, td)')) {
    const box = cell.getBoundingClientRect();
    if (box.left < 0 || box.right > wide + 1) found.push(cell.textContent.trim());
  }
  return [document.documentElement.scrollWidth - wide, found];
}"""


@pytest.mark.parametrize(("width", "text"), [(390, "100%"), (390, "200%"), (1280, "100%"),
                                             (1280, "200%")])  # fmt: skip
def test_orders_stand_within_the_screen(chromium, counter, width, text):
    """No sideways scroll of the page, and every cell of the orders within it; axe finds nothing."""
    page = chromium.new_page(viewport={"width": width, "height": 844})
    page.goto(f"{counter.base}/farm?beef-side=20")
    page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", text)
    assert page.evaluate(SEEN) == [0, []]
    assert page.locator(".farm-orders td[data-name='One more']").count() == 4
    assert "20 beef sides weigh 6,570 lb" in page.locator(".farm-orders .fault").inner_text()
    if text == "100%":
        assert axe_faults(page) == []
    page.close()
