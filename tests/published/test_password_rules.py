"""Passwords, PINs, sessions and posts against what is published for tools of this kind.

* ASVS5: OWASP Application Security Verification Standard 5.0 (commit fe04986), 2025
* OWASPPW: OWASP Password Storage Cheat Sheet (commit 6b8819d), 2026
* OWASPSESS: OWASP Session Management and Authentication Cheat Sheets (commit 6b8819d), 2026

All read in their sources. The hash strings are read by argon2-cffi's own reader, and a hash that
the argon2 library makes by itself, without ours, is the independent reference.
"""

from __future__ import annotations

import math
import time

import pytest
from argon2 import PasswordHasher, Type, extract_parameters
from argon2.low_level import hash_secret_raw
from zxcvbn.frequency_lists import FREQUENCY_LISTS

from collop.errors import BadValue, WrongState
from collop.shop import Person, Settings, StillClock, create_shop
from collop.shop import access_secrets as kept
from collop.shop.access import AccessRoom
from collop.shop.access_model import Post
from collop.shop.access_sessions import ENDS_S, IDLE_S, PIN_IDLE_S
from collop.shop.access_throttle import LONGEST_DELAY_S, delay_after

#: OWASPPW, Argon2id section: memory in KiB, passes, lanes; any one line.
LINES = {(47104, 1, 1), (19456, 2, 1), (12288, 3, 1), (9216, 4, 1), (7168, 5, 1)}
WORDS = "rail hook bone saw"


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    path = tmp_path_factory.mktemp("rules") / "shop.db"
    staff = [Person("ann", "Ann", "owner"), Person("ben", "Ben", "apprentice")]
    with create_shop(f"sqlite:///{path}", settings=Settings("Weir End"), people=staff,
                     clock=StillClock()) as made:  # fmt: skip
        made.access.set_up("Ann", WORDS)
        yield made
        assert made.check() == []


def test_the_hash_has_one_of_the_published_lines():
    """OWASPPW, and ASVS5 11.4.2 with its appendix C: argon2id, parameters in the string."""
    found = kept.hash_secret(WORDS)
    read = extract_parameters(found)
    assert read.type is Type.ID
    assert (read.memory_cost, read.time_cost, read.parallelism) in LINES
    assert found.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert read.salt_len >= 16
    assert kept.hash_secret(WORDS) != found


def test_a_hash_by_the_library_alone_is_taken():
    """Salt and parameters read from the string, and the raw hash worked out anew."""
    import base64

    found = kept.hash_secret("café au lait")
    salt, raw = (base64.b64decode(one + "=" * (-len(one) % 4)) for one in found.split("$")[-2:])
    again = hash_secret_raw("café au lait".encode(), salt, 2, 19456, 1, len(raw), Type.ID)
    assert again == raw
    assert kept.fits(WORDS, PasswordHasher(time_cost=3, memory_cost=12288, parallelism=1)
                     .hash(WORDS))  # fmt: skip


def test_a_line_of_other_parameters_is_made_anew():
    """OWASPPW: each of the five lines still opens; all but ours are renewed at the next sign-in."""
    for memory, passes, lanes in sorted(LINES):
        found = PasswordHasher(passes, memory, lanes).hash(WORDS)
        assert kept.fits(WORDS, found)
        assert kept.is_old_hash(found) == ((memory, passes, lanes) != (19456, 2, 1))


def test_eight_characters_and_not_seven():
    """ASVS5 6.2.1: at least 8 characters."""
    with pytest.raises(BadValue, match="fewer than 8"):
        kept.check_password("kxqzwvp", [])
    assert kept.check_password("kxqzwvpj", []) == "kxqzwvpj"


def test_three_thousand_commonest_passwords_are_refused():
    """ASVS5 6.2.4: at least the top 3000, in capitals too (list: zxcvbn, by rank)."""
    top = [word for word in FREQUENCY_LISTS["passwords"] if len(word) >= 8]
    assert len(top) >= 3000
    for word in FREQUENCY_LISTS["passwords"][:3000]:
        for typed in (word, word.upper(), word.title()):
            with pytest.raises(BadValue, match=r"tried first|fewer than 8"):
                kept.check_password(typed, [])


def test_sixty_four_characters_and_each_of_them_counts(shop):
    """ASVS5 6.2.8 and 6.2.9: 64 characters with spaces work, and changing the last one fails."""
    long = "wet hands, a queue and a long row of words that nobody else says"
    assert len(long) == 64
    shop.access.set_password("ann", long, by="ann", old=WORDS)
    assert shop.access.sign_in("ann", long).member.id == "ann"
    for typed in (long[:-1] + "t", long[:-1], f"{long} ", long.title()):
        with pytest.raises(WrongState):
            shop.access.sign_in("ann", typed)
    assert shop.access.sign_in("ann", long)
    shop.access.set_password("ann", WORDS, by="ann", old=long)


def test_no_length_cuts_a_password_off():
    """ASVS5 6.2.8: up to the 256 that are taken, the last character counts; 257 are refused."""
    long = "ab cd ef " * 28 + "last"
    assert len(long) == 256
    found = kept.hash_secret(kept.check_password(long, []))
    assert kept.fits(long, found)
    assert not kept.fits(f"{long[:-1]}x", found)
    with pytest.raises(BadValue, match="more than 256"):
        kept.check_password(f"{long}x", [])


