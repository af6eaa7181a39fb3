"""A filled sheet of a blend."""

from __future__ import annotations

BLEND = {
    "name": "Friday",
    "b1_name": "Lean beef", "b1_species": "beef", "b1_fat": "10", "b1_held": "30",
    "b1_price": "5.20",
    "b2_name": "Beef trim", "b2_species": "beef", "b2_fat": "32", "b2_held": "40",
    "b2_price": "3.10",
    "b3_name": "Pork trim", "b3_species": "pork", "b3_fat": "45", "b3_price": "1.60",
    "b4_name": "Lean pork", "b4_species": "pork", "b4_fat": "12", "b4_protein": "19",
    "b4_price": "3.40", "b4_contains": "",
    "r1_name": "Mince", "r1_standard": "Ground beef", "r1_make": "36", "r1_high": "20",
    "r2_name": "Links", "r2_standard": "breakfast sausage", "r2_make": "24", "r2_low": "25",
    "r2_high": "30", "r2_bins": "pork trim, Lean pork", "r2_batch": "10", "r2_piece": "0.1",
    "r2_casing": "sheep", "r2_skin": "0.55", "r2_price": "", "r2_most": "",
    "a1_recipe": "Links", "a1_name": "salt", "a1_share": "1.8", "a1_price": "0.50",
    "a2_recipe": "links", "a2_name": "rusk", "a2_kind": "binder", "a2_share": "3",
    "a2_of": "finished", "a2_contains": "wheat",
}  # fmt: skip
