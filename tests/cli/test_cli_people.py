"""``collop people`` and ``collop log``: at the machine's own console, in words and as JSON."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import StillClock, create_shop, open_shop

WORDS = "rail hook bone saw"


@pytest.fixture
def demo(tmp_path):
    path = tmp_path / "demo.db"
    create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()).close()
    return str(path)


def run(*args, typed=None):
    """Run the command; return its exit code and what it said."""
    done = CliRunner().invoke(main, [*args], input=typed, catch_exceptions=False)
    return done.exit_code, done.output


def opens(path, name, words):
    with open_shop(f"sqlite:///{path}") as shop:
        return shop.access.sign_in(name, words).token


def test_who_works_here_is_told_with_post_and_ways_in(demo):
    """In words and as JSON."""
    code, said = run("people", "--db", demo)
    assert code == 0
    assert ["Kofi", "apprentice", "no", "password"] in [one.split() for one in said.splitlines()]
    told = json.loads(run("people", "--json", "--db", demo)[1])
    assert told["alarms"] == []
    assert {one["id"]: one["post"] for one in told["people"]} == {
        "dot": "counter", "ines": "owner", "kofi": "apprentice", "marek": "cutter",
    }  # fmt: skip


def test_somebody_comes_changes_post_and_leaves(demo):
    """Each in the log, as done at the console; --db may stand before or after the name."""
    assert run("people", "add", "Rhea", "--post", "counter", "--db", demo)[0] == 0
    code, said = run("people", "--db", demo, "post", "rhea", "cutter", "--why", "at the block now")
    assert (code, said.split()[:2]) == (0, ["Rhea", "cutter"])
    left = run("people", "leaves", "Rhea", "--why", "moved", "--db", demo, "--json")[1]
    assert json.loads(left)["works_here"] is False
    assert "Rhea" not in run("people", "--db", demo)[1]
    assert "has left, was cutter" in run("people", "--gone", "--db", demo)[1]
    acts = json.loads(run("log", "--kind", "act", "--db", demo, "--json")[1])["lines"]
    assert [(one["what"], one["answer"], one["by"]) for one in acts[:3]] == [
        ("leaves", "rhea", None), ("change post", "rhea", None), ("add person", "rhea", None),
    ]  # fmt: skip


@pytest.mark.parametrize(("args", "said"), [
    (("add", "Ines", "--post", "cutter"), "works here already"),
    (("add", "a\nb", "--post", "cutter"), "on one line"),
    (("post", "nobody", "cutter", "--why", "x"), "Nobody called 'nobody'"),
    (("leaves", "ines", "--why", "tired"), "only owner"),
    (("end", "7"), "No session 7"),
    (("password", "kofi", "--stdin"), "first password is an owner's"),
])  # fmt: skip
def test_what_cannot_be_is_refused_in_one_sentence(demo, args, said):
    """Exit 1, one line."""
    code, told = run("people", *args, "--db", demo, typed=f"{WORDS}\n")
    assert code == 1
    assert said in told
    assert len(told.strip().splitlines()) == 1


def test_a_password_is_asked_twice_and_not_shown(demo):
    """It opens the door afterwards, and says where it was set."""
    code, said = run("people", "password", "Ines", "--db", demo, typed=f"{WORDS}\n{WORDS}\n")
    assert code == 0
    assert WORDS not in said
    assert "console" in said
    assert opens(demo, "ines", WORDS)


def test_a_password_comes_from_standard_input(demo):
    """One line, with the spaces in it; a weak one is refused and not repeated."""
    assert (
        run("people", "password", "Ines", "--stdin", "--db", demo, typed=f" {WORDS} \r\n")[0] == 0
    )
    assert opens(demo, "ines", f" {WORDS} ")
    code, said = run("people", "password", "Ines", "--stdin", "--db", demo, typed="sunshine\n")
    assert code == 1
    assert "sunshine" not in said


def test_a_session_is_told_and_ended(demo):
    """At once, for whoever held it; what is over is told on demand."""
    run("people", "password", "Ines", "--stdin", "--db", demo, typed=f"{WORDS}\n")
    token = opens(demo, "ines", WORDS)
    told = json.loads(run("people", "sessions", "--json", "--db", demo)[1])["sessions"]
    assert [(one["person"], one["way"], one["device"]) for one in told] == [
        ("ines", "password", None)
    ]
    number = str(told[0]["number"])
    assert "unknown device" in run("people", "sessions", "--db", demo)[1]
    assert run("people", "end", number, "--why", "tablet lost", "--db", demo)[0] == 0
    with open_shop(f"sqlite:///{demo}") as shop:
        assert shop.access.who(token) is None
    assert "Nobody is signed in" in run("people", "sessions", "--db", demo)[1]
    assert "tablet lost" in run("people", "sessions", "--ended", "--db", demo)[1]


def test_the_log_is_told_newest_first_with_its_seal(demo):
    """In words; of one person only where one is named."""
    run("people", "password", "Ines", "--stdin", "--db", demo, typed=f"{WORDS}\n")
    opens(demo, "ines", WORDS)
    lines = run("log", "--db", demo)[1].splitlines()
    assert "signed in: password, Ines" in lines[0]
    assert "password set: Ines at the console, no name given" in lines[1]
    seal = lines[-1].split()[-1]
    assert len(seal) == 64
    assert len(run("log", "--who", "Ines", "--db", demo)[1].splitlines()) == 2
    for args, said in ((("--from", "soon"), "is no day"), (("--who", "nobody"), "Nobody called"),
                       (("--from", "2026-06-11", "--to", "2026-06-09"), "turn them round"),
                       (("--most", "0"), "1 to 10000")):  # fmt: skip
        code, told = run("log", *args, "--db", demo)
        assert code == 1
        assert said in told
    assert run("log", "--check", "--seal", seal, "--db", demo)[0] == 0


def test_the_check_names_a_row_that_was_changed(demo):
    """Exit 1; and a seal that was kept tells of a log that was written anew."""
    run("people", "add", "Rhea", "--post", "counter", "--db", demo)
    code, said = run("log", "--check", "--db", demo)
    assert code == 0
    assert "The log holds" in said
    code, said = run("log", "--check", "--seal", "1" * 64, "--db", demo)
    assert code == 1
    assert "seal that was kept is not in the log" in said
    with closing(sqlite3.connect(demo)) as raw:
        for (name,) in raw.execute(
            "SELECT name FROM sqlite_master WHERE type='trigger'"
        ).fetchall():
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute("UPDATE audit SET by_id = 'dot' WHERE kind = 'act' AND what = 'add person'")
        raw.commit()
    code, said = run("log", "--check", "--json", "--db", demo)
    told = json.loads(said)
    assert (code, told["ok"]) == (1, False)
    assert "does not fit the row before it" in told["found"][0]


@pytest.mark.parametrize(("owner", "wanted"), [
    ((), {"ann": "owner", "ben": "apprentice"}),
    (("--owner", "ben"), {"ann": "apprentice", "ben": "owner"}),
])  # fmt: skip
def test_a_new_shop_has_an_owner(tmp_path, owner, wanted):
    """The one who is named, or the first; nobody has a password."""
    path = str(tmp_path / "new.db")
    people = ("--person", "Ann", "--person", "Ben")
    assert run("new", "--db", path, "--name", "Weir End", *people, *owner)[0] == 0
    told = json.loads(run("people", "--json", "--db", path)[1])["people"]
    assert {one["id"]: one["post"] for one in told} == wanted
    assert not any(one["has_password"] for one in told)


@pytest.mark.parametrize(("args", "said"), [
    (("--person", "Ann", "--owner", "Cara"), "none of the people"),
    (("--person", "Ann", "--person", "ann"), "give each a name of their own"),
    (("--person", " "), "on one line"),
])  # fmt: skip
def test_a_new_shop_without_an_owner_is_not_made(tmp_path, args, said):
    """One sentence, and no file."""
    code, told = run("new", "--db", str(tmp_path / "new.db"), "--name", "Weir End", *args)
    assert code == 1
    assert said in told
    assert not (tmp_path / "new.db").exists()
