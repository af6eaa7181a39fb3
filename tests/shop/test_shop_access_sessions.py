"""Sessions under any row of steps: a small model beside the real thing, on a clock of ours."""

from __future__ import annotations

import pytest
from doorstep import WORDS, Wall, all_in, cheap_hashes, door
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.shop import StillClock, open_shop
from collop.shop.access_sessions import ENDS_S, IDLE_S, PIN_IDLE_S, TOUCH_S

PIN = "493817"
PEOPLE = ("ines", "kofi")


@pytest.fixture(scope="module")
def opened(places, demos):
    """Return a shop in which two people may sign in, either way, on one device."""
    with (
        pytest.MonkeyPatch.context() as patch,
        open_shop(places.copy(demos("tuesday")), StillClock()) as shop,
    ):
        cheap_hashes(patch)
        access = door(shop)
        all_in(access, "kofi")
        _, here = access.know_device("counter", by="ines")
        for who in PEOPLE:
            access.set_pin(who, PIN, device_token=here, password=WORDS[who])
            access.end_all(who, by="ines", why="begin")
        yield shop, here


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("wait"), st.integers(0, 2 * IDLE_S)),
        st.tuples(st.just("in"), st.sampled_from(PEOPLE), st.booleans(), st.booleans()),
        st.tuples(st.just("use"), st.integers(0, 5), st.booleans()),
        st.tuples(st.just("out"), st.integers(0, 5)),
        st.tuples(st.just("end all"), st.sampled_from(PEOPLE)),
    ),
    max_size=14,
)


class Model:
    """What a session is said to be: whose, since when, used when, over or not."""

    def __init__(self, who, now, *, by_pin):
        self.who, self.begun, self.used, self.over = who, now, now, False
        self.idle = PIN_IDLE_S if by_pin else IDLE_S

    def lives(self, now):
        """Tell whether it is in use, by the words of the rule."""
        return not self.over and now - self.used < self.idle and now - self.begun < ENDS_S


@settings(max_examples=40)
@given(STEPS)
def test_a_session_lives_exactly_as_long_as_the_rule_says(opened, steps):
    """After each step, for each token ever given, the door and the model say the same."""
    shop, here = opened
    wall = Wall()
    access = door(shop, wall)
    tokens = {}
    for who in PEOPLE:
        access.end_all(who, by="ines", why="anew")
    for step in steps:
        do(access, wall, here, tokens, step)
        for token, model in tokens.items():
            seen = access.who(token, touch=False)
            assert (seen is not None) == model.lives(wall.seconds)
            assert seen is None or seen.member.id == model.who
    alive = sum(one.lives(wall.seconds) for one in tokens.values())
    assert len(access.sessions()) == alive


def do(access, wall, here, tokens, step):
    """Do one step, at the door and in the model."""
    kind, *rest = step
    known = list(tokens)
    if kind == "wait":
        wall.on(rest[0])
    elif kind == "in":
        who, by_pin, is_change = rest
        old = known[-1] if is_change and known else None
        if by_pin:
            token = access.sign_in_by_pin(who, PIN, device_token=here, old_token=old).token
        else:
            token = access.sign_in(who, WORDS[who], old_token=old).token
        if old:
            tokens[old].over = True
        assert token not in tokens
        tokens[token] = Model(who, wall.seconds, by_pin=by_pin)
    elif kind == "end all":
        access.end_all(rest[0], by=rest[0], why="all of mine")
        for model in tokens.values():
            model.over = model.over or model.who == rest[0]
    elif rest[0] < len(known):
        token = known[rest[0]]
        model = tokens[token]
        if kind == "out":
            access.sign_out(token)
            model.over = True
        else:
            seen = access.who(token, touch=rest[1])
            # use within a minute of the last is not written
            if seen is not None and rest[1] and wall.seconds - model.used >= TOUCH_S:
                model.used = wall.seconds
