"""A plate, its faces, and where it stands.

Comes in: an outline, a stock, and a place said in a maker's words.  Goes out: `Plate` and `PlacedPlate`, whose faces are picked
by CadQuery's selector strings on the plate as designed.
"""
