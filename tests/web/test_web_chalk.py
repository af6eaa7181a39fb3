"""Chalk: one animal's board, what its prices bring, and putting prices up and back."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from collop.chalk import chalk
from collop.errors import WrongState
from collop.measures import UnitPrice, WeightUnit
from collop.shop import NewPrice
from collop.web.chalk_view import Line
from collop.web.rendering import UNIT_COOKIE

B41F = "/chalk/B-41F"
WHO = {"by": "ines", "key": "k", "do": "put"}
PAGES = ("/chalk", B41F, "/chalk/L-207", "/chalk/B-42", f"{B41F}?margin=x", "/chalk/line/C11",
         "/chalk/line/C09", "/chalk/costs", "/chalk/nowhere", "/chalk/line/C99",
         "/case?moves=1", "/board")  # fmt: skip
ACTS = (B41F, f"{B41F}/pulls", "/chalk/line/C11", "/case/mark-down")


def later(clock, **time):
    """Move the clock on."""
    clock.put(clock.now() + timedelta(**time))


def price_of(shop, case_id):
    """Return the amount in force."""
    return next(line.price.amount for line in shop.chalk.board() if line.case_id == case_id)


def money_in(text):
    """Return every amount of money in a text."""
    return [Decimal(one.replace(",", "")) for one in re.findall(r"-?[0-9][0-9,]*\.[0-9]{2}", text)]


def section(html, title):
    """Return the part of a page under a heading."""
    return html[html.index(title) :].split("</section>")[0]


@pytest.mark.parametrize("address", PAGES)
def test_every_page_has_no_inline_and_names_its_fields(client, read_page, address):
    """No inline script or style, every field named for a reader, every id once."""
    answer = client.get(address)
    assert answer.status_code < 500
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []
    ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
    assert len(ids) == len(set(ids))


def test_the_animals_are_offered_with_what_they_cost(client, shop, words):
    """What hangs and what was broken, each a link; every line of the board too."""
    answer = client.get("/chalk")
    text = words(answer.text)
    for animal in shop.chalk.animals():
        assert f'href="/chalk/{animal.tag}"' in answer.text
        assert f"cost {animal.cost.decimal():,.2f}" in text
    assert answer.text.count('href="/chalk/line/') == len(shop.chalk.board())


def test_a_shop_without_animals_is_told_what_to_do_first(client, shop, words, monkeypatch):
    """One sentence and the way to receive one."""
    monkeypatch.setattr(shop.chalk, "animals", lambda: ())
    answer = client.get("/chalk")
    assert "Start from one animal and one target." in words(answer.text)
    assert 'href="/rail/receive"' in answer.text


def test_the_sales_needed_follow_from_the_cost_lines_shown(client, words):
    """Cost less by-products over one less the margin; the carcass equation, from memory."""
    told = section(client.get(B41F).text, "What it must earn").partition("<details")[0]
    text = words(told)
    *costs, pays, needed = money_in(re.sub(r"at [0-9.]+ an hour|, [0-9.]+ a lb", "", text))
    assert len(costs) == 6
    assert abs(sum(costs) - pays) <= Decimal("0.03")
    assert abs(pays / Decimal("0.65") - needed) <= Decimal("0.05")


def test_what_nobody_has_priced_is_said_and_can_be_tried(client, shop, words):
    """40 lb without a line count at the mean; a price tried for them counts, and never goes up."""
    page = client.get(B41F).text
    guess = shop.chalk.plan("B-41F")["guessed"]
    assert f"Of board now {guess['revenue']} is guessed: {guess['names'][0]} has no price" in words(
        page
    )
    assert 'name="price-part-1"' in page
    text = words(client.post(f"{B41F}/pulls", data={"price-part-1": "7.00"}).text)
    plan = shop.chalk.plan("B-41F", prices={"part:Chuck and rib, cut to list": Decimal(7)})
    leg = next(cut for cut in plan["cuts"] if cut["id"] == "C10")
    assert f"needed {leg['price']}" in text
    before = shop.chalk.board()
    put = client.post(B41F, data={**WHO, "price-part-1": "7.00"})
    assert put.status_code == 422
    assert shop.chalk.board() == before


def test_who_obeys_a_pull_makes_the_target(client, shop, words):
    """Shin typed at 5.00: the cut that answers alone, up by so much from its needed price, pays."""
    text = words(client.post(f"{B41F}/pulls", data={"price-C15": "5.00"}).text)
    plan = shop.chalk.plan("B-41F")
    needed = {cut["id"]: Decimal(cut["price"]) for cut in plan["cuts"]}
    by = Decimal("5.00") - needed["C15"]
    (pull,) = shop.chalk.plan("B-41F", pulls=[("C15", by)])["pulls"]
    assert pull["say"] in text
    best = pull["alone"][0]
    prices = {key: f"{price:f}" for key, price in needed.items()}
    prices |= {"C15": "5.00", best["id"]: f"{needed[best['id']] + Decimal(best['up']):f}"}
    problem = shop.chalk.problem("B-41F")
    cuts = [cut | {"price": prices[cut["id"]]} for cut in problem["cuts"]]
    present = chalk({**problem, "cuts": cuts})["present"]
    assert Decimal(present["revenue"]) >= Decimal(plan["needed"])


def test_a_price_that_will_need_a_reason_says_so_while_it_moves(client, words):
    """Beside the line, before anybody puts it up."""
    text = words(client.post(f"{B41F}/pulls", data={"price-C09": "2.00"}).text)
    assert "Needs a reason: " in text
    assert "under" in text.partition("Needs a reason: ")[2]
    calm = words(client.post(f"{B41F}/pulls", data={"price-C09": "8.85"}).text)
    assert "Needs a reason" not in calm


def test_the_strip_carries_every_part_with_its_weight(client, shop, words):
    """As tall as its weight, none under 24 px, with weight, sold, present and needed beside."""
    answer = client.get(B41F)
    strip = section(answer.text, "The animal")
    parts = [part for part in shop.chalk.parts("B-41F") if part.weight]
    heights = [
        Decimal(one) for one in re.findall(r'<svg width="100%" height="([0-9.]+)rem"', strip)
    ]
    assert len(heights) == len(parts)
    assert min(heights) >= Decimal("1.5")
    tall = [(height, part.weight.count) for height, part in zip(heights, parts, strict=True)
            if height > Decimal("1.5")]  # fmt: skip
    scale = tall[0][0] / tall[0][1]
    assert len(tall) > 3
    assert all(abs(height - scale * count) <= Decimal("0.03") for height, count in tall)
    text = words(strip)
    for part in parts:
        assert f"{part.name} {part.weight.text()}" in text


def test_what_was_sold_fills_its_part(client, shop, words):
    """Handed over, the part says how much of it has gone, and the hatch is as wide."""
    booking = shop.booking("H8")
    weighed = {line.id: line.weight for line in booking.lines}
    shop.hand_over("H8", weighed, by="dot", key="gone")
    part = next(one for one in shop.chalk.parts("B-41F") if one.sold)
    share = round(100 * part.sold.count / part.weight.count)
    strip = section(client.get(B41F).text, "The animal")
    assert f'<rect class="band-sold" width="{share}%"' in strip
    assert f"{part.name} {part.weight.text()} {share} %" in words(strip)


def test_a_moved_price_is_answered_with_its_number(client, shop, words):
    """The fragment carries the number; as typed differs from now by the move times what sells."""
    sent = {"number": "7", "price-C09": "8.40"}
    answer = client.post(f"{B41F}/pulls", data=sent)
    assert answer.status_code == 200
    assert '<div id="chalk-live" data-number="7">' in answer.text
    assert "<html" not in answer.text
    text = words(answer.text)
    assert "now 8.90 8.40 down 0.50" in text
    pulls = section(answer.text, "Against the needed prices")
    assert pulls.count("<li>") == 1
    needs = next(c["price"] for c in shop.chalk.plan("B-41F")["cuts"] if c["id"] == "C09")
    assert f"Beef short ribs down {Decimal(needs) - Decimal('8.40')}:" in words(pulls)
    told = re.sub(
        r"Of board now [0-9,.]+ is guessed",
        "",
        words(section(answer.text, "What the prices bring")),
    )
    needed, now, _, typed, _ = money_in(told)[:5]
    cut = next(one for one in shop.chalk.problem("B-41F")["cuts"] if one["id"] == "C09")
    sells = Decimal(cut["weight"]) * (1 - Decimal(str(cut["shrink"])))
    assert abs(now - typed - sells / 2) <= Decimal("0.01")
    assert typed < now < needed


def test_the_others_answer_while_a_kept_price_stays(client, shop, words):
    """Kept at the board, a line needs nothing; the others need more than without the lock."""
    kept = client.post(f"{B41F}/pulls", data={"keep": ["C10", "C09"]}).text
    text = words(kept)
    assert text.count("now 9.60 kept") == 1
    plan = shop.chalk.plan("B-41F", fixed=["C09", "C10"])
    free = next(cut for cut in plan["cuts"] if cut["id"] == "C07")
    assert f"now 12.70 needed {free['price']}" in text
    alone = next(cut for cut in shop.chalk.plan("B-41F")["cuts"] if cut["id"] == "C07")
    assert Decimal(free["price"]) > Decimal(alone["price"])


@pytest.mark.parametrize("number", ["", "x", "-1", "1234567890123"])
def test_a_number_that_is_none_is_not_repeated(client, number):
    """Nothing a sender makes up stands in the answer."""
    answer = client.post(f"{B41F}/pulls", data={"number": number})
    assert 'data-number=""' in answer.text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("x", "Beef short ribs: write an amount"),
        ("-3", "Beef short ribs: enter more than 0"),
        ("NaN", "Beef short ribs: write an amount"),
        ("1e99", "Beef short ribs: enter 100000 or less"),
        ("1e-999999", "Beef short ribs: write at most 2 decimals"),
        ("9.805", "Beef short ribs: write at most 2 decimals"),
        ("<b>8</b>", "Beef short ribs: write an amount"),
    ],
)
def test_an_unreadable_price_is_said_beside_its_field(client, words, text, says):
    """422 on the page and in the fragment, what was typed stays, the summary leads to the field."""
    for address in (B41F, f"{B41F}/pulls"):
        answer = client.post(address, data={"price-C09": text, **WHO})
        assert answer.status_code == 422
        assert says in words(answer.text)
    page = client.post(B41F, data={"price-C09": text, **WHO}).text
    assert 'href="#f-price-C09"' in page
    assert 'aria-describedby="e-price-C09"' in page
    assert "<b>8</b>" not in page


@pytest.mark.parametrize("margin", ["x", "0", "96", "-5"])
def test_a_target_that_cannot_be_is_said_beside_it(client, words, margin):
    """The shop's own target is used meanwhile."""
    answer = client.post(B41F, data={"margin": margin})
    assert answer.status_code == 422
    assert "Target margin, per cent:" in words(answer.text)


