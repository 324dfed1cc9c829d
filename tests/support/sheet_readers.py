"""Sheet files read by programs that are not ours: paths by layer from DXF, SVG and PDF, as lines in mm, y upwards."""

from __future__ import annotations

import io
import math
import re
import tempfile
from pathlib import Path
from typing import Any

import shapely

__all__ = ["dxf_by_ezdxf", "dxf_by_gdal", "pdf_by_pdfium", "pdf_by_pypdf", "svg_by_svgelements", "svg_by_svgpathtools"]

Layers = dict[str, list[Any]]
"""Lines by layer, in the order of the file; the PDF has only one layer, ""."""

POINT = 25.4 / 72


def dxf_by_gdal(data: bytes) -> Layers:
    """What GDAL sees; curves become chords of its own choice."""
    import pyogrio

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.dxf"
        path.write_bytes(data)
        _, _, geometries, fields = pyogrio.raw.read(path, columns=["Layer"])
    found: Layers = {}
    for layer, geometry in zip(fields[0], shapely.from_wkb(geometries), strict=True):
        found.setdefault(layer, []).append(geometry)
    return found


def dxf_by_ezdxf(data: bytes) -> Layers:
    """What ezdxf's own path tools make of the entities, flattened to 2 µm."""
    import ezdxf
    from ezdxf import path as paths

    document = ezdxf.read(io.StringIO(data.decode("ascii")))
    found: Layers = {}
    for entity in document.modelspace():
        line = [(p.x, p.y) for p in paths.make_path(entity).flattening(0.002)]
        found.setdefault(entity.dxf.layer, []).append(shapely.LineString(line))
    return found


def svg_by_svgelements(data: bytes) -> Layers:
    """What svgelements sees, in mm and turned upright; curves by 64 points a segment."""
    import svgelements

    svg = svgelements.SVG.parse(io.BytesIO(data), ppi=25.4)
    height = float(svg.height)
    found: Layers = {}
    for group in svg.select(lambda element: isinstance(element, svgelements.Group) and element.id):
        for shape in group.select(lambda element: isinstance(element, svgelements.Shape)):
            path = svgelements.Path(shape)
            points = [path[0].end]
            for segment in path[1:]:
                is_straight = isinstance(segment, svgelements.Line | svgelements.Close)
                shares = [1.0] if is_straight else [k / 64 for k in range(1, 65)]
                points += [segment.point(share) for share in shares if segment.start is not None]
            found.setdefault(group.id, []).append(shapely.LineString([(p.x, height - p.y) for p in points]))
    return found


def svg_by_svgpathtools(data: bytes) -> Layers:
    """What svgpathtools sees; it knows no groups by itself, so they are read by the standard library."""
    from xml.etree import ElementTree

    from svgpathtools import parse_path
    from svgpathtools.svg_to_paths import ellipse2pathd

    root = ElementTree.fromstring(data)
    height = float(re.match(r"([\d.]+)mm$", root.attrib["height"]).group(1))  # type: ignore[union-attr]  # known to be there
    space = "{http://www.w3.org/2000/svg}"
    found: Layers = {}
    for group in root.iter(f"{space}g"):
        for element in group:
            words = element.attrib["d"] if element.tag == f"{space}path" else ellipse2pathd(element.attrib)
            points = []
            for segment in parse_path(words):
                count = 1 if type(segment).__name__ == "Line" else 200
                points += [segment.point(k / count) for k in range(count + bool(not points))]
                points.append(segment.end)
            found.setdefault(group.attrib["id"], []).append(shapely.LineString([(p.real, height - p.imag) for p in points]))
    return found


def pdf_by_pdfium(data: bytes) -> tuple[tuple[float, float], list[Any]]:
    """Page size in mm and every path of the page as PDFium sees it: straight parts exact, curves by their handles' ends."""
    import ctypes

    import pypdfium2
    import pypdfium2.raw as raw

    document = pypdfium2.PdfDocument(data)
    page = document[0]
    size = (page.get_width() * POINT, page.get_height() * POINT)
    lines = []
    for item in page.get_objects():
        if item.type != raw.FPDF_PAGEOBJ_PATH:
            continue
        points = []
        for index in range(raw.FPDFPath_CountSegments(item.raw)):
            segment = raw.FPDFPath_GetPathSegment(item.raw, index)
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            points.append((x.value * POINT, y.value * POINT))
        lines.append(shapely.LineString(points))
    document.close()
    return size, lines


def pdf_by_pypdf(data: bytes) -> tuple[tuple[float, float], list[Any]]:
    """The same out of the page's own operators, read by pypdf; curves by 32 points each."""
    from pypdf import PdfReader
    from pypdf.generic import ContentStream

    reader = PdfReader(io.BytesIO(data))
    page = reader.pages[0]
    size = (float(page.mediabox.width) * POINT, float(page.mediabox.height) * POINT)
    lines: list[Any] = []
    points: list[tuple[float, float]] = []
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        numbers = [float(value) * POINT for value in operands if isinstance(value, int | float)]
        if operator == b"m":
            points = [(numbers[0], numbers[1])]
        elif operator == b"l":
            points.append((numbers[0], numbers[1]))
        elif operator == b"c":
            (x0, y0), (x1, y1, x2, y2, x3, y3) = points[-1], numbers
            for k in range(1, 33):
                t, s = k / 32, 1 - k / 32
                weights = (s**3, 3 * s * s * t, 3 * s * t * t, t**3)
                points.append(
                    (
                        math.fsum(w * v for w, v in zip(weights, (x0, x1, x2, x3), strict=True)),
                        math.fsum(w * v for w, v in zip(weights, (y0, y1, y2, y3), strict=True)),
                    )
                )
        elif operator == b"h":
            points.append(points[0])
        elif operator in (b"S", b"s"):
            lines.append(shapely.LineString(points))
    return size, lines
