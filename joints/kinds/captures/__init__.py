"""Nut captures: screws through one plate into nuts held in the edge of the other.

`t_nut` is the kind; `nut_pocket` what one nut needs; `nut_relief` what a round tool may take of that; `seat` how its screw
crosses the mate.  The tables of the standards are in `joints/spec/fasteners.py`, since bought parts belong to every layout.
"""