def test_what_was_paid_is_read_or_said_beside_its_field(client, words):
    """The animal can be tried at another cost; what is no amount has its field and its message."""
    assert "bought 600.00" in words(client.get(f"{B41F}?paid=600").text)
    answer = client.get(f"{B41F}?paid=x")
    assert answer.status_code == 422
    assert 'href="#f-paid"' in answer.text
    assert 'id="f-paid"' in answer.text


def test_another_target_needs_other_sales(client, words):
    """At 50 per cent the sales needed are those at 35 times 65 over 50."""
    usual, half = (
        money_in(words(section(client.get(address).text, "What the prices bring")))[0]
        for address in (B41F, f"{B41F}?margin=50")
    )
    assert abs(half - usual * 65 / 50) <= Decimal("0.02")


def test_the_needed_prices_fill_the_fields(client, shop, read_page):
    """One touch, also without script; a kept line keeps its price."""
    answer = client.post(B41F, data={"do": "needed", "keep": "C10"})
    form = read_page(answer.text).form(B41F)
    plan = {cut["id"]: cut for cut in shop.chalk.plan("B-41F", fixed=["C10"])["cuts"]}
    assert form["price-C10"] == ["9.60"]
    for case_id in ("C07", "C08", "C09", "C15"):
        assert form[f"price-{case_id}"] == [plan[case_id]["price"]]


