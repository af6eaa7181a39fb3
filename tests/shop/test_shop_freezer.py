"""A household's order on the books: promised, cut, packed, handed over; the ledger holds."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from types import SimpleNamespace

import pytest

from collop.carcass.freezer import freezer_order
from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Money, Weight, WeightUnit
from collop.shop import NewFreezerOrder, Packed
from collop.shop.freezer_writing import book_order

LB = WeightUnit.LB
PRICE = {"per_unit": "7.40", "weight": "24.5", "weight_is": "hot"}
CHOICES = [
    {"large_cut": "leg", "bone": "in", "as": "roasts"},
    {"large_cut": "rack", "as": "steaks", "thickness": "1", "pieces_per_pack": 2},
]


def _half(shop, tag="L-209", **more):
    return shop.freezer.part(tag, "1/2", CHOICES, more={"price": PRICE} | more)


def _list(shop):
    (lot,) = [one for one in shop.freezer.pieces() if one.trimmed and "to list" in one.what]
    more = {"price": {"per_unit": "6.80"}}
    both = [{"large_cut": name, "as": "steaks", "pieces_per_pack": 2} for name in ("rib", "chuck")]
    return shop.freezer.part(lot.tag, "1", both, take="40", more=more)


def _new(shop, *parts, fees=(), **facts):
    problem = shop.freezer.problem(parts, name="household", fees=fees)
    total = Money.of(freezer_order(problem)["money"]["total"])
    return NewFreezerOrder(problem=problem, total=total, **facts)


def _break(shop, tag="L-209", style_id="lamb"):
    """Break a piece into its parts by their shares; what the scale leaves is loss."""
    break_ = shop.cutting.start_break(tag, style_id, by="marek", key=f"break {tag}")
    for part in shop.cutting.style(style_id).parts:
        if part.kind != "loss":
            hundredths = round(part.share * break_.start.exact(LB) * 100)
            weight = Weight.of(Fraction(hundredths, 100), LB)
            shop.cutting.weigh_part(break_.number, part.id, weight, by="marek",
                                    key=f"{tag} {part.name}")  # fmt: skip
    return shop.cutting.close_break(break_.number, by="marek", key=f"close {tag}")


def _packed(shop, tag, share, bins=("case", "block", "trim")):
    """Return packs of a share of every lot of a piece, to the hundredth."""
    found = []
    for lot in shop.freezer.packed_from(tag):
        if lot.place in bins:
            weight = Weight.of(Fraction(int(lot.weight.exact(LB) * share * 100), 100), LB)
            found.append(Packed(lot.lot_id, lot.place, weight, 2))
    return found


def test_half_of_the_lamb_closes_to_its_rail_weight(shop):
    """Half of L-209 is 23.8 lb: take-home, what is left and the loss are that, to the count."""
    plan = shop.freezer.draft("L-209", "1/2", CHOICES)
    (part,) = plan["parts"]
    assert part["weight"] == "23.80"
    told = [Weight.of(part[key], LB) for key in ("take_home", "left_weight", "loss")]
    assert sum(one.count for one in told) == Weight.of("23.8", LB).count
    assert part["closes"]
    lines = sum(Weight.of(line["weight"], LB).count for line in part["lines"])
    assert lines == told[0].count
    assert plan["money"]["board"] is not None


def test_h3_gets_its_order_of_two_parts(shop):
    """The demo's booking takes half of L-209 and 40 lb cut to list; its claim is not doubled."""
    fees = [{"name": "cutting", "per": "hanging", "amount": "0.65"}]
    new = _new(shop, _half(shop), _list(shop), fees=fees, booking_id="H3")
    made = shop.freezer.order(new, by="ines", key="h3")
    assert made.booking.id == "H3"
    # 24.5 x 7.40 + 40 x 6.80 + 64.5 x 0.65 = 181.30 + 272.00 + 41.925, half up
    assert str(made.total) == "495.23"
    assert made.plan["money"]["half_cent"]
    claims = [one for piece in shop.rail() if piece.tag == "L-209" for one in piece.claims]
    assert [one.booking_id for one in claims] == ["H3"]
    assert shop.freezer.order(new, by="ines", key="h3").at == made.at
    assert [one.booking.id for one in shop.freezer.orders()] == ["H3"]


def test_packs_for_two_hold_two_steaks(shop):
    """Of the 40 lb cut to list no pack of steaks has more than two, and all but one has two."""
    plan = freezer_order(shop.freezer.problem([_list(shop)]))
    lines = [one for one in plan["parts"][0]["lines"] if one["as"] == "steaks"]
    assert lines
    for line in lines:
        ones = sum(pack["count"] for pack in line["pack_weights"] if pack["pieces"] == 1)
        assert {pack["pieces"] for pack in line["pack_weights"]} <= {1, 2}
        assert ones == line["pieces"] % 2


