"""Pictures: every figure of a table is the shop's own, and what is drawn is what the table says."""

from __future__ import annotations

import calendar
import json
import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.measures import Weight, WeightUnit
from collop.shop import DEMO_MONDAY, NewBooking, NewLine
from collop.shop.demo_rail import demo_table
from collop.shop.rail_weighings import HungWeights, Weighing
from collop.web.pictures import money_scale, shrink_picture
from collop.web.pictures_cover import cover_picture
from collop.web.reckoning_view import drawn_bars
from collop.web.rendering import Shown

SHOW = Shown()
CAME = DEMO_MONDAY - timedelta(days=7)


def pounds(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


def drawn(html, kind):
    """Return what the script of a page draws, the first of a kind."""
    found = [json.loads(unescape(one)) for one in re.findall(r"data-picture='([^']*)'", html)]
    return next(one for one in found if one["kind"] == kind)


def rows(html, caption):
    """Return the cells of the table with a caption, row by row."""
    table = next(one for one in html.split("<table") if f"<caption>{caption}" in one)
    table = table.partition("</table>")[0]
    return [
        [
            unescape(re.sub("<[^>]+>", "", cell)).strip()
            for cell in re.findall(r"<t[hd][^>]*>.*?</t[hd]>", row)
        ]
        for row in table.partition("<tbody>")[2].split("<tr")[1:]
    ]


# shrink over days


def test_the_rail_shows_every_weighing_of_what_hangs(client, shop):
    """Two of each piece: as it came, and on Monday; the weights are those of the demo's table."""
    html = client.get("/rail").text
    told = rows(html, "Every weighing of what hangs")
    given_rows = {row["tag"]: row for row in demo_table("scenario_rail.csv")}
    by_tag = {}
    for tag, _at, days, weight, lost in told:
        by_tag.setdefault(tag, []).append((days, weight, lost))
    assert set(by_tag) == {piece.tag for piece in shop.rail()}
    for tag, ((_, came, none), (days, now, _)) in by_tag.items():
        assert came == f"{float(given_rows[tag]['cold_weight_in_lb']):.2f} lb"
        assert now == f"{float(given_rows[tag]['weight_now_lb']):.2f} lb"
        assert days == given_rows[tag]["days_hung"]
        assert none == "0.0 %"


def test_the_table_ends_with_what_the_hooks_say(client, shop):
    """The last row of each piece is its weight now and its shrink, after it was weighed again."""
    shop.cutting.hang("L-207", pounds("50.0"), by="marek", key="again")
    told = {row[0]: row for row in rows(client.get("/rail").text, "Every weighing of what hangs")}
    for piece in shop.rail():
        _tag, _at, _days, weight, lost = told[piece.tag]
        assert (weight, lost) == (SHOW.weight(piece.weight_now), f"{piece.shrink_pct} %")


def test_lines_are_drawn_through_the_figures_of_the_table(client, shop):
    """Days and what is left in per cent, for each piece; L-207 has three points."""
    shop.cutting.hang("L-207", pounds("50.0"), by="marek", key="again")
    html = client.get("/rail").text
    lines = {line["name"]: line["points"] for line in drawn(html, "lines")["lines"]}
    for tag, points in lines.items():
        told = [row for row in rows(html, "Every weighing of what hangs") if row[0] == tag]
        assert points == [[int(row[2]), round(100 - float(row[4].split()[0]), 1)] for row in told]
    assert [x for x, _ in lines["L-207"]] == [0, 6, 7]


def test_without_a_second_weighing_there_is_nothing_to_draw():
    """A piece that was weighed once has no line."""
    once = Weighing(CAME, 0, pounds("50"), Decimal(0))
    assert shrink_picture([HungWeights("L-1", "whole", (once,))], SHOW) is None
    assert shrink_picture([], SHOW) is None


def test_a_piece_that_lay_at_the_block_and_came_back_has_no_weighing_more(shop):
    """Put back on the rail as it was, its history is what it was."""
    before = shop.cutting.weighings(shop.rail())
    found = shop.cutting.start_break("L-208", "lamb", by="marek", key="start")
    shop.cutting.put_back(found.number, by="marek", key="back")
    assert shop.cutting.weighings(shop.rail()) == before


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 400)), min_size=2, max_size=9))
def test_the_scale_holds_every_point(times):
    """Whatever was weighed, its point is inside the picture."""
    weighed = tuple(
        Weighing(CAME, days, pounds("40"), Decimal(lost) / 10) for days, lost in sorted(times)
    )
    made = shrink_picture([HungWeights("L-1", "whole", weighed)], SHOW).drawn
    (low, high), (first, last) = made["up"], made["across"]
    for day, kept in made["lines"][0]["points"]:
        assert first <= day <= last
        assert low <= kept <= high


# cover in days


def test_the_cover_page_tells_the_shops_own_figures(client, shop):
    """Each free line whose pace is known: free weight, days it lasts and keeps; thinnest first."""
    told = rows(client.get("/case?cover=1").text, "Cover of the case")
    case = {line.name: line for line in shop.case()}
    assert len(told) == len(case)
    drawn_rows = [row for row in told if case[row[0]].free and case[row[0]].cover_days]
    assert told[: len(drawn_rows)] == drawn_rows
    for name, free, days, keeps in drawn_rows:
        line = case[name]
        assert free == SHOW.weight(line.free)
        assert abs(Decimal(days) - line.cover_days) <= Decimal("0.05")
        assert keeps == str(line.days_left)
    assert [float(row[2]) for row in drawn_rows] == sorted(float(row[2]) for row in drawn_rows)