def test_changed_prices_go_up_together_with_who_and_why(client, shop, words):
    """Two lines in one act, the others untouched; the strip shows old and new."""
    sent = {**WHO, "price-C09": "9.40", "price-C10": "10.20", "price-C15": "6.60", "why": "feed"}
    answer = client.post(B41F, data=sent)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{B41F}?done=put")
    assert price_of(shop, "C09") == Decimal("9.40")
    assert price_of(shop, "C10") == Decimal("10.20")
    last = shop.chalk.history("C10")[-1]
    assert (last.by, last.why, last.from_at) == ("ines", "feed", shop.now())
    assert len(shop.chalk.history("C15")) == 1
    page = client.get(f"{B41F}?done=put").text
    text = words(page)
    assert "On the board at 08:00, Ines: Beef brisket 9.60 /lb 10.20 /lb , Beef short ribs" in text
    assert "<s>9.60 /lb</s>" in page
    client.post(B41F, data=sent)
    assert len(shop.chalk.history("C10")) == 2


def test_a_second_touch_of_the_button_is_no_fault(client, shop):
    """The form comes twice with one key: both answers say it is done, the board changed once."""
    former = price_of(shop, "C10")
    sent = {**WHO, "why": "the animal must pay", "price-C09": "9.00", "was-C09": "8.90",
            "price-C10": f"{former + 1:.2f}", "was-C10": f"{former:.2f}"}  # fmt: skip
    for _ in range(2):
        assert client.post(B41F, data=sent).headers["location"] == f"{B41F}?done=put"
    assert len(shop.chalk.history("C09")) == 2
    assert len(shop.chalk.history("C10")) == 2
    assert client.post(B41F, data={**sent, "key": "x", "was-C09": "9.00"}).status_code == 303
    unchanged = {**WHO, "price-C09": "9.00", "was-C09": "9.00"}
    assert client.post(B41F, data=unchanged).status_code == 422


