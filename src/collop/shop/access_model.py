"""Records of who may do what, as pages and commands see them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

__all__ = ["AuditLine", "DeviceSeen", "Member", "Post", "SessionSeen", "SignedIn"]


class Post(StrEnum):
    """What somebody is here; what each may do stands in `collop.shop.access_roles`."""

    OWNER = "owner"
    CUTTER = "cutter"
    COUNTER = "counter"
    APPRENTICE = "apprentice"


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody who works here, or did: post, and what they sign in with."""

    id: str
    name: str
    post: Post
    works_here: bool
    has_password: bool
    pin_devices: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A fresh session: the secret token for the cookie (shown once), and whose it is."""

    token: str
    member: Member
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class SessionSeen:
    """A session: its number, member, device, how it began, and when it was last used (UTC)."""

    number: int
    member: Member
    device: int | None
    way: str
    made_at: datetime
    seen_at: datetime
    ends_at: datetime
    ended_at: datetime | None = None
    ended_why: str | None = None


@dataclass(frozen=True, slots=True)
class DeviceSeen:
    """A known device: number, name, and whether it was let go (UTC times)."""

    number: int
    name: str
    made_at: datetime
    ended_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class AuditLine:
    """One row of the log: shop-local time, kind, what, by whom, on which device, key of the act.

    `answer` is what an act made or changed, e.g. ``H12`` or the id of a person.
    """

    seq: int
    at: datetime
    kind: str
    what: str
    by: str | None
    device: int | None
    key: str | None
    answer: str | None = None
