"""Seeded weeks of invented shops: rails of 10 or 40 pieces, sixty cuts, eighty bookings.

Shares, minutes and prices are of the size that a butcher would know; they are data of nobody.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from decimal import ROUND_DOWN, Decimal
from typing import Any

__all__ = ["CUTS", "DAYS", "KINDS", "many_shops", "one_more_booking", "shop_week"]

Json = dict[str, Any]

DAYS = ("2026-06-09", "2026-06-10", "2026-06-11", "2026-06-12", "2026-06-13", "2026-06-14",
        "2026-06-15")  # fmt: skip
OPEN = (True, True, True, True, True, False, False)
#: Share of a week's sales on each open day, Tuesday to Saturday.
PACE = ("0.14", "0.15", "0.17", "0.25", "0.29")

#: name: (species, board price a pound, days it keeps, bin that it may be ground to)
CUTS: dict[str, tuple[str, str, int, str]] = {
    "beef fillet": ("beef", "34.00", 6, ""),
    "beef strip steaks": ("beef", "24.00", 6, "beef-lean"),
    "beef T-bone steaks": ("beef", "19.50", 5, ""),
    "beef porterhouse steaks": ("beef", "21.00", 5, ""),
    "beef bone-in sirloin steaks": ("beef", "14.00", 5, ""),
    "beef top sirloin": ("beef", "16.40", 6, "beef-lean"),
    "beef tri-tip": ("beef", "15.00", 6, "beef-lean"),
    "beef sirloin cap": ("beef", "17.00", 6, "beef-lean"),
    "beef flap": ("beef", "15.50", 4, "beef-lean"),
    "beef ball tip": ("beef", "12.00", 5, "beef-lean"),
    "beef topside": ("beef", "9.90", 6, "beef-lean"),
    "beef silverside": ("beef", "9.40", 6, "beef-lean"),
    "beef thick flank": ("beef", "9.20", 6, "beef-lean"),
    "beef eye of round": ("beef", "10.00", 6, "beef-lean"),
    "beef round steaks": ("beef", "10.40", 4, "beef-lean"),
    "beef flank steak": ("beef", "16.00", 5, ""),
    "beef shin on the bone": ("beef", "6.60", 5, ""),
    "beef shin, diced": ("beef", "8.20", 3, "beef-lean"),
    "beef chuck eye steaks": ("beef", "12.70", 5, "beef-trim"),
    "beef blade steaks": ("beef", "14.30", 5, "beef-lean"),
    "beef chuck roast": ("beef", "9.20", 6, "beef-trim"),
    "beef chuck, diced": ("beef", "8.80", 3, "beef-trim"),
    "beef short ribs": ("beef", "8.90", 5, ""),
    "beef brisket": ("beef", "9.60", 6, "beef-trim"),
    "beef rib roast": ("beef", "18.50", 6, ""),
    "beef rib eye steaks": ("beef", "24.50", 6, "beef-trim"),
    "beef back ribs": ("beef", "6.00", 4, ""),
    "beef skirt": ("beef", "17.10", 3, ""),
    "beef mince": ("beef", "7.80", 1, ""),
    "beef bones, cut": ("beef", "2.40", 4, ""),
    "lamb leg, bone in": ("lamb", "11.20", 5, ""),
    "lamb leg, boned and tied": ("lamb", "14.20", 5, "lamb-trim"),
    "lamb leg steaks": ("lamb", "15.00", 4, "lamb-trim"),
    "lamb shoulder, bone in": ("lamb", "8.40", 5, ""),
    "lamb shoulder, boned": ("lamb", "10.90", 5, "lamb-trim"),
    "lamb loin chops": ("lamb", "18.60", 4, ""),
    "lamb rack": ("lamb", "22.00", 5, ""),
    "lamb saddle, boned and rolled": ("lamb", "21.00", 5, ""),
    "lamb rib chops": ("lamb", "19.40", 4, ""),
    "lamb neck slices": ("lamb", "6.30", 4, ""),
    "lamb breast": ("lamb", "5.10", 4, "lamb-trim"),
    "lamb shanks": ("lamb", "9.50", 5, ""),
    "lamb, diced": ("lamb", "11.40", 3, "lamb-trim"),
    "lamb mince": ("lamb", "9.20", 1, ""),
    "pork leg roast": ("pork", "6.20", 5, "pork-trim"),
    "pork leg steaks": ("pork", "7.10", 4, "pork-trim"),
    "pork loin chops": ("pork", "10.10", 4, ""),
    "pork loin roast, boned": ("pork", "9.80", 5, ""),
    "pork country ribs": ("pork", "7.20", 4, ""),
    "pork tenderloin": ("pork", "13.50", 5, ""),
    "pork belly slices": ("pork", "7.70", 4, "pork-trim"),
    "pork belly, whole": ("pork", "7.10", 6, "pork-trim"),
    "pork spare ribs": ("pork", "6.40", 4, ""),
    "pork shoulder steaks": ("pork", "6.40", 4, "pork-trim"),
    "pork shoulder roast": ("pork", "5.60", 5, "pork-trim"),
    "pork hocks": ("pork", "3.40", 5, ""),
    "pork links with rusk": ("pork", "8.20", 2, ""),
    "goat leg": ("goat", "12.10", 5, ""),
    "goat, diced": ("goat", "10.30", 3, ""),
    "goat chops": ("goat", "14.40", 4, ""),
}
#: Share of what the witness cuts that may be booked.
BOOKED = Decimal("0.4")
IDS = {name: f"C{at:02}" for at, name in enumerate(CUTS, start=1)}

#: id: (species, fat, days it keeps, money a pound as it is)
BINS = {
    "beef-lean": ("beef", "0.12", 2, "4.10"),
    "beef-trim": ("beef", "0.30", 2, "2.40"),
    "lamb-trim": ("lamb", "0.22", 2, "3.10"),
    "pork-trim": ("pork", "0.28", 2, "2.00"),
}
MAKES: tuple[Json, ...] = (
    {"cut": IDS["beef mince"], "name": "Beef mince", "bins": ["beef-lean", "beef-trim"],
     "fat_max": "0.22", "fat_min": "0.12", "minutes_per_unit": "0.6"},
    {"cut": IDS["lamb mince"], "name": "Lamb mince", "bins": ["lamb-trim"], "fat_max": "0.25",
     "minutes_per_unit": "0.7"},
    {"cut": IDS["pork links with rusk"], "name": "Pork links", "bins": ["pork-trim"],
     "fat_max": "0.30", "added": "0.14", "added_cost": "0.50", "cost_per_unit": "0.45",
     "minutes_per_unit": "2.5"},
)  # fmt: skip

#: kind: (species, days a large cut may wait, {style: (minutes, "name share, ...")}).  A name of a
#: kind is a large cut, of a bin trim; the bone's figure is what it brings; the rest is loss.
KINDS: dict[str, tuple[str, int, dict[str, tuple[int, str]]]] = {
    "beef side": ("beef", 0, {
        "in quarters": (20, "beef hindquarter .478; beef forequarter .520"),
    }),
    "beef hindquarter": ("beef", 1, {
        "in large cuts": (45, ("beef round .455; beef sirloin .165; beef short loin .150; "
                              "beef flank steak .014; beef flap .020; beef-trim .080; BONE .110")),
        "seamed for the case": (120, ("beef topside .105; beef silverside .090; beef fillet .028; "
                                     "beef thick flank .070; beef eye of round .030; "
                                     "beef top sirloin .075; beef strip steaks .075; "
                                     "beef shin on the bone .055; beef bones, cut .060; "
                                     "beef-lean .105; beef-trim .120; "
                                     "BONE .175")),
    }),
    "beef forequarter": ("beef", 1, {
        "in large cuts": (40, ("beef chuck .475; beef rib .175; beef brisket .085; "
                              "beef short ribs .065; beef shin on the bone .050; beef skirt .015; "
                              "beef-trim .080; BONE .050")),
        "mostly mince": (75, ("beef rib eye steaks .065; beef brisket .070; beef chuck roast .090; "
                             "beef skirt .015; beef-lean .220; beef-trim .280; BONE .250")),
    }),
    "beef round": ("beef", 1, {
        "roasts": (28, ("beef topside .235; beef silverside .200; beef thick flank .150; "
                       "beef eye of round .065; beef shin, diced .060; beef-lean .060; BONE .220")),
        "steaks": (42, ("beef round steaks .560; beef eye of round .065; beef-lean .120; "
                       "BONE .245")),
        "lean mince": (30, ("beef-lean .620; beef-trim .130; beef shin on the bone .090; "
                           "BONE .150")),
    }),
    "beef sirloin": ("beef", 2, {
        "cross-cut, bone in": (8, "beef bone-in sirloin steaks .855; beef-trim .055; BONE .080"),
        "top sirloin whole": (14, ("beef top sirloin .500; beef tri-tip .105; beef fillet .075; "
                                  "beef-trim .110; BONE .200")),
        "seamed to single muscles": (26, ("beef top sirloin .330; beef sirloin cap .110; "
                                         "beef tri-tip .110; beef ball tip .090; beef flap .105; "
                                         "beef fillet .080; beef-lean .050; BONE .115")),
    }),
    "beef short loin": ("beef", 2, {
        "T-bone and porterhouse": (7, ("beef porterhouse steaks .440; beef T-bone steaks .320; "
                                      "beef-trim .085; BONE .145")),
        "strip and fillet": (13, ("beef strip steaks .450; beef fillet .140; beef-trim .110; "
                                 "BONE .290")),
    }),
    "beef chuck": ("beef", 1, {
        "roasts": (24, "beef chuck roast .560; beef blade steaks .075; beef-trim .130; BONE .225"),
        "steaks": (40, ("beef chuck eye steaks .160; beef blade steaks .150; "
                       "beef chuck, diced .240; beef-lean .080; beef-trim .130; BONE .230")),
        "diced and mince": (30, ("beef chuck, diced .420; beef-lean .170; beef-trim .170; "
                                "BONE .230")),
    }),
    "beef rib": ("beef", 2, {
        "standing roast": (8, "beef rib roast .840; beef-trim .070; BONE .080"),
        "rib eye": (16, ("beef rib eye steaks .480; beef back ribs .160; beef-trim .140; "
                        "BONE .210")),
    }),
    "lamb carcass": ("lamb", 0, {
        "for the case, bone in": (35, ("lamb leg, bone in .330; lamb shoulder, bone in .250; "
                                      "lamb loin chops .110; lamb rib chops .080; "
                                      "lamb neck slices .060; lamb breast .090; lamb-trim .030; "
                                      "BONE .040")),
        "boned": (62, ("lamb leg, boned and tied .240; lamb shoulder, boned .180; "
                      "lamb saddle, boned and rolled .110; lamb rack .060; lamb, diced .060; "
                      "lamb-trim .120; BONE .220")),
        "in large cuts": (15, ("lamb legs .350; lamb saddle .200; lamb shoulders .260; "
                              "lamb neck slices .065; lamb breast .095; BONE .020")),
    }),
    "lamb legs": ("lamb", 1, {
        "whole": (3, "lamb leg, bone in .960; lamb-trim .020; BONE .015"),
        "steaks and shanks": (18, ("lamb leg steaks .600; lamb shanks .180; lamb-trim .080; "
                                  "BONE .130")),
        "boned and tied": (16, ("lamb leg, boned and tied .700; lamb shanks .120; lamb-trim .050; "
                               "BONE .120")),
    }),
    "lamb saddle": ("lamb", 1, {
        "chops": (12, "lamb loin chops .560; lamb rib chops .350; lamb-trim .040; BONE .040"),
        "boned and rolled": (18, "lamb saddle, boned and rolled .640; lamb-trim .120; BONE .230"),
        "chops and rack": (16, "lamb loin chops .540; lamb rack .280; lamb-trim .070; BONE .100"),
    }),
    "lamb shoulders": ("lamb", 1, {
        "bone in": (4, "lamb shoulder, bone in .960; lamb-trim .020; BONE .015"),
        "boned": (14, "lamb shoulder, boned .720; lamb-trim .090; BONE .180"),
        "diced and mince": (20, "lamb, diced .480; lamb-trim .280; BONE .230"),
    }),
    "pig half": ("pork", 0, {
        "for the case": (40, ("pork leg roast .240; pork loin chops .170; pork belly slices .130; "
                             "pork shoulder roast .190; pork spare ribs .040; pork hocks .050; "
                             "pork-trim .090; BONE .080")),
        "for links": (48, ("pork loin chops .160; pork tenderloin .015; pork belly, whole .140; "
                          "pork spare ribs .040; pork hocks .050; pork-trim .420; BONE .160")),
        "in large cuts": (18, ("pork leg .260; pork loin .200; pork shoulder .260; "
                              "pork belly, whole .150; pork hocks .050; pork-trim .040; "
                              "BONE .030")),
    }),
    "pork leg": ("pork", 1, {
        "roasts": (6, "pork leg roast .900; pork-trim .040; BONE .050"),
        "steaks": (16, "pork leg steaks .740; pork-trim .110; BONE .140"),
    }),
    "pork loin": ("pork", 1, {
        "chops": (9, "pork loin chops .930; pork-trim .030; BONE .030"),
        "boned roast and ribs": (15, ("pork loin roast, boned .520; pork country ribs .210; "
                                     "pork tenderloin .080; pork-trim .060; BONE .120")),
    }),
    "pork shoulder": ("pork", 1, {
        "steaks": (9, "pork shoulder steaks .860; pork-trim .070; BONE .060"),
        "roast": (7, "pork shoulder roast .880; pork-trim .060; BONE .050"),
        "trim": (12, "pork-trim .820; BONE .170"),
    }),
    "goat kid": ("goat", 0, {
        "on the bone": (22, "goat leg .320; goat chops .180; goat, diced .260; BONE .220"),
        "diced": (30, "goat, diced .640; BONE .340"),
    }),
}  # fmt: skip
#: kind: (lightest, heaviest, money a pound it stands for, share of the rail)
RAIL = {
    "beef hindquarter": (138, 166, "4.30", 16),
    "beef forequarter": (150, 180, "3.40", 16),
    "beef side": (300, 340, "3.85", 8),
    "lamb carcass": (46, 58, "5.20", 34),
    "pig half": (86, 98, "2.70", 20),
    "goat kid": (23, 31, "5.40", 6),
}


def _outputs(text: str) -> list[Json]:
    """Return the outputs of a style; what no output names is loss."""
    found: list[Json] = []
    left = Decimal(1)
    for part in text.split("; "):
        name, share = part.rsplit(" ", 1)
        amount = Decimal(share)
        left -= amount
        if name == "BONE":
            found.append({"worth": "0.20", "name": "bone and fat", "share": f"{amount:f}"})
        elif name in KINDS:
            found.append({"kind": name, "share": f"{amount:f}"})
        elif name in BINS:
            found.append({"bin": name, "share": f"{amount:f}"})
        else:
            found.append({"cut": IDS[name], "share": f"{amount:f}", "sd": 0.01})
    if left:
        found.append({"worth": "0", "name": "loss", "share": f"{left:f}"})
    return found


def _kinds() -> list[Json]:
    return [
        {"id": kind, "name": kind, "species": species, "holds_days": holds,
         "styles": [{"id": f"{kind}: {style}", "name": style, "minutes": str(minutes),
                     "outputs": _outputs(text)} for style, (minutes, text) in styles.items()]}
        for kind, (species, holds, styles) in KINDS.items()
    ]  # fmt: skip


def _gives(kind: str) -> dict[str, Decimal]:
    """Return what a unit of a kind gives of each cut and bin, its styles mixed evenly."""
    found: dict[str, Decimal] = {}
    styles = KINDS[kind][2]
    for _, text in styles.values():
        for part in text.split("; "):
            name, share = part.rsplit(" ", 1)
            amount = Decimal(share) / len(styles)
            inner = _gives(name) if name in KINDS else {name: Decimal(1)}
            for one, gives in inner.items():
                found[one] = found.get(one, Decimal(0)) + amount * gives
    return found


def _rail(pick: random.Random, pieces: int, *, beef: bool) -> list[Json]:
    names = [kind for kind in RAIL if beef or not kind.startswith("beef")]
    chances = [RAIL[kind][3] for kind in names]
    rail = []
    for at in range(pieces):
        # one of each at the least, so that no cut is without a source
        kind = names[at] if at < len(names) else pick.choices(names, chances)[0]
        low, high, money, _ = RAIL[kind]
        weight = Decimal(pick.randint(low * 10, high * 10)) / 10
        first = pick.choice((0, 0, 0, 1, 2))
        until = pick.choice((None, None, pick.randint(first + 1, 6)))
        piece = {
            "tag": f"{kind[0].upper()}-{100 + at}", "kind": kind, "weight": str(weight),
            "shrink_per_day": pick.choice(("0.002", "0.003", "0.004")),
            "from": first, "until": until, "must": until is not None and pick.random() < 0.3,
            "worth_left": str((weight * Decimal(money)).quantize(Decimal("0.01"))), "claims": [],
        }  # fmt: skip
        if kind == "lamb carcass" and pick.random() < 0.2:
            piece["claims"] = [{"booking": f"K{at}", "name": "half a lamb for the freezer",
                                "weight": str(weight / 2), "due": pick.randint(3, 5)}]  # fmt: skip
        rail.append(piece)
    return rail


def _expected(rail: Iterable[Json]) -> dict[str, Decimal]:
    """Return the weight of each cut that the rail may give, with mince and links made."""
    found = dict.fromkeys((*CUTS, *BINS), Decimal(0))
    for piece in rail:
        for name, share in _gives(piece["kind"]).items():
            if name in found:
                found[name] += share * Decimal(piece["weight"])
    found["beef mince"] = (found["beef-lean"] + found["beef-trim"]) * Decimal("0.8")
    found["lamb mince"] = found["lamb-trim"] * Decimal("0.8")
    found["pork links with rusk"] = found["pork-trim"] / Decimal("0.86")
    return found


def _tenth(weight: Decimal) -> Decimal:
    return weight.quantize(Decimal("0.1"))


def _cut(pick: random.Random, name: str, week: Decimal) -> Json:
    """Return one line of the case that may expect to sell `week` in a week."""
    species, price, keeps, ground = CUTS[name]
    sells = week * Decimal(str(round(pick.uniform(0.55, 1.35), 2)))
    usual = [_tenth(sells * Decimal(share)) for share in PACE] + [Decimal(0)] * 2
    stock = [
        {"weight": str(max(Decimal("0.5"), _tenth(sells * Decimal(share)))), "lot": f"{name} {at}",
         "days_left": min(keeps, at)}
        for at, share in ((1, "0.08"), (3, "0.12")) if pick.random() < 0.8
    ]  # fmt: skip
    return {
        "id": IDS[name], "name": name.capitalize(), "species": species, "price": price,
        "keeps_days": keeps, "usual": [str(one) for one in usual],
        "elasticity": round(pick.uniform(1.1, 2.2), 2), "salvage": "0.10",
        "ground": {"bin": ground, "yield": "0.92", "minutes_per_unit": "1.5"} if ground else None,
        "left": {"worth": str((Decimal(price) / 2).quantize(Decimal("0.01"))),
                 "takes": str(max(Decimal(1), _tenth(sells / 4)))},
        "stock": stock,
    }  # fmt: skip


def _witness(pick: random.Random, rail: list[Json], cuts: list[Json]) -> list[list[Any]]:
    """Return lots [cut, first day, last day, weight] of one way to break the whole rail.

    What is booked comes out of them, so that there is a way to meet it.
    """
    keeps = {cut["id"]: cut["keeps_days"] for cut in cuts}
    lots: list[list[Any]] = [
        [cut["id"], 0, lot["days_left"], Decimal(lot["weight"]) / 2]
        for cut in cuts
        for lot in cut["stock"]
    ]

    def cut_up(kind: str, weight: Decimal, day: int) -> None:
        _, text = pick.choice(list(KINDS[kind][2].values()))
        for part in text.split("; "):
            name, share = part.rsplit(" ", 1)
            if name in KINDS:
                cut_up(name, weight * Decimal(share), day)
            elif name in IDS:
                cut = IDS[name]
                # a claim takes half at the most, shrink a little
                lots.append([cut, day, day + keeps[cut], weight * Decimal(share) * BOOKED])

    for piece in rail:
        last = min([6 if piece["until"] is None else piece["until"]]
                   + [claim["due"] for claim in piece["claims"]])  # fmt: skip
        day = pick.randint(piece["from"], max(piece["from"], min(last, 3)))
        cut_up(piece["kind"], Decimal(piece["weight"]), day)
    return lots


def _bookings(pick: random.Random, lots: list[list[Any]], count: int) -> list[Json]:
    """Return bookings of one to three lines out of what the witness has by then."""
    size = sum((lot[3] for lot in lots), Decimal(0)) / count
    found: list[Json] = []
    for at in range(count):
        due = pick.choices((1, 2, 3, 4, 6), (12, 18, 30, 36, 4))[0]
        least = Decimal("0.4")
        sound = [lot for lot in lots if lot[1] <= due <= lot[2] and lot[3] >= least]
        wanted = {
            lot[0]: lot for lot in pick.sample(sound, min(pick.choice((1, 1, 2, 3)), len(sound)))
        }
        lines = []
        for cut, lot in sorted(wanted.items()):
            part = size * Decimal(str(round(pick.uniform(0.3, 1.2), 2)))
            weight = min(part, lot[3]).quantize(Decimal("0.1"), ROUND_DOWN)
            lot[3] -= weight
            lines.append({"cut": cut, "weight": str(weight), "price": None})
        lines = [line for line in lines if line["weight"] != "0.0"]
        if lines:
            found.append({"id": f"H{at + 1}", "name": f"booking {at + 1}", "due": due,
                          "lines": lines})  # fmt: skip
    return found


def _hands(pieces: int) -> list[Json]:
    """Return three hands; a rail of forty pieces has twice the time of one of ten."""
    more = 1 if pieces <= 15 else 2

    def row(name: str, week: Iterable[int], over: int, pay: str, cannot: list[str]) -> Json:
        minutes = [str(more * one) for one in week]
        overtime = [str(more * over) if one else "0" for one in week]
        return {"name": name, "minutes": minutes, "overtime": overtime, "per_hour": pay,
                "cannot": cannot}  # fmt: skip

    return [
        row("Marek", (420, 420, 420, 420, 240, 0, 420), 60, "24.00", []),
        row("Ines", (180, 180, 180, 180, 60, 0, 240), 60, "30.00", []),
        row("Kofi", (300, 300, 300, 240, 120, 0, 300), 30, "15.00",
            ["beef sirloin: seamed to single muscles", "beef hindquarter: seamed for the case",
             "lamb saddle: boned and rolled"]),
    ]  # fmt: skip


def shop_week(
    seed: int,
    pieces: int = 10,
    *,
    bookings: int = 80,
    gap: float = 0.001,
    reasons: bool = False,
    beef: bool = True,
) -> Json:
    """Return a ``collop.bench/1`` problem of seven days.

    Parameters
    ----------
    seed : int
        The same seed gives the same shop.
    pieces : int
        On the rail, six at the least.
    bookings : int
        How many, of one to three lines.
    gap : float
        How near the best the plan must be proven.
    reasons : bool
        Whether the reasons for each break are asked as well.
    beef : bool
        Whether there is beef on the rail; without it there are no large cuts of large cuts.
    """
    pick = random.Random(seed * 1000 + pieces)
    rail = _rail(pick, pieces, beef=beef)
    expected = _expected(rail)
    cuts = [_cut(pick, name, expected[name]) for name in CUTS]
    weight = sum(Decimal(piece["weight"]) for piece in rail)
    return {
        "schema": "collop.bench/1", "name": f"shop {seed}, {pieces} pieces", "currency": "USD",
        "unit": "lb", "days": [{"day": day, "open": is_open}
                               for day, is_open in zip(DAYS, OPEN, strict=True)],
        "hands": _hands(pieces), "case_room": str(round(weight * Decimal("0.7"))),
        "kinds": _kinds(), "rail": rail, "cuts": cuts,
        "bins": [{"id": key, "name": key, "species": species, "fat": fat, "keeps_days": keeps,
                  "worth": worth, "stock": []}
                 for key, (species, fat, keeps, worth) in BINS.items()],
        "makes": [dict(one) for one in MAKES],
        "bookings": _bookings(pick, _witness(pick, rail, cuts), bookings),
        "locks": [], "before": None, "gap": gap, "reasons": reasons,
    }  # fmt: skip


def one_more_booking(problem: Json, plan: Json, seed: int) -> Json:
    """Return the problem with one more booking, and the breaks of its plan as a start."""
    pick = random.Random(seed + 77)
    cut = pick.choice([one["id"] for one in problem["cuts"]])
    extra = {"id": "one more", "name": "one more", "due": pick.choice((3, 4)),
             "lines": [{"cut": cut, "weight": "2.0", "price": None}]}  # fmt: skip
    before = [
        {"tag": one["id"], "style": one["style"], "day": one["day"]} for one in plan["breaks"]
    ]
    return problem | {"bookings": [*problem["bookings"], extra], "before": before}


def many_shops(count: int, pieces: int = 10, *, bookings: int = 80, gap: float = 0.01) -> Json:
    """Return a ``collop.benches/1`` problem: shops without beef in a ring, a van to the next."""
    shops = [
        {"id": f"S{at:02}", "name": f"shop {at}",
         "problem": shop_week(at, pieces, bookings=bookings, gap=gap, beef=False)}
        for at in range(count)
    ]  # fmt: skip
    vans = [
        {"from": f"S{at:02}", "to": f"S{(at + 1) % count:02}", "cost_per_unit": "0.40",
         "most": "200", "days": 1, "cuts": None}
        for at in range(count if count > 1 else 0)
    ]  # fmt: skip
    return {"schema": "collop.benches/1", "shops": shops, "transfers": vans}
