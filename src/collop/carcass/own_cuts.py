"""Cuts of goat and duck: common practice, the shop's own starting figures.

No published table of these cuts was read; nothing here is the ground of a check.
"""

from __future__ import annotations

__all__ = ["OWN_CUTS"]

_MIXED = "grain changes between muscles: separate or turn before slicing"
_ACROSS, _THIN = "across the grain", "thin, across the grain"
_ROAST, _GRILL, _BRAISE = ("roast", "grill indirect"), ("grill direct", "pan"), ("braise", "smoke")

# id, species, large cut, name, other names, muscles, bone, low lb, high lb, grain, slicing, fat,
# tenderness, methods, value cut
OWN_CUTS = (
    ("G001", "goat", "leg", "Leg, bone-in", ("haunch", "kid leg"),
     ("semimembranosus", "biceps femoris", "quadriceps", "gluteus medius"), "bone-in",
     "2.5", "5", "medium", _ACROSS, "low", "intermediate", _ROAST, False),
    ("G002", "goat", "leg", "Leg, boneless", ("butterflied leg",),
     ("semimembranosus", "biceps femoris", "quadriceps"), "boneless",
     "1.8", "3.5", "mixed", _MIXED, "low", "intermediate", (*_ROAST, "grill direct"), False),
    ("G003", "goat", "shoulder", "Shoulder, bone-in", ("kid shoulder",),
     ("supraspinatus", "infraspinatus", "triceps brachii", "serratus ventralis"), "bone-in",
     "2", "4", "mixed", _MIXED, "medium", "tough", ("braise", "roast", "smoke"), True),
    ("G004", "goat", "shoulder", "Shoulder, boneless rolled", ("rolled shoulder",),
     ("supraspinatus", "infraspinatus", "triceps brachii", "serratus ventralis"), "boneless",
     "1.4", "2.8", "mixed", _MIXED, "medium", "tough", ("braise", "roast"), False),
    ("G005", "goat", "loin", "Loin chop", ("T-bone chop",),
     ("longissimus lumborum", "psoas major"), "bone-in",
     "0.15", "0.3", "fine", _ACROSS, "low", "tender", _GRILL, False),
    ("G006", "goat", "rack", "Rack", ("best end",), ("longissimus thoracis",), "bone-in",
     "1", "2", "fine", _ACROSS, "low", "tender", _ROAST, False),
    ("G007", "goat", "rack", "Rib chop", ("cutlet",), ("longissimus thoracis",), "bone-in",
     "0.1", "0.25", "fine", _ACROSS, "low", "tender", _GRILL, False),
    ("G008", "goat", "neck and breast", "Neck", ("neck slices", "scrag"),
     ("splenius", "semispinalis"), "bone-in",
     "0.8", "1.6", "coarse", _THIN, "low", "tough", _BRAISE, True),
    ("G009", "goat", "neck and breast", "Shank", ("foreshank",),
     ("extensor carpi radialis", "flexors"), "bone-in",
     "0.5", "1", "coarse", _THIN, "low", "tough", _BRAISE, True),
    ("G010", "goat", "neck and breast", "Breast and ribs", ("riblets", "flank"),
     ("pectorals", "obliquus"), "bone-in",
     "1", "2", "mixed", _MIXED, "medium", "tough", _BRAISE, True),
    ("G011", "goat", "shoulder", "Diced goat on the bone", ("curry goat", "stewing goat"),
     ("shoulder", "neck", "breast"), "bone-in",
     "", "", "mixed", _MIXED, "medium", "tough", ("braise",), True),
    ("G012", "goat", "leg", "Diced goat, boneless", ("kebab goat", "skewer meat"),
     ("leg", "shoulder"), "boneless",
     "", "", "mixed", _MIXED, "low", "intermediate", ("braise", "grill direct"), False),
    ("G013", "goat", "trim", "Goat mince", ("ground goat",), ("mixed",), "boneless",
     "", "", "mixed", _MIXED, "medium", "n/a", _GRILL, True),
    ("D001", "duck", "bird", "Whole duck", ("duckling", "roasting duck"), ("all",), "bone-in",
     "4", "6", "medium", _ACROSS, "very high", "tender", ("roast", "grill indirect"), False),
    ("D002", "duck", "bird", "Half duck", ("split duck",), ("one side",), "bone-in",
     "2", "3", "medium", _ACROSS, "very high", "tender", ("roast", "grill indirect"), False),
    ("D003", "duck", "bird", "Duck breast, boneless", ("magret", "breast fillet"),
     ("pectoralis major",), "boneless",
     "0.4", "0.8", "fine", _ACROSS, "high", "tender", ("pan", "grill indirect"), False),
    ("D004", "duck", "bird", "Duck crown", ("breast on the bone",), ("pectoralis major",),
     "bone-in", "1.5", "2.5", "fine", _ACROSS, "high", "tender", ("roast",), False),
    ("D005", "duck", "bird", "Duck leg", ("thigh and drumstick", "confit leg"),
     ("thigh and drumstick muscles",), "bone-in",
     "0.5", "0.8", "medium", _ACROSS, "high", "tough", ("braise", "roast"), True),
    ("D006", "duck", "bird", "Duck wing", (), ("pectoral limb muscles",), "bone-in",
     "0.2", "0.35", "fine", _ACROSS, "high", "tough", ("braise", "smoke"), True),
    ("D007", "duck", "bird", "Duck frame", ("carcass for stock", "back and neck"),
     ("back muscles",), "bone-in",
     "1", "1.6", "mixed", _MIXED, "high", "tough", ("braise",), True),
    ("D008", "duck", "bird", "Duck giblets", ("heart", "gizzard", "liver"), ("organ muscles",),
     "boneless", "0.2", "0.4", "fine", _ACROSS, "low", "mixed", ("pan", "braise"), True),
)  # fmt: skip
