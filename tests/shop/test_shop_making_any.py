"""Whatever goes in, comes out or is taken back, in any order, the ledger holds."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from collop.errors import CollopError
from collop.measures import Weight, WeightUnit
from collop.shop import NewMaterial, StillClock, open_shop

GRAMS = st.one_of(
    st.integers(min_value=1, max_value=900), st.integers(min_value=0, max_value=20_000)
)
ANY = st.integers(min_value=0, max_value=30)
WHERE = st.sampled_from(
    [
        ("B-41F.07", "trim"), ("B-41F.08", "fat"), ("B-41F.06", "block"), ("C11-0609", "case"),
        ("C22-0609", "case"), ("C23-0609", "case"),
    ]
)  # fmt: skip


def of_grams(count):
    return Weight.of(count, WeightUnit.G)


class Grinder(RuleBasedStateMachine):
    """Somebody makes mince and links as they come."""

    places, source = None, ""

    def __init__(self):
        super().__init__()
        self.url = self.places.copy(self.source)
        self.clock = StillClock()
        self.shop = open_shop(self.url, self.clock)
        self.room, self.codes, self.keys = self.shop.making, [], 0
        self.call(self.shop.day.clean_down)
        trim = NewMaterial(of_grams(4_000), lot_id="B-41F.07", place="trim")
        for machine in ("G1", "G2"):
            self.call(self.room.open, "beef", machine, "Mince", trim)
        self.call(self.room.open_batch, "Links", "C22", trim)

    def teardown(self):
        """Close the shop and remove its copy."""
        self.shop.close()
        self.places.drop(self.url)

    def call(self, work, *args, **named):
        """Make one call; what is refused says so in one sentence and changes nothing."""
        self.keys += 1
        try:
            made = work(*args, **named, by="kofi", key=f"any-{self.keys}")
        except CollopError as error:
            assert "\n" not in str(error)
            return None
        if made is not None and hasattr(made, "code") and made.code not in self.codes:
            self.codes.append(made.code)
        return made

    def some(self, at):
        """Return one of the makings there are."""
        return self.codes[-1 - at % min(len(self.codes), 4)]

    @rule(grams=GRAMS, where=WHERE, machine=st.sampled_from(["G1", "G2"]))
    def begin(self, grams, where, machine):
        """Begin a mince lot from an own lot."""
        first = NewMaterial(of_grams(grams), lot_id=where[0], place=where[1])
        self.call(self.room.open, "beef", machine, "Mince", first)

    @rule(grams=GRAMS, where=WHERE)
    def begin_batch(self, grams, where):
        """Begin links."""
        first = NewMaterial(of_grams(grams), lot_id=where[0], place=where[1])
        self.call(self.room.open_batch, "Links", "C22", first)

    @rule(at=ANY, grams=GRAMS, where=WHERE)
    def put_in(self, at, grams, where):
        """Put in weight of an own lot."""
        new = NewMaterial(of_grams(grams), lot_id=where[0], place=where[1])
        self.call(self.room.add, self.some(at), new)

    @rule(at=ANY, of=ANY, grams=GRAMS)
    def pour(self, at, of, grams):
        """Put weight of one making into another."""
        new = NewMaterial(of_grams(grams), lot_id=self.some(of), place="block")
        self.call(self.room.add, self.some(at), new)

    @rule(at=ANY, grams=GRAMS, is_spice=st.booleans())
    def buy(self, at, grams, is_spice):
        """Put in something bought in."""
        new = NewMaterial(of_grams(grams), what="Bought", contains=(), is_ingredient=is_spice)
        self.call(self.room.add, self.some(at), new)

    @rule(at=ANY, grams=GRAMS, case_id=st.sampled_from(["C11", "C22"]))
    def make(self, at, grams, case_id):
        """Weigh something out."""
        self.call(self.room.produce, self.some(at), case_id, of_grams(grams))

    @rule(at=ANY, grams=GRAMS, place=st.sampled_from(["bin", "drip"]))
    def lose(self, at, grams, place):
        """Lose some."""
        self.call(self.room.lose, self.some(at), of_grams(grams), "dropped", place=place)

    @rule(at=ANY, grams=GRAMS)
    def carry(self, at, grams):
        """Say that some goes on."""
        self.call(self.room.carry, self.some(at), of_grams(grams))

    @rule(at=ANY, which=ANY, of_parts=st.booleans())
    def take_back(self, at, which, of_parts):
        """Take any line back."""
        made = self.room.record(self.some(at))
        lines = made.materials if of_parts else made.events
        if lines:
            work = self.room.take_back_material if of_parts else self.room.take_back
            self.call(work, made.code, lines[which % len(lines)].seq, "not so")

    @rule(at=ANY)
    def close(self, at):
        """Tell that nothing was carried over, and close."""
        self.call(self.room.fill, self.some(at), no_carry_over=True)
        made = self.call(self.room.close, self.some(at))
        assert made is None or (not made.missing and made.mass.left.count == 0)

    @rule(minutes=st.integers(min_value=1, max_value=90), is_taken_back=st.booleans())
    def clean(self, minutes, is_taken_back):
        """Clean down, or take the last one back, some time later."""
        self.clock.put(self.clock.now() + timedelta(minutes=minutes))
        day = self.shop.day
        self.call(day.take_back_clean_down if is_taken_back else day.clean_down)

    @invariant()
    def it_holds(self):
        """In = out + on hand for every lot, and each making's own sum closes."""
        assert self.shop.check() == []
        for code in self.codes:
            mass = self.room.record(code).mass
            assert mass.closes
            parts = (mass.out, mass.carried, mass.waiting, mass.lost, mass.left)
            assert all(one.count >= 0 for one in parts)


def test_any_making_keeps_the_ledger_whole(places, demos):
    """Random days at grinder and stuffer: no weight appears or is lost."""
    Grinder.places, Grinder.source = places, demos("tuesday")
    run_state_machine_as_test(
        Grinder,
        settings=settings(max_examples=4, stateful_step_count=18, deadline=None,
                          suppress_health_check=list(HealthCheck)),
    )  # fmt: skip