def test_a_new_booking_claims_its_share(shop):
    """A new order hangs on the piece; the second household cannot have more than is free."""
    at = datetime(2026, 6, 12, 12, 0)  # noqa: DTZ001 -- shop-local
    new = _new(shop, _half(shop, "L-207"), name="Weir Cottage", collect_at=at, phone_end="0199")
    made = shop.freezer.order(new, by="dot", key="new")
    assert made.booking.kind == "freezer"
    (claim,) = [one for piece in shop.rail() if piece.tag == "L-207" for one in piece.claims]
    assert claim.weight == Weight.of("25.25", LB)
    assert "3 leg on the bone" in claim.note
    part = shop.freezer.part("L-207", "1", CHOICES, more={"price": PRICE | {"weight": "50"}})
    with pytest.raises(BadValue, match="claimed already"):
        shop.freezer.order(_new(shop, part, name="Too late", collect_at=at), by="dot", key="x")


def test_the_bench_list_shouts_the_choices(shop):
    """What the bench list says of H3's claim on L-209 is the household's own choice."""
    shop.freezer.order(_new(shop, _half(shop), _list(shop), booking_id="H3"), by="ines", key="o")
    lines = [one for one in shop.bench.lines().lines if one.id == "H3@L-209"]
    assert any("3 leg on the bone" in how for how in lines[0].how)


def test_packed_at_the_scale_s_weight(shop):
    """After the break half of the lots is packed; money stays, the ledger and the closure hold."""
    fees = [{"name": "wrapping", "per": "pack", "amount": "0.35"}]
    new = _new(shop, _half(shop), _list(shop), fees=fees, booking_id="H3")
    before = shop.freezer.order(new, by="ines", key="o")
    broken = _break(shop)
    lamb, beef = _packed(shop, "L-209", Fraction(1, 2)), [
        Packed("B-41F.06", "block", Weight.of("31.4", LB), 18)
    ]  # fmt: skip
    done = shop.freezer.settle("H3", {0: lamb, 1: beef}, by="marek", key="s")
    assert done.settled_at is not None
    taken = sum(one.weight.count for one in lamb)
    told = done.plan["parts"][0]["weighed"]
    assert Weight.of(told["take_home"], LB).count == taken
    # the household's packs, with what it left, are its share of what the break began with
    rest = Weight.of(told["left_and_loss"], LB).count
    assert taken + rest == broken.start.count // 2 == Weight.of("23.8", LB).count
    packs = done.plan["packs"]
    assert packs == sum(one.packs for one in (*lamb, *beef))
    wrapped = Money.of("0.35") * packs
    assert done.total == Money.of("181.30") + Money.of("272.00") + wrapped
    assert before.plan["parts"][0]["hanging_money"] == done.plan["parts"][0]["hanging_money"]
    assert done.booking.total == done.total
    assert str(done.booking.state) == "packed"
    assert [line.name for line in done.booking.lines] == [
        "Freezer lamb, cut to list", "Freezer beef, cut to list",
    ]  # fmt: skip
    left = [one for one in shop.cutting.stock() if one.lot_id == "B-41F.06"]
    assert {one.place for one in left} == {"bone"}
    assert shop.check() == []
    slip = shop.hand_over(
        "H3", {line.id: line.held for line in done.booking.lines}, by="dot", key="g"
    )
    assert slip.total == done.total
    assert shop.check() == []


def test_what_air_took_since_does_not_move_the_price(shop):
    """Weighed again at 47.0 lb, its half is 23.5 lb to close on; 23.8 x 7.40 stays agreed."""
    part = shop.freezer.part("L-209", "1/2", CHOICES, more={"price": {"per_unit": "7.40"}})
    agreed = shop.freezer.order(_new(shop, part, booking_id="H3"), by="ines", key="o")
    assert str(agreed.total) == "176.12"
    shop.cutting.hang("L-209", Weight.of("47.0", LB), by="marek", key="air")
    _break(shop)
    packed = {0: _packed(shop, "L-209", Fraction(1, 2))}
    done = shop.freezer.settle("H3", packed, by="marek", key="s")
    assert done.plan["parts"][0]["weight"] == "23.50"
    assert done.plan["parts"][0]["weighed"]["closes"]
    assert str(done.total) == "176.12"
    taken = done.plan["parts"][0]["weighed"]["take_home"]
    per = Fraction("176.12") / Fraction(taken)
    assert abs(per - Fraction(done.plan["money"]["per_take_home"])) <= Fraction(1, 200)


