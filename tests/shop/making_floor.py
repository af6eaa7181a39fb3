"""Short ways to make mince and batches in these tests."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from wished import lb

from collop.measures import Temperature
from collop.shop import NewDelivery, NewMaterial, NewPiece

TRIM = "B-41F.07"
KILLED = date(2026, 6, 1)


class Maker:
    """A person at the grinder: each call has a key of its own, and time goes on."""

    def __init__(self, shop, clock):
        self.shop, self.clock, self.room, self.keys = shop, clock, shop.making, 0

    def who(self):
        """Return who writes, with a new key."""
        self.keys += 1
        return {"by": "marek", "key": f"m{self.keys}"}

    def later(self, minutes):
        """Let time go by."""
        self.clock.put(self.clock.now() + timedelta(minutes=minutes))

    def clean(self, what="cutting room", **more):
        """Put a clean-down down, some minutes later."""
        self.later(10)
        self.shop.day.clean_down(what, **more, **self.who())

    def open(self, amount="10", lot=TRIM, place="trim", *, machine="G1", species="beef", **more):
        """Begin a lot of beef mince from trim."""
        first = NewMaterial(lb(amount), lot_id=lot, place=place)
        return self.room.open(species, machine, "Beef mince", first, **more, **self.who())

    def add(self, code, amount, lot, place="trim", **more):
        """Put in weight of an own lot."""
        return self.room.add(
            code, NewMaterial(lb(amount), lot_id=lot, place=place, **more), **self.who()
        )

    def box(self, code, amount="8", *, what="Chuck trim", number="M-1", lot="SL-9",
            made=KILLED, **more):  # fmt: skip
        """Put in bought-in trim; what is None is not told."""
        new = NewMaterial(lb(amount), what=what or "", establishment=number or "",
                          supplier_lot=lot or "", produced_on=made, **more)  # fmt: skip
        return self.room.add(code, new, **self.who())

    def ingredient(self, code, what, amount=None, *, contains=(), maker="Mill", lot="I-1"):
        """Put an ingredient into a batch."""
        return self.room.add(code, _ingredient(what, amount, contains, maker, lot), **self.who())

    def call(self, name, *args, **named):
        """Call any other service of the room."""
        return getattr(self.room, name)(*args, **named, **self.who())


def _ingredient(what, amount, contains, maker, lot):
    return NewMaterial(
        None if amount is None else lb(amount), what=what, contains=contains, is_ingredient=True,
        establishment=maker or "", supplier_lot=lot or "",
    )  # fmt: skip


def deliver(shop, tag, farm, *, number="M-77", killed=KILLED, weight="200", species="beef"):
    """Take an animal in that hangs whole."""
    piece = f"{species} side" if species == "beef" else f"{species} carcass"
    shop.cutting.receive(
        NewDelivery(tag=tag, species=species, farm=farm, invoiced=lb(weight), killed_on=killed,
                    pieces=[NewPiece(tag, piece, piece, lb(weight))], establishment=number,
                    temperature=Temperature.fahrenheit(38), papers=("inspection mark", "invoice")),
        by="marek", key=f"in-{tag}",
    )  # fmt: skip


def trim_of(shop, tag, style, amount):
    """Break a piece and weigh some trim; return the trim's lot."""
    cut = shop.cutting.start_break(tag, style, by="marek", key=f"start-{tag}")
    part = next(one.id for one in cut.style.parts if one.kind == "trim")
    cut = shop.cutting.weigh_part(cut.number, part, lb(amount), by="marek", key=f"trim-{tag}")
    return cut.parts[-1].lot_id


def at_time(clock, hour, minute=0):
    """Return a moment of the clock's day."""
    return datetime.combine(clock.now().date(), datetime.min.time()).replace(
        hour=hour, minute=minute
    )