def test_cover_is_free_weight_over_the_usual_sale(client, shop):
    """The demo's case table, by hand: free pounds over the usual sale of a day."""
    told = {row[0]: row for row in rows(client.get("/case?cover=1").text, "Cover of the case")}
    names = {line.id: line.name for line in shop.case()}
    usual = {row["id"]: row["usual_lb_per_day"] for row in demo_table("case_more.csv")}
    seen = 0
    for row in demo_table("scenario_case.csv"):
        pace, free = Decimal(usual[row["id"]] or 0), Decimal(row["free_lb"])
        if pace and free:
            assert abs(Decimal(told[names[row["id"]]][2]) - free / pace) <= Decimal("0.06")
            seen += 1
    assert seen > 20


def test_a_line_that_outlasts_its_day_is_striped_from_that_day_on(shop):
    """Striped exactly where the case marks a slow seller; the stripe begins at its last day."""
    made = cover_picture(shop.case(), SHOW)
    high = made.drawn["high"]
    assert (made.drawn["low"], high) == (0, 14)
    for bar in made.bars:
        slow = bar.line.days_left < min(bar.line.cover_days, high)
        assert bool(bar.late) == slow
        if slow:
            assert bar.sold == bar.keeps == round(Decimal(100 * bar.line.days_left) / high, 2)
        assert abs(bar.sold + bar.late - min(100, 100 * bar.line.cover_days / high)) < Decimal(
            "0.01"
        )
        assert bar.is_cut == (bar.line.cover_days > 14)


def test_the_cover_follows_the_filter_and_hides_when_there_is_none(client, shop):
    """Found lines only; with none, or nothing free, no picture."""
    assert {row[0] for row in rows(client.get("/case?find=duck").text, "Cover of the case")} == {
        "Duck legs", "Ducks, whole, frozen"
    }  # fmt: skip
    assert "case-cover" not in client.get("/case?find=zzz").text
    assert cover_picture([line for line in shop.case() if not line.free], SHOW) is None


# demand by weekday


@pytest.fixture
def fortnight(shop, clock):
    """Sell the grilling cheese on six days of a fortnight; return what, by day."""
    start, sold = clock.now(), {}
    for past, amount in ((0, "0.5"), (1, "0.5"), (2, "1"), (3, "1"), (7, "0.5"), (8, "1")):
        clock.put(start + timedelta(days=past))
        new = NewBooking(name="Oat", collect_at=clock.now() + timedelta(hours=2), by="dot", heads=2,
                         lines=(NewLine("C33", pounds(amount)),))  # fmt: skip
        went = shop.book(new, key=f"book {past}")
        shop.hand_over(went.id, {f"{went.id}-1": pounds(amount)}, by="dot", key=f"go {past}")
        sold[clock.now().date()] = Decimal(amount)
    clock.put(start + timedelta(days=12))
    return sold


def test_an_open_day_is_counted_from_the_first_sale_to_yesterday(shop, fortnight):
    """Tuesday the 9th to Saturday the 20th: two of each open day, Sunday and Monday shut."""
    found = shop.learning.weekdays("C33")
    assert [one.days for one in found] == [0, 2, 2, 2, 2, 2, 0]
    for one in found:
        total = sum(amount for day, amount in fortnight.items() if day.weekday() == one.weekday)
        assert one.total == pounds(str(total))
        assert one.mean == (pounds(str(total / 2)) if one.days else None)


def test_the_weekdays_add_up_to_the_weeks(shop, fortnight):
    """What the weeks of the chalk room sum to, the days of the week do; and all lines as one."""
    weeks = sum(week.weight.count for week in shop.chalk.sales("C33"))
    assert sum(one.total.count for one in shop.learning.weekdays("C33")) == weeks
    assert shop.learning.weekdays() == shop.learning.weekdays("C33")
    assert sum(fortnight.values()) == Decimal("4.5")


def test_the_learned_page_draws_what_its_table_says(client, shop, fortnight):
    """Bars in pounds per open day, and the same in the table."""
    html = client.get("/learning?line=C33").text
    told = rows(html, "Days of the week")
    found = shop.learning.weekdays("C33")
    assert [row[0] for row in told] == list(calendar.day_name)
    for row, one, value in zip(told, found, drawn(html, "bars")["values"], strict=True):
        assert row[1:3] == [str(one.days), SHOW.weight(one.total)]
        assert row[3] == ("shut" if one.mean is None else SHOW.weight(one.mean))
        assert value == (0 if one.mean is None else float(one.mean.decimal(WeightUnit.LB, 3)))
    assert fortnight


def test_today_does_not_count_and_nothing_sold_draws_nothing(client, shop):
    """A sale of today leaves the page without bars; a line that is not there is said to be none."""
    shop.hand_over("H8", {"H8-1": pounds("5.0")}, by="dot", key="h8")
    assert shop.learning.weekdays() == ()
    assert "Nothing was sold before today yet." in client.get("/learning").text
    assert client.get("/learning?line=nix").status_code == 404


# from cost to result


def test_the_scale_of_an_account_is_that_of_its_steps(client, shop):
    """From the lowest point the steps reach to the highest, in the shop's money, over nothing."""
    shop.hand_over("H8", {"H8-1": pounds("5.0")}, by="dot", key="h8")
    bars = shop.reckoning.animal("B-41").bars
    scale = drawn(client.get("/reckoning/B-41").text, "axis")
    ends = [0, *(float(end.decimal()) for one in bars for end in (one.start, one.end))]
    assert (scale["low"], scale["high"], scale["label"]) == (min(ends), max(ends), "USD")
    for one in drawn_bars(bars):
        zero = 100 * (0 - scale["low"]) / (scale["high"] - scale["low"])
        assert float(one.zero) == pytest.approx(zero, abs=0.01)
    assert money_scale(()) is None