def test_a_price_from_this_minute_is_put_up_at_once(client, shop, clock):
    """At 08:00:30 the time 08:00 is not past: it is now."""
    later(clock, seconds=30)
    sent = {**WHO, "price-C09": "9.00", "from_time": "08:00"}
    assert client.post(B41F, data=sent).status_code == 303
    assert shop.chalk.history("C09")[-1].from_at == clock.now()


def test_a_move_is_told_with_the_decimals_of_its_prices():
    """Yen have none, dinars have three; a move of under a hundredth does not read as nothing."""
    texts = [("2400", "2500"), ("7.200", "7.196"), ("8.90", "9.00"), ("8.90", "8.90")]
    lines = [Line("C09", "x", was, now, now, "", is_kept=False, low="1", high="2")
             for was, now in texts]  # fmt: skip
    assert [line.move_text for line in lines] == ["up 100", "down 0.004", "up 0.10", ""]


def test_a_jump_needs_a_reason_and_then_passes(client, shop, words):
    """422 with the sentence beside the line and a reason asked for; nothing is written before."""
    sent = {**WHO, "price-C09": "11.20"}
    answer = client.post(B41F, data=sent)
    assert answer.status_code == 422
    text = words(answer.text)
    new = NewPrice("C09", UnitPrice.of("11.20", WeightUnit.LB))
    assert shop.chalk.guards([new])[0].say in text
    assert "Why: write a reason" in text
    assert 'id="e-price-C09"' in answer.text
    assert 'id="e-why"' in answer.text
    assert price_of(shop, "C09") == Decimal("8.90")
    again = client.post(B41F, data={**sent, "why": "the whole animal must pay"})
    assert again.status_code == 303
    assert shop.chalk.history("C09")[-1].why == "the whole animal must pay"


def test_a_price_under_cost_needs_a_reason(client, shop, words):
    """The sentence names both figures; three letters are enough."""
    cost = shop.chalk.case_costs()["C07"].amount
    low = f"{cost - Decimal('0.05'):.2f}"
    sent = {**WHO, "price-C07": low, "why": "ok"}
    answer = client.post(B41F, data=sent)
    assert answer.status_code == 422
    assert "is under what it cost" in words(answer.text)
    assert client.post(B41F, data={**sent, "why": "old"}).status_code == 303


@pytest.mark.parametrize(
    ("change", "status", "says"),
    [
        ({"by": ""}, 422, "Who: choose who does this."),
        ({"by": "nobody"}, 422, "is not known here"),
        ({"price-C09": "8.90"}, 422, "nothing is changed yet"),
        ({"from_time": "07:00"}, 422, "From: 07:00 is past"),
        ({"from_time": "x"}, 422, "From: write the time like"),
        ({"from_day": "tomorrow"}, 422, "From: write the time of tomorrow"),
        ({"from_day": "never"}, 422, "From:"),
    ],
)
def test_what_lacks_is_said_and_nothing_goes_up(client, shop, words, change, status, says):
    """Each fault beside its field; the board stays."""
    answer = client.post(B41F, data={**WHO, "price-C09": "9.40", **change})
    assert answer.status_code == status
    assert says in words(answer.text)
    assert price_of(shop, "C09") == Decimal("8.90")
    for target in re.findall(r'<li><a href="#([^"]*)">', answer.text):
        assert f'id="{target}"' in answer.text


