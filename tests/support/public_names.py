"""Every public function, class and method of the three layers, with arguments that are fine for it.

`public_callables` finds them by looking, `CASES` says how each is called well.  A case is a function of a `Scene`, made anew
for each call, so that nothing that one call does is there for the next.  What is made by a good call is used as well (`USES`):
a row of cut-outs is cut, a placement places a plate, a joint is laid out, since a bad number must not come out there instead.
"""

from __future__ import annotations

import importlib
import inspect
import math
from collections.abc import Callable, Iterator
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from panelwright.assemblies import Assembly, Batch, Bridges, SheetRules, Shop, bend, lay_sheets
from panelwright.joints import Relief, dog_bone, join, living_hinge, tabs
from panelwright.joints.joining.touching import Skip
from panelwright.plates import Frame, Outline, Plate, Range, Stock, disc, hole, polygon, rectangle
from panelwright.plates.geometry.curves import Motion

__all__ = ["CASES", "EXCUSED", "Scene", "bad_values", "bound", "public_callables", "use"]

LAYERS = ("plates", "joints", "assemblies")

SPECIAL = ("__init__", "__getitem__", "__contains__")
"""Methods with underscores that designs call all the same."""

Arguments = dict[str, Any]


def public_callables() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Names such as "plates.Outline.cut", and what is called; a class stands for its constructor.

    Errors are left out, since designs catch them; so are protocols, since designs make none.
    """
    for layer in LAYERS:
        module = importlib.import_module(f"panelwright.{layer}")
        for name in module.__all__:
            found = getattr(module, name)
            if not inspect.isclass(found):
                yield f"{layer}.{name}", found
                continue
            if issubclass(found, BaseException) or getattr(found, "_is_protocol", False):
                continue
            for key, raw in _own_and_inherited(found).items():
                if key.startswith("_") and key not in SPECIAL:
                    continue
                method = raw.__func__ if isinstance(raw, classmethod | staticmethod) else raw
                if key == "__init__":
                    yield f"{layer}.{name}", found
                elif inspect.isfunction(method):
                    yield f"{layer}.{name}.{key}", getattr(found, key) if isinstance(raw, classmethod) else method


def _own_and_inherited(found: type) -> dict[str, Any]:
    """What a class and the classes of ours that it stands on define; its own comes last and wins."""
    ours = [kind for kind in reversed(found.__mro__) if kind.__module__.startswith("panelwright.")]
    return {key: raw for kind in ours for key, raw in vars(kind).items()}


STOCK = Stock("birch plywood", 4, kerf=0.2, clearance=0.1, sheet=(300, 200))

SHOP = """
[stocks."studio birch"]
based_on = "birch 4"
measured_mm = 3.87
kerf_mm = 0.19
[[stocks."studio birch".sheets]]
width_mm = 300
height_mm = 200
count = 5
"""


class Scene:
    """A stand of two plates and what else good calls need, each made when first asked for."""

    stock = STOCK
    outline = rectangle(60, 40)

    @cached_property
    def assembly(self) -> Assembly:
        """A base and a rear wall on it, not joined."""
        stand = Assembly("card stand", stock=STOCK)
        base = stand.add("base", rectangle(80, 60))
        stand.add("rear", rectangle(80, 50), Frame.facing((0, 0, 29), show=(0, -1, 0), right=(1, 0, 0)))
        assert base.show is not None
        return stand

    @property
    def base(self) -> Any:
        """The base."""
        return self.assembly["base"]

    @property
    def rear(self) -> Any:
        """The wall that stands on it."""
        return self.assembly["rear"]

    @property
    def top(self) -> Any:
        """The base's upper face."""
        return self.base.show

    @property
    def foot(self) -> Any:
        """The wall's lower edge face."""
        return self.rear.border[0]

    @property
    def shop(self) -> Shop:
        """A shop with one stock of its own."""
        return _shop()

    @property
    def batch(self) -> Batch:
        """One small plate to be cut."""
        return Batch(_product())


@cache
def _shop() -> Shop:
    return Shop.from_text(SHOP)


@cache
def _product() -> Any:
    one = Assembly("card", stock=STOCK)
    one.add("card", rectangle(60, 40))
    return one.product()


