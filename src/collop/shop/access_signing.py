"""Looking at a secret that somebody offers: counted first, then compared, then written down.

The count is kept before the secret is compared, in a transaction of its own: the comparison takes a
tenth of a second, and the books must not wait for it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import ColumnElement, and_, delete, insert, select, update
from sqlalchemy.engine import Connection

from collop.errors import CollopError, TooSoon, WrongState
from collop.shop import access_throttle as throttle
from collop.shop.access_model import Member
from collop.shop.access_people import PIN, find_member, look_for
from collop.shop.access_secrets import fits, hash_secret, is_old_hash
from collop.shop.access_tables import secrets
from collop.shop.acts import Room
from collop.shop.audit_chain import log_event

__all__ = ["Offer", "Signing", "Verified", "keep_secret", "renew_secret", "secret_of"]


@dataclass(frozen=True, slots=True)
class Offer:
    """Who wants in, by which way (password or pin), on which known device, with what."""

    who: object
    way: str
    device: int | None
    secret: object


@dataclass(frozen=True, slots=True)
class Verified:
    """An offer that was right: whose it is, and the hash it was held against."""

    member: Member
    kept: str
    count: str


@dataclass(frozen=True, slots=True)
class _Begun:
    member: Member | None
    count: str
    kept: str | None
    refusal: TooSoon | None
    hour: int


def secret_of(conn: Connection, person: str, way: str, device: int | None) -> str | None:
    """Return the hash that is kept of a password, or of a PIN on a device."""
    where = _which(person, way, device)
    return conn.execute(select(secrets.c.hash).where(where)).scalar()


def _which(person: str, way: str, device: int | None) -> ColumnElement[bool]:
    number = device or 0 if way == PIN else 0
    return and_(
        secrets.c.person_id == person, secrets.c.kind == way, secrets.c.device_number == number
    )


def keep_secret(
    conn: Connection, person: str, way: str, device: int | None, kept: str, *, now: int
) -> None:  # fmt: skip
    """Write the hash of a password or PIN in the place of the one before."""
    conn.execute(delete(secrets).where(_which(person, way, device)))
    number = device or 0 if way == PIN else 0
    conn.execute(
        insert(secrets).values(
            person_id=person, kind=way, device_number=number, hash=kept, set_at=now
        )
    )


class Signing:
    """Counts, compares and writes down what is offered at the door.

    Parameters
    ----------
    room : Room
        Database and clock.
    now : callable
        Returns whole seconds since 1970 by the machine's clock.
    """

    def __init__(self, room: Room, now: Callable[[], int]) -> None:
        self._room = room
        self._now = now

    def verify(self, offer: Offer) -> Verified:
        """Return whose secret it is.

        Raises
        ------
        TooSoon
            If the delay is not over; nothing was looked at.
        WrongState
            If it is not theirs, or nobody is called so: the answer is the same.
        """
        with self._room.store.read() as conn:
            throttle.look_ahead(conn, _count(look_for(conn, offer.who), offer), self._now())
        begun = self._room.store.run(lambda conn: self._begin(conn, offer))
        if begun.refusal is not None:
            raise begun.refusal
        if not fits(offer.secret, begun.kept) or begun.member is None or begun.kept is None:
            raise self._room.store.run(lambda conn: self._refuse(conn, offer, begun))
        return Verified(begun.member, begun.kept, begun.count)

    def _begin(self, conn: Connection, offer: Offer) -> _Begun:
        member = look_for(conn, offer.who)
        count = _count(member, offer)
        refusal, hour = throttle.begin_try(conn, count, self._now())
        kept = None
        if refusal is not None:
            self._log_refusal(conn, offer, member, hour, "too soon")
        elif member is not None and member.works_here:
            kept = secret_of(conn, member.id, offer.way, offer.device)
            if offer.way == PIN and throttle.failures_of(conn, count) > throttle.FREE_TRIES:
                kept = None  # switched off, though nobody came to write it
        return _Begun(member, count, kept, refusal, hour)

    def _refuse(self, conn: Connection, offer: Offer, begun: _Begun) -> CollopError:
        """Write a failure down and return what is said of it."""
        self._log_refusal(conn, offer, begun.member, begun.hour, "not right")
        if offer.way != PIN:
            return WrongState("Name and password do not fit together; type both again.",
                              where="password")  # fmt: skip
        if begun.member is None or begun.kept is None:
            return WrongState("There is no PIN here any more; sign in with the password, then set"
                              " one.", where="pin")  # fmt: skip
        left = throttle.FREE_TRIES - throttle.failures_of(conn, begun.count)
        if left > 0:
            return WrongState(f"That is not the PIN; {left} more and it is switched off here.",
                              where="pin")  # fmt: skip
        conn.execute(delete(secrets).where(_which(begun.member.id, PIN, offer.device)))
        log_event(conn, "PIN off", f"{begun.member.name}, after {throttle.FREE_TRIES} failures",
                  at=self._room.clock.now(), by=None, device=offer.device)  # fmt: skip
        return WrongState(f"The PIN is switched off here after {throttle.FREE_TRIES} failures; sign"
                          " in with the password, then set a new one.", where="pin")  # fmt: skip

    def _log_refusal(
        self, conn: Connection, offer: Offer, member: Member | None, hour: int, why: str
    ) -> None:  # fmt: skip
        if hour > throttle.ALARM_AT:
            return
        name = "a name nobody has" if member is None else member.name
        more = "; further ones of this hour are not written" if hour == throttle.ALARM_AT else ""
        log_event(conn, "refused", f"{name}, {offer.way}: {why}{more}",
                  at=self._room.clock.now(), by=None, device=offer.device)  # fmt: skip

    def still_so(self, conn: Connection, found: Verified, offer: Offer) -> Member:
        """Return the member, now that the writing begins; clear the count, and renew an old hash.

        Raises
        ------
        WrongState
            If the secret was changed, or the person left, since it was compared.
        """
        member = find_member(conn, found.member.id)
        if secret_of(conn, member.id, offer.way, offer.device) != found.kept:
            raise WrongState("The secret was changed just now; sign in with the new one.",
                             where=offer.way)  # fmt: skip
        throttle.clear_tries(conn, found.count)
        return member

    def renew(self, found: Verified, offer: Offer) -> str | None:
        """Return a hash with the parameters of today, if the kept one has others."""
        if not is_old_hash(found.kept) or not isinstance(offer.secret, str):
            return None
        return hash_secret(offer.secret)


def _count(member: Member | None, offer: Offer) -> str:
    if member is None:
        name = offer.who if isinstance(offer.who, str) else ""
        return throttle.nobody_of(name[:1000].strip(), offer.way, offer.device)
    return throttle.count_of(member.id, offer.way, offer.device)


def renew_secret(conn: Connection, found: Verified, offer: Offer, kept: str) -> None:
    """Write a renewed hash of the same secret."""
    where = and_(_which(found.member.id, offer.way, offer.device), secrets.c.hash == found.kept)
    conn.execute(update(secrets).where(where).values(hash=kept))