def test_taken_off_after_packing_the_packs_are_free(shop):
    """A settled order that is released gives its packs back to the freezer line, to the count."""
    shop.freezer.order(_new(shop, _half(shop), booking_id="H3"), by="ines", key="o")
    _break(shop)
    packed = _packed(shop, "L-209", Fraction(1, 2))
    shop.freezer.settle("H3", {0: packed}, by="marek", key="s")
    shop.release("H3", by="dot", key="r", why="the freezer broke")
    (line,) = [one for one in shop.case() if one.name == "Freezer lamb, cut to list"]
    assert line.free.count == sum(one.weight.count for one in packed)
    assert line.booked == Weight.zero()


def test_packs_may_not_weigh_more_than_the_share(shop):
    """Packs over the household's share, or over what a lot has, change nothing."""
    shop.freezer.order(_new(shop, _half(shop), booking_id="H3"), by="ines", key="o")
    with pytest.raises(BadValue, match="Nothing is packed"):
        shop.freezer.settle("H3", {}, by="marek", key="a")
    _break(shop)
    with pytest.raises(BadValue, match="weigh the packs again"):
        shop.freezer.settle("H3", {0: _packed(shop, "L-209", 1)}, by="marek", key="b")
    lot = next(one for one in shop.freezer.packed_from("L-209") if one.place == "case")
    much = Packed(lot.lot_id, "case", lot.weight + Weight.of("0.01", LB))
    with pytest.raises(NotEnoughFree, match="is free"):
        shop.freezer.settle("H3", {0: [much]}, by="marek", key="c")
    with pytest.raises(NotFound, match="no free lot"):
        shop.freezer.settle("H3", {0: [Packed("B-42", "rail", much.weight)]}, by="marek", key="d")
    assert shop.freezer.of_booking("H3").settled_at is None
    assert shop.booking("H3").lines == ()


def test_settled_once(shop):
    """The same packs sent twice are packed once; other packs after that are refused."""
    shop.freezer.order(_new(shop, _half(shop), booking_id="H3"), by="ines", key="o")
    _break(shop)
    packed = {0: _packed(shop, "L-209", Fraction(1, 3))}
    first = shop.freezer.settle("H3", packed, by="marek", key="s")
    assert shop.freezer.settle("H3", packed, by="marek", key="s").total == first.total
    with pytest.raises(WrongState, match="weighed already"):
        shop.freezer.settle("H3", packed, by="marek", key="t")
    with pytest.raises(WrongState, match="weighed"):
        shop.freezer.order(_new(shop, _list(shop), booking_id="H3"), by="ines", key="u")


def test_what_cannot_be_booked(shop):
    """No price, another total, a shut day, a gone piece: one sentence each, and no booking."""
    shut = datetime(2026, 6, 14, 12, 0)  # noqa: DTZ001 -- shop-local
    new = _new(shop, _half(shop, "L-207"), name="A", collect_at=shut)
    with pytest.raises(BadValue, match="shut"):
        shop.freezer.order(new, by="dot", key="a")
    other = NewFreezerOrder(problem=new.problem, total=Money.of("1.00"), booking_id="H3")
    with pytest.raises(WrongState, match="comes to"):
        shop.freezer.order(other, by="dot", key="b")
    free = _new(shop, shop.freezer.part("L-207"), booking_id="H3")
    with pytest.raises(BadValue, match="no price"):
        shop.freezer.order(free, by="dot", key="c")
    with pytest.raises(NotFound):
        shop.freezer.piece("L-999")
    with pytest.raises(NotFound, match="no freezer order"):
        shop.freezer.of_booking("H3")
    assert shop.freezer.orders() == ()


def test_an_order_never_outgrows_what_its_booking_hangs_on(shop):
    """H3 claims half of L-209: all of it is not to be had without the other half's claim."""
    whole = shop.freezer.part("L-209", "1", CHOICES, more={"price": {"per_unit": "7.40"}})
    with pytest.raises(BadValue, match=r"H3 hangs on 23\.80 lb of L-209, and this order wants 47"):
        shop.freezer.order(_new(shop, whole, booking_id="H3"), by="ines", key="o")
    assert shop.freezer.orders() == ()


