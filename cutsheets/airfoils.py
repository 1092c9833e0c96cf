"""Sections of wings: the NACA four-digit family, what a skin leaves of a section, and two sections point for point.

Thickness, mean line and the rule that the thickness is laid off at right angles to the mean line: Jacobs, Ward and
Pinkerton, NACA Report 460 (1933); Ladson, Brooks and others, NASA TM 4741 (1996). The last coefficient, -0.1015,
leaves the trailing edge open as there. x runs aft from the leading edge, y is up.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, get_parts

from cutsheets.errors import CutsheetError
from cutsheets.kerf import band, ring_of
from cutsheets.sections import SAME
from cutsheets.solids import Point, Ring

Floats = NDArray[np.float64]
STATIONS = 300  # on each side: an edge of a 300 mm chord lies within 0.003 mm of the curve
THICKEST = 40  # per cent of the chord
HALVINGS = 40  # of the chord: to a picometre
SLIVER = 1e-6  # mm²: crumbs of arithmetic, not foam


@dataclass(frozen=True, slots=True, eq=False)
class Airfoil:
    """A section and its two sides, each from nose to tail, mm; fractions of the chord count `chord` from `nose`.

    `code` is that of a NACA section, whose surface is known between the points too.
    """

    ring: Ring
    upper: Floats
    lower: Floats
    nose: float
    chord: float
    code: str = ""


def naca(code: str, chord: float, stations: int = STATIONS, where: str = "naca") -> Ring:
    """Return a four-digit section: from the trailing edge over the upper side to the nose and back, counter-clockwise.

    `stations` is the number of steps on each side, close at nose and tail (cosine). Raises CutsheetError `naca`.

    >>> [(round(x, 3), round(y, 3)) for x, y in naca("0012", 100, 2)]
    [(100.0, 0.126), (50.0, 5.294), (0.0, 0.0), (50.0, -5.294), (100.0, -0.126)]
    """
    at = (1 - np.cos(np.linspace(0, np.pi, stations + 1))) / 2
    upper, lower = surfaces(code, at, where)
    return tuple(map(tuple, (chord * np.concatenate((upper[::-1], lower[1:]))).tolist()))


def surfaces(code: str, at: Sequence[float] | Floats, where: str = "naca") -> tuple[Floats, Floats]:
    """Return the points of upper and lower surface at fractions of a chord of 1."""
    camber, place, thickness = _digits(code, where)
    x = np.asarray(at, float)
    half = 5 * thickness * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    if not camber:
        return np.column_stack((x, half)), np.column_stack((x, -half))
    ahead = x < place
    share = camber / np.where(ahead, place, 1 - place) ** 2
    mean = share * (np.where(ahead, 0.0, 1 - 2 * place) + 2 * place * x - x**2)
    slope = np.arctan(2 * share * (place - x))
    normal = np.column_stack((-np.sin(slope), np.cos(slope))) * half[:, None]
    line = np.column_stack((x, mean))
    return line + normal, line - normal


def _digits(code: str, where: str) -> tuple[float, float, float]:
    """Return camber, its place and thickness as fractions of the chord."""
    if not re.fullmatch(r"\d{4}", code, re.ASCII):
        raise CutsheetError("naca", "Write the four digits of a NACA section in quotes, as in “2412”.", where)
    camber, place, thickness = int(code[0]), int(code[1]), int(code[2:])
    if bool(camber) != bool(place):
        raise CutsheetError(
            "naca", f"NACA {code} has camber without a place, or a place without camber; write 0012 or 2412.", where
        )
    if not 1 <= thickness <= THICKEST:
        raise CutsheetError("naca", f"NACA {code} is {thickness} % thick; write 01 to {THICKEST} at its end.", where)
    return camber / 100, place / 10, thickness / 100


@lru_cache(maxsize=256)
def naca_airfoil(code: str, chord: float, where: str = "naca") -> Airfoil:
    """Return a four-digit section with its two sides; its chord is the line that the code counts from."""
    return replace(_airfoil(naca(code, chord, where=where), 0.0, chord), code=code)


def drawn_airfoil(ring: Ring, where: str = "section") -> Airfoil:
    """Return a drawn section with its two sides; its chord goes from the foremost to the rearmost point.

    `ring` is counter-clockwise. Raises CutsheetError `wing-section` where a side does not run steadily aft.
    """
    across = [x for x, _ in ring]
    drawn = _airfoil(ring, min(across), max(across) - min(across))
    if any((np.diff(side[:, 0]) <= SAME).any() for side in (drawn.upper, drawn.lower)):
        raise CutsheetError(
            "wing-section",
            "Upper and lower side must each run steadily aft from nose to tail; slant steps and hooks a little.",
            where,
        )
    return drawn


@lru_cache(maxsize=64)  # a line is worked out again at every key that is typed
def under_skin(finished: Airfoil, coat: float, where: str = "section") -> Airfoil:
    """Return the foam inside a skin `coat` mm thick all round, taken off at right angles to the surface.

    The foam ends where the two moved sides meet, some way ahead of a thin trailing edge; its chord is shorter by
    what is lost at nose and tail. Raises CutsheetError `coat-swallows-section` or `coat-splits-section`.
    """
    if not coat:
        return finished
    left = Polygon(finished.ring).difference(band(finished.ring, coat))
    parts = [part for part in get_parts(left) if part.area > SLIVER]
    if not parts:
        raise CutsheetError(
            "coat-swallows-section", "The skin leaves no foam in this section; take a thinner coat.", where
        )
    if len(parts) > 1:
        raise CutsheetError(
            "coat-splits-section", "The skin would cut the foam of this section in two; take a thinner coat.", where
        )
    before, after = Polygon(finished.ring).bounds, parts[0].bounds
    ahead, behind = after[0] - before[0], before[2] - after[2]
    return _airfoil(ring_of(parts[0]), finished.nose + ahead, finished.chord - ahead - behind)


def upper_point(airfoil: Airfoil, at: float) -> Point:
    """Return the point of the upper side at a fraction of the chord: on the curve where its equation is known."""
    if airfoil.code:
        x, y = _on_curve(airfoil.code, at)
        return x * airfoil.chord, y * airfoil.chord
    ((x, y),) = _sampled(airfoil, airfoil.upper, np.array([at]))
    return float(x), float(y)


def _on_curve(code: str, at: float) -> Point:
    """Return the point of the upper surface at a fraction of a chord of 1: the thickness stands slanting there."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if surfaces(code, [middle])[0][0, 0] < at else (low, middle)
    return at, float(surfaces(code, [high])[0][0, 1])


