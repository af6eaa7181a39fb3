"""People and the door: the first owner, passwords and PINs, sessions and devices that end."""

from __future__ import annotations

from datetime import timedelta

import pytest
from doorstep import WORDS, Wall, all_in, cheap_hashes, door

from collop.errors import BadValue, CollopError, NotFound, StorageTrouble, TooSoon, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, Person, Settings, access_secrets, create_shop
from collop.shop.access import CONSOLE
from collop.shop.access_model import Post
from collop.shop.access_roles import ACTIONS, may
from collop.shop.access_sessions import ENDS_S, IDLE_S, PIN_IDLE_S
from collop.shop.audit_chain import SIGNED_IN, SignedInAs
from collop.shop.clock import DEMO_START

PIN = "493817"


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    cheap_hashes(monkeypatch)


@pytest.fixture
def wall():
    return Wall()


@pytest.fixture
def access(shop, wall):
    return door(shop, wall)


def lines(shop, access, kind=None):
    day = shop.now().date()
    return access.log(day, day, kind=kind)


def order(name, by="dot"):
    """Return a small order."""
    return NewBooking(
        name=name, collect_at=DEMO_START + timedelta(days=2, hours=8), by=by,
        lines=(NewLine("C11", Weight.of("1.00", WeightUnit.LB)),),
    )  # fmt: skip


# ---- who is what


def test_posts_of_the_demo_week_are_read_from_their_roles(access):
    """Owner, bench, counter and apprentice, though no post was written."""
    assert {one.id: one.post for one in access.members()} == {
        "ines": Post.OWNER, "marek": Post.CUTTER, "dot": Post.COUNTER, "kofi": Post.APPRENTICE,
    }  # fmt: skip


def test_an_apprentice_may_do_the_daily_work_and_no_more():
    """The owner may do all; nobody may do what is in no list."""
    assert {one for one in ACTIONS if may(Post.APPRENTICE, one)} == {
        "read", "ask", "book", "hand-over", "sell", "weigh", "note",
    }  # fmt: skip
    assert all(may(Post.OWNER, one) for one in ACTIONS)
    assert not any(may(post, "open the safe") for post in Post)


def test_only_an_owner_touches_people_settings_and_records():
    """Money out is the owner's and the glass's; prices are the owner's and the block's."""
    for action in ("people", "settings", "records"):
        assert ACTIONS[action].posts == {Post.OWNER}
    assert ACTIONS["take-back"].posts == {Post.OWNER, Post.COUNTER}
    assert ACTIONS["price"].posts == {Post.OWNER, Post.CUTTER}


def test_a_new_person_has_a_post_and_one_key_makes_one_person(shop, access):
    """The same key twice answers the same; the act is in the log under who did it."""
    one = access.add_member("Rhea", Post.COUNTER, by="ines", key="k")
    assert access.add_member("Rhea", Post.COUNTER, by="ines", key="k") == one
    assert (one.id, one.post, one.works_here) == ("rhea", Post.COUNTER, True)
    newest = lines(shop, access)[0]
    assert (newest.what, newest.by, newest.answer) == ("add person", "ines", "rhea")


def test_a_name_that_is_taken_or_none_is_refused(access):
    """One sentence each; line breaks and hidden signs are no name."""
    for name in ("Ines", "iNES", "kofi"):
        with pytest.raises(WrongState, match="works here already"):
            access.add_member(name, Post.CUTTER, by="ines", key=name)
    for name in ("", " ", "a\nb", "a\u202eb", "x" * 61, None, 7):
        with pytest.raises(BadValue, match="on one line"):
            access.add_member(name, Post.CUTTER, by="ines", key="k")


def test_ids_are_letters_and_digits_and_never_a_word_of_an_address(access):
    """Two names of the same letters get two ids."""
    made = [access.add_member(name, Post.COUNTER, by="ines", key=name).id
            for name in ("Ann Marie", "Ann, Marie", "Me", "../x", "...")]  # fmt: skip
    assert made == ["ann-marie", "ann-marie-2", "me-2", "x", "person"]