def test_a_price_for_later_waits_and_can_be_taken_back(client, shop, clock, words):
    """From 10:00: the board keeps the old price until then; taken back, it never comes."""
    client.post(B41F, data={**WHO, "price-C09": "9.40", "from_time": "10:00", "why": "dearer feed"})
    assert price_of(shop, "C09") == Decimal("8.90")
    page = client.get(f"{B41F}?done=put").text
    text = words(page)
    assert "Goes on the board from Tue 10:00, Ines: Beef short ribs" in text
    assert "Planned: 9.40 /lb from Tue 10:00." in text
    last = re.search(r'name="last" value="([^"]*)"', page).group(1)
    sent = {"do": "undo", "by": "ines", "key": "back", "last": last}
    assert client.post(B41F, data=sent).headers["location"] == f"{B41F}?done=undone"
    later(clock, hours=3)
    assert price_of(shop, "C09") == Decimal("8.90")


def test_a_price_for_tomorrow_comes_in_force_then(client, shop, clock):
    """At its time and not a minute before."""
    sent = {**WHO, "price-C09": "9.40", "from_time": "08:00", "from_day": "tomorrow"}
    assert client.post(B41F, data=sent).status_code == 303
    later(clock, hours=23, minutes=59)
    assert price_of(shop, "C09") == Decimal("8.90")
    later(clock, minutes=1)
    assert price_of(shop, "C09") == Decimal("9.40")


def test_undo_puts_the_former_prices_back_as_further_entries(client, shop, words):
    """Both lines go back, nothing is struck from the history, and undo is then no more offered."""
    client.post(B41F, data={**WHO, "price-C09": "9.40", "price-C10": "10.20", "why": "slip"})
    page = client.get(B41F).text
    assert 'value="undo"' in page
    last = re.search(r'name="last" value="([^"]*)"', page).group(1)
    sent = {"do": "undo", "by": "kofi", "key": "back", "last": last}
    assert client.post(B41F, data=sent).status_code == 303
    assert [str(one.price.amount) for one in shop.chalk.history("C10")] == ["9.60", "10.20", "9.60"]
    assert shop.chalk.history("C09")[-1].why == "taken back: slip"
    assert shop.chalk.history("C09")[-1].by == "kofi"
    after = client.get(f"{B41F}?done=undone").text
    assert 'value="undo"' not in after
    assert "Taken back at 08:00, Kofi" in words(after)


def test_undo_ends_after_an_hour_and_never_undoes_what_was_not_shown(client, shop, clock, words):
    """409 in words; the board stays as it is."""
    client.post(B41F, data={**WHO, "price-C09": "9.40"})
    last = re.search(r'name="last" value="([^"]*)"', client.get(B41F).text).group(1)
    sent = {"do": "undo", "by": "kofi", "key": "back", "last": last}
    other = client.post(B41F, data={**sent, "last": "2026-06-09T07:59:00"})
    assert other.status_code == 409
    assert "The board changed since" in words(other.text)
    assert client.post(B41F, data={**sent, "by": ""}).status_code == 422
    later(clock, hours=1, minutes=1)
    assert 'value="undo"' not in client.get(B41F).text
    late = client.post(B41F, data=sent)
    assert late.status_code == 409
    assert "more than an hour old" in words(late.text)
    assert price_of(shop, "C09") == Decimal("9.40")


def test_an_animal_without_a_price_asks_what_was_paid(client, shop, words, monkeypatch):
    """One field; with it the board is worked out."""
    problem = shop.chalk.problem

    def unpaid(tag, *, paid=None, **rest):
        if paid is None:
            raise WrongState(f"Nobody wrote down what {tag} cost.", where="paid")
        return problem(tag, paid=paid, **rest)

    monkeypatch.setattr(shop.chalk, "problem", unpaid)
    answer = client.get("/chalk/L-207")
    assert answer.status_code == 409
    assert "Nobody wrote down what L-207 cost." in words(answer.text)
    assert 'name="paid"' in answer.text
    assert client.get("/chalk/L-207?paid=x").status_code == 422
    paid = client.get("/chalk/L-207?paid=300")
    assert paid.status_code == 200
    assert "bought 300.00" in words(paid.text)
    assert 'name="paid" value="300"' in paid.text


