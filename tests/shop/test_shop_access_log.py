"""The chained log: every act in its own transaction, and every hand laid on a row shows."""

from __future__ import annotations

import hashlib
import json
from datetime import date

import pytest
from by_hand import REFUSES, past_guards, raw
from doorstep import WORDS, all_in, cheap_hashes, door
from wished import line, order

from collop.errors import BadValue, NotFound, StorageTrouble
from collop.shop import StillClock, open_shop
from collop.shop.access_model import Post
from collop.shop.access_tables import audit
from collop.shop.audit_chain import SIGNED_IN, SignedInAs

TODAY = StillClock().now().date()


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    cheap_hashes(monkeypatch)


@pytest.fixture
def busy(url, clock):
    """Return the address of a shop with a handful of acts and events on this day."""
    with open_shop(url, clock) as shop:
        access = door(shop)
        all_in(access, "kofi")
        access.sign_out(access.sign_in("kofi", WORDS["kofi"]).token)
        shop.book(order(line("C23", "8.2")), key="b")
        shop.release("H1", by="ines", key="r", why="off")
        access.change_post("kofi", Post.CUTTER, by="ines", why="third year", key="p")
        assert access.log_faults() == ()
        assert shop.check() == []
    return url


def faults(url):
    with open_shop(url) as shop:
        found = shop.access.log_faults()
        assert set(found) <= set(shop.check())
        return found


def rows(url):
    """Return the rows of the log as dicts, moments as they are written in a file."""
    with raw(url) as hand:
        found = hand.execute("SELECT * FROM audit ORDER BY seq")
        names = [one[0] for one in found.description]
        rows = [dict(zip(names, one, strict=True)) for one in found]
    return [one | {"at": str(one["at"])} for one in rows]


@pytest.mark.parametrize("column", [
    "at", "utc", "kind", "what", "by_id", "device_number", "key", "digest", "chain",
])  # fmt: skip
def test_a_changed_row_is_named(busy, url, column):
    """Whatever of it was changed."""
    seq = next(row["seq"] for row in rows(busy) if row["what"] == "release")
    new = {"at": "2026-06-08 09:00:00.000000", "utc": 5, "device_number": 3, "by_id": "dot"}
    value = new.get(column, "0" * 64 if column in {"digest", "chain"} else "other")
    past_guards(busy, (f"UPDATE audit SET {column} = ? WHERE seq = ?", (value, seq)))  # noqa: S608 -- ours
    wanted = f"Row {seq} of the log does not fit the row before it."
    assert wanted in faults(url)


def test_every_row_that_is_taken_out_is_named(busy, url):
    """One in the middle, the first, and the newest ones."""
    last = rows(busy)[-1]["seq"]
    past_guards(busy, "DELETE FROM audit WHERE seq = 2")
    assert "Rows 2 to 2 of the log are gone." in faults(url)
    past_guards(busy, "DELETE FROM audit WHERE seq = 1")
    assert "Rows 1 to 2 of the log are gone." in faults(url)
    past_guards(busy, f"DELETE FROM audit WHERE seq >= {last - 1}")  # noqa: S608 -- ours
    assert f"Rows {last - 1} to {last} of the log are gone." in faults(url)


def test_an_emptied_log_is_named(busy, url):
    """No row at all is not the same as no row yet."""
    last = rows(busy)[-1]["seq"]
    past_guards(busy, "DELETE FROM audit")
    assert faults(url) == (f"Rows 1 to {last} of the log are gone.",)


def test_a_row_that_is_put_in_is_named(busy, url):
    """A forged one at the end has no seal that fits."""
    last = rows(busy)[-1]["seq"]
    forged = (
        "INSERT INTO audit (at, utc, kind, what, digest, chain)"
        " VALUES ('2026-06-09 08:00:00.000000', 1, 'signed out', 'x', ?, ?)"
    )
    past_guards(busy, (forged, ("0" * 64, "1" * 64)))
    assert faults(url) == (f"Row {last + 1} of the log does not fit the row before it.",)


@pytest.mark.parametrize("change", [
    "answer = 'H99'", "digest = 'x'", "by_id = 'dot'", "kind = 'book'",
    "at = '2026-06-09 07:00:00.000000'",
])  # fmt: skip
def test_an_act_that_is_changed_behind_the_log_is_named(busy, url, change):
    """What was asked, what it made, by whom, when."""
    past_guards(busy, f"UPDATE acts SET {change} WHERE key = 'r'")  # noqa: S608 -- ours
    assert "The act 'r' is not as the log has it." in faults(url)


def test_an_act_written_past_the_log_is_named(busy, url):
    """As somebody would who writes into the database by hand."""
    past_guards(
        busy,
        "INSERT INTO acts (key, kind, digest, answer, at)"
        " VALUES ('by hand', 'book', 'x', 'H99', '2026-06-09 09:00:00.000000')",
    )
    assert "The act 'by hand' is not in the log." in faults(url)


def sealed(before, row):
    """Return the seal of a row, worked out here once more from what is written of it."""
    at = row["at"].replace(" ", "T").removesuffix(".000000")
    told = [before, at, row["utc"], row["kind"], row["what"], row["by_id"], row["device_number"],
            row["key"], row["digest"]]  # fmt: skip
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