@cache
def _dxf() -> Path:
    import tempfile

    import ezdxf

    path = Path(tempfile.mkdtemp()) / "outline.dxf"
    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline([(0, 0), (40, 0), (40, 30), (0, 30)], close=True)
    drawing.saveas(path)
    return path


def _stock_arguments(s: Scene) -> Arguments:
    return {
        "material": "birch plywood",
        "thickness": 4,
        "measured": 3.9,
        "kerf": 0.2,
        "clearance": 0.1,
        "press": -0.1,
        "sliding": 0.2,
        "tolerance": (-0.3, 0.3),
        "sheet": (600, 400),
        "density": 680,
        "grain": "x",
        "both_faces_good": True,
        "color": "orange",
        "shear_modulus": 600,
        "shear_strength": 9,
        "youngs_modulus": 9000,
        "poisson": 0.3,
        "name": "birch 4",
        "cutter": "laser",
        "is_calibrated": True,
        "sources": (("kerf_mm", "measured"),),
        "vouched": (),
    }


def _row(**more: Any) -> Callable[[Scene], Arguments]:
    return lambda s: {"count": None, "pitch": None, "margin": 2.0, "at": None, "clearance": 0.1, "relief": None, **more}


_RELIEVED: Arguments = {"clearance": 0.1, "relief": None}
"""What all bodies take for their joints."""


def _body(s: Scene, **more: Any) -> Arguments:
    return {
        "name": "box",
        "stock": STOCK,
        "width": 80,
        "height": 50,
        "base_stock": None,
        "cut": {"base": hole(9)},
        **_RELIEVED,
        **more,
    }