def test_a_lot_on_the_block_is_given_once(shop):
    """The 40 lb cut to list are H3's; a second household is refused, H3 may choose again."""
    at = datetime(2026, 6, 12, 12, 0)  # noqa: DTZ001 -- shop-local
    shop.freezer.order(_new(shop, _list(shop), booking_id="H3"), by="ines", key="o")
    lot = shop.freezer.piece("B-41F.06")
    assert (lot.weight, lot.free) == (Weight.of("40", LB), Weight.zero())
    with pytest.raises(BadValue, match=r"0\.00 lb of B-41F\.06 is given to no other order"):
        shop.freezer.order(_new(shop, _list(shop), name="Late", collect_at=at), by="dot", key="p")
    again = shop.freezer.order(_new(shop, _list(shop), booking_id="H3"), by="ines", key="q")
    assert again.booking.id == "H3"
    shop.release("H3", by="ines", key="r", why="moved away")
    assert shop.freezer.piece("B-41F.06").free == Weight.of("40", LB)


def test_what_is_given_is_named_until_it_is_packed(shop):
    """The lot on the block, and after the break each cut of the lamb, are told as H3's."""
    assert shop.freezer.given() == {}
    shop.freezer.order(_new(shop, _half(shop), _list(shop), booking_id="H3"), by="ines", key="o")
    _break(shop)
    given = shop.freezer.given()
    (one,) = given["B-41F.06"]
    assert (one.booking_id, one.weight) == ("H3", Weight.of("40", LB))
    cuts = {lot.lot_id for lot in shop.freezer.packed_from("L-209")}
    assert cuts <= given.keys()
    beef = [Packed("B-41F.06", "block", Weight.of("31.4", LB), 18)]
    packed = {0: _packed(shop, "L-209", Fraction(1, 2)), 1: beef}
    shop.freezer.settle("H3", packed, by="marek", key="s")
    assert shop.freezer.given() == {}


def test_the_booking_comes_to_the_agreed_money_until_its_lines_say_so(shop):
    """Before the packs are weighed the total is what was agreed, and it is not counted twice."""
    assert shop.booking("H3").total == Money.of("0.00")
    made = shop.freezer.order(_new(shop, _half(shop), booking_id="H3"), by="ines", key="o")
    assert made.booking.lines == ()
    assert made.booking.agreed == made.booking.total == Money.of("181.30")
    (listed,) = [
        one
        for one in shop.bookings(made.booking.collect_at.date(), made.booking.collect_at.date())
        if one.id == "H3"
    ]
    assert listed.total == Money.of("181.30")
    _break(shop)
    packed = {0: _packed(shop, "L-209", Fraction(1, 2))}
    done = shop.freezer.settle("H3", packed, by="marek", key="s")
    assert (done.booking.agreed, done.booking.total) == (None, Money.of("181.30"))


def test_packs_of_an_order_are_no_goods_for_every_customer(shop):
    """Their line is on no board, in no spread, not counted at lock-up, and takes nothing else."""
    shop.freezer.order(_new(shop, _half(shop), booking_id="H3"), by="ines", key="o")
    _break(shop)
    packed = {0: _packed(shop, "L-209", Fraction(1, 2))}
    shop.freezer.settle("H3", packed, by="marek", key="s")
    (line,) = [one for one in shop.case() if one.name == "Freezer lamb, cut to list"]
    assert (line.styles, line.slots) == ({}, ())
    assert line.id not in {one.case_id for one in shop.chalk.board()}
    assert line.id not in {one["id"] for one in shop.lockup.sheet().problem["lines"]}
    weight = Weight.of("1", LB)
    with pytest.raises(BadValue, match="packs of freezer orders only"):
        shop.lockup.freeze("C01", weight, into=line.id, by="ines", key="f")
    with pytest.raises(BadValue, match="packs of freezer orders only"):
        shop.lockup.convert("C28", weight, into=line.id, by="ines", key="c")


def test_no_price_is_no_price_in_any_currency(shop):
    """A yen has no cents: a hanging price that comes to nothing is refused there too."""
    problem = shop.freezer.problem([shop.freezer.part("L-209", "1/2", CHOICES)])
    problem |= {"currency": "JPY"}
    assert freezer_order(problem)["parts"][0]["hanging_money"] == "0"
    act = SimpleNamespace(settings=SimpleNamespace(currency="JPY"))
    new = NewFreezerOrder(problem=problem, total=Money(0, "JPY"), booking_id="H3")
    with pytest.raises(BadValue, match="no price"):
        book_order(act, new)


def test_two_lines_of_packs_of_one_lot_are_counted_together(shop):
    """Each fits and both do not: nothing is taken."""
    shop.freezer.order(_new(shop, _list(shop), booking_id="H3"), by="ines", key="o")
    both = [Packed("B-41F.06", "block", Weight.of("25", LB), 9)] * 2
    with pytest.raises(NotEnoughFree, match="is free"):
        shop.freezer.settle("H3", {0: both}, by="marek", key="s")
    assert shop.booking("H3").lines == ()