def test_a_line_has_its_history_and_its_own_form(client, shop, clock, words):
    """Mince, which no animal gives: changed, planned, withdrawn; all of it stands in the table."""
    line = "/chalk/line/C11"
    assert client.get(line).status_code == 200
    good = {**WHO, "price": "8.60", "why": "beef is dearer"}
    assert client.post(line, data=good).headers["location"] == f"{line}?done=put"
    later(clock, minutes=5)
    client.post(line, data={**good, "key": "later", "price": "8.90", "from_time": "12:00"})
    later(clock, minutes=5)
    client.post(line, data={**good, "key": "off", "price": "8.60", "from_time": "12:00"})
    page = client.get(line).text
    text = words(section(page, "Every price of this line"))
    assert "Tue 9 Jun 2026, 12:00 planned open 8.60 Ines" in text
    assert "Tue 9 Jun 2026, 12:00 planned never stood 8.90 Ines" in text
    assert "Tue 9 Jun 2026, 08:00 Tue 9 Jun, 12:00 8.60 Ines beef is dearer" in text
    assert "Mon 8 Jun 2026, 18:00 Tue 9 Jun, 08:00 7.80" in text
    assert shop.chalk.history("C11")[1].why == "beef is dearer"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"price": ""}, "New price: write what it shall cost"),
        ({"price": "x"}, "New price: write an amount"),
        ({"price": "7.00e0x"}, "New price: write an amount"),
        ({"price": "8.605"}, "New price: write at most 2 decimals"),
        ({"price": "20"}, "over 15 % at once needs a reason"),
        ({"by": ""}, "Who: choose who does this."),
    ],
)
def test_a_fault_on_the_line_stands_beside_its_field(client, shop, words, change, says):
    """422, nothing changed, every summary link has its field."""
    answer = client.post("/chalk/line/C11", data={**WHO, "price": "8.60", **change})
    assert answer.status_code == 422
    assert says in words(answer.text)
    for target in re.findall(r'<li><a href="#([^"]*)">', answer.text):
        assert f'id="{target}"' in answer.text
    assert price_of(shop, "C11") == Decimal("7.80")


def test_a_line_says_where_its_demand_comes_from(client, shop, words):
    """The kernel's sentence and its basis; sales by week once something was handed over."""
    text = words(client.get("/chalk/line/C09").text)
    assert shop.chalk.demand("C09")["say"] in text
    assert "Read from published figures; this line has too few sales of its own." in text
    assert "Nothing of this line was handed over yet." in text
    weighed = {line.id: line.weight for line in shop.booking("H8").lines}
    shop.hand_over("H8", weighed, by="dot", key="gone")
    sold = next(one for one in shop.chalk.sales("C09") if one.weight.count)
    text = words(section(client.get("/chalk/line/C09").text, "Sales by week"))
    assert f"8 Jun 2026 {sold.weight.text()} {sold.money}" in text


def test_the_last_price_of_a_line_can_be_taken_back(client, shop):
    """Undo on the line's own page."""
    line = "/chalk/line/C11"
    client.post(line, data={**WHO, "price": "8.60"})
    last = re.search(r'name="last" value="([^"]*)"', client.get(line).text).group(1)
    sent = {"do": "undo", "by": "ines", "key": "back", "last": last}
    assert client.post(line, data=sent).headers["location"] == f"{line}?done=undone"
    assert price_of(shop, "C11") == Decimal("7.80")
    again = client.post(line, data={**sent, "key": "again"})
    assert again.status_code == 409
    assert "The last change was taken back already; the former prices stand." in again.text


