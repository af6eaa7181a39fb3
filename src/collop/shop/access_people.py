"""Who works here: posts, and how they are given, changed and ended.

A post is a row of its own; the newest counts, and none is ever changed. Who has no row yet is read
from the words of their role. There is never less than one owner, and once passwords are used never
less than one owner who has one.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable, Sequence

from sqlalchemy import delete, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.shop.access_model import Member, Post
from collop.shop.access_roles import ACTIONS, may
from collop.shop.access_tables import posts, secrets
from collop.shop.acts import Act
from collop.shop.audit_chain import SIGNED_IN
from collop.shop.model import Person
from collop.shop.tables import people

__all__ = [
    "CONSOLE", "LONGEST_NAME", "LONGEST_WHY", "PASSWORD", "PIN", "acting", "find_member",
    "first_owner", "has_passwords", "look_for", "make_member", "members_of", "must_be", "new_staff",
    "one_line", "put_post", "read_post",
]  # fmt: skip

#: Who acts at the machine itself, with its files in their hands: nobody's password is asked there.
CONSOLE = "the machine's own console"
PASSWORD, PIN = "password", "pin"
LONGEST_NAME, LONGEST_WHY = 60, 200
_LONGEST_ID = 40
#: Words of addresses that no id may be.
_RESERVED = frozenset({"me", "devices", "sessions", "lock", "log"})


def has_passwords(conn: Connection) -> bool:
    """Tell whether anybody has a password."""
    return (
        conn.execute(select(secrets.c.kind).where(secrets.c.kind == PASSWORD)).first() is not None
    )


def _by_role(role: str) -> Post:
    first = role.strip().casefold()
    for start, post in (("owner", Post.OWNER), ("bench", Post.CUTTER), ("cutter", Post.CUTTER),
                        ("counter", Post.COUNTER)):  # fmt: skip
        if first.startswith(start):
            return post
    return Post.APPRENTICE


def members_of(conn: Connection, *, person: str | None = None) -> tuple[Member, ...]:
    """Return everybody who works here or did, by name.

    Parameters
    ----------
    conn : Connection
        Any connection.
    person : str, optional
        An id: only this person.
    """
    who, written, kept = select(people).order_by(people.c.name), select(posts), select(secrets)
    if person is not None:
        who = who.where(people.c.id == person)
        written = written.where(posts.c.person_id == person)
        kept = kept.where(secrets.c.person_id == person)
    newest = {row.person_id: row for row in conn.execute(written.order_by(posts.c.seq))}
    ways: dict[str, list[tuple[str, int]]] = {}
    for row in conn.execute(kept.order_by(secrets.c.device_number)):
        ways.setdefault(row.person_id, []).append((row.kind, row.device_number))
    found = []
    for row in conn.execute(who):
        last, has = newest.get(row.id), ways.get(row.id, [])
        found.append(
            Member(
                row.id, row.name, _by_role(row.role) if last is None else Post(last.post),
                last is None or bool(last.works_here), (PASSWORD, 0) in has,
                tuple(device for kind, device in has if kind == PIN),
            )
        )  # fmt: skip
    return tuple(found)


def _named(everybody: Iterable[Member], who: object) -> Member | None:
    wanted = who.strip().casefold() if isinstance(who, str) else ""
    for by_id in (True, False):  # an id first: a name may be another person's id
        for member in everybody:
            if wanted == (member.id if by_id else member.name).casefold():
                return member
    return None


def look_for(conn: Connection, who: object) -> Member | None:
    """Return a person by id or name; None if nobody here is called so."""
    return _named(members_of(conn), who)


def find_member(conn: Connection, who: object) -> Member:
    """Return a person by id or name.

    Raises
    ------
    NotFound
        If nobody here is called so.
    """
    everybody = members_of(conn)
    found = _named(everybody, who)
    if found is None:
        names = ", ".join(one.name for one in everybody if one.works_here) or "nobody yet"
        raise NotFound(f"Nobody called {str(who)[:LONGEST_NAME]!r} works here; choose from"
                       f" {names}.", where="who")  # fmt: skip
    return found


def must_be(conn: Connection, who: str) -> Member:
    """Return a person who works here now.

    Raises
    ------
    NotFound
        If nobody here is called so.
    WrongState
        If they have left.
    """
    member = find_member(conn, who)
    if not member.works_here:
        raise WrongState(f"{member.name} has left; take them on again first.")
    return member


def acting(conn: Connection, by: str, action: str, *, own: Member | None = None) -> str | None:
    """Return the id of who acts, if their post may; None for the machine's own console.

    Parameters
    ----------
    conn : Connection
        Any connection.
    by : str
        Id or name, or `CONSOLE`; whoever is signed in goes before it.
    action : str
        Id of an action.
    own : Member, optional
        Whose thing it is: they may without it.

    Raises
    ------
    NotFound, WrongState
        If nobody is called so, they have left, or their post may not do it.
    """
    by = SIGNED_IN.get().person or by
    if by == CONSOLE:
        return None
    member = must_be(conn, by)
    if not may(member.post, action) and (own is None or own.id != member.id):
        raise WrongState(f"{member.name} may not {ACTIONS[action].words}; ask an owner.")
    return member.id


def one_line(text: object, what: str, longest: int, *, shortest: int = 1) -> str:
    """Return text of one line in composed form, without spaces around it.

    Raises
    ------
    BadValue
        If it is no text, empty, too long, or holds signs that are not printed.
    """
    kept = unicodedata.normalize("NFC", text[:1000]).strip() if isinstance(text, str) else ""
    if not shortest <= len(kept) <= longest or not kept.isprintable():
        raise BadValue(f"{what}: write {shortest} to {longest} letters on one line.",
                       where=what.casefold())  # fmt: skip
    return kept


def read_post(post: object) -> Post:
    """Return a post by its word.

    Raises
    ------
    BadValue
        If there is no such post.
    """
    try:
        return Post(str(post))
    except ValueError:
        raise BadValue(f"{str(post)[:20]!r} is no post; choose from {', '.join(Post)}.",
                       where="post") from None  # fmt: skip


def make_member(act: Act, name: str, post: Post, why: str) -> str:
    """Write a new person, or one who left and comes back, with a post; return their id.

    Raises
    ------
    WrongState
        If somebody of that name works here already.
    """
    there = look_for(act.conn, name)
    if there is not None and (there.works_here or there.name.casefold() != name.casefold()):
        gone = "works here already" if there.works_here else "worked here and was called almost so"
        raise WrongState(f"{there.name} {gone}; give the new one a name of their own.",
                         where="name")  # fmt: skip
    who = there.id if there is not None else _new_id(act.conn, name)
    if there is None:
        act.conn.execute(insert(people).values(id=who, name=name, role=str(post)))
    _write(act, who, post, why, works_here=True)
    return who


def new_staff(names: Sequence[str], owner: str = "") -> tuple[Person, ...]:
    """Return the people a new shop begins with: an owner, and apprentices.

    Parameters
    ----------
    names : sequence of str
        Their names.
    owner : str
        Who of them is the owner; empty, the first.

    Raises
    ------
    BadValue
        If a name is none, stands there twice, or the owner is not among them.
    """
    clean = [one_line(name, "Name", LONGEST_NAME) for name in names]
    folded = [name.casefold() for name in clean]
    twice = next((name for at, name in enumerate(folded) if name in folded[:at]), None)
    if twice is not None:
        raise BadValue(f"Two people are called {twice!r}; give each a name of their own.",
                       where="person")  # fmt: skip
    first = (one_line(owner, "Owner", LONGEST_NAME) if owner else clean[0]).casefold()
    if first not in folded:
        raise BadValue(f"The owner {owner[:LONGEST_NAME]!r} is none of the people; name them with"
                       " --person too.", where="owner")  # fmt: skip
    taken, staff = set(_RESERVED), []
    for name in clean:
        who = _free_id(name, taken | set(folded) - {name.casefold()})
        taken.add(who)
        post = Post.OWNER if name.casefold() == first else Post.APPRENTICE
        staff.append(Person(who, name, str(post)))
    return tuple(staff)


def _new_id(conn: Connection, name: str) -> str:
    taken = {str(found) for found in conn.scalars(select(people.c.id))} | _RESERVED
    taken |= {str(found).casefold() for found in conn.scalars(select(people.c.name))}
    return _free_id(name, taken)


def _free_id(name: str, taken: Collection[str]) -> str:
    """Return an id made of the letters and digits of a name that is not taken."""
    words = "".join(one if one.isalnum() else " " for one in name.casefold()).split()
    start = "-".join(words)[: _LONGEST_ID - 6] or "person"
    if start not in taken:
        return start
    return next(one for n in range(2, len(taken) + 3) if (one := f"{start}-{n}") not in taken)


def first_owner(act: Act, name: str) -> str:
    """Return the id of the owner of that name; write them as owner if there was none yet.

    Raises
    ------
    WrongState
        If somebody has a password already, or the person is not the owner here.
    """
    if has_passwords(act.conn):
        raise WrongState("This shop has its passwords already; sign in.", where="password")
    owners = [one for one in members_of(act.conn) if one.post is Post.OWNER and one.works_here]
    there = look_for(act.conn, name)
    if there is None or not there.works_here:
        return make_member(act, name, Post.OWNER, "first run")
    if there.post is not Post.OWNER:
        if owners:
            told = " or ".join(one.name for one in owners)
            raise WrongState(f"{there.name} is {there.post} here; the first password is that of"
                             f" {told}.", where="name")  # fmt: skip
        put_post(act, there, Post.OWNER, "first run")
    return there.id


def put_post(act: Act, member: Member, post: Post, why: str, *, works_here: bool = True) -> None:
    """Write the post of a person, or that they have left.

    Raises
    ------
    WrongState
        If no owner would be left, or none who can sign in.
    """
    if member.post is Post.OWNER and member.works_here and (post, works_here) != (Post.OWNER, True):
        others = [one for one in members_of(act.conn)
                  if one.post is Post.OWNER and one.works_here and one.id != member.id]  # fmt: skip
        if not others:
            raise WrongState(f"{member.name} is the only owner; make somebody else owner first.")
        if has_passwords(act.conn) and not any(one.has_password for one in others):
            raise WrongState(f"No other owner has a password; set one for {others[0].name} first.")
    _write(act, member.id, post, why, works_here=works_here)
    if not works_here:
        act.conn.execute(delete(secrets).where(secrets.c.person_id == member.id))


def _write(act: Act, who: str, post: Post, why: str, *, works_here: bool) -> None:
    act.conn.execute(
        insert(posts).values(
            person_id=who, post=str(post), works_here=works_here, why=why[:LONGEST_WHY],
            at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
