"""Cutting styles without a published table: the shop's own starting figures.

Common practice, no published source; a shop replaces them by its own cutting records. Shares are
in parts of a thousand of the large cut and close to 1000.
"""

from __future__ import annotations

__all__ = [
    "BRISKET_BONING",
    "BRISKET_BONING_MINUTES",
    "GOAT_LARGE_CUTS",
    "OWN_STYLES",
    "PIECE_LOSS",
]

#: Saw dust, drip and drying at the block, of the piece, in parts of a thousand.
PIECE_LOSS = {"beef": 5, "lamb": 10, "goat": 10, "chicken": 5, "duck": 10}

# species, large cut, style, minutes, ((part, kind, parts of a thousand, cut id), ...)
OWN_STYLES = (
    ("beef", "shank", "cross-cut", "6", (
        ("shank slices, bone-in", "cut", 820, "B020"), ("trim", "trim", 40, "B054"),
        ("shank bone ends", "bone", 120, ""), ("fat", "fat", 20, ""))),
    ("beef", "shank", "boned for mince", "10", (
        ("shank trim", "trim", 480, "B054"), ("shank bone", "bone", 460, ""),
        ("fat", "fat", 60, ""))),
    ("beef", "kidney fat", "hanger and suet", "4", (
        ("hanger", "cut", 80, "B029"), ("kidney", "cut", 80, ""), ("suet", "fat", 840, ""))),
    ("pork", "jowl, feet, tail and neck bones", "sorted", "6", (
        ("jowl", "cut", 260, "P030"), ("feet and hocks", "cut", 400, "P008"),
        ("neck bones and tail", "cut", 340, ""))),
    ("lamb", "breast, shanks and neck", "on the bone", "6", (
        ("foreshanks", "cut", 240, "L019"), ("neck slices", "cut", 150, "L018"),
        ("breast and riblets", "cut", 500, "L020"), ("trim", "trim", 50, ""),
        ("fat", "fat", 40, ""), ("bone ends", "bone", 20, ""))),
    ("goat", "neck and breast", "on the bone", "6", (
        ("neck", "cut", 290, "G008"), ("shanks", "cut", 270, "G009"),
        ("breast and ribs", "cut", 380, "G010"), ("trim", "trim", 40, ""),
        ("bone ends", "bone", 20, ""))),
    ("goat", "neck and breast", "diced on the bone", "5", (
        ("diced goat on the bone", "cut", 930, "G011"), ("trim", "trim", 40, ""),
        ("bone ends", "bone", 30, ""))),
    ("goat", "shoulder", "whole, on the bone", "3", (
        ("shoulder, bone-in", "cut", 940, "G003"), ("trim", "trim", 40, ""),
        ("fat", "fat", 20, ""))),
    ("goat", "shoulder", "boned and rolled", "12", (
        ("shoulder, boneless rolled", "cut", 660, "G004"), ("trim", "trim", 90, ""),
        ("bone", "bone", 220, ""), ("fat", "fat", 30, ""))),
    ("goat", "shoulder", "diced on the bone", "5", (
        ("diced goat on the bone", "cut", 950, "G011"), ("trim", "trim", 30, ""),
        ("fat", "fat", 20, ""))),
    ("goat", "leg", "whole, on the bone", "3", (
        ("leg, bone-in", "cut", 940, "G001"), ("trim", "trim", 40, ""),
        ("bone ends", "bone", 20, ""))),
    ("goat", "leg", "boned", "10", (
        ("leg, boneless", "cut", 640, "G002"), ("trim", "trim", 90, ""),
        ("bone", "bone", 250, ""), ("fat", "fat", 20, ""))),
    ("goat", "leg", "diced, boneless", "14", (
        ("diced goat, boneless", "cut", 600, "G012"), ("trim", "trim", 120, ""),
        ("bone", "bone", 250, ""), ("fat", "fat", 30, ""))),
    ("goat", "rack", "whole racks", "6", (
        ("racks", "cut", 850, "G006"), ("trim", "trim", 70, ""),
        ("chine and feather bone", "bone", 80, ""))),
    ("goat", "rack", "rib chops", "6", (
        ("rib chops", "cut", 830, "G007"), ("trim", "trim", 90, ""),
        ("chine and feather bone", "bone", 80, ""))),
    ("goat", "loin", "loin chops", "4", (
        ("loin chops", "cut", 820, "G005"), ("flank and trim", "trim", 130, ""),
        ("saw dust and bone ends", "bone", 50, ""))),
    ("duck", "bird", "whole", "1", (("whole duck", "cut", 1000, "D001"),)),
    ("duck", "bird", "halves", "2", (
        ("half ducks (2)", "cut", 920, "D002"), ("backbone", "bone", 80, ""))),
    ("duck", "bird", "breasts, legs, wings", "6", (
        ("breasts, boneless (2)", "cut", 290, "D003"), ("legs (2)", "cut", 270, "D005"),
        ("wings (2)", "cut", 110, "D006"), ("frame for stock", "bone", 220, ""),
        ("skin and fat to render", "fat", 110, ""))),
    ("duck", "bird", "crown and legs", "4", (
        ("crown", "cut", 430, "D004"), ("legs (2)", "cut", 270, "D005"),
        ("wings (2)", "cut", 110, "D006"), ("back and neck", "bone", 120, ""),
        ("skin and fat to render", "fat", 70, ""))),
)  # fmt: skip
#: What boning a brisket leaves beside the boneless brisket, in parts of a thousand; minutes.
BRISKET_BONING = (
    ("trim", "trim", 50, "B054"), ("breastbone and rib ends", "bone", 100, ""),
    ("deckle fat", "fat", 50, ""),
)  # fmt: skip
BRISKET_BONING_MINUTES = 8
#: Goat carcass by large cut, in parts of a thousand before loss.
GOAT_LARGE_CUTS = (
    ("neck and breast", 220), ("shoulder", 260), ("leg", 310), ("rack", 100), ("loin", 110),
)  # fmt: skip
