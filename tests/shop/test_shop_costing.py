"""What everything on hand cost: how it flows, what is assumed, and that no cent is lost."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from by_hand import raw
from hypothesis import given
from hypothesis import strategies as st
from wished import lb, line, order, per_lb

from collop.chalk import allocate
from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit, round_fraction
from collop.reference import joint_cost_rows
from collop.shop import NewDelivery, NewPart, NewPiece, NewStyle, Settings, StillClock, create_shop
from collop.shop.cost_flow import Cost, Cutting, CuttingPart, Door, History, Output, flow, split
from collop.shop.cost_reading import all_lots
from collop.shop.costing import case_costs, known_costs, lot_accounts, lot_costs

POUND = Weight.of(1, WeightUnit.LB).count


def reading(shop, work):
    """Do something with a reading connection and the settings."""
    with shop._room.store.read() as conn:
        return work(conn, shop.settings())


def costs(shop):
    """Return the cost of everything on hand by lot and place."""
    return {(one.lot_id, one.place): one for one in reading(shop, lot_costs)}


def whole(shop):
    """Return the exact account of every lot there ever was."""
    return reading(shop, lambda conn, chosen: lot_accounts(conn, chosen, all_lots(conn)))


def total_of(account):
    """Return all that one account carries."""
    return sum((one.total for one in account.by_place.values()), account.lost.total)


# Published and reference ------------------------------------------------------------------


def test_sales_value_at_split_off_as_published():
    """Every joint cost of the chicken example JC01 comes out.

    Source J01, "Joint cost allocation, insurance settlement (Horngren, Cost Accounting ch. 16)".
    """
    rows = [
        row
        for row in joint_cost_rows()
        if row.example_id == "JC01"
        and row.method == "sales value at split-off"
        and row.result_name == "allocated_joint_cost"
        and row.status == "seen"
    ]
    assert len(rows) == 5
    outputs = [Output("cut", Fraction(row.quantity), Fraction(row.unit_price)) for row in rows]
    shares, credit = split(Fraction(50), outputs, {})
    assert credit == [0] * 5
    for row, share in zip(rows, shares, strict=True):
        assert Fraction(round_fraction(share * 5000), 100) == Fraction(row.printed)


def test_by_products_come_off_the_joint_cost_as_published():
    """A by-product worth 450 leaves 71,550 of 72,000 on the main product: example JC04.

    Source J03, "Solutions 9-36, 9-38, 9-46 (relative sales value, constant gross margin,
    by-products)".
    """
    rows = [row for row in joint_cost_rows() if row.example_id == "JC04" and row.status == "seen"]
    note = next(row.note for row in rows if "cost of goods sold" in row.note)
    assert note == "cost of goods sold 72,000; by-product net realisable value 450"
    (printed,) = [row.printed for row in rows if row.result_name == "adjusted_cost_of_goods_sold"]
    outputs = [Output("cut", Fraction(1), Fraction(1)), Output("scrap", Fraction(450))]
    (share, _), credit = split(Fraction(72_000), outputs, {"scrap": Fraction(1)})
    assert share * (72_000 - sum(credit)) == Fraction(printed)


BREAK = [("Brisket", "14", "9.60"), ("Shin", "10", "6.60"), ("Short ribs", "12", "8.90"),
         ("Chuck eye", "7", "12.70")]  # fmt: skip


def test_a_break_is_split_as_the_allocate_kernel_splits_it():
    """Joint cost less by-products by sales value: both ways agree to the cent."""
    problem = {
        "schema": "collop.allocate/1", "joint_cost": "791.49", "method": "sales_value",
        "by_product_as": "less_cost",
        "products": [
            {"name": name, "quantity": weight, "unit": "lb", "price": price}
            for name, weight, price in BREAK
        ],
        "by_products": [{"name": "trim", "quantity": "38.6", "unit": "lb", "price": "3.00"},
                        {"name": "bone", "quantity": "27.4", "unit": "lb", "price": "0.20"}],
    }  # fmt: skip
    told = {one["name"]: one["allocated"] for one in allocate(problem)["products"]}
    outputs = [Output("cut", Fraction(weight), Fraction(price)) for _, weight, price in BREAK]
    outputs += [Output("trim", Fraction("38.6")), Output("bone", Fraction("27.4"))]
    pool = Fraction("791.49")
    shares, credit = split(pool, outputs, {"trim": Fraction(3), "bone": Fraction("0.2")})
    assert sum(credit) == Fraction("121.28")
    for (name, _, _), share in zip(BREAK, shares[:4], strict=True):
        assert abs(share * (pool - sum(credit)) - Fraction(told[name])) <= Fraction(1, 100)


# The rules by hand ------------------------------------------------------------------------


def piece(places, *, children=None, cutting=None, worths=None, invoice=1000, haulage=100):
    """Return a history of one delivered piece `P` and what was cut from it."""
    children = children or {}
    return History(
        places={"P": places, **{name: {"case": count} for name, count in children.items()}},
        links={"P": children} if children else {},
        doors={"P": Door(Cost(invoice=Fraction(invoice), haulage=Fraction(haulage)))},
        cuttings={"P": cutting} if cutting else {}, worths=worths or {},
    )  # fmt: skip


def part(name, kind, share, price, **weighed):
    return CuttingPart(name, kind, Fraction(share), None if price is None else Fraction(price),
                       weighed)  # fmt: skip


def test_shrink_on_the_rail_stays_on_the_piece():
    """100 came, 80 hang: the 80 carry all of it, and 20 in 100 of what was paid is shrink."""
    found = flow(piece({"rail": 80, "drip": 20}))["P"].by_place["rail"]
    assert (found.total, found.shrink) == (1100, 220)


def test_what_is_binned_or_sold_takes_its_share_along():
    """10 binned and 30 sold of 80: each takes its share by weight, the rest keeps its own."""
    found = flow(piece({"case": 40, "sold": 30, "bin": 10, "drip": 20}))["P"]
    assert {place: one.total for place, one in found.by_place.items()} == {
        "case": 550, "sold": Fraction(1100 * 3, 8), "bin": Fraction(1100, 8),
    }  # fmt: skip


def test_a_break_by_hand():
    """Trim at its worth, the rest of pool and labour by weight times price."""
    cutting = Cutting(100, Fraction(300), (
        part("Rib", "cut", "0.3", 4, rib=30), part("Chuck", "cut", "0.4", 2, chuck=40),
        part("Trim", "trim", "0.2", None, trim=20), part("Loss", "loss", "0.1", None),
    ))  # fmt: skip
    found = flow(piece({"drip": 10}, children={"rib": 30, "chuck": 40, "trim": 20},
                       cutting=cutting, worths={"trim": Fraction(10)}))  # fmt: skip
    rib, chuck, trim = (found[name].by_place["case"] for name in ("rib", "chuck", "trim"))
    # 1100 + 300 - 200 = 1200, by 120 : 80
    assert (rib.total, chuck.total, trim.total) == (720, 480, 200)
    assert (rib.invoice, rib.haulage, rib.labour, rib.credit) == (600, 60, 180, -120)
    assert (trim.invoice, trim.labour, trim.credit) == (0, 0, 200)
    assert rib.shrink == 66
    assert "block" not in found["P"].by_place


@pytest.mark.parametrize("worth", [23, 220])
def test_by_products_never_take_more_than_there_is(worth):
    """Trim worth more than the piece takes all of it and no more; the cut then cost nothing."""
    cutting = Cutting(
        100, Fraction(0),
        (part("Rib", "cut", "0.5", 4, rib=50), part("Trim", "trim", "0.5", None, trim=50)),
    )  # fmt: skip
    found = flow(piece({}, children={"rib": 50, "trim": 50}, cutting=cutting,
                       worths={"trim": Fraction(worth)}))  # fmt: skip
    assert found["trim"].by_place["case"].total == 1100
    assert found["rib"].by_place["case"].total == 0


def test_a_cut_off_the_board_is_valued_at_the_mean_of_the_others():
    """30 at 4 and 10 at 8 are 5 a unit, so 40 without a price count 200."""
    outputs = [Output("cut", Fraction(30), Fraction(4)), Output("cut", Fraction(10), Fraction(8)),
               Output("cut", Fraction(40))]  # fmt: skip
    shares, _ = split(Fraction(100), outputs, {})
    assert shares == [Fraction(120, 400), Fraction(80, 400), Fraction(200, 400)]
    bare, _ = split(Fraction(100), [Output("cut", Fraction(1)), Output("cut", Fraction(3))], {})
    assert bare == [Fraction(1, 4), Fraction(3, 4)]


def test_without_any_cut_the_by_products_carry_it_by_weight():
    """Nothing else came of it."""
    outputs = [Output("trim", Fraction(3)), Output("bone", Fraction(1))]
    shares, credit = split(Fraction(100), outputs, {"trim": Fraction(10)})
    assert (shares, credit) == ([Fraction(3, 4), Fraction(1, 4)], [30, 0])


def test_an_open_break_leaves_what_is_expected_on_the_block():
    """Rib is weighed, chuck is still expected: the rib carries what it will carry at the end."""
    parts = (part("Rib", "cut", "0.3", 4, rib=30), part("Chuck", "cut", "0.6", 2),
             part("Loss", "loss", "0.1", None))  # fmt: skip
    found = flow(piece({"block": 70}, children={"rib": 30},
                       cutting=Cutting(100, Fraction(100), parts)))  # fmt: skip
    # of 1200: 120 rib against 120 chuck still to come
    assert found["rib"].by_place["case"].total == 600
    assert found["P"].by_place["block"].total == 600
    done = (*parts[:1], part("Chuck", "cut", "0.6", 2, chuck=60), parts[2])
    closed = flow(piece({"drip": 10}, children={"rib": 30, "chuck": 60},
                        cutting=Cutting(100, Fraction(100), done)))  # fmt: skip
    assert closed["rib"].by_place["case"].total == 600


def test_no_more_is_expected_than_lies_on_the_block():
    """Of 50 left no more than 50 of chuck can come, and the loss takes none of them."""
    parts = (part("Rib", "cut", "0.3", 4, rib=50), part("Chuck", "cut", "0.6", 2),
             part("Loss", "loss", "0.1", None))  # fmt: skip
    found = flow(piece({"block": 50}, children={"rib": 50},
                       cutting=Cutting(100, Fraction(100), parts)))  # fmt: skip
    # of 1200: 200 rib against 100 chuck
    assert found["rib"].by_place["case"].total == 800


def test_a_lot_of_which_all_is_lost_keeps_its_cost_as_lost():
    """Nothing is there to carry it."""
    account = flow(piece({"drip": 100}))["P"]
    assert (account.by_place, account.lost.total, account.lost.shrink) == ({}, 1100, 1100)


def test_lots_in_a_circle_have_no_cost():
    """The check names such a ledger; costing it must neither hang nor fail."""
    found = flow(History({"A": {"case": 1}, "B": {"case": 1}}, {"A": {"B": 1}, "B": {"A": 1}}, {}))
    assert {one.unknown for one in found.values()} == {"It was cut from itself."}


COUNTS = st.integers(min_value=0, max_value=10**13)


@st.composite
def histories(draw):
    """Draw two deliveries, breaks, and lots cut from lots, some of them lost to the last count."""
    places, links, doors, cuttings = {}, {}, {}, {}
    paid = Fraction(0)
    names = iter(f"L{number}" for number in range(200))
    waiting = []
    for _ in range(draw(st.integers(1, 2))):
        name = next(names)
        cost = Cost(invoice=Fraction(draw(COUNTS), 7), haulage=Fraction(draw(COUNTS)))
        doors[name], paid = Door(cost), paid + cost.total
        waiting.append((name, draw(st.integers(1, 10**13))))
    while waiting:
        name, weight = waiting.pop()
        cuts = draw(st.lists(st.integers(0, weight), max_size=6).map(sorted))
        pieces = [b - a for a, b in zip([0, *cuts], [*cuts, weight], strict=True)]
        kept = dict(zip(("case", "sold", "bin", "drip"), pieces, strict=False))
        children = {next(names): count for count in pieces[4:] if count} if len(places) < 25 else {}
        rest = sum(pieces[4:]) - sum(children.values())
        places[name] = {**kept, "trim": rest}
        links[name] = children
        waiting += children.items()
        if children and draw(st.booleans()):
            places[name] = {"rail": 0, "bin": kept["bin"], "drip": kept["drip"],
                            "block": kept["case"] + kept["sold"] + rest}  # fmt: skip
            parts = tuple(
                CuttingPart(child, draw(st.sampled_from(["cut", "trim", "bone"])),
                            Fraction(draw(st.integers(0, 40)), 100),
                            draw(st.none() | st.integers(1, 9).map(Fraction)), {child: count})
                for child, count in children.items()
            )  # fmt: skip
            labour = Fraction(draw(st.integers(0, 9_000)))
            paid += labour
            coming = CuttingPart("to come", draw(st.sampled_from(["cut", "bone", "loss"])),
                                 Fraction(3, 10), None, {})  # fmt: skip
            cuttings[name] = Cutting(weight, labour, (*parts, coming))
    worths = {"trim": Fraction(draw(st.integers(0, 9)), 3), "bone": Fraction(1, 10**9)}
    return History(places, links, doors, cuttings, worths), paid


@given(histories())
def test_no_cent_is_lost_in_any_history(drawn):
    """Over all places and losses: invoices + haulage + labour, exactly; credits sum to nothing."""
    history, paid = drawn
    found = flow(history)
    assert not any(one.unknown for one in found.values())
    every = [cost for one in found.values() for cost in (*one.by_place.values(), one.lost)]
    assert sum(one.total for one in every) == paid
    assert sum(one.credit for one in every) == 0
    assert all(0 <= one.shrink <= one.paid for one in every)
    assert all(one.total >= 0 for one in every)


# The demo shop ----------------------------------------------------------------------------


def test_the_forequarter_of_the_demo(shop):
    """B-41F: 174 of 326 lb of (326.5 lb x 4.15 + 38.00), two hours at 24, less trim, fat, bone."""
    found = costs(shop)
    pool = (Fraction("326.5") * Fraction("4.15") + 38) * 174 / 326 + 48
    credit = Fraction("38.6") * 3 + Fraction("11.9") * Fraction("0.3") + Fraction("27.4") / 5
    cut = [("14", "9.60"), ("10", "6.60"), ("12", "8.90"), ("7", "12.70"), ("4", "14.30")]
    value = sum(Fraction(weight) * Fraction(price) for weight, price in cut)
    value += 40 * value / 47
    ribs = found["B-41F.03", "case"]
    each = (pool - credit) * Fraction("8.90") / value
    assert ribs.cost == Money(round_fraction(each * 7 * 100))
    assert ribs.per_unit.amount == Decimal("7.0709")
    assert abs(Fraction(ribs.per_unit.amount) - each) <= Fraction(1, 20_000)
    assert found["B-41F.03", "booked"].per_unit == ribs.per_unit
    assert found["B-41F.07", "trim"].cost == Money.of("115.80")
    assert ribs.notes == (
        "Not on the board, so valued at the mean of the other cuts: Chuck and rib, cut to list.",
    )
    lost = Fraction("7.3") / 174  # to the air, and 1.8 lb of 166.7 at the block
    assert ribs.shrink.minor == pytest.approx(
        float((ribs.invoice.minor + ribs.haulage.minor) * (lost + Fraction("1.8") / 174)), abs=1
    )


def test_the_parts_of_every_cost_add_up(shop):
    """Invoice, haulage, labour and credit are the cost, to the cent, lot by lot."""
    for one in costs(shop).values():
        if one.cost is not None:
            assert one.invoice + one.haulage + one.labour + one.credit == one.cost
            assert Money(0) <= one.shrink <= one.invoice + one.haulage
            assert not one.unknown


def test_stock_without_a_delivery_has_no_cost(shop):
    """The demo tells no animal of its chicken: the cost is not known, and is not guessed."""
    one = costs(shop)["C23-0609", "case"]
    assert (one.cost, one.per_unit, one.invoice, one.shrink) == (None,) * 4
    assert one.unknown == "Cost not known: it came without a delivery."
    assert set(reading(shop, case_costs)) == {"C07", "C08", "C09", "C10", "C15"}


def test_a_hanging_piece_grows_dearer_by_the_pound(shop):
    """B-41H weighs less and costs as much."""
    before = costs(shop)["B-41H", "rail"]
    shop.cutting.hang("B-41H", lb("140"), by="marek", key="w")
    after = costs(shop)["B-41H", "rail"]
    assert (after.cost, after.invoice) == (before.cost, before.invoice)
    assert after.per_unit.amount > before.per_unit.amount
    assert after.shrink > before.shrink


def test_drip_stays_and_the_bin_takes_its_share(shop):
    """A pound that dripped leaves its cost on the ribs; a pound binned takes it along."""
    before = costs(shop)["B-41F.03", "case"]
    shop.cutting.count_case("C09", lb("11"), by="dot", key="c", why="drip")
    dripped = costs(shop)["B-41F.03", "case"]
    assert dripped.weight == lb("6")
    assert Fraction(dripped.per_unit.amount) == pytest.approx(
        float(Fraction(before.per_unit.amount) * 12 / 11), abs=2e-4
    )
    shop.cutting.bin("B-41F.03", "case", by="dot", key="b", why="dropped", weight=lb("1"))
    assert costs(shop)["B-41F.03", "case"].per_unit == dripped.per_unit
    shop.cutting.count_case("C09", lb("12"), by="dot", key="d", why="found")
    assert costs(shop)["B-41F.03", "case"].per_unit.amount < dripped.per_unit.amount


def test_what_is_put_on_another_line_takes_its_cost_along(shop):
    """Trim on the mince line cost what trim is worth."""
    made = shop.cutting.put_in_case("B-41F.07", "trim", "C11", by="dot", key="p", weight=lb("5"))
    found = costs(shop)
    assert (found[made, "case"].cost, found[made, "case"].case_id) == (Money.of("15.00"), "C11")
    assert found["B-41F.07", "trim"].cost == Money.of("100.80")


def test_rates_of_now_count(shop):
    """A dearer hour and better trim shift the cost, and the sum stays what was paid and worked."""
    before = costs(shop)["B-41F.03", "case"]
    shop.change_settings({"labour_per_hour": "48", "worths": {"trim": "0"}}, by="ines",
                         why="true rates", key="s")  # fmt: skip
    after = costs(shop)["B-41F.03", "case"]
    assert abs(after.labour.minor - 2 * before.labour.minor) <= 1
    assert after.credit > before.credit
    assert costs(shop)["B-41F.07", "trim"].cost == Money(0)


def test_prices_of_before_the_break_count(monday, clock):
    """Short ribs at 12.00 before the break, 8.90 after: the break is costed at 12.00."""
    monday.board_price("C09", per_lb("12"), by="ines", why="scarce week", key="a")
    at = monday._room.clock
    at.put(at.now().replace(hour=8))
    number = monday.cutting.start_break("B-41F", "fore", by="marek", key="s").number
    at.put(at.now().replace(hour=9))
    monday.board_price("C09", per_lb("8.90"), by="ines", why="plenty again", key="b")
    parts = monday.cutting.break_(number).style.parts
    for key, (one, weight) in enumerate(zip(parts, ("14", "10", "12"), strict=False)):
        monday.cutting.weigh_part(number, one.id, lb(weight), by="marek", key=f"w{key}")
    found = costs(monday)
    ratio = Fraction(found["B-41F.03", "case"].per_unit.amount) / Fraction(
        found["B-41F.01", "case"].per_unit.amount
    )
    assert float(ratio) == pytest.approx(12 / 9.6, abs=1e-4)


def test_an_open_break_of_the_demo(monday):
    """While it is cut, the parts and the block together carry pool and labour."""
    number = monday.cutting.start_break("B-41F", "fore", by="marek", key="s").number
    before = costs(monday)["B-41F", "block"]
    parts = monday.cutting.break_(number).style.parts
    monday.cutting.weigh_part(number, parts[0].id, lb("14"), by="marek", key="w")
    found = costs(monday)
    both = found["B-41F", "block"].cost + found["B-41F.01", "case"].cost
    assert abs(both.minor - before.cost.minor - 4800) <= 1
    monday.cutting.take_back(number, 1, by="marek", key="t")
    assert costs(monday)["B-41F", "block"].cost == before.cost
    monday.cutting.put_back(number, by="marek", key="u")
    assert costs(monday)["B-41F", "rail"].cost == before.cost


def entries_of(url, query):
    with raw(url) as conn:
        return conn.execute(query).fetchall()


def test_every_cent_of_the_demo_is_somewhere(shop, url):
    """Sold, binned and on hand: all deliveries and the labour of the one break, exactly."""
    weights = {one.id: one.weight for one in shop.booking("H1").lines}
    if shop.booking("H1").state == "booked":
        shop.hand_over("H1", weights, by="dot", key="h")
    made = shop.book(order(line("C09", "2"), line("C15", "3.5")), key="b")
    shop.hand_over(made.id, {one.id: one.weight - lb("0.3") for one in made.lines}, by="dot",
                   key="g")  # fmt: skip
    shop.cutting.bin("B-41F.08", "fat", by="dot", key="f", why="rancid", weight=lb("2"))
    rows = entries_of(url, "SELECT invoiced, price_amount, haulage FROM deliveries")
    paid = sum(Fraction(count, POUND) * Fraction(price) * 100 + haulage
               for count, price, haulage in rows)  # fmt: skip
    assert sum(total_of(one) for one in whole(shop).values()) == paid + 4800
    sold = whole(shop)["B-41F.03"].by_place["sold"]
    assert sold.total > 0


# Other shops ------------------------------------------------------------------------------


@pytest.fixture
def own(new_url):
    """Return a shop in kilograms and yen, where a box of birds and a pig come in."""
    settings = Settings("Ours", currency="JPY", legal_unit=WeightUnit.KG,
                        labour_per_hour=Decimal(1200), worths={"trim": Decimal(300)})  # fmt: skip
    with create_shop(new_url(), settings=settings, people=(),
                     clock=StillClock()) as made:  # fmt: skip
        with made._room.store.write() as conn:
            conn.exec_driver_sql("INSERT INTO people VALUES ('ines', 'Ines', '')")
        yield made
        assert made.check() == []


def kg(amount):
    return Weight.of(amount, WeightUnit.KG)


def receive(shop, tag, weight, price, haulage=None, *, invoiced=None):
    shop.cutting.receive(
        NewDelivery(
            tag, "pork", "Windle Copse", [NewPiece(tag, "half", "half pig", kg(weight))],
            invoiced=kg(invoiced or weight), papers=("inspection mark", "invoice"),
            temperature=Temperature.fahrenheit(38),
            price=None if price is None else UnitPrice.of(price, WeightUnit.KG, "JPY"),
            haulage=None if haulage is None else Money.of(haulage, "JPY"),
        ), by="ines", key=f"r-{tag}",
    )  # fmt: skip


def test_what_was_invoiced_and_never_came_is_paid_for_all_the_same(own):
    """40 kg invoiced, 39 kg on the scale: the 39 kg carry the invoice and the haulage."""
    receive(own, "P-1", "39", "700", "3000", invoiced="40")
    one = costs(own)["P-1", "rail"]
    assert (one.cost, one.invoice, one.haulage) == (
        Money(31_000, "JPY"), Money(28_000, "JPY"), Money(3_000, "JPY"),
    )  # fmt: skip
    assert one.per_unit == UnitPrice.of("794.8718", WeightUnit.KG, "JPY")
    assert one.shrink == Money(0, "JPY")


def test_a_delivery_without_a_price_tells_so_down_to_its_cuts(own):
    """Whatever is cut from it has no known cost either."""
    receive(own, "P-2", "40", None)
    style = NewStyle("s", "pork", "half pig", "Two parts", [
        NewPart("Meat", "cut", "block", Fraction(9, 10), None, 4),
        NewPart("Loss", "loss", "drip", Fraction(1, 10)),
    ])  # fmt: skip
    own.cutting.add_style(style, by="ines", key="st")
    made = own.cutting.start_break("P-2", "s", by="ines", key="b")
    own.cutting.weigh_part(made.number, made.style.parts[0].id, kg("36"), by="ines", key="w")
    found = costs(own)
    assert found["P-2.01", "block"].unknown == "The delivery of P-2 tells no price."
    assert found["P-2", "block"].cost is None


def test_a_style_without_minutes_counts_no_labour_and_says_so(own):
    """Nothing is made up."""
    receive(own, "P-3", "40", "700")
    style = NewStyle("s", "pork", "half pig", "Two parts", [
        NewPart("Meat", "cut", "block", Fraction(9, 10), None, 4),
        NewPart("Trim", "trim", "trim", Fraction(1, 10)),
    ])  # fmt: skip
    own.cutting.add_style(style, by="ines", key="st")
    made = own.cutting.start_break("P-3", "s", by="ines", key="b")
    for part_, weight in zip(made.style.parts, ("36", "4"), strict=True):
        own.cutting.weigh_part(made.number, part_.id, kg(weight), by="ines", key=f"w{weight}")
    own.cutting.close_break(made.number, by="ines", key="c")
    found = costs(own)
    meat, trim = found["P-3.01", "block"], found["P-3.02", "trim"]
    assert (meat.cost, trim.cost) == (Money(26_800, "JPY"), Money(1_200, "JPY"))
    assert meat.labour == Money(0, "JPY")
    assert "Two parts tells no minutes: no labour is counted." in meat.notes
    assert ("P-3", "block") not in found


def test_a_shop_with_nothing_has_no_costs(own):
    """Empty, not an error."""
    assert reading(own, lot_costs) == ()
    assert reading(own, case_costs) == {}
    assert reading(own, known_costs) == {}