def test_the_last_owner_neither_leaves_nor_changes_post(access):
    """With another owner both may happen."""
    with pytest.raises(WrongState, match="only owner"):
        access.leaves("ines", by="ines", why="tired", key="a")
    with pytest.raises(WrongState, match="only owner"):
        access.change_post("ines", Post.CUTTER, by="ines", why="tired", key="b")
    access.change_post("marek", Post.OWNER, by="ines", why="partner", key="c")
    assert access.change_post("ines", Post.CUTTER, by="ines", why="tired", key="d").post == "cutter"


def test_an_owner_who_can_sign_in_is_left(access):
    """Once passwords are used, an owner without one is not enough."""
    all_in(access)
    access.change_post("marek", Post.OWNER, by="ines", why="partner", key="c")
    with pytest.raises(WrongState, match="set one for Marek first"):
        access.leaves("ines", by="marek", why="retired", key="d")
    access.set_password("marek", WORDS["marek"], by="ines")
    assert not access.leaves("ines", by="marek", why="retired", key="d").works_here


def test_who_left_comes_back_as_the_same_person(access):
    """Without password or PIN, under the old id."""
    all_in(access, "dot")
    access.leaves("Dot", by="ines", why="moved", key="a")
    assert [one.id for one in access.members()] == ["ines", "kofi", "marek"]
    assert "dot" in {one.id for one in access.members(gone=True)}
    back = access.add_member("Dot", Post.CUTTER, by="ines", key="b")
    assert (back.id, back.post, back.has_password) == ("dot", Post.CUTTER, False)


def test_who_left_is_named_for_nothing_new_and_keeps_what_they_did(access, shop):
    """A sentence refuses their name at the console too; back again, they are taken."""
    shop.book(order("Before"), key="before")
    access.set_up("Ines", WORDS["ines"])
    access.leaves("Dot", by="ines", why="moved", key="a")
    for by in ("dot", "Dot"):
        with pytest.raises(NotFound, match=r"^Dot works here no more; choose from Ines, "):
            shop.book(order("After", by), key="after")
    assert {one.id: one.here for one in shop.people()} == {
        "dot": False, "ines": True, "kofi": True, "marek": True,
    }  # fmt: skip
    assert shop.find("After") == ()
    access.add_member("Dot", Post.COUNTER, by="ines", key="b")
    assert shop.book(order("After"), key="after").by == shop.find("Before")[0].by == "dot"
    assert shop.check() == []


def test_only_who_may_changes_people(access):
    """The post of who asks is looked at here too, not only at the page."""
    all_in(access, "kofi")
    for call in (
        lambda: access.add_member("Rhea", Post.OWNER, by="kofi", key="a"),
        lambda: access.change_post("kofi", Post.OWNER, by="kofi", why="me", key="b"),
        lambda: access.leaves("dot", by="marek", why="me", key="c"),
        lambda: access.set_password("ines", "an apprentice was here", by="kofi"),
        lambda: access.know_device("mine", by="dot"),
        lambda: access.end_all("ines", by="dot", why="me"),
    ):
        with pytest.raises(WrongState, match="may not"):
            call()


def test_who_is_signed_in_goes_before_what_the_form_says(access):
    """An apprentice who writes the owner's name into a form stays an apprentice."""
    all_in(access, "kofi")
    token = SIGNED_IN.set(SignedInAs("kofi"))
    try:
        with pytest.raises(WrongState, match="Kofi may not"):
            access.change_post("kofi", Post.OWNER, by="ines", why="me", key="b")
        with pytest.raises(WrongState, match="Kofi may not"):
            access.set_password("ines", "an apprentice was here", by=CONSOLE)
    finally:
        SIGNED_IN.reset(token)


# ---- the first owner