CASES: dict[str, Callable[[Scene], Arguments]] = {
    # plates
    "plates.Face": lambda s: {"placed": s.base, "place": ("edge", 0, 1), "selector": ">X"},
    "plates.Face.extent": lambda s: {"self": s.top, "direction": (1.0, 0.0, 0.0)},
    "plates.Frame": lambda s: {"origin": (1, 2, 3), "x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1)},
    "plates.Frame.facing": lambda s: {"origin": (1, 2, 3), "show": (0, 0, 1), "right": (1, 0, 0)},
    "plates.Frame.turned": lambda s: {"about": "Z", "angle_deg": 30},
    "plates.Frame.of": lambda s: {"place": Frame()},
    "plates.Frame.point": lambda s: {"self": Frame(), "local": (1, 2, 3)},
    "plates.Frame.direction": lambda s: {"self": Frame(), "local": (1, 2, 3)},
    "plates.Frame.local": lambda s: {"self": Frame(), "world": (1, 2, 3)},
    "plates.Frame.local_direction": lambda s: {"self": Frame(), "world": (1, 2, 3)},
    "plates.Frame.then": lambda s: {"self": Frame(), "outer": Frame((0, 0, 5))},
    "plates.Frame.shifted": lambda s: {"self": Frame(), "by": (1, 2, 3)},
    "plates.Outline": lambda s: {"loops": s.outline.loops, "marks": (), "read_as": None},
    "plates.Outline.moved": lambda s: {"self": s.outline, "motion": Motion.shift(1, 2)},
    "plates.Outline.at": lambda s: {"self": disc(5), "x": 1, "y": 2},
    "plates.Outline.turned": lambda s: {"self": s.outline, "angle_deg": 30},
    "plates.Outline.mirrored": lambda s: {"self": s.outline},
    "plates.Outline.cut": lambda s: {"self": s.outline, "shapes": hole(5)},
    "plates.Outline.joined": lambda s: {"self": s.outline, "shapes": disc(5).at(30, 0)},
    "plates.Outline.marked": lambda s: {"self": s.outline, "shapes": hole(5)},
    "plates.Outline.lettered": lambda s: {"self": s.outline, "text": "ASH 7", "height": 6, "at": (1, 2), "angle_deg": 30},
    "plates.Outline.in_arcs": lambda s: {"self": s.outline, "tolerance": 0.02},
    "plates.Outline.rounded": lambda s: {"self": s.outline, "radius": 3, "corners": ">Y"},
    "plates.Outline.chamfered": lambda s: {"self": s.outline, "size": 3, "corners": ">Y"},
    "plates.PlacedPlate": lambda s: {
        "name": "base",
        "plate": Plate(s.outline, STOCK),
        "frame": Frame(),
        "owner": s.assembly,
        "roll": None,
    },
    "plates.PlacedPlate.point": lambda s: {"self": s.base, "local": (1, 2, 3)},
    "plates.PlacedPlate.direction": lambda s: {"self": s.base, "local": (1, 0, 0), "at": (0, 0)},
    "plates.PlacedPlate.face": lambda s: {"self": s.base, "selector": ">Z"},
    "plates.PlacedPlate.faces": lambda s: {"self": s.base, "selector": ">Z"},
    "plates.PlacedPlate.edge_toward": lambda s: {"self": s.rear, "other": s.base},
    "plates.PlacedPlate.edges_toward": lambda s: {"self": s.rear, "other": s.base},
    "plates.PlacedPlate.all_faces": lambda s: {"self": s.base},
    "plates.PlacedPlate.moved_to": lambda s: {"self": s.base, "name": "base", "frame": Frame(), "owner": s.assembly},
    "plates.Plate": lambda s: {"outline": s.outline, "stock": STOCK},
    "plates.Plate.to_cadquery": lambda s: {"self": Plate(s.outline, STOCK)},
    "plates.Range": lambda s: {"low": 1, "high": 2},
    "plates.Range.__contains__": lambda s: {"self": Range(1, 2), "value": 1.5},
    "plates.Stock": _stock_arguments,
    "plates.Stock.fit": lambda s: {"self": STOCK, "fit": "snug"},
    "plates.against": lambda s: {"face": s.base.border[0], "up": "+Z", "lift": 1, "shift": 2, "show": "out"},
    "plates.bent_on": lambda s: {"face": s.base.border[1], "radius": 30, "angle_deg": 90, "toward": "back", "shift": 1},
    "plates.cable_slot": lambda s: {"width": 6, "depth": 12, "side": "-Y", "shift": 1},
    "plates.hole": lambda s: {"diameter": 9},
    "plates.cutouts_from_dxf": lambda s: {"path": _dxf(), "layers": ["0"], "unit": "mm"},
    "plates.disc": lambda s: {"diameter": 9},
    "plates.finger_notch": lambda s: {"width": 25, "depth": 10, "side": "+Y", "shift": 1},
    "plates.grid": lambda s: {"shape": hole(2), "columns": 3, "rows": 2, "pitch": (9, 8), "at": (1, 2)},
    "plates.handle_hole": lambda s: {"width": 20, "height": 6, "side": "+Y", "inset": 5, "shift": 1},
    "plates.lying": lambda s: {"on": s.top, "right": "+X", "shift": (1, 2), "flush": ("+Y",), "inset": 1, "show": "out"},
    "plates.mirrored": lambda s: {"placed": s.rear, "about": "YZ"},
    "plates.obround": lambda s: {"length": 20, "width": 6},
    "plates.outline_from_dxf": lambda s: {"path": _dxf(), "layer": "0", "unit": "mm"},
    "plates.outline_of": lambda s: {"shape": s.outline},
    "plates.parallel": lambda s: {"face": s.rear.show, "spacing": 20},
    "plates.polygon": lambda s: {"points": [(0, 0), (4, 0), (0, 3)]},
    "plates.rectangle": lambda s: {"width": 60, "height": 40},
    "plates.regular_polygon": lambda s: {"sides": 6, "across_flats": 20, "across_corners": None},
    "plates.ring": lambda s: {"outer_diameter": 40, "inner_diameter": 20},
    "plates.rounded_rectangle": lambda s: {"width": 60, "height": 40, "radius": 5},
    "plates.row": lambda s: {"shape": hole(2), "count": 3, "pitch": 9, "along": "x", "at": (1, 2)},
    "plates.sector": lambda s: {"diameter": 40, "angle_deg": 90},
    "plates.standing": lambda s: {"on": s.top, "facing": "-Y", "inset": 2, "edge": "-Y", "shift": 1, "lift": 1, "lean_deg": 9},
    "plates.trapezium": lambda s: {"bottom": 40, "top": 20, "height": 30, "shift": 1},
    # joints
    "joints.Relief": lambda s: {"style": "dog-bone", "tool": 3.175},
    "joints.cross_lap": lambda s: {"ratio": 0.5, "opens_up": "first", "clearance": 0.1, "relief": dog_bone(3)},
    "joints.dog_bone": lambda s: {"tool": 3.175},
    "joints.fingers": lambda s: {"count": None, "width": 9, "ends": "first", "clearance": 0.1, "relief": None},
    "joints.join": lambda s: {"first": s.foot, "second": s.top, "joint": tabs(count=2)},
    "joints.join_touching": lambda s: {"assembly": s.assembly, "joint": tabs(count=2), "skip": ()},
    "joints.living_hinge": lambda s: {
        "radius": 30,
        "pattern": "staggered",
        "link": 4,
        "slit": 0.2,
        "slit_length": 18,
        "bridge": 4,
        "panel": "sheet",
    },
    "joints.pass_through": lambda s: {"owner": "first", "clearance": 0.1, "relief": None},
    "joints.t_bone": lambda s: {"tool": 3.175},
    "joints.t_nut": _row(size="M3", tabs=None, nut="ISO 4032", screw="ISO 4762", hole="medium", length=16, web=8.0),
    "joints.tabs": _row(width=10, depth=None, proud=0.0),
    "joints.touching": lambda s: {"assembly": s.assembly, "skip": ()},
    # assemblies
    "assemblies.Assembly": lambda s: {
        "name": "card stand",
        "stock": STOCK,
        "clearance": 0.1,
        "relief": dog_bone(3),
        "show_hardware": True,
    },
    "assemblies.Assembly.add": lambda s: {
        "self": s.assembly,
        "name": "lid",
        "item": s.outline,
        "place": Frame((0, 0, 90)),
        "stock": STOCK,
        "loose": True,
    },
    "assemblies.Assembly.add_bent": lambda s: {
        "self": s.assembly,
        "name": "sheet",
        "outline": rectangle(200, 60),
        "bends": bend(-36, radius=45, angle_deg=90),
        "place": Frame((0, 0, 90)),
        "hinge": living_hinge(),
        "stock": STOCK,
    },
    "assemblies.Assembly.add_wrap": lambda s: {
        "self": s.assembly,
        "name": "wall",
        "height": 40,
        "path": rectangle(200, 160).rounded(50),
        "place": Frame((0, 0, 90)),
        "outside": True,
        "seam": (0, -80),
        "cut": hole(9).at(0, 20),
        "zero": (0, -80),
        "land": None,
        "hinge": living_hinge(),
        "stock": STOCK,
    },
    "assemblies.Assembly.chains": lambda s: {"self": s.assembly},
    "assemblies.Assembly.__getitem__": lambda s: {"self": s.assembly, "name": "base"},
    "assemblies.Assembly.set_clearance": lambda s: {
        "self": s.assembly,
        "first": STOCK,
        "second": Stock("MDF", 3),
        "clearance": 0.1,
    },
    "assemblies.Assembly.clearance_of": lambda s: {"self": s.assembly, "joint": tabs(), "first": STOCK, "second": STOCK},
    "assemblies.Assembly.says_clearance": lambda s: {"self": s.assembly, "first": STOCK, "second": STOCK},
    "assemblies.Assembly.body_of": lambda s: {"self": s.assembly, "placed": s.base},
    "assemblies.Assembly.placed_plates": lambda s: {"self": s.assembly},
    "assemblies.Assembly.loose_groups": lambda s: {"self": s.assembly},
    "assemblies.Assembly.record_join": lambda s: {"self": s.assembly, "first": s.foot, "second": s.top, "joint": tabs()},
    "assemblies.Assembly.record_touching": lambda s: {"self": s.assembly, "joint": tabs(), "skip": Skip()},
    "assemblies.Assembly.joined_faces": lambda s: {"self": s.assembly},
    "assemblies.Assembly.resolve": lambda s: {"self": s.assembly},
    "assemblies.Assembly.accept": lambda s: {"self": s.assembly, "code": "WEB", "plates": "base", "because": "it is glued on"},
    "assemblies.Assembly.acceptances": lambda s: {"self": s.assembly},
    "assemblies.Assembly.check": lambda s: {"self": s.assembly},
    "assemblies.Assembly.product": lambda s: {"self": s.assembly},
    "assemblies.Assembly.to_cadquery": lambda s: {"self": s.assembly},
    "assemblies.Batch": lambda s: {"product": _product(), "copies": 2, "label": "one"},
    "assemblies.Batch.piece_name": lambda s: {"self": s.batch, "panel": "base"},
    "assemblies.Bridges": lambda s: {"count": 2, "width_mm": 0.8, "least_window_mm": 60},
    "assemblies.PlacedAssembly": lambda s: {
        "name": "drawer",
        "assembly": s.assembly,
        "frame": Frame(),
        "owner": Assembly("chest"),
    },
    "assemblies.PlacedAssembly.__getitem__": lambda s: {"self": Assembly("chest").add("drawer", s.assembly), "name": "base"},
    "assemblies.SheetRules": lambda s: {
        "spacing": 2,
        "margin": 5,
        "turn_step_deg": 90,
        "seed": 1,
        "effort": 1,
        "time_limit_s": 1,
        "compact_s": None,
        "least_offcut": (100, 100),
        "face_up": "back",
        "is_marked": False,
        "ticks": False,
        "bridges": Bridges(),
        "shared_cuts": False,
        "pieces": {},
    },
    "assemblies.Shop": lambda s: {
        "shelves": s.shop.shelves,
        "shipped": s.shop.shipped,
        "machine": s.shop.machine,
        "currency": "EUR",
        "file": "shop.toml",
        "prices": {"ISO 4032 M3": 0.02},
        "booked": s.shop.booked,
    },
    "assemblies.Shop.read": lambda s: {"path": Path(__file__).parents[2] / "assemblies/shop/shipped.toml"},
    "assemblies.Shop.from_text": lambda s: {"text": SHOP, "file": "shop.toml"},
    "assemblies.Shop.of_shipped": lambda s: {},
    "assemblies.Shop.shelf": lambda s: {"self": s.shop, "name": "birch 4"},
    "assemblies.Shop.price_of": lambda s: {"self": s.shop, "designation": "ISO 4032 M3"},
    "assemblies.Shop.__getitem__": lambda s: {"self": s.shop, "name": "birch 4"},
    "assemblies.Shop.__contains__": lambda s: {"self": s.shop, "name": "birch 4"},
    "assemblies.bend": lambda s: {"at": 10, "radius": 30, "angle_deg": 90, "toward": "back"},
    "assemblies.carcass": lambda s: _body(
        s, depth=60, sides=4, lean_deg=0, lid="overhanging", brim=9, play=None, lid_joint=tabs(count=1), joint=None
    ),
    "assemblies.cost_of": lambda s: {"plan": _plan(), "batches": [s.batch], "shop": s.shop},
    "assemblies.divider_grid": lambda s: {
        "name": "cells",
        "stock": STOCK,
        "width": 90,
        "depth": 60,
        "height": 30,
        "columns": 3,
        "rows": 2,
        "joint": None,
        "clearance": 0.1,
        "relief": None,
    },
    "assemblies.lay_sheets": lambda s: {
        "batches": [s.batch],
        "shop": s.shop,
        "rules": SheetRules(effort=1),
        "engine": None,
        "report": None,
    },
    "assemblies.stock": lambda s: {"name": "birch 4"},
    "assemblies.tray": lambda s: _body(s, depth=60, lift=5, corner=None, floor=None),
}


@cache
def _plan() -> Any:
    return lay_sheets([Batch(_product())], _shop(), SheetRules(effort=1))


def bound(callee: Callable[..., Any], arguments: Arguments) -> Any:
    """Call with arguments by name; what goes by position only, such as the shapes of `cut`, goes first, with all before it."""
    parameters = inspect.signature(callee).parameters
    names = list(parameters)
    ends = [i for i, p in enumerate(parameters.values()) if p.kind is inspect.Parameter.VAR_POSITIONAL]
    first = names[: ends[0] + 1] if ends else [name for name in names if name == "self"]
    rest = {name: value for name, value in arguments.items() if name not in first}
    return callee(*(arguments[name] for name in first if name in arguments), **rest)


def use(name: str, made: Any, scene: Scene) -> None:
    """Use what a call made, as a design would next; and hold that numbers in it are numbers."""
    if isinstance(made, Outline):
        assert all(map(math.isfinite, (*made.bounds, made.area))), "an outline of numbers that are none"
    elif isinstance(made, Frame):
        assert all(map(math.isfinite, (*made.origin, *made.x, *made.y, *made.z))), "a frame of numbers that are none"
    elif callable(getattr(made, "on", None)) and name.startswith("plates."):
        plate = rectangle(60, 40)
        assert plate.cut(made).area < plate.area, "a cut-out that cuts nothing"
    elif callable(getattr(made, "place", None)) and name.startswith("plates."):
        placed = scene.assembly.add("lid", rectangle(20, 10), made)
        assert all(map(math.isfinite, placed.frame.origin)), "a place that is nowhere"
    elif name in ("joints.tabs", "joints.t_nut", "joints.fingers"):
        join(scene.foot, scene.top, made)
        scene.assembly.resolve()
    elif name in ("joints.cross_lap", "joints.pass_through"):
        across = scene.assembly.add("across", rectangle(120, 90), Frame.facing((0, 0, 29), show=(1, 0, 0), right=(0, 1, 0)))
        join(scene.rear, across, made)
        scene.assembly.resolve()


EXCUSED = {
    ("assemblies.lay_sheets", "engine", "a joint"): "an engine is known by its method lay_out(), and joints have one",
    ("assemblies.lay_sheets", "report", "a class"): "what a function of the caller's own raises is the caller's",
    ("assemblies.lay_sheets", "report", "a function"): "what a function of the caller's own raises is the caller's",
}
"""Calls that may raise anything, by name, parameter and value, each with its reason."""


def bad_values(scene: Scene) -> tuple[tuple[str, Any], ...]:
    """What nobody should give anywhere, or only to some parameters, with how it is told."""
    nan = math.nan
    return (
        ("None", None),
        ("''", ""),
        ("'x'", "x"),
        ("text that is no Unicode", "\ud800"),
        ("bytes", b"x"),
        ("nan", nan),
        ("inf", math.inf),
        ("-inf", -math.inf),
        ("0", 0),
        ("-1", -1),
        ("1e-12", 1e-12),
        ("0.5", 0.5),
        ("1e300", 1e300),
        ("10**400", 10**400),
        ("10**5000", 10**5000),
        ("1j", 1j),
        ("True", True),
        ("[]", []),
        ("[None]", [None]),
        ("{}", {}),
        ("{1: 2}", {1: 2}),
        ("{'base': None}", {"base": None}),
        ("set()", set()),
        ("object()", object()),
        ("a class", int),
        ("a function", len),
        ("(nan, nan)", (nan, nan)),
        ("(1e300, 1e300, 1e300)", (1e300, 1e300, 1e300)),
        ("[(0, 0), nan]", [(0, 0), nan]),
        ("a generator", (value for value in (1, "x"))),
        ("a joint", tabs(count=2)),
        ("an outline", polygon([(0, 0), (9, 0), (0, 9)])),
        ("a stock", STOCK),
        ("a plate", Plate(rectangle(9, 9), STOCK)),
        ("a face", scene.top),
        ("a placed plate", scene.base),
        ("an assembly", scene.assembly),
        ("a frame", Frame((1, 1, 1))),
        ("a relief", Relief("dog-bone", 3)),
        ("something that raises", _Raises()),
    )


class _Raises:
    """Has no text, no number and no truth."""

    def __repr__(self) -> str:
        raise RuntimeError

    def __float__(self) -> float:
        raise RuntimeError

    def __index__(self) -> int:
        raise RuntimeError

    def __bool__(self) -> bool:
        raise RuntimeError

    def __len__(self) -> int:
        raise RuntimeError
