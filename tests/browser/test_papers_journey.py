"""A morning without power: the set is printed, sales are keyed back, and a list is brought in."""

from __future__ import annotations

from collop.shop import DEMO_START


def test_a_sheet_of_sales_is_keyed_back_by_keyboard(counter, open_page):
    """Two rows typed with Tab alone; a wrong one is shown beside its field; then both are there."""
    counter.clock.put(DEMO_START.replace(hour=12))
    page = open_page()
    page.goto(f"{counter.base}/papers")
    page.get_by_role("link", name="Key back what was written").click()
    page.get_by_role("link", name="Sales").click()
    page.wait_for_url("**/papers/back/sales")
    page.get_by_label("Sheet 1, row 1, time").focus()
    for text in ("8:40", "C11", "2.00"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    page.get_by_label("Sheet 1, row 2, time").fill("9:05")
    page.get_by_label("Sheet 1, row 2, cut").fill("Moon beef")
    page.get_by_label("Sheet 1, row 2, net").fill("1.10")
    page.get_by_label("Sheet 1, row 2, paid").select_option("card")
    page.get_by_label("Dot").check()
    page.get_by_role("button", name="Write all rows").click()
    page.wait_for_selector("#problem")
    assert page.evaluate("document.activeElement.id") == "problem"
    page.get_by_role("link", name="Row 2, cut: there is no").click()
    assert page.evaluate("document.activeElement.id") == "f-cut-1-2"
    page.get_by_label("Sheet 1, row 2, cut").fill("C03")
    page.get_by_role("button", name="Write all rows").click()
    page.wait_for_url("**/papers/back?done=**")
    assert "2 rows of P-0609-S1 written." in page.locator("main").inner_text()
    page.goto(f"{counter.base}/papers")
    said = page.locator("main").inner_text()
    assert "Tue 9 Jun 08:40" in said
    assert "Tue 9 Jun 12:00" in said
    assert "P-0609-S1 row 2" in said


def test_the_set_is_one_click(counter, open_page):
    """The button of the page brings a PDF."""
    page = open_page()
    page.goto(f"{counter.base}/papers")
    answer = page.request.get(f"{counter.base}/papers/set.pdf?paper=a4")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.body().startswith(b"%PDF")


def test_a_list_is_tried_and_written_without_script(counter, open_page, tmp_path):
    """A spreadsheet's list with semicolons: the trial says what changes, the button does it."""
    sheet = tmp_path / "board.csv"
    sheet.write_bytes("\ufeffName;Price\r\nBeef rump;16,90\r\n".encode())
    page = open_page(java_script_enabled=False)
    page.goto(f"{counter.base}/exchange")
    page.get_by_label("List", exact=True).select_option("board")
    page.get_by_label("The list, saved as CSV").set_input_files(sheet)
    page.get_by_label("Ines").check()
    page.get_by_role("button", name="Try the list").click()
    assert "1 price change, nothing else." in page.locator("main").inner_text()
    page.get_by_role("button", name="Write 1 change").click()
    assert "Written: 1 price change, nothing else." in page.locator("main").inner_text()
    assert str(counter.shop.board_changes("C13")[-1].price.amount) == "16.90"