def test_the_first_password_is_an_owners(access):
    """Nobody else's can be the first: the shop would be locked and nobody could open it."""
    with pytest.raises(WrongState, match="first password is an owner's"):
        access.set_password("kofi", WORDS["kofi"], by="ines")
    with pytest.raises(WrongState, match="the first password is that of Ines"):
        access.set_up("Kofi", WORDS["kofi"])
    assert not access.is_locked()
    signed = access.set_up("Ines", WORDS["ines"])
    assert access.is_locked()
    assert access.who(signed.token).member.id == "ines"
    with pytest.raises(WrongState, match="has its passwords already"):
        access.set_up("Ines", WORDS["ines"])


def test_a_shop_without_an_owner_gets_one_at_its_first_run(new_url):
    """Somebody who is there without a post, or somebody new."""
    people = [Person("ann", "Ann"), Person("ben", "Ben")]
    with create_shop(new_url(), settings=Settings("A"), people=people) as shop:
        assert {one.post for one in shop.access.members()} == {Post.APPRENTICE}
        assert shop.access.set_up("Ben", WORDS["dot"]).member.post is Post.OWNER
        assert shop.check() == []
    with create_shop(new_url(), settings=Settings("B")) as shop:
        assert shop.access.set_up("Cara", WORDS["dot"]).member.id == "cara"
        assert shop.check() == []


# ---- passwords and PINs


def test_own_password_needs_the_old_one(access):
    """A wrong old one is a failure like any other, and changes nothing."""
    all_in(access, "kofi")
    with pytest.raises(WrongState, match="do not fit"):
        access.set_password("kofi", "a new one for me", by="kofi", old="guess")
    with pytest.raises(WrongState, match="do not fit"):
        access.set_password("kofi", "a new one for me", by="kofi")
    access.set_password("kofi", "a new one for me", by="kofi", old=WORDS["kofi"])
    assert access.sign_in("kofi", "a new one for me").member.id == "kofi"
    with pytest.raises(WrongState):
        access.sign_in("kofi", WORDS["kofi"])