def test_the_costs_say_what_is_known_and_what_is_not(client, shop, words):
    """Every lot on hand once, with its parts or with why its cost is not known."""
    text = words(client.get("/chalk/costs").text)
    costs = shop.chalk.costs()
    known = [one for one in costs if one.cost is not None]
    assert f"{len(known)} of {len(costs)} known" in text
    for one in known:
        row = f"{one.cost.decimal():,.2f}"
        parts = (one.invoice, one.haulage, one.labour, one.credit, one.shrink)
        assert one.lot_id in text
        assert row in text
        assert all(f"{part.decimal():,.2f}" in text for part in parts)


def test_a_piece_of_the_rail_is_named_with_its_animal(client, shop, words):
    """Whole or half alone does not say of what."""
    text = words(client.get("/chalk/costs").text)
    hanging = {one.tag: one for one in shop.chalk.animals()}
    on_rail = [one for one in shop.chalk.costs() if one.place == "rail"]
    assert on_rail
    for one in on_rail:
        assert f"{hanging[one.lot_id].species}, {one.what} {one.lot_id}" in text


def test_lots_of_unknown_cost_are_one_line_a_place(client, shop, words):
    """How many and why; the lots with their weights open below; one alone has its own row."""
    page = client.get("/chalk/costs").text
    lost = [one for one in shop.chalk.costs() if one.cost is None]
    for place in ("case", "booked"):
        here = [one for one in lost if one.place == place]
        assert len(here) > 1
        say = f"{len(here)} lots came without a delivery; what they cost is not known."
        opened = page[page.index(f"<summary>{say}") :].split("</details>")[0]
        assert opened.count("<li>") == len(here)
        for one in here:
            assert f"{one.what} {one.lot_id} , {one.weight.text()}" in words(opened)
    assert "Cost not known" not in page


def test_one_lot_of_unknown_cost_has_its_row(client, shop, words, monkeypatch):
    """With the reason the shop gives; a reason of its own is told of many in its words."""
    first, *others = [one for one in shop.chalk.costs() if one.cost is None][:3]
    found = (first, *(replace(one, place="case", unknown="Nobody said.") for one in others))
    monkeypatch.setattr(shop.chalk, "costs", lambda: found)
    page = client.get("/chalk/costs").text
    assert first.unknown in words(page)
    assert page.count("<details>") == 1
    assert "2 lots: Nobody said." in words(page)


@pytest.mark.parametrize("unit", ["lb", "kg"])
def test_every_unit_cost_names_its_unit(client, shop, words, unit):
    """The head names none: each cell says by which unit, that of the device."""
    client.cookies.set(UNIT_COOKIE, unit)
    text = words(client.get("/chalk/costs").text)
    assert "Cost Unit cost Invoice" in text
    known = [one for one in shop.chalk.costs() if one.per_unit is not None]
    assert known
    for one in known:
        assert f"{one.per_unit.shown_per(WeightUnit(unit))} /{unit}" in text


@pytest.mark.parametrize("address", ACTS)
def test_another_site_cannot_move_a_price(client, shop, address):
    """403, and the board stays."""
    sent = {**WHO, "price-C09": "9.40", "price": "8.60", "line": "C09"}
    answer = client.post(address, data=sent, headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403
    assert len(shop.chalk.history("C09")) == len(shop.chalk.history("C11")) == 1


def test_a_price_that_changed_meanwhile_is_not_counted_as_typed(client, shop, words):
    """A field that was left as it was shown follows the board; only what was typed goes up."""
    page = client.get(B41F).text
    fields = dict(re.findall(r'name="(price-[^"]*)" type="text"[^>]*value="([^"]*)"', page))
    fields.pop("price-part-1")
    assert len(fields) == 5
    shop.chalk.put(
        [NewPrice("C15", next(one.price for one in shop.chalk.board() if one.case_id == "C16"))],
        by="kofi", why="elsewhere", key="elsewhere",
    )  # fmt: skip
    sent = {**WHO, **fields, "price-C09": "9.40"}
    shown = {f"was-{name.removeprefix('price-')}": text for name, text in fields.items()}
    client.post(B41F, data={**sent, **shown})
    assert price_of(shop, "C09") == Decimal("9.40")
    assert price_of(shop, "C15") == Decimal("6.40")


def test_the_way_in_leads_to_sheets_and_choices(client, read_page):
    """From Chalk's first page to pricing sheets and pricing choices, and both are there."""
    links = read_page(client.get("/chalk").text).links
    for address in ("/chalk/sums", "/chalk/choices"):
        assert address in links
        assert client.get(address).status_code == 200
