"""Products of the pottery studio for the tests of sheets, made from plates and joints as a design would."""

from __future__ import annotations

from functools import cache

from panelwright.assemblies import Assembly, Shop, tray
from panelwright.assemblies.data.product import Product
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Stock, disc, hole, polygon, rectangle

__all__ = ["SHOP", "card_tray", "glaze_stand", "jar_frame", "studio_shop"]

SHOP = """
currency = "EUR"

[machine]
bed_mm = [650, 450]
travel_mm_s = 300
acceleration_mm_s2 = 3000
edge_margin_mm = 6
part_spacing_mm = 3
cost_per_hour = 30

[prices]
"ISO 4762 M3 x 16" = 0.06

[stocks."birch 4"]          # the good boards
based_on = "birch 4"
measured_mm = 3.9
kerf_mm = 0.2
cut_mm_s = 12
mark_mm_s = 150

[[stocks."birch 4".sheets]]
width_mm = 600
height_mm = 400
count = 5                   # bought in May
price = 7.5

[[stocks."birch 4".offcuts]]
outline_mm = [[0, 0], [300, 0], [300, 120], [140, 120], [140, 260], [0, 260]]
"""


def studio_shop() -> Shop:
    """The shop that `SHOP` describes."""
    return Shop.from_text(SHOP)


@cache
def card_tray(width: float = 180.0) -> Product:
    """A tray of the shop's birch: finger corners, a base in tabs; front and rear are one panel, left and right another."""
    made = tray("card tray", stock=studio_shop()["birch 4"], width=width, depth=120, height=50)
    return _proved(made)


@cache
def glaze_stand() -> Product:
    """Two cheeks that are mirror images of each other, and a board between them, in MDF of which both faces are good."""
    mdf = Stock("MDF", 4.0, kerf=0.18, clearance=0.1, density=750, sheet=(400, 300))
    made = Assembly("glaze stand", stock=mdf)
    cheek = polygon([(0, 0), (110, 0), (110, 30), (30, 140), (0, 140)]).cut(hole(14).at(30, 100))
    made.add("left", cheek.mirrored(), Frame.facing((-60, 0, 0), show=(-1, 0, 0), right=(0, -1, 0)))
    made.add("right", cheek, Frame.facing((60, 0, 0), show=(1, 0, 0), right=(0, 1, 0)))
    made.add("board", rectangle(120, 60), Frame((0.0, 60.0, 40.0)))
    join_touching(made, tabs(count=2, width=12))
    return _proved(made)


@cache
def jar_frame() -> Product:
    """A frame whose window has room for the other parts; nothing joins them, the disc only lies there."""
    mdf = Stock("MDF", 4.0, kerf=0.18, clearance=0.1, density=750, sheet=(300, 240))
    made = Assembly("jar frame", stock=mdf)
    made.add("frame", rectangle(280, 220).cut(rectangle(220, 160)))
    made.add("disc", disc(120).cut(hole(20)), Frame((0.0, 0.0, 4.0)), loose=True)
    return _proved(made)


def _proved(made: Assembly) -> Product:
    product = made.product()
    assert not product.errors, product.errors
    return product
