"""Every tolerance of the toolkit, each with its reason, grouped by what it decides; `ORDER` says what must stay below what.

All in millimetres unless the group or the name says otherwise.  Sizes that the trade chooses (webs, kerfs, clearances) are no
tolerances and stand beside what they decide.
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "ANGLE_TOLERANCE",
    "AREA_SHARE",
    "BROKEN_RING_ARCS",
    "BRUSH_SMEAR",
    "CHAIN_GAP",
    "CHORD_TOLERANCE",
    "CONTACT_TOLERANCE",
    "COSINE_ROUNDING",
    "COUNT_TIE",
    "COVER_SINE",
    "CROSSING_CHORD",
    "CURVE_FOLLOW",
    "CYLINDER_SPLINE",
    "DERIVATIVE_STEP",
    "FILM",
    "FILM_AREA",
    "FIT_TOLERANCE",
    "FLAT_TOUCH",
    "INSIDE",
    "KERNEL_CORNER",
    "LARGEST",
    "LEAST_LINE",
    "MEASURED_CHORD",
    "MEETING_COSINE",
    "MEETING_SINE",
    "NEEDLE_SINE",
    "ON_BEND_LINE",
    "ON_BORDER",
    "ORDER",
    "OVERLAP_VOLUME",
    "PIN_TOLERANCE",
    "POINT_TOLERANCE",
    "RELATIVE_ROUNDING",
    "ROUNDING",
    "SAME_AREA",
    "SAME_PANEL",
    "SAME_PLACE",
    "SEARCH_SLACK",
    "SELECTOR_TOLERANCE",
    "SHEET_SLACK",
    "SIDE_STEP",
    "SMOOTH_TURN",
    "SQUARE_TOLERANCE_DEG",
    "TANGENT_SINE",
    "TURN_AGREES",
    "TURN_ROUNDING",
    "WRITTEN",
    "is_zero",
]

# Lengths, from what arithmetic loses to what a caliper tells apart.

ROUNDING: Final = 1e-9
"""Lengths that differ by less differ by rounding alone: the last digits of some sums of metres.  Room that is missing by less
is there."""

POINT_TOLERANCE: Final = 1e-7
"""Two points nearer than this are one point: the kernel's own confusion length."""

SAME_PLACE: Final = 1e-6
"""Corners, and places along a line, nearer than this are one: what turning and moving a product may shift them."""

WRITTEN: Final = 1e-6
"""Ends of a path nearer than this are one point: what coordinates are written to in files."""

SHEET_SLACK: Final = 1e-6
"""By how much a part may exceed its sheet, a sheet its bed, or a distance fall short: rounding of coordinates."""

SEARCH_SLACK: Final = 1e-6
"""How far beside a box of edges a line is looked at all the same, so that rounding leaves no edge out."""

ON_BEND_LINE: Final = 1e-6
"""How far from a bend line a corner or a border may lie and still count as on it."""

PIN_TOLERANCE: Final = 1e-9
"""How far (mm or degrees) a pinned piece may be from its pin: only what arithmetic loses."""

SIDE_STEP: Final = 2e-6
"""How far to step off an edge to ask what lies on either side: well above POINT_TOLERANCE and the rounding of
coordinates of a few metres, well below anything that a machine could cut."""

KERNEL_CORNER: Final = 1e-5
"""Corners nearer than this that were read from a solid are one: rounding in the kernel, far below any cut."""

SAME_PANEL: Final = 1e-5
"""Largest distance between corresponding points of shapes that are the same panel."""

CONTACT_TOLERANCE: Final = 1e-4
"""Faces nearer than this touch: far above rounding in chained placements, far below a sheet's thickness tolerance."""

CHAIN_GAP: Final = 1e-4
"""Ends of imported curves nearer than this are joined: ten times the rounding of drawings written with five decimals."""

SELECTOR_TOLERANCE: Final = 1e-4
"""Middles nearer than this are one rank, and directions nearer (rad) are one, to selectors: CadQuery's number, since another
would pick other faces than CadQuery does."""

ON_BORDER: Final = 1e-4
"""A corner of a piece nearer to a region's border than this lies on it: well below BRUSH_SMEAR."""

INSIDE: Final = 1e-3
"""How far inside a border to look along a line, so that rounding in placements doesn't decide what is seen."""

FILM: Final = 1e-3
"""How far beyond a claim to look for material of the same plate: nearer than this there is no web, only a film."""

FLAT_TOUCH: Final = 1e-3
"""Parts of a panel laid flat, or a cut-out and a bend line, no further apart than this touch: they would be cut as one."""

LEAST_LINE: Final = 1e-3
"""How long a contact, or how far off the middle a thing, must be to count: shorter ones are corners that meet."""

BRUSH_SMEAR: Final = 5e-3
"""By how much a brush paints more than it covers: what chords of its round and of the region's curves leave between."""

FIT_TOLERANCE: Final = 5e-3
"""Largest difference between the clearance planned and the one measured on the solids."""

LARGEST: Final = 1e5
"""No size and no place is further from 0 than this: 100 m, beyond any sheet and any product of sheets, and the last digit
of such a number (1.5e-11 mm) is still far below POINT_TOLERANCE.  Far beyond it, what is computed is silently wrong."""

# Distances between a curve and what stands for it.

MEASURED_CHORD: Final = 1e-5
"""Chords where lengths, areas and volumes are measured on them: a tenth of what touches, and far below `FIT_TOLERANCE`."""