def matched(first: Airfoil, second: Airfoil) -> tuple[Ring, Ring]:
    """Return two sections as rings of as many points, each pair at one fraction of its chord.

    Every point of both sections serves as a station of both, so neither loses a corner. From the tail over the upper
    side to the nose and back, counter-clockwise.
    """
    uppers = _at_equal_fractions(first, second, "upper")
    lowers = _at_equal_fractions(first, second, "lower")
    one, two = (
        tuple(map(tuple, np.concatenate((upper[::-1], lower)).tolist()))
        for upper, lower in zip(uppers, lowers, strict=True)
    )
    return one, two


def _at_equal_fractions(first: Airfoil, second: Airfoil, side: str) -> tuple[Floats, Floats]:
    both = [(airfoil, getattr(airfoil, side)) for airfoil in (first, second)]
    shares = np.concatenate([(line[:, 0] - airfoil.nose) / airfoil.chord for airfoil, line in both])
    at = np.unique(np.round(shares, 12))  # so that the same station of two chords is one
    one, two = (_sampled(airfoil, line, at) for airfoil, line in both)
    return one, two


def _sampled(airfoil: Airfoil, side: Floats, at: Floats) -> Floats:
    x = np.clip(airfoil.nose + at * airfoil.chord, side[0, 0], side[-1, 0])
    return np.column_stack((x, np.interp(x, side[:, 0], side[:, 1])))


def _airfoil(ring: Ring, nose: float, chord: float) -> Airfoil:
    """Return a counter-clockwise ring cut into its two sides; upright edges at nose and tail belong to neither."""
    points = np.array(ring)
    x, y = points.T
    tail, front = np.flatnonzero(x > x.max() - SAME), np.flatnonzero(x < x.min() + SAME)
    tail_top, nose_top = tail[y[tail].argmax()], front[y[front].argmax()]
    tail_low, nose_low = tail[y[tail].argmin()], front[y[front].argmin()]
    upper, lower = _walk(points, tail_top, nose_top), _walk(points, nose_low, tail_low)
    return Airfoil(ring, upper[::-1], lower, nose, chord)


def _walk(points: Floats, start: int, end: int) -> Floats:
    """Return the points of a ring from one index on to another."""
    count = len(points)
    return points[(start + np.arange((end - start) % count + 1)) % count]