def test_a_chain_written_anew_shows_only_to_who_kept_a_seal(busy, url):
    """Who has the file can forge all of it; the seal on paper is what they cannot reach."""
    with open_shop(url) as shop:
        paper = shop.access.seal()
        assert shop.access.knows_seal(paper)
        assert shop.access.knows_seal(f" {paper.upper()} ")
        short = " ".join(paper[at : at + 4] for at in range(0, 16, 4))
        assert shop.access.knows_seal(short)
        assert not shop.access.knows_seal(short[:-1])
        assert not shop.access.knows_seal("1" * 64)
    changes, before = [], "0" * 64
    for row in (dict(one) for one in rows(busy)):
        if row["kind"] == "signed out":
            row["by_id"] = "dot"
        before = sealed(before, row)
        changes.append(
            ("UPDATE audit SET by_id = ?, chain = ? WHERE seq = ?",
             (row["by_id"], before, row["seq"]))
        )  # fmt: skip
    past_guards(busy, *changes)
    with open_shop(url) as shop:
        assert shop.access.log_faults() == ()
        assert not shop.access.knows_seal(paper)
        assert not shop.access.knows_seal(short)


def test_the_guards_refuse_every_change_of_the_log(shop, url):
    """In the program and in the database itself."""
    for statement in (audit.update().values(what="x"), audit.delete()):
        with pytest.raises(StorageTrouble, match="never edited"), shop._room.store.write() as conn:
            conn.execute(statement)
    shop.access.add_member("Rhea", Post.COUNTER, by="ines", key="k")
    with raw(url) as hand:
        for statement in ("UPDATE audit SET what = 'x'", "DELETE FROM audit",
                          "UPDATE posts SET post = 'owner'", "DELETE FROM posts"):  # fmt: skip
            with pytest.raises(REFUSES, match="never"):
                hand.execute(statement)


def test_an_act_that_fails_leaves_no_row(shop):
    """The row of the log is part of the act's own transaction."""
    before = shop.access.seal()
    with pytest.raises(NotFound):
        shop.release("H99", by="ines", key="r", why="off")
    assert shop.access.seal() == before


def test_what_a_signed_in_person_does_is_theirs_whatever_the_form_says(shop):
    """And bears the device they stand at."""
    token = SIGNED_IN.set(SignedInAs("kofi", 7))
    try:
        shop.release("H1", by="ines", key="r", why="off")
    finally:
        SIGNED_IN.reset(token)
    newest = shop.access.log(TODAY, TODAY)[0]
    assert (newest.what, newest.by, newest.device, newest.key) == ("release", "kofi", 7, "r")


def test_a_name_forges_no_row(shop):
    """Line breaks and signs that turn the line round become spaces; long words are cut."""
    from collop.shop.audit_chain import log_event

    with shop._room.store.write() as conn:
        log_event(conn, "ended", "Kofi\n999 signed in\r\x1b[2K\u2028\u202e" + "x" * 500,
                  at=shop.now(), by=None)  # fmt: skip
    found = shop.access.log(TODAY, TODAY)[0].what
    assert found.startswith("Kofi 999 signed in")
    assert found.isprintable()
    assert len(found) == 200


def test_the_log_is_read_by_day_person_and_kind(shop):
    """Newest first, at most so many."""
    access = door(shop)
    all_in(access, "kofi")
    access.sign_in("kofi", WORDS["kofi"])
    assert [one.by for one in access.log(TODAY, TODAY, who="Kofi")] == ["kofi"]
    assert {one.kind for one in access.log(TODAY, TODAY, kind="signed in")} == {"signed in"}
    assert len(access.log(TODAY, TODAY, most=2)) == 2
    seqs = [one.seq for one in access.log(date.min, date.max)]
    assert seqs == sorted(seqs, reverse=True)
    assert access.log(date(2026, 6, 10), date(2026, 6, 11)) == ()
    with pytest.raises(BadValue, match="turn them round"):
        access.log(TODAY, date(2026, 6, 8))
    with pytest.raises(BadValue, match="1 to 10000"):
        access.log(TODAY, TODAY, most=0)
    with pytest.raises(NotFound):
        access.log(TODAY, TODAY, who="nobody")
    for kind in ("", "\x00", "\ud800", "x" * 21, 7):
        with pytest.raises(BadValue, match="Kind"):
            access.log(TODAY, TODAY, kind=kind)
    for seal in ("", "\x00" * 64, "\ud800" * 64, "x" * 64, "1" * 65):
        assert not access.knows_seal(seal)


def test_a_full_day_is_checked_quickly(shop):
    """Two thousand rows: a seal costs little, so that it can be looked at every night."""
    with shop._room.store.write() as conn:
        from collop.shop.audit_chain import log_event

        for n in range(2000):
            log_event(conn, "ended", f"{n}", at=shop.now(), by=None)
    assert shop.access.log_faults() == ()
    assert len(shop.access.log(TODAY, TODAY, most=10_000)) == 2000
