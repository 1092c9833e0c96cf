"""What a traced drawing is used for: a section, a half profile, outlines for letters and shapes.

Nothing is chosen for the user: where a drawing leaves a choice it is refused, with what to do.
"""

from __future__ import annotations

from typing import Any

from shapely import Polygon, affinity, box

from cutsheets.errors import CutsheetError
from cutsheets.solids import Outline, Ring
from cutsheets.tracing.drawn import TOLERANCE, Drawn, place, refusal
from cutsheets.tracing.joining import SAME

MOST_NAMED = 3  # troubles in one sentence


def as_section(drawn: Drawn, *, to_wall: bool, which: int | None = None) -> list[list[float]]:
    """Return the points [x, y] of the one outline without holes, mm, counter-clockwise from the wall.

    `to_wall` moves it sideways until it touches the wall, x = 0, and up or down until its lowest point is y = 0.
    `which` chooses among several, counted from 0. Raises CutsheetError `section-none`, `section-choice`,
    `section-holes`, `section-wall` (beyond the wall and not to be moved).
    """
    outline = _the_one(drawn, which, "section")
    if outline.holes:
        raise refusal(
            "section-holes",
            f"A section is cut in one go and has no holes; this one has one at {place(outline.holes[0][0])}. "
            "Take it as a cut-out shape, or delete the hole.",
        )
    left, low = min(x for x, _ in outline.outer), min(y for _, y in outline.outer)
    if to_wall:
        return _listed((x - left, y - low) for x, y in outline.outer)
    if left < -SAME:
        raise refusal(
            "section-wall", f"The section begins at x = {left:.3f} mm, beyond the wall at x = 0; move it to the wall."
        )
    return _listed(outline.outer)


def as_half_profile(drawn: Drawn, which: int | None = None) -> list[list[float]]:
    """Return the points [height, radius] from the base upwards, mm; the axis is x = 0, the base height 0.

    Taken from the one open chain to the right of the axis, or from the right half of the one closed outline, which
    must be the same on both sides or lie to the right only. Raises CutsheetError `profile-none`, `profile-choice`,
    `profile-axis`, `profile-holes`, `profile-uneven`.
    """
    if len(drawn.chains) == 1 and not drawn.outlines and which is None and drawn.chains[0][0] != drawn.chains[0][-1]:
        chain = drawn.chains[0]
    else:
        chain = _right_half(_the_one(drawn, which, "profile"))
    if min(x for x, _ in chain) < -SAME:
        raise refusal(
            "profile-axis",
            f"The line crosses the axis x = 0 near {place(min(chain))}; draw the right half only, on the axis.",
        )
    upwards = chain if chain[0][1] <= chain[-1][1] else chain[::-1]
    base = upwards[0][1]
    return _listed((y - base, abs(x)) for x, y in upwards)


def as_outlines(drawn: Drawn) -> list[dict[str, Any]]:
    """Return all outlines for cut-out shapes, mm, as drawn: name, outer, holes, qty.

    Raises CutsheetError `outlines-none`.
    """
    if not drawn.outlines:
        raise _nothing(drawn, "outlines")
    return [
        {
            "name": f"shape {i + 1}",
            "outer": _listed(outline.outer),
            "holes": [_listed(hole) for hole in outline.holes],
            "qty": 1,
        }
        for i, outline in enumerate(drawn.outlines)
    ]


def _the_one(drawn: Drawn, which: int | None, what: str) -> Outline:
    """Return the only outline, or the chosen one."""
    count = len(drawn.outlines)
    if not count:
        raise _nothing(drawn, what)
    if which is None and count > 1:
        raise refusal(
            f"{what}-choice",
            f"There are {count} separate outlines in this drawing; choose one, counted from 0, the largest first.",
        )
    if which is not None and not 0 <= which < count:
        raise refusal(f"{what}-choice", f"There is no outline {which}; they count from 0 to {count - 1}.")
    return drawn.outlines[which or 0]


def _nothing(drawn: Drawn, what: str) -> CutsheetError:
    """Return the refusal of a drawing without a closed outline, with the first reasons."""
    reasons = " ".join(trouble.message for trouble in drawn.troubles[:MOST_NAMED])
    skipped = ", ".join(f"{count} {name}" for name, count in sorted(drawn.skipped.items())[:MOST_NAMED])
    said = reasons or (f"It holds only what cannot be used: {skipped}." if skipped else "It is empty.")
    return refusal(f"{what}-none", f"There is no closed outline in this drawing. {said}")


def _right_half(outline: Outline) -> Ring:
    """Return the edge of the right half of an outline, from one end of the axis to the other."""
    if outline.holes:
        raise refusal(
            "profile-holes",
            f"A turned part is solid; this outline has a hole at {place(outline.holes[0][0])}. Delete it.",
        )
    whole = Polygon(outline.outer)
    left, low, right, high = whole.bounds
    if not left <= SAME or right <= SAME:
        raise refusal(
            "profile-axis",
            f"The outline lies from x = {left:.3f} to {right:.3f} mm; move it so that its axis is x = 0.",
        )
    half = whole.intersection(box(0, low - 1, right + 1, high + 1))
    mirrored = affinity.scale(whole, -1, 1, origin=(0, 0))
    if left < -TOLERANCE and whole.hausdorff_distance(mirrored) > 2 * TOLERANCE:
        raise refusal(
            "profile-uneven",
            "The two sides of the axis x = 0 differ, so it is not clear which to turn; draw the right half only.",
        )
    if not isinstance(half, Polygon):
        raise refusal("profile-axis", "The outline leaves the axis x = 0 and comes back to it; draw one solid shape.")
    return _off_axis(tuple((x, y) for x, y in half.exterior.coords[:-1]))


def _off_axis(ring: Ring) -> Ring:
    """Return a ring without its one side on the axis, as a chain."""
    count = len(ring)
    on_axis = [i for i in range(count) if abs(ring[i][0]) < SAME and abs(ring[(i + 1) % count][0]) < SAME]
    if not on_axis:
        raise refusal("profile-axis", "The outline has no side on the axis x = 0; close it there.")
    start = next(i for i in on_axis if (i - 1) % count not in on_axis)
    run = 0
    while (start + run) % count in on_axis:
        run += 1
    if run < len(on_axis):
        raise refusal("profile-axis", "The outline leaves the axis x = 0 and comes back to it; draw one solid shape.")
    return tuple(ring[(start + run + i) % count] for i in range(count - run + 1))


def _listed(points: Any) -> list[list[float]]:
    """Return points as lists, clean of float noise."""
    return [[round(float(first), 6) + 0.0, round(float(second), 6) + 0.0] for first, second in points]
