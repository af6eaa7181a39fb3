"""Who may come in and do what: people, passwords, PINs, sessions, known devices, and the log.

Before anybody has a password the shop is not locked; the first one is an owner's. Nothing here
hands out a secret again: a token or PIN is shown or typed once, and only its digest is kept.
"""

from __future__ import annotations

from contextlib import suppress
from uuid import uuid4

from sqlalchemy.engine import Connection

from collop.errors import StorageTrouble, TooSoon
from collop.shop import access_people as staff
from collop.shop import access_sessions as kept
from collop.shop import access_throttle as throttle
from collop.shop.access_members import MembersPart
from collop.shop.access_model import SessionSeen, SignedIn
from collop.shop.access_people import CONSOLE, PASSWORD, PIN
from collop.shop.access_secrets import hash_secret, new_token, token_hash
from collop.shop.access_signing import Offer, keep_secret, renew_secret
from collop.shop.access_tables import sessions
from collop.shop.access_watch import WatchPart
from collop.shop.acts import once_in

__all__ = ["CONSOLE", "AccessRoom", "TooSoon"]


class AccessRoom(MembersPart, WatchPart):
    """People and the door. Reached as `Shop.access`.

    `by` is the id or name of a person who may do it, or `CONSOLE` for whoever sits at the machine
    that holds the files; a signed-in person (`SIGNED_IN`) goes before it. Safe to share between
    threads.
    """

    def set_up(self, name: str, password: str) -> SignedIn:
        """Give the first owner a password, and let them in.

        Raises
        ------
        BadValue
            If the name or the password will not do.
        WrongState
            If somebody has a password, or the name is that of one who is not the owner here.
        """
        name = staff.one_line(name, "Name", staff.LONGEST_NAME)
        new = hash_secret(self._checked(password, name))
        key = f"set-up-{uuid4().hex}"

        def write(conn: Connection) -> SignedIn:
            who, _ = once_in(conn, self._room, "set up", name, by=None, key=key,
                             work=lambda act: staff.first_owner(act, name))  # fmt: skip
            now = self._now()
            keep_secret(conn, who, PASSWORD, None, new, now=now)
            throttle.drop_counts(conn, who)
            self._log(conn, "password set", name, who)
            return self._let_in(conn, who, way=PASSWORD, device=None, old_token=None)

        return self._room.store.run(write)

    def sign_in(
        self, who: str, password: str, *, device_token: str | None = None,
        old_token: str | None = None,
    ) -> SignedIn:  # fmt: skip
        """Let a person in by password; a fresh token, and the session of `old_token` ends.

        Raises
        ------
        TooSoon
            If the delay after failures is not over; nothing was looked at.
        WrongState
            If name and password do not fit.
        """
        device = self.device_of(device_token) if device_token else None
        offer = Offer(who, PASSWORD, None if device is None else device.number, password)
        return self._come_in(offer, old_token)

    def sign_in_by_pin(
        self, who: str, pin: str, *, device_token: str, old_token: str | None = None
    ) -> SignedIn:  # fmt: skip
        """Let a person in by the PIN they have on a known device.

        Raises
        ------
        TooSoon, WrongState
            As `sign_in`; five failures in a row switch the PIN off there.
        """
        with self._room.store.read() as conn:
            number = kept.known_device(conn, device_token).number
        return self._come_in(Offer(who, PIN, number, pin), old_token)

    def _come_in(self, offer: Offer, old_token: str | None) -> SignedIn:
        found = self._signing.verify(offer)
        renewed = self._signing.renew(found, offer)

        def write(conn: Connection) -> SignedIn:
            member = self._signing.still_so(conn, found, offer)
            if renewed is not None:
                renew_secret(conn, found, offer, renewed)
            return self._let_in(conn, member.id, way=offer.way, device=offer.device,
                                old_token=old_token)  # fmt: skip

        return self._room.store.run(write)

    def _let_in(
        self, conn: Connection, who: str, *, way: str, device: int | None, old_token: str | None
    ) -> SignedIn:  # fmt: skip
        now, token = self._now(), new_token()
        if old_token:
            kept.end_sessions(conn, sessions.c.token_hash == token_hash(old_token), "new sign-in",
                              now)  # fmt: skip
        ends = kept.begin_session(conn, who, token, way=way, device=device, now=now)
        self._log(conn, "signed in", way, who, device)
        return SignedIn(token, staff.members_of(conn, person=who)[0], kept.moment(ends))

    def who(self, token: str, *, touch: bool = True) -> SessionSeen | None:
        """Return the session of a token; None if it is unknown, ended, unused too long or over.

        Parameters
        ----------
        token : str
            From the cookie.
        touch : bool
            Whether this use keeps it open longer; false for what a page asks by itself.
        """
        now = self._now()
        with self._room.store.read() as conn:
            row = kept.session_by_token(conn, token)
            if row is None or not kept.is_live(row, now):
                return None
            people = {one.id: one for one in staff.members_of(conn, person=row.person_id)}
        if not people[row.person_id].works_here:
            return None
        if touch and now - row.seen_at >= kept.TOUCH_S:
            # a full disk must not keep people from reading; the session only ends sooner
            with suppress(StorageTrouble):
                self._room.store.run(lambda conn: kept.touch(conn, row, now))
        return kept.session_seen(row, people, now)

    def sign_out(self, token: str) -> None:
        """End the session of a token; nothing happens if there is none."""

        def write(conn: Connection) -> None:
            row, now = kept.session_by_token(conn, token), self._now()
            if row is None or row.ended_at is not None:
                return
            kept.end_sessions(conn, sessions.c.number == row.number, "signed out", now)
            self._log(conn, "signed out", row.way, row.person_id, row.device_number)

        self._room.store.run(write)