def test_a_pin_belongs_to_one_device(access):
    """It opens nothing elsewhere, and nothing without a known device."""
    all_in(access, "kofi")
    _, here = access.know_device("counter", by="ines")
    _, there = access.know_device("cutting room", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    assert access.sign_in_by_pin("kofi", PIN, device_token=here).member.pin_devices == (1,)
    with pytest.raises(WrongState, match="no PIN here"):
        access.sign_in_by_pin("kofi", PIN, device_token=there)
    for token in ("", "guess", None, here[:-1]):
        with pytest.raises(WrongState, match="does not know this device"):
            access.sign_in_by_pin("kofi", PIN, device_token=token)


def test_a_pin_is_set_with_the_password_only(access):
    """Who finds a tablet that stands open cannot set one."""
    all_in(access, "kofi")
    _, here = access.know_device("counter", by="ines")
    with pytest.raises(WrongState, match="do not fit"):
        access.set_pin("kofi", PIN, device_token=here, password="guess it")  # noqa: S106 -- invented
    assert access.member("kofi").pin_devices == ()


def test_five_failures_switch_a_pin_off_until_it_is_set_anew(shop, access, wall):
    """The right PIN opens nothing any more; the password does, and sets a new PIN."""
    all_in(access, "kofi")
    _, here = access.know_device("counter", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    for left in (4, 3, 2, 1):
        with pytest.raises(WrongState, match=f"{left} more and it is switched off"):
            access.sign_in_by_pin("kofi", "394872", device_token=here)
    with pytest.raises(WrongState, match="switched off here after 5"):
        access.sign_in_by_pin("kofi", "394872", device_token=here)
    wall.on(3600)
    with pytest.raises(WrongState, match="no PIN here"):
        access.sign_in_by_pin("kofi", PIN, device_token=here)
    assert len(lines(shop, access, "PIN off")) == 1
    access.sign_in("kofi", WORDS["kofi"], device_token=here)
    access.set_pin("kofi", "271 828".replace(" ", ""), device_token=here, password=WORDS["kofi"])
    assert access.sign_in_by_pin("kofi", "271828", device_token=here).member.id == "kofi"


def test_a_right_pin_clears_the_failures(access):
    """Four wrong and one right, again and again, switch nothing off."""
    all_in(access, "kofi")
    _, here = access.know_device("counter", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    for _ in range(3):
        for _ in range(4):
            with pytest.raises(WrongState):
                access.sign_in_by_pin("kofi", "394872", device_token=here)
        assert access.sign_in_by_pin("kofi", PIN, device_token=here)


def test_an_old_hash_is_renewed_at_the_next_sign_in(shop, access, monkeypatch):
    """With the parameters of today; the password stays the same."""
    all_in(access)

    def kept():
        with shop._room.store.read() as conn:
            return conn.exec_driver_sql("SELECT hash FROM secrets").scalar()

    assert "m=8,t=1,p=1" in kept()
    monkeypatch.undo()
    access.sign_in("ines", WORDS["ines"])
    assert "m=19456,t=2,p=1" in kept()
    assert access.sign_in("ines", WORDS["ines"])


def test_a_password_is_the_same_in_whichever_form_its_letters_come(access):
    """A tablet may send é as one sign or as two."""
    access.set_up("Ines", "cafe\u0301 au lait noir")
    assert access.sign_in("ines", "caf\u00e9 au lait noir")


def test_an_unknown_name_costs_a_hash_and_says_the_same(access, monkeypatch):
    """As a known one with a wrong password, and one who has no password."""
    all_in(access)
    worked, said = [], []
    real = access_secrets._hasher

    class Counting:
        def verify(self, kept, offered):
            worked.append(kept)
            return real().verify(kept, offered)

        def hash(self, secret):
            return real().hash(secret)

    monkeypatch.setattr(access_secrets, "_hasher", Counting)
    for who in ("ines", "nobody of that name", "kofi", ""):
        with pytest.raises(WrongState) as refused:
            access.sign_in(who, "a wrong password")
        said.append(refused.value.as_json())
    assert len(worked) == 4
    assert said.count(said[0]) == 4


# ---- sessions


def test_a_session_is_ended_by_going_out(access):
    """At once, on the server; a second time nothing happens."""
    token = all_in(access).token
    access.sign_out(token)
    assert access.who(token) is None
    access.sign_out(token)
    assert [one.ended_why for one in access.sessions(ended=True)] == ["signed out"]


def test_a_new_sign_in_ends_the_old_session_and_has_a_new_token(access):
    """A token planted before the sign-in is worth nothing after it."""
    old = all_in(access).token
    new = access.sign_in("ines", WORDS["ines"], old_token=old).token
    assert new != old
    assert access.who(old) is None
    planted = access.sign_in("ines", WORDS["ines"], old_token="planted").token  # noqa: S106
    assert access.who("planted") is None
    assert access.who(planted) is not None


@pytest.mark.parametrize("what", ["password", "owner's password", "left", "post", "end", "all"])
def test_what_ends_the_sessions_of_a_person(access, what):
    """And of that person only."""
    mine = all_in(access, "kofi").token
    theirs = access.sign_in("kofi", WORDS["kofi"]).token
    number = access.who(theirs).number
    do = {
        "password": lambda: access.set_password("kofi", "another one", by="kofi",
                                                old=WORDS["kofi"]),
        "owner's password": lambda: access.set_password("kofi", "another one", by="ines"),
        "left": lambda: access.leaves("kofi", by="ines", why="gone", key="k"),
        "post": lambda: access.change_post("kofi", Post.CUTTER, by="ines", why="up", key="k"),
        "end": lambda: access.end_session(number, by="ines", why="tablet lost"),
        "all": lambda: access.end_all("kofi", by="kofi", why="tablet lost"),
    }  # fmt: skip
    do[what]()
    assert access.who(theirs) is None
    assert access.who(mine) is not None
    assert [one.member.id for one in access.sessions()] == ["ines"]


def test_a_refused_change_ends_nothing(access):
    """What could not be written leaves the sessions as they were."""
    mine = all_in(access).token
    with pytest.raises(WrongState):
        access.leaves("ines", by="ines", why="gone", key="k")
    assert access.who(mine) is not None


def test_a_forgotten_device_takes_its_sessions_and_pins_along(access):
    """Its token is worth nothing, and its number is not given again."""
    mine = all_in(access, "kofi").token
    device, here = access.know_device("counter", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    theirs = access.sign_in_by_pin("kofi", PIN, device_token=here).token
    access.forget_device(device.number, by="ines")
    assert access.device_of(here) is None
    assert access.who(theirs) is None
    assert access.who(mine) is not None
    assert access.member("kofi").pin_devices == ()
    again, _ = access.know_device("counter", by="ines")
    assert again.number == device.number + 1
    with pytest.raises(NotFound):
        access.forget_device(device.number, by="ines")


def test_a_pin_that_is_taken_away_ends_what_it_opened(access):
    """The session by password on the same device stays."""
    all_in(access, "kofi")
    device, here = access.know_device("counter", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    by_pin = access.sign_in_by_pin("kofi", PIN, device_token=here).token
    by_word = access.sign_in("kofi", WORDS["kofi"], device_token=here).token
    access.drop_pin("kofi", device.number, by="kofi")
    assert access.who(by_pin) is None
    assert access.who(by_word).device == device.number
    with pytest.raises(NotFound):
        access.drop_pin("kofi", device.number, by="kofi")


@pytest.mark.parametrize(("way", "idle"), [("password", IDLE_S), ("pin", PIN_IDLE_S)])
def test_a_session_ends_when_it_is_not_used(access, wall, way, idle):
    """At the second of its limit; use keeps it open, what a page asks by itself does not."""
    all_in(access, "kofi")
    _, here = access.know_device("counter", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    token = (
        access.sign_in("kofi", WORDS["kofi"], device_token=here)
        if way == "password"
        else access.sign_in_by_pin("kofi", PIN, device_token=here)
    ).token
    wall.on(idle - 1)
    assert access.who(token) is not None
    wall.on(idle - 1)
    assert access.who(token, touch=False) is not None
    wall.on(1)
    assert access.who(token) is None
    assert "kofi" not in {one.member.id for one in access.sessions()}
    assert access.sessions(ended=True)[0].ended_why == "not used"


def test_a_session_in_use_ends_after_twelve_hours(access, wall):
    """Used every ten minutes, it lasts exactly one shift."""
    token, begun = all_in(access).token, wall.seconds
    while access.who(token) is not None:
        wall.on(600)
    assert wall.seconds - begun == ENDS_S
    assert access.sessions(ended=True)[0].ended_why == "its time was over"


def test_a_clock_set_back_makes_no_session_longer_or_alive_again(access, wall):
    """One that began in what is now the future is over."""
    token = all_in(access).token
    wall.on(-3600)
    assert access.who(token) is None
    wall.on(3600)
    wall.on(IDLE_S)
    assert access.who(token) is None
    access.end_all("ines", by="ines", why="tidy")
    wall.on(-IDLE_S)
    assert access.who(token) is None


def test_use_is_written_at_most_once_a_minute(access, wall):
    """Reading pages does not write all the time."""
    token = all_in(access).token
    begun = access.who(token).seen_at
    wall.on(59)
    access.who(token)
    assert access.who(token, touch=False).seen_at == begun
    wall.on(1)
    access.who(token)
    assert (access.who(token, touch=False).seen_at - begun).seconds == 60


def test_a_disk_that_takes_nothing_keeps_nobody_from_reading(shop, access, wall, monkeypatch):
    """That the session was used cannot be written then; it only ends sooner."""
    token = all_in(access).token
    wall.on(IDLE_S - 1)

    def full(_work):
        raise StorageTrouble("The database cannot grow, the disk is full.")

    monkeypatch.setattr(shop._room.store, "run", full)
    assert access.who(token) is not None
    wall.on(1)
    assert access.who(token) is None


def test_no_secret_and_no_token_stands_in_the_database(shop, access, shop_file):
    """Neither password, PIN nor token; a typed name that nobody has is not kept either."""
    token = all_in(access, "kofi").token
    _, here = access.know_device("counter", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    with pytest.raises(WrongState):
        access.sign_in("my password typed as a name", "x" * 20)
    shop.close()
    raw = b"".join(one.read_bytes() for one in shop_file.parent.glob("shop.db*"))
    for secret in (token, here, *WORDS.values(), PIN, "my password typed as a name", "x" * 20):
        assert secret.encode() not in raw, secret
    assert b"counter" in raw


def test_hostile_values_get_a_sentence(access):
    """Whatever is sent as name, password, PIN, token or number."""
    all_in(access)
    odd = [None, 7, 7.5, float("nan"), [], {}, b"x", "", "\x00", "\ud800", "x" * 100_000, "\n"]
    for one in odd:
        for call in (
            lambda one=one: access.sign_in(one, one),
            lambda one=one: access.sign_in_by_pin(one, one, device_token=one),
            lambda one=one: access.set_password("ines", one, by="ines", old=WORDS["ines"]),
            lambda one=one: access.set_pin("ines", one, device_token=one, password=one),
            lambda one=one: access.know_device(one, by="ines"),
            lambda one=one: access.change_post("kofi", one, by="ines", why="x", key="k"),
        ):
            with pytest.raises(CollopError) as refused:
                call()
            assert len(refused.value.message) < 300
        assert access.who(one) is None
        assert access.device_of(one) is None
        access.sign_out(one)
    for number in (0, -1, 10**30, "1", None):
        for call in (
            lambda number=number: access.end_session(number, by="ines", why="x"),
            lambda number=number: access.forget_device(number, by="ines"),
            lambda number=number: access.drop_pin("ines", number, by="ines"),
        ):
            with pytest.raises(NotFound):
                call()


def test_everything_at_the_door_is_in_the_log(shop, access):
    """With person and device; a refusal names no person as the one who did it."""
    all_in(access, "kofi")
    device, here = access.know_device("counter", by="ines")
    access.set_pin("kofi", PIN, device_token=here, password=WORDS["kofi"])
    token = access.sign_in_by_pin("kofi", PIN, device_token=here).token
    with pytest.raises(WrongState):
        access.sign_in("kofi", "wrong one", device_token=here)
    access.sign_out(token)
    access.forget_device(device.number, by="ines")
    found = [(one.kind, one.by, one.device) for one in reversed(lines(shop, access))]
    assert found[-7:] == [
        ("password set", "ines", None), ("device known", "ines", 1), ("PIN set", "kofi", 1),
        ("signed in", "kofi", 1), ("refused", None, 1), ("signed out", "kofi", 1),
        ("device forgotten", "ines", 1),
    ]  # fmt: skip


def test_too_soon_is_a_refusal_with_seconds(access, wall):
    """And the right password after the delay lets in."""
    all_in(access)
    for _ in range(5):
        with pytest.raises(WrongState):
            access.sign_in("ines", "wrong one")
    with pytest.raises(TooSoon) as refused:
        access.sign_in("ines", WORDS["ines"])
    assert refused.value.wait_s == 1
    wall.on(1)
    assert access.sign_in("ines", WORDS["ines"])
    with pytest.raises(WrongState):
        access.sign_in("ines", "wrong one")
    assert access.sign_in("ines", WORDS["ines"])
