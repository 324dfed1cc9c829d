"""One version of a product as its manifest tells it: panels with their shapes, and where each plate stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from panelwright.plates.errors import OutputError, PanelwrightError
from panelwright.plates.geometry.curves import Loop, Segment
from panelwright.plates.geometry.frame import Frame, Vector, cross
from panelwright.plates.outlines.svg_reading import chain_of_path, loop_of_path
from panelwright.plates.tolerances import WRITTEN

__all__ = ["Numbers", "Shape", "Sheet", "Standing", "Version", "version_of"]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a panel is cut from, as far as it says whether another one will do; `kerf_mm` says what it was drawn for."""

    name: str
    material: str
    thickness_mm: float
    kerf_mm: float
    has_grain: bool
    both_faces_good: bool

    def is_like(self, other: Sheet) -> bool:
        """Whether a panel of the other sheet could have been cut from this one: of one material, as thick, grain alike."""
        return (self.material, self.has_grain) == (other.material, other.has_grain) and (
            abs(self.thickness_mm - other.thickness_mm) < WRITTEN
        )


@dataclass(frozen=True)
class Shape:
    """One distinct panel: its finished loops as seen from the show face, marks, sheet, and the plates that are cut to it."""

    name: str
    sheet: Sheet
    loops: tuple[Loop, ...]
    marks: tuple[tuple[Segment, ...], ...]
    size_mm: tuple[float, float]
    area_mm2: float
    mass_kg: float | None
    plates: tuple[str, ...]

    @cached_property
    def region(self) -> Any:
        """Where there is material, as a shapely region with chords at most `CROSSING_CHORD` off."""
        from panelwright.plates.geometry.polygons import region_of
        from panelwright.plates.tolerances import CROSSING_CHORD

        return region_of(self.loops, CROSSING_CHORD)

    @cached_property
    def coarse(self) -> Any:
        """The same with chords at most `CHORD_TOLERANCE` off, for questions that are asked often."""
        from panelwright.plates.geometry.polygons import region_of

        return region_of(self.loops)

    @cached_property
    def key(self) -> tuple[int, int, float, float]:
        """What panels of one shape have in common however they are turned: counts, area, length of border."""
        border = sum(loop.length for loop in self.loops)
        return len(self.loops), sum(map(len, self.loops)), round(self.area_mm2, 1), round(border, 1)

    @cached_property
    def opening_middles(self) -> Any:
        """A point inside each opening, as an array of (x, y)."""
        import numpy as np
        import shapely
        from panelwright.plates.geometry.polygons import polygon_of

        spots = [polygon_of(loop).representative_point() for loop in self.loops if loop.area < 0]
        return np.array([shapely.get_coordinates(spot)[0] for spot in spots]).reshape(-1, 2)

    @cached_property
    def middle(self) -> tuple[float, float]:
        """Middle of its area."""
        from panelwright.plates.geometry.congruence import centroid

        return centroid(self.loops)


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a plate stands: `frame` carries its shape as drawn into the product, material from z = 0 to its thickness.

    `bends` are angle in degrees and radius in mm of the bends of a bent plate.
    """

    plate: str
    shape: Shape
    frame: Frame
    bends: tuple[tuple[float, float], ...] = ()

    @property
    def middle(self) -> Vector:
        """The middle of its area, half way through the sheet, in the product's frame."""
        x, y = self.shape.middle
        return self.frame.point((x, y, self.shape.sheet.thickness_mm / 2))


@dataclass(frozen=True, slots=True)
class Numbers:
    """What a version weighs, takes and costs; None where nobody knows."""

    plates: int
    panels: int
    area_mm2: float
    mass_kg: float | None
    sheets: int | None = None
    machine_s: float | None = None
    cost: float | None = None
    currency: str = ""


@dataclass(frozen=True)
class Version:
    """One version: `label` says where it comes from, `name` what the product is called.

    `joints`, `hardware` and `findings` are as in the manifest, by its keys.
    """

    label: str
    name: str
    shapes: tuple[Shape, ...]
    standing: tuple[Standing, ...]
    joints: tuple[Mapping[str, Any], ...]
    hardware: tuple[Mapping[str, Any], ...]
    findings: tuple[Mapping[str, Any], ...]
    numbers: Numbers
    parameters: Mapping[str, Any] = field(default_factory=dict)
    stocks: tuple[Mapping[str, Any], ...] = ()

    def __repr__(self) -> str:
        return f"<Version {self.label!r}, {len(self.standing)} plates>"