@pytest.mark.parametrize("word", [
    "        ", "<script>alert(1)</script>", "'; DROP TABLE people; --", "\u5305\u4e01" * 4,
    "\U0001f52a" * 8, "tab\tand\nline\x00end", "%s%s%s%s{}{}",
])  # fmt: skip
def test_any_character_is_taken(shop, word):
    """ASVS5 6.2.5: no rule of which signs it has; it is stored and compared as typed."""
    shop.access.set_password("ben", word, by="ann")
    assert shop.access.sign_in("ben", word).member.id == "ben"
    with pytest.raises(WrongState):
        shop.access.sign_in("ben", f"{word}x")


def test_a_pin_has_twenty_bits_and_belongs_to_a_device():
    """ASVS5 6.5.4: six digits are about 20 bits and are taken; five are 16.6 bits and are not."""
    assert math.log2(10**kept.SHORTEST_PIN) > 19.9
    assert kept.check_pin("493817") == "493817"
    with pytest.raises(BadValue, match="6 to 12 digits"):
        kept.check_pin("49381")
    assert kept.check_pin("493817260584")
    with pytest.raises(BadValue, match="6 to 12 digits"):
        kept.check_pin("4938172605841")


def test_tokens_have_at_least_128_bits_and_only_their_digest_is_kept():
    """ASVS5 7.2.3 and 11.5.1: 256 bits from the system's own source of randomness."""
    import base64

    token = kept.new_token()
    assert len(base64.urlsafe_b64decode(f"{token}=")) * 8 == 256
    assert kept.token_hash(token) != token


def test_idle_limits_lie_in_the_usual_band():
    """OWASPSESS and ASVS5 7.3.1: 15 to 30 minutes where the risk is low."""
    for idle in (IDLE_S, PIN_IDLE_S):
        assert 15 * 60 <= idle <= 30 * 60
    assert ENDS_S == 12 * 3600  # ours: one shift


def test_there_is_no_account_before_the_owner_makes_one(tmp_path):
    """ASVS5 6.3.2: no default accounts; nobody has a password, and nothing opens the door."""
    staff = [Person("ann", "Ann", "owner")]
    with create_shop(f"sqlite:///{tmp_path}/new.db", settings=Settings("New"), people=staff) as new:
        assert not any(one.has_password for one in new.access.members())
        for word in ("", "admin", "password", "collop", "Ann"):
            with pytest.raises(WrongState):
                new.access.sign_in("ann", word)


def test_a_growing_delay_and_never_a_lock(shop):
    """ASVS5 6.3.1 and OWASPSESS: it grows, it ends, and the right password then opens."""
    delays = [delay_after(n) for n in range(40)]
    assert delays == sorted(delays)
    assert max(delays) == LONGEST_DELAY_S
    seconds = [time.time()]
    access = AccessRoom(shop._room, wall=lambda: seconds[0])
    for _ in range(12):
        with pytest.raises(WrongState):
            access.sign_in("ann", "wrong words of somebody")
        seconds[0] += LONGEST_DELAY_S
    assert access.sign_in("ann", WORDS)


def test_a_session_ends_at_once_on_the_server(shop):
    """ASVS5 7.2.4, 7.4.1, 7.4.2 and 7.4.5: new sign-in, sign-out, leaving, an owner's word."""
    access = shop.access
    first = access.sign_in("ann", WORDS).token
    second = access.sign_in("ann", WORDS, old_token=first).token
    assert (access.who(first), second == first) == (None, False)
    access.sign_out(second)
    assert access.who(second) is None
    access.set_password("ben", "broom bucket brush", by="ann")
    theirs = access.sign_in("ben", "broom bucket brush").token
    access.end_session(access.who(theirs).number, by="ann", why="tablet lost")
    assert access.who(theirs) is None
    theirs = access.sign_in("ben", "broom bucket brush").token
    access.leaves("ben", by="ann", why="moved", key="l")
    assert access.who(theirs) is None
    with pytest.raises(WrongState):
        access.sign_in("ben", "broom bucket brush")
    access.add_member("Ben", Post.APPRENTICE, by="ann", key="b")


def test_every_sign_in_is_logged_with_its_time_in_utc(shop):
    """ASVS5 16.2.2, 16.3.1 and 16.4.1: good and bad, by whom, and no line can be forged."""
    access, day = shop.access, shop.now().date()
    before = len(access.log(day, day))
    access.sign_in("ann", WORDS)
    with pytest.raises(WrongState):
        access.sign_in("ann\n1 signed in, ann", "wrong words of somebody")
    newest = access.log(day, day)[: len(access.log(day, day)) - before]
    assert [(one.kind, one.by) for one in newest] == [("refused", None), ("signed in", "ann")]
    with shop._room.store.read() as conn:
        utc = conn.exec_driver_sql("SELECT max(utc) FROM audit").scalar()
    assert abs(utc - time.time()) < 60