CYLINDER_SPLINE: Final = 1e-5
"""What the kernel is told about splines on cylinders: they leave them by less."""

CURVE_FOLLOW: Final = 2e-5
"""Arcs that follow a true curve: a fifth of what is promised, 1e-4."""

CROSSING_CHORD: Final = 1e-4
"""Chords where paths and loops are tested for crossing, and points for their side: what touches is that near."""

BROKEN_RING_ARCS: Final = 1e-3
"""Arcs that take the place of an ellipse or spline in a broken ring: far below any kerf."""

CHORD_TOLERANCE: Final = 2e-3
"""Chords where a check works on polygons: a tenth of the finest kerf."""

DERIVATIVE_STEP: Final = 1e-6
"""Share of a curve's way over which a derivative is taken."""

# Angles: sines, cosines' distance from 1, and radians, unless the name says degrees.

ANGLE_TOLERANCE: Final = 1e-9
"""Sine of the angle below which two unit vectors count as parallel, or square: over a metre of edge that is a nanometre."""

MEETING_SINE: Final = 1e-7
"""Sine up to which edges, axes and normals of plates that meet count as parallel or square: over a metre, 0.1 µm."""

COVER_SINE: Final = 1e-6
"""Sine below which plates lie on each other, or stand square: over a thickness of 12 mm that is 12 nm."""

TANGENT_SINE: Final = 1e-5
"""Sine of the turn below which two segments just continue: half a kerf of 0.5 mm then shifts by 2.5 nm across."""

NEEDLE_SINE: Final = 1e-3
"""Sine of the turn below which a closing corner is always trimmed: untrimmed it would leave a needle too thin for the
arrangement.  Blunter corners stay untrimmed there, because trimming all corners of a hole that is gone turns it inside
out and back."""

COSINE_ROUNDING: Final = 1e-9
"""How far a cosine may be from 1 for unit vectors that point the same way: 45 µrad, far below what a plate is turned by."""

MEETING_COSINE: Final = 1e-7
"""How far the cosine between joint lines or normals may be from 1 for them to run alike: 0.45 mrad."""

TURN_ROUNDING: Final = 1e-9
"""How far (radians) a turn may be from a full one, or from none, by rounding."""

SMOOTH_TURN: Final = 1e-6
"""Turns below this (radians) are no corner: what a side of a metre then leaves its line by is a micrometre."""

TURN_AGREES: Final = 1e-6
"""How far (radians) a tangent arc's turn may be from the turn that it replaces: rounding; a wrong arc is off by a full turn."""

SQUARE_TOLERANCE_DEG: Final = 1e-6
"""Dihedral angles nearer to 90° or to a limit than this are there: over a metre that is 17 nm."""

# Counts and shares, without unit.

RELATIVE_ROUNDING: Final = 1e-9
"""Share by which equal products of sizes may differ by rounding."""

COUNT_TIE: Final = 1e-9
"""Counts, and lengths that counts come from, nearer to a tie or a whole number than this are there: a line's length carries
rounding from how the product stands."""

AREA_SHARE: Final = 1e-6
"""Share by which two areas of the same shape may differ: rounding along its whole border."""

# Areas in mm², volumes in mm³.

FILM_AREA: Final = 1e-6
"""Area below which two regions of one plate share nothing: a strip a metre long and a picometre wide."""

SAME_AREA: Final = 1e-3
"""Area by which sums may be off, or two shapes differ and be the same: ten times a metre of border off by POINT_TOLERANCE."""

OVERLAP_VOLUME: Final = 1e-3
"""Common volume below which two plates only touch: a 0.1 µm film on a contact of 100 × 100 mm."""

ORDER: Final = (
    ("ROUNDING", "POINT_TOLERANCE", "SAME_PLACE", "SIDE_STEP", "KERNEL_CORNER", "CONTACT_TOLERANCE", "INSIDE", "FIT_TOLERANCE"),
    ("POINT_TOLERANCE", "WRITTEN", "CHAIN_GAP"),
    ("POINT_TOLERANCE", "MEASURED_CHORD", "CONTACT_TOLERANCE"),
    ("MEASURED_CHORD", "CURVE_FOLLOW", "CROSSING_CHORD", "BROKEN_RING_ARCS", "CHORD_TOLERANCE", "FIT_TOLERANCE"),
    ("SAME_PANEL", "CONTACT_TOLERANCE", "FLAT_TOUCH"),
    ("CONTACT_TOLERANCE", "FILM", "FIT_TOLERANCE"),
    ("ON_BORDER", "BRUSH_SMEAR"),
    ("SEARCH_SLACK", "SIDE_STEP"),
    ("ANGLE_TOLERANCE", "MEETING_SINE", "COVER_SINE", "TANGENT_SINE", "NEEDLE_SINE"),
    ("COSINE_ROUNDING", "MEETING_COSINE"),
    ("TURN_ROUNDING", "SMOOTH_TURN"),
    ("RELATIVE_ROUNDING", "AREA_SHARE"),
    ("FILM_AREA", "SAME_AREA"),
)
"""Chains of names, each tolerance finer than the next: what one step takes for one must not be two for a coarser one."""


def is_zero(length: float) -> bool:
    """Whether a length in mm is nothing, as far as the kernel can tell.

    >>> is_zero(5e-8), is_zero(2e-7)
    (True, False)
    """
    return abs(length) <= POINT_TOLERANCE