def version_of(manifest: Mapping[str, Any], label: str) -> Version:
    """What a manifest tells, ready to be compared; `label` is what the version is called in words.

    Raises `OutputError` for a manifest that an older version of the toolkit wrote, which tells no shapes, for one of a later
    version or of several products laid out together, and for one that cannot be read.
    """
    _check_kind(manifest, label)
    try:
        return _read(manifest, label)
    except (KeyError, TypeError, ValueError, AttributeError, IndexError, PanelwrightError) as error:
        raise OutputError(
            f"the manifest of {label} cannot be read: {type(error).__name__} at {error}; build the folder again",
            value=label,
        ) from error


def _check_kind(manifest: Mapping[str, Any], label: str) -> None:
    from panelwright.assemblies.product.json_documents import KINDS

    schema = manifest.get("schema")
    known = KINDS["panelwright.manifest"]
    version = schema.get("version") if isinstance(schema, dict) else None
    wrote = (
        manifest.get("versions", {}).get("panelwright", "unknown") if isinstance(manifest.get("versions"), dict) else "unknown"
    )
    if isinstance(version, int) and version > known:
        raise OutputError(
            f"{label} was written by a later version of the toolkit ({wrote}; manifest {version}, this one reads {known}); "
            "update the toolkit",
            value=version,
            limit=known,
        )
    if manifest.get("products"):
        raise OutputError(
            f"{label} holds sheets of several products laid out together, which stand nowhere; compare the products one by one",
            value=label,
        )
    if version != known or "outlines" not in manifest or "standing" not in manifest:
        raise OutputError(
            f"{label} was written by an older version of the toolkit ({wrote}), whose manifest tells no shapes; "
            "build it again, or give its design at the revision that it was built from",
            value=label,
        )


def _read(manifest: Mapping[str, Any], label: str) -> Version:
    sheets = {(s["stock"], s["thickness_mm"], s["kerf_mm"]): s for s in manifest["stocks"]}
    outlines = {entry["panel"]: entry for entry in manifest["outlines"]}
    shapes = {}
    for panel in manifest["panels"]:
        stock = sheets[panel["stock"], panel["thickness_mm"], panel["kerf_mm"]]
        sheet = Sheet(
            panel["stock"],
            stock["material"],
            float(panel["thickness_mm"]),
            float(panel["kerf_mm"]),
            stock["grain"] is not None,
            bool(stock["both_faces_good"]),
        )
        outline, height = outlines[panel["name"]], float(panel["bbox_mm"][1])
        shapes[panel["name"]] = Shape(
            panel["name"],
            sheet,
            tuple(loop_of_path(path, height) for path in outline["loops"]),
            tuple(chain_of_path(path, height) for path in outline["marks"]),
            (float(panel["bbox_mm"][0]), height),
            float(panel["area_mm2"]),
            panel["mass_kg"],
            tuple(panel["instances"]),
        )
    standing = tuple(
        Standing(
            entry["plate"],
            shapes[entry["panel"]],
            _frame(entry),
            tuple((float(bend["angle_deg"]), float(bend["radius_mm"])) for bend in entry["bends"]),
        )
        for entry in manifest["standing"]
    )
    return Version(
        label,
        str(manifest["design"]["name"]),
        tuple(shapes.values()),
        standing,
        tuple(manifest["joints"]),
        tuple(manifest["hardware"]),
        tuple(manifest["checks"]),
        _numbers(manifest, shapes, len(standing)),
        dict(manifest["parameters"]),
        tuple(manifest["stocks"]),
    )


def _frame(entry: Mapping[str, Any]) -> Frame:
    origin, x, y = (tuple(map(float, entry[key])) for key in ("origin_mm", "x", "y"))
    return Frame.facing(
        (origin[0], origin[1], origin[2]), show=cross((x[0], x[1], x[2]), (y[0], y[1], y[2])), right=(x[0], x[1], x[2])
    )


def _numbers(manifest: Mapping[str, Any], shapes: Mapping[str, Shape], plates: int) -> Numbers:
    masses = [None if s.mass_kg is None else s.mass_kg * len(s.plates) for s in shapes.values()]
    masses += [None if item["mass_kg"] is None else item["mass_kg"] * item["quantity"] for item in manifest["hardware"]]
    area = sum(s.area_mm2 * len(s.plates) for s in shapes.values())
    sheets, cost = manifest.get("sheets"), manifest.get("cost")
    times = None if not sheets else [None if sheet["time"] is None else sheet["time"]["total_s"] for sheet in sheets]
    return Numbers(
        plates,
        len(shapes),
        area,
        _sum(masses),
        None if not sheets else len(sheets),
        None if times is None else _sum(times),
        None if cost is None else cost["total"],
        "" if cost is None else str(cost["currency"]),
    )


def _sum(values: list[Any]) -> float | None:
    return None if any(value is None for value in values) else float(sum(values))
