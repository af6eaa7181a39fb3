"""What is said when a PostgreSQL address leads nowhere: one sentence each, never the password."""

from __future__ import annotations

import contextlib
import subprocess
import sys

import psycopg
import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.errors import StorageTrouble
from collop.shop import create_shop, migrate_shop, open_shop
from pg_ground import free_port

SECRET = "open-sesame"  # noqa: S105 -- looked for in what is said


def sentence(work, *words):
    """Return what was said, having looked that it is one sentence without the password."""
    with pytest.raises(StorageTrouble) as caught:
        work(*words)
    said = caught.value.message
    assert SECRET not in said
    assert said.endswith(".")
    assert "\n" not in said
    assert len(said) < 250
    return said


def test_no_server(ground):
    """Nothing listens at the port, or there is no such machine."""
    for place in (f"127.0.0.1:{free_port()}", "no-such-machine.invalid"):
        for work in (open_shop, create_shop, migrate_shop):
            said = sentence(work, f"postgresql://collop:{SECRET}@{place}/collop?shop=one")
            assert "does not answer" in said


def test_wrong_user_password_and_database(ground, pair):
    """Each is told apart; a server that asks for passwords is told by its own file of rules."""
    wrong = pair.replace("collop@", f"nobody:{SECRET}@")
    assert "refuses this user" in sentence(open_shop, wrong)
    none = pair.rpartition("/")[0].replace("collop@", f"collop:{SECRET}@") + "/none"
    assert "is not on its server" in sentence(open_shop, none)
    rules = ground.data / "pg_hba.conf"
    kept = rules.read_text()
    ground.sql("ALTER ROLE collop PASSWORD 'another'")
    try:
        rules.write_text("host all collop all scram-sha-256\n" + kept)
        ground.sql("SELECT pg_reload_conf()")
        with contextlib.suppress(StorageTrouble):
            open_shop(pair)
        said = sentence(open_shop, pair.replace("collop@", f"collop:{SECRET}@") + "?shop=one")
        assert "refuses the password" in said
        assert "password" in sentence(open_shop, pair + "?shop=one")
    finally:
        rules.write_text(kept)
        ground.sql("SELECT pg_reload_conf()")


def test_which_shop(ground, pair):
    """A shop that is none, one of several, and a database without any."""
    assert "one of one, two" in sentence(open_shop, pair)
    assert "no shop 'three'" in sentence(open_shop, f"{pair}?shop=three")
    for name in ("a%20b", "-c", "x" * 61, "a%0Ab", "o'brien"):
        assert "1 to 60 letters" in sentence(open_shop, f"{pair}?shop={name}")
    assert "names shop twice" in sentence(open_shop, f"{pair}?shop=one&shop=two")
    bare = ground.database("bare")
    assert "not a collop shop" in sentence(open_shop, bare)
    migrate_shop(bare)
    assert "none is there" in sentence(open_shop, bare)
    ground.sql("DROP DATABASE bare WITH (FORCE)")


def test_words_after_the_question_mark(pair):
    """A wish nobody knows, and one with a value that is none."""
    assert "word after ?" in sentence(open_shop, f"{pair}?shop=one&colour=red")
    assert "lock or retry" in sentence(open_shop, f"{pair}?shop=one&writers=none")


def test_a_user_whom_the_walls_do_not_hold(ground, pair):
    """A superuser, a role with BYPASSRLS and one with row security off are not let in."""
    ground.sql("CREATE ROLE passes LOGIN BYPASSRLS")
    ground.sql("GRANT collop TO passes")
    try:
        for role in ("postgres", "passes"):
            said = sentence(open_shop, pair.replace("collop@", f"{role}@") + "?shop=one")
            assert "walls between shops" in said
        ground.sql("ALTER ROLE collop SET row_security = off")
        assert "walls between shops" in sentence(open_shop, f"{pair}?shop=one")
    finally:
        ground.sql("ALTER ROLE collop RESET row_security")
        ground.sql("REVOKE collop FROM passes")
        ground.sql("DROP ROLE passes")


def test_walls_that_are_down(ground, pair):
    """A table whose rows are not kept apart any longer is named, and the shop stays shut."""
    name = pair.rpartition("/")[2]
    ground.sql("ALTER TABLE people NO FORCE ROW LEVEL SECURITY", name)
    assert "rows of people" in sentence(open_shop, f"{pair}?shop=one")


def test_a_server_that_may_lose_what_it_wrote(ground, pair):
    """A role that does not wait for the disk is refused, unless the address allows it by name."""
    ground.sql("ALTER ROLE collop SET synchronous_commit = off")
    try:
        assert "synchronous_commit off" in sentence(open_shop, f"{pair}?shop=one")
        with open_shop(f"{pair}?shop=one&unsafe_sync=1") as shop:
            assert shop.check() == []
    finally:
        ground.sql("ALTER ROLE collop RESET synchronous_commit")


def test_readers_cannot_write_and_see_one_moment(pair):
    """A reading connection is READ ONLY, and a booking made meanwhile is not seen in it."""
    with open_shop(f"{pair}?shop=one") as shop:
        store = shop._room.store
        with store.read() as conn:
            count = "SELECT count(*) FROM booking_events"
            before = conn.exec_driver_sql(count).scalar()
            shop.release("H1", by="ines", key="r", why="off")
            assert conn.exec_driver_sql(count).scalar() == before
        with pytest.raises(StorageTrouble, match="may only be read"), store.read() as conn:
            conn.exec_driver_sql("DELETE FROM settings")


def test_the_commands(ground):
    """`new`, `migrate`, `check`, `demo` and `admit` work by address and never print a password."""
    run = CliRunner()
    place = ground.database("commands").replace("collop@", f"collop:{SECRET}@")
    url = f"{place}?shop=mill"
    for words in (
        ["migrate", "--db", place],
        ["new", "--db", url, "--name", "Mill", "--person", "Ann"],
        ["migrate", "--db", place],
        ["check", "--db", place],
        ["demo", "--db", f"{place}?shop=demo"],
        ["check", "--db", f"{place}?shop=demo"],
    ):
        said = run.invoke(main, words)
        assert said.exit_code == 0, said.output
        assert SECRET not in said.output
    again = run.invoke(main, ["new", "--db", url, "--name", "Mill", "--person", "Ann"])
    assert again.exit_code == 1
    assert "already" in again.output
    refused = run.invoke(main, ["admit", "--db", url, "--role", "postgres"])
    assert refused.exit_code == 1
    assert "no role of this server" in refused.output
    assert run.invoke(main, ["admit", "--db", "shop.db", "--role", "x"]).exit_code == 1
    ground.sql("DROP DATABASE commands WITH (FORCE)")


def test_a_missing_driver():
    """Without psycopg the sentence says what to install."""
    code = ("import sys; sys.modules['psycopg'] = None\n"
            "from collop.shop import open_shop\n"
            "open_shop('postgresql://a:open-sesame@b/c?shop=d')")  # fmt: skip
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    last = done.stderr.strip().splitlines()[-1]
    assert "pip install 'collop[postgres]'" in last
    assert SECRET not in last


def test_the_driver_is_not_read_for_a_file():
    """Opening a file does not import psycopg."""
    code = ("import sys, collop.shop\n"
            "assert 'psycopg' not in sys.modules and 'alembic' not in sys.modules")  # fmt: skip
    subprocess.run([sys.executable, "-c", code], check=True)
    assert psycopg.__version__.startswith("3.")
