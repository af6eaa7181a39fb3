"""Who works here, their posts, passwords and PINs."""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import delete
from sqlalchemy.engine import Connection

from collop.errors import NotFound, WrongState
from collop.shop import access_people as staff
from collop.shop import access_sessions as kept
from collop.shop import access_throttle as throttle
from collop.shop.access_door import DoorPart
from collop.shop.access_model import Member, Post
from collop.shop.access_people import CONSOLE, PASSWORD, PIN
from collop.shop.access_roles import may
from collop.shop.access_secrets import check_pin, hash_secret
from collop.shop.access_signing import Offer, Verified, keep_secret
from collop.shop.access_tables import secrets, sessions
from collop.shop.acts import Act, once
from collop.shop.audit_chain import SIGNED_IN

__all__ = ["MembersPart"]


class MembersPart(DoorPart):
    """The people of a shop, and what they sign in with."""

    def is_locked(self) -> bool:
        """Tell whether somebody has a password: then every page needs a session."""
        with self._room.store.read() as conn:
            return staff.has_passwords(conn)

    def members(self, *, gone: bool = False) -> tuple[Member, ...]:
        """Return who works here by name, with `gone` those too who have left."""
        with self._room.store.read() as conn:
            return tuple(one for one in staff.members_of(conn) if gone or one.works_here)

    def member(self, who: str) -> Member:
        """Return one person by id or name, or raise `NotFound`."""
        with self._room.store.read() as conn:
            return staff.find_member(conn, who)

    def add_member(self, name: str, post: Post, *, by: str, key: str) -> Member:
        """Take somebody on, or on again, with a post.

        Raises
        ------
        BadValue, NotFound, WrongState
            If the name or post is none, or taken, or `by` may not do it.
        """
        name, post = staff.one_line(name, "Name", staff.LONGEST_NAME), staff.read_post(post)
        return self._change(
            "add person", [name, str(post)], lambda act: staff.make_member(act, name, post, "new"),
            by=by, key=key,
        )  # fmt: skip

    def change_post(self, who: str, post: Post, *, by: str, why: str, key: str) -> Member:
        """Give somebody another post; their sessions end, so that none is older than the post.

        Raises
        ------
        BadValue, NotFound, WrongState
            If there is no such person or post, or no owner would be left.
        """
        post, why = staff.read_post(post), staff.one_line(why, "Why", staff.LONGEST_WHY)

        def work(act: Act) -> str:
            member = staff.must_be(act.conn, who)
            if member.post is not post:
                staff.put_post(act, member, post, why)
                self._end(act.conn, member, "post changed", by=act.by)
            return member.id

        return self._change("change post", [who, str(post), why], work, by=by, key=key)

    def leaves(self, who: str, *, by: str, why: str, key: str) -> Member:
        """Write that somebody has left: sessions end, password and PINs are no more.

        Raises
        ------
        BadValue, NotFound, WrongState
            If nobody is called so, they have left already, or no owner would be left.
        """
        why = staff.one_line(why, "Why", staff.LONGEST_WHY)

        def work(act: Act) -> str:
            member = staff.must_be(act.conn, who)
            staff.put_post(act, member, member.post, why, works_here=False)
            self._end(act.conn, member, "left", by=act.by)
            return member.id

        return self._change("leaves", [who, why], work, by=by, key=key)

    def _change(
        self, kind: str, request: list[str], work: Callable[[Act], str], *, by: str, key: str
    ) -> Member:  # fmt: skip
        def checked(act: Act) -> str:
            staff.acting(act.conn, by, "people")
            return work(act)

        person = None if by == CONSOLE else by
        return self.member(once(self._room, kind, request, by=person, key=key, work=checked))

    def set_password(self, who: str, new: str, *, by: str, old: str | None = None) -> None:
        """Set a password: one's own with the old one, another's as an owner or at the console.

        All sessions and PINs of the person end.

        Raises
        ------
        BadValue
            If the new one will not do.
        NotFound, WrongState, TooSoon
            If nobody is called so, `by` may not do it, or the old one is not right.
        """
        with self._room.store.read() as conn:
            member = staff.must_be(conn, who)
            actor = staff.acting(conn, by, "people", own=member)
            if not staff.has_passwords(conn) and member.post is not Post.OWNER:
                raise WrongState("The first password is an owner's; set that one first.",
                                 where="who")  # fmt: skip
        checked, found, offer = self._checked(new, member.name, member.id), None, None
        if actor == member.id and member.has_password:
            offer = Offer(member.id, PASSWORD, SIGNED_IN.get().device, old or "")
            found = self._signing.verify(offer)
        elif actor == member.id and not may(member.post, "people"):
            raise WrongState(f"{member.name} has no password yet; an owner sets the first one.")
        self._store_password(member, hash_secret(checked), actor, found, offer)

    def _store_password(
        self, member: Member, new: str, actor: str | None, found: Verified | None,
        offer: Offer | None,
    ) -> None:  # fmt: skip
        def write(conn: Connection) -> None:
            if found is not None and offer is not None:
                self._signing.still_so(conn, found, offer)
            staff.must_be(conn, member.id)
            conn.execute(delete(secrets).where(secrets.c.person_id == member.id))
            keep_secret(conn, member.id, PASSWORD, None, new, now=self._now())
            throttle.drop_counts(conn, member.id)
            self._end(conn, member, "password changed", by=actor)
            at = " at the console" if actor is None else ""
            self._log(conn, "password set", f"{member.name}{at}", actor)

        self._room.store.run(write)

    def set_pin(self, who: str, pin: str, *, device_token: str, password: str) -> None:
        """Set the PIN of a person on a known device; it takes their password.

        Raises
        ------
        BadValue, NotFound, WrongState, TooSoon
            If the PIN will not do, the device is not known, or the password is not right.
        """
        pin = check_pin(pin)
        with self._room.store.read() as conn:
            device = kept.known_device(conn, device_token)
        offer = Offer(who, PASSWORD, device.number, password)
        found, new = self._signing.verify(offer), hash_secret(pin)

        def write(conn: Connection) -> None:
            member = self._signing.still_so(conn, found, offer)
            kept.device_by_number(conn, device.number)
            keep_secret(conn, member.id, PIN, device.number, new, now=self._now())
            throttle.clear_tries(conn, throttle.count_of(member.id, PIN, device.number))
            self._log(conn, "PIN set", f"{member.name}, {device.name}", member.id, device.number)

        self._room.store.run(write)

    def drop_pin(self, who: str, device: int, *, by: str) -> None:
        """Take the PIN of a person on a device away; what it opened ends.

        Raises
        ------
        NotFound, WrongState
            If there is no such PIN, or `by` may not do it.
        """

        def write(conn: Connection) -> None:
            member = staff.find_member(conn, who)
            actor = staff.acting(conn, by, "people", own=member)
            if device not in member.pin_devices:
                raise NotFound(f"{member.name} has no PIN on device {device}.", where="device")
            theirs = secrets.c.person_id == member.id
            conn.execute(delete(secrets).where(theirs, secrets.c.kind == PIN,
                                               secrets.c.device_number == device))  # fmt: skip
            opened = (sessions.c.person_id == member.id) & (sessions.c.way == PIN)
            kept.end_sessions(conn, opened & (sessions.c.device_number == device), "PIN taken away",
                              self._now())  # fmt: skip
            self._log(conn, "PIN off", f"{member.name}, device {device}", actor)

        self._room.store.run(write)
