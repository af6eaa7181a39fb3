"""What is taken as a password or PIN, and what argon2id makes of it.

The test vector of argon2id is that of RFC 9106, section 5.3, from memory; the binding gives it.
"""

from __future__ import annotations

import threading
import time

import pytest
from argon2.low_level import ARGON2_VERSION, Type, core, ffi, lib
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.shop import access_secrets as kept


def test_argon2id_of_the_reference_vector():
    """RFC 9106, section 5.3 (from memory): the binding computes what the standard says."""
    out, word, salt = ffi.new("uint8_t[]", 32), ffi.new("uint8_t[]", b"\1" * 32), b"\2" * 16
    salt, key, data = (ffi.new("uint8_t[]", one) for one in (salt, b"\3" * 8, b"\4" * 12))
    context = ffi.new(
        "argon2_context *",
        {
            "version": ARGON2_VERSION, "out": out, "outlen": 32, "pwd": word, "pwdlen": 32,
            "salt": salt, "saltlen": 16, "secret": key, "secretlen": 8, "ad": data, "adlen": 12,
            "t_cost": 3, "m_cost": 32, "lanes": 4, "threads": 4, "allocate_cbk": ffi.NULL,
            "free_cbk": ffi.NULL, "flags": lib.ARGON2_DEFAULT_FLAGS,
        },
    )  # fmt: skip
    assert core(context, Type.ID.value) == lib.ARGON2_OK
    assert bytes(ffi.buffer(out)).hex() == (
        "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"
    )


@pytest.mark.parametrize("word", [
    "Ines1234", "INES", "12ines34", "Tollebank Meats", "tollebankmeats2026", "i n e s 1 9 8 0",
])  # fmt: skip
def test_the_name_of_person_or_shop_is_no_password(word):
    """With digits around it, in capitals or spaced out; too short counts too."""
    with pytest.raises(BadValue, match=r"name of the person|fewer than 8"):
        kept.check_password(word, ["Ines", "Tollebank Meats"])


def test_a_name_within_other_words_is_no_matter():
    """Only the name itself is refused; a name without a letter or digit forbids nothing."""
    assert kept.check_password("ines has a long knife", ["Ines", "..."])
    assert kept.check_password("!!!!!!!!", ["..."]) == "!!!!!!!!"


def test_a_refused_password_is_not_repeated():
    """It may stand on a page that others see, or in a log."""
    for word in ("sunshine1", "short", "x" * 257, "qwertyuiop"):
        with pytest.raises(BadValue) as refused:
            kept.check_password(word, [])
        assert word not in str(refused.value)


@given(st.text(min_size=8, max_size=256))
def test_any_text_of_eight_to_256_characters_is_taken_or_refused_in_a_sentence(word):
    """As it was typed, in composed form, once more the same."""
    try:
        taken = kept.check_password(word, ["Ines"])
    except BadValue as error:
        assert len(error.message) < 200
    else:
        assert kept.check_password(taken, ["Ines"]) == taken


@pytest.mark.parametrize("pin", [
    "111111", "123456", "654321", "890123", "135791", "121212", "123123", "000000000000",
])  # fmt: skip
def test_runs_and_patterns_are_no_pin(pin):
    """Steps that are all alike, and up to three digits over and over."""
    with pytest.raises(BadValue, match="run or a pattern"):
        kept.check_pin(pin)
    assert kept.check_pin(f"{pin[:-1]}{(int(pin[-1]) + 4) % 10}")


@pytest.mark.parametrize("pin", [
    "12a456", "", "\u00bd23456", "\u0663\u0664\u0665\u0666\u0667\u0668", "-123456", "12 34 56",
    None, 493817,
])  # fmt: skip
def test_a_pin_is_of_plain_digits(pin):
    """No other signs, and no digits of other scripts, which a keypad does not send."""
    with pytest.raises(BadValue, match="digits only"):
        kept.check_pin(pin)


def test_no_more_than_two_hashes_are_worked_out_at_once(monkeypatch):
    """Twelve at the door at once take the memory of two."""
    now, most, lock = [0], [0], threading.Lock()

    class Slow:
        def hash(self, _secret):
            with lock:
                now[0] += 1
                most[0] = max(most[0], now[0])
            time.sleep(0.01)
            with lock:
                now[0] -= 1
            return "x"

    monkeypatch.setattr(kept, "_hasher", Slow)
    crowd = [threading.Thread(target=kept.hash_secret, args=("words",)) for _ in range(12)]
    for one in crowd:
        one.start()
    for one in crowd:
        one.join()
    assert most[0] == 2
