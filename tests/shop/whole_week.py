"""The demo week worked through by the shop's own services, Monday six o'clock to Saturday night.

Each day is a method; each leaves its orders where the week says, and `night` locks up. Walk-ins
are drawn with a fixed seed. Weights a scale would read are what the cutting style expects, cut to
the scale's step.
"""

from __future__ import annotations

import csv
import random
from datetime import datetime, time
from fractions import Fraction
from importlib import resources

from collop.carcass.freezer import freezer_order
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop import (
    NewBooking,
    NewFreezerOrder,
    NewLine,
    NewMaterial,
    NewPayment,
    NewSale,
    NewStanding,
    Packed,
    StandingLine,
    State,
)

LB = WeightUnit.LB
ORDERS = ("H1", "H2", "H3", "H4", "H6", "H7", "H8", "H9", "H10")


def lb(amount):
    return Weight.of(amount, LB)


def at(day, hour, minute=0):
    """Return a shop-local time of the demo's June."""
    return datetime(2026, 6, day, hour, minute)  # noqa: DTZ001 -- shop-local


def rows(name):
    text = (resources.files("collop.shop") / "demo" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


class Week:
    """A shop on its breaking day with a clock that can be put forward."""

    def __init__(self, shop, clock, seed=8):
        self.shop, self.clock, self.keys = shop, clock, 0
        self.draw = random.Random(seed)
        self.short, self.made = {}, {}

    def who(self, by="dot"):
        """Return who writes, with a new key."""
        self.keys += 1
        return {"by": by, "key": f"week-{self.keys}"}

    def to(self, day, hour, minute=0):
        """Put the clock forward."""
        self.clock.put(at(day, hour, minute))

    # the block

    def break_down(self, tag, style_id, parts=None):
        """Take a piece to the block and weigh its parts; what the scale leaves is loss."""
        cutting = self.shop.cutting
        made = cutting.start_break(tag, style_id, **self.who("marek"))
        for part in cutting.style(style_id).parts:
            if part.kind == "loss":
                continue
            told = (parts or {}).get(part.name)
            hundredths = int(part.share * made.start.exact(LB) * 100)
            weight = lb(told) if told else Weight.of(Fraction(hundredths, 100), LB)
            cutting.weigh_part(made.number, part.id, weight, **self.who("marek"))
        return cutting.close_break(made.number, **self.who("marek"))

    # the glass

    def walk_ins(self, day, hours, most):
        """Sell at the glass: random cuts, half a pound to three, cash, card or other."""
        for hour in hours:
            self.to(day, hour, self.draw.randrange(60))
            for _ in range(self.draw.randint(1, most)):
                self._one_sale()

    def _one_sale(self):
        wanted = [line for line in self.shop.case() if line.free >= lb("0.5") and not line.is_past]
        lines = []
        for line in self.draw.sample(wanted, min(len(wanted), self.draw.randint(1, 2))):
            if line.piece_lb:
                lines.append(NewSale(line.id, line.piece_lb[0], pieces=line.piece_lb[:1]))
            else:
                most = min(300, int(line.free.exact(LB) * 100))
                lines.append(NewSale(line.id, Weight.of(Fraction(self.draw.randint(50, most), 100),
                                                        LB)))  # fmt: skip
        if lines:
            way = self.draw.choice(("cash", "card", "other"))
            self.shop.selling.sell(lines, NewPayment(way), **self.who())

    def hand_over(self, booking_id, way="card", **told):
        """Hand an order over at what was weighed ahead, else told, else as booked."""
        weights = {}
        for line in self.shop.booking(booking_id).lines:
            if not line.off:
                weights[line.id] = told.get(line.case_id) or line.ready or line.weight
        slip = self.shop.hand_over(booking_id, weights, **self.who())
        if slip.due.minor > 0:
            self.shop.money.note(booking_id, "payment", way, **self.who())
        return slip

    # the days

    def monday(self):
        """Break the forequarter, grind its trim after a clean-down, put lamb up, book the rest."""
        self.to(8, 7)
        parts = {row["part"]: row["lb"] for row in rows("break_b41f.csv")}
        self.made["B-41F"] = self.break_down("B-41F", "fore", parts)
        self.to(8, 10)
        self.shop.day.clean_down("grinder G1", **self.who("kofi"))
        trim = next(one for one in self.shop.cutting.stock()
                    if one.place == "trim" and one.lot_id.startswith("B-41F"))  # fmt: skip
        first = NewMaterial(lb("20"), lot_id=trim.lot_id, place="trim")
        self.to(8, 10, 15)
        mince = self.shop.making.open("beef", "G1", "Beef mince", first, **self.who("kofi"))
        self.shop.making.produce(mince.code, "C11", lb("19.8"), **self.who("kofi"))
        self.to(8, 16)
        dearer = UnitPrice.of("18.90", LB)
        self.shop.board_price("C04", dearer, why="lamb is dearer at the farm", from_at=at(9, 8),
                              **self.who("ines"))  # fmt: skip
        self._book_what_waited_for_the_break()

    def _book_what_waited_for_the_break(self):
        there = {one.id for one in self.shop.bookings(at(8, 0).date(), at(13, 0).date())}
        more = {row["order"]: row for row in rows("orders_more.csv")}
        lines = {}
        for row in rows("scenario_orders.csv"):
            if row["order"] not in there and row["case_id"]:
                lines.setdefault((row["order"], row["item"] and row["occasion"]), []).append(
                    NewLine(row["case_id"], lb(row["reserved_lb"]))
                )
        self.names = {name: name for name in ORDERS}
        for (order, occasion), wanted in lines.items():
            about = more[order]
            new = NewBooking(
                name=occasion, collect_at=datetime.fromisoformat(about["collect_at"]),
                by=about["by"], heads=int(about["heads"] or 0) or None, lines=tuple(wanted),
                note=about["note"], deposit=Money.of(about["deposit"]),
            )  # fmt: skip
            self.names[order] = self.shop.book(new, key=f"monday-{order}").id

    def tuesday(self):
        """Break two lambs and the kid; the restaurant takes what hanger there is; walk-ins."""
        self.to(9, 7)
        for tag, style in (("L-207", "lamb"), ("L-208", "lamb"), ("G-031", "goat")):
            self.break_down(tag, style)
        self.walk_ins(9, (9, 10), 2)
        self.to(9, 11)
        restaurant = self.names["H4"]
        self.short["H4"] = "6.0 lb of hanger asked, 3.8 there"
        self.hand_over(restaurant, "account")
        self.walk_ins(9, (14, 16), 3)

    def wednesday(self):
        """Break the pig halves and L-209; a lunch is quoted, booked and goes; the box goes."""
        self.to(10, 7)
        for tag in ("P-118", "P-119"):
            self.break_down(tag, "pig")
        self._freezer_order()
        self.break_down("L-209", "lamb")
        self.to(10, 9, 40)
        garden = self.shop.booking("H10")
        self.shop.change_state("H10", State.BOOKED, **self.who("ines"))
        self.walk_ins(10, (10, 11), 2)
        self.to(10, 12)
        assert garden.heads == 16
        self.hand_over("H10", "cash")
        self.walk_ins(10, (15, 16), 2)
        self.to(10, 17)
        self.hand_over("H7", "cash")

    def _freezer_order(self):
        """Write the household's choices: half of L-209 and 40 lb cut to list, in packs for two."""
        freezer = self.shop.freezer
        choices = [{"large_cut": "leg", "bone": "in", "as": "roasts"}]
        half = freezer.part("L-209", "1/2", choices, more={"price": {"per_unit": "7.40"}})
        (to_list,) = [one for one in freezer.pieces() if one.trimmed and "to list" in one.what]
        packs = [{"large_cut": name, "as": "steaks", "pieces_per_pack": 2}
                 for name in ("rib", "chuck")]  # fmt: skip
        more = {"price": {"per_unit": "6.80"}}
        part = freezer.part(to_list.tag, "1", packs, take="40", more=more)
        problem = freezer.problem([half, part], name="household")
        total = Money.of(freezer_order(problem)["money"]["total"])
        freezer.order(NewFreezerOrder(problem=problem, total=total, booking_id="H3"),
                      **self.who("ines"))  # fmt: skip

    def thursday(self):
        """Make the links, break the hindquarter, pack the freezer order; off and short."""
        self.to(11, 7)
        self._links()
        self.break_down("B-41H", "hind")
        self.to(11, 11)
        self._pack_the_freezer_order()
        self.to(11, 12)
        self.hand_over("H3")
        self.walk_ins(11, (13, 15), 3)
        self._wedding_off()
        self._short_ribs()

    def _links(self):
        trim = [one for one in self.shop.cutting.stock()
                if one.place == "trim" and one.species == "pork"]  # fmt: skip
        self.shop.day.clean_down("stuffer", **self.who("kofi"))
        self.to(11, 7, 30)
        meat = [NewMaterial(one.weight, lot_id=one.lot_id, place="trim") for one in trim]
        making = self.shop.making
        batch = making.open_batch("Pork links with rusk", "C19", meat[0], **self.who("kofi"))
        for more in meat[1:]:
            making.add(batch.code, more, **self.who("kofi"))
        got = sum(one.weight.count for one in trim)
        rusk = Weight(max(lb("20").count - got, lb("1").count), LB)
        told = {"is_ingredient": True, "establishment": "Weir Mill"}
        mill = NewMaterial(rusk, what="Rusk", contains=("wheat",), supplier_lot="R-12", **told)
        casing = NewMaterial(None, what="Hog casing", contains=(), supplier_lot="H-3", **told)
        for one in (mill, casing):
            making.add(batch.code, one, **self.who("kofi"))
        making.produce(batch.code, "C19", lb("20"), **self.who("kofi"))
        self.shop.promising.set_aside(**self.who("ines"))

    def _pack_the_freezer_order(self):
        order = self.shop.freezer.of_booking("H3")
        packed = {}
        for number, part in enumerate(order.problem["parts"]):
            share = Fraction(1, 2) if part["tag"] == "L-209" else Fraction(1)
            packed[number] = [
                Packed(lot.lot_id, lot.place,
                       Weight.of(Fraction(int(lot.weight.exact(LB) * share * 100), 100), LB), 2)
                for lot in self.shop.freezer.packed_from(part["tag"])
                if lot.place in {"case", "block", "trim"}
            ]  # fmt: skip
        self.shop.freezer.settle("H3", packed, **self.who("marek"))

    def _wedding_off(self):
        self.to(11, 16)
        leg = next(line for line in self.shop.booking("H1").lines if line.case_id == "C01")
        self.made["work"] = self.shop.pickup.work(
            leg.id, lb("13.0"), lb("9.36"), into="Lamb leg, boned and tied",
            words="boned and tied", **self.who("marek"),
        )  # fmt: skip
        self.to(11, 17)
        self.made["free before"] = {line.id: line.free for line in self.shop.case()}
        self.shop.release("H1", why="the wedding is off", **self.who("ines"))
        self.made["free after"] = {line.id: line.free for line in self.shop.case()}
        self.made["rehoming"] = self.shop.pickup.rehome("H1")

    def _short_ribs(self):
        supper = self.names["H8"]
        self.to(11, 17, 20)
        (line,) = self.shop.booking(supper).lines
        self.made["short"] = self.shop.pickup.weigh(
            line.id, lb("4.15"), "cut gave less", **self.who("marek")
        )
        self.to(11, 17, 30)
        self.shop.pickup.choose(line.id, "take", "the customer takes it as it is", **self.who())
        self.short["H8"] = "the cut gave less"
        self.made["H8"] = self.hand_over(supper, "cash")

    def friday(self):
        """Stop the sesame; the rowers go, the anniversary table, and the restaurant again."""
        self.to(12, 8)
        self._restaurant_again()
        self.made["stopped"] = self.shop.pickup.stop("H2", "sesame", told="the coach, by phone",
                                                     **self.who("dot"))  # fmt: skip
        self.walk_ins(12, (12, 14), 3)
        self.to(12, 16)
        # its mince is of Monday and past its day: new mince is ground and takes its place
        self._renew("H2")
        self.hand_over("H2", "other")
        self.to(12, 17, 45)
        self.hand_over(self.names["H9"], "card")

    def _restaurant_again(self):
        """Make the restaurant's order from its standing order, capped at what is there."""
        lines = (StandingLine("C14", lb("6.0")), StandingLine("C02", lb("9.0")))
        new = NewStanding(
            name="Restaurant", days=(1, 4), hour=time(11), first_day=at(12, 0).date(), lines=lines,
            by="ines", on_account=True, last_day=at(12, 0).date(),
        )  # fmt: skip
        begun = self.shop.standing.begin(new, key="restaurant")
        due = self.shop.standing.make_due(at(12, 0).date(), by="ines")
        (made,) = [one for one in due if one.order_id == begun.id]
        self.made["standing"] = made
        self.to(12, 11)
        self.hand_over(made.booking_id, "account")

    def _renew(self, booking_id):
        """See to lines whose stock is past its day: mince is ground anew, links are swapped."""
        today = self.clock.now().date()
        for line in self.shop.booking(booking_id).lines:
            if line.off or line.use_by is None or line.use_by >= today:
                continue
            if line.case_id == "C11":
                self._grind(line.weight)
                self.shop.pickup.renew(line.id, **self.who("ines"))
                continue
            self.short[booking_id] = f"{line.name} past its day"
            self.shop.pickup.choose(
                line.id, "swap", "the customer takes shoulder steaks", case_id="C16",
                weight=line.weight, **self.who("ines"),
            )  # fmt: skip

    def _grind(self, weight):
        trim = next(
            one
            for one in self.shop.cutting.stock()
            if one.place == "trim" and one.species == "beef" and one.weight >= weight
        )
        self.shop.day.clean_down("grinder G1", **self.who("kofi"))
        self.clock.put(self.clock.now().replace(minute=self.clock.now().minute + 10))
        first = NewMaterial(weight, lot_id=trim.lot_id, place="trim")
        made = self.shop.making.open("beef", "G1", "Beef mince", first, **self.who("kofi"))
        self.shop.making.produce(made.code, "C11", weight, **self.who("kofi"))

    def saturday(self):
        """Hand the fair its links, sell legs at the glass, mark down at three what is left."""
        self.to(13, 7, 30)
        self._renew("H6")
        self.to(13, 8)
        self.hand_over("H6", "card")
        self.walk_ins(13, (9, 10, 11, 12, 13, 14), 4)
        self.to(13, 15)
        for move in self.shop.chalk.moves():
            if move.price is not None:
                self.shop.chalk.mark_down(move.case_id, move.price, why="last hours",
                                          **self.who("ines"))  # fmt: skip
        self.walk_ins(13, (16, 17), 4)

    def night(self, day):
        """Count the first lines as they are, bin what is past, lock; return the sheet's facts."""
        self.to(day, 18, 30)
        sheet = self.shop.lockup.sheet()
        for one in sheet.lines[:3]:
            self.shop.lockup.count(one.case_id, one.expected, **self.who())
        return self.shop.lockup.lock(note="", **self.who("ines"))

    def money_of(self, day):
        """Return what the slips of a day add up to, line by line, from the slips themselves."""
        with self.shop._room.store.read() as conn:
            from sqlalchemy import func, select

            from collop.shop.tables import slip_lines, slips

            total = conn.scalar(
                select(func.sum(slip_lines.c.line_total))
                .join(slips, slips.c.number == slip_lines.c.slip_number)
                .where(slips.c.at >= at(day, 0), slips.c.at < at(day, 23, 59))
            )
        return Money(int(total or 0))
