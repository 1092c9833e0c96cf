import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from cutsheets.volumes import between, loft_faces, prismatoid, twisted_faces

SQUARE = ((-1, -1), (1, -1), (1, 1), (-1, 1))
RING = st.lists(st.tuples(st.floats(1, 4), st.floats(1, 4)), min_size=3, max_size=9)


def star(radii, dx=0.0, dy=0.0):
    turn = 2 * math.pi / len(radii)
    return tuple((dx + r * math.cos(i * turn), dy + r * math.sin(i * turn)) for i, r in enumerate(radii))


def turned(ring, angle):
    return tuple(
        (x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle)) for x, y in ring
    )


def mesh_area(rings, length):
    """Return the area of the triangles between sections that follow each other evenly along the length."""
    rings = np.array(rings)
    along = np.broadcast_to(np.linspace(0, length, len(rings))[:, None, None], (*rings.shape[:2], 1))
    points = np.concatenate((rings, along), axis=2)
    a, c = points[:-1], points[1:]
    b, d = np.roll(a, -1, axis=1), np.roll(c, -1, axis=1)
    triangles = (np.cross(b - a, d - a), np.cross(d - a, c - a))
    return sum(np.linalg.norm(cross, axis=2).sum() for cross in triangles) / 2


def split(ring, parts):
    """Return a ring with every edge in equal pieces: a fine mesh needs short edges too."""
    ends = zip(ring, ring[1:] + ring[:1], strict=True)
    return tuple(
        (a[0] + (b[0] - a[0]) * i / parts, a[1] + (b[1] - a[1]) * i / parts) for a, b in ends for i in range(parts)
    )


@pytest.mark.parametrize(("first", "last", "volume"), [
    (3, 3, math.pi * 9 * 5),  # cylinder
    (3, 0, math.pi * 9 * 5 / 3),  # cone
    (5, 3.5, math.pi * 5 / 3 * (25 + 5 * 3.5 + 3.5**2)),  # frustum: V = πh/3·(R² + Rr + r²)
])  # fmt: skip
def test_the_prismoidal_formula_gives_cylinder_cone_and_frustum(first, last, volume):
    # Machinery's Handbook, Volumes of Solids (memory)
    areas = (math.pi * r**2 for r in (first, (first + last) / 2, last))
    assert prismatoid(5, *areas) == pytest.approx(volume)


def test_the_frustum_of_a_pyramid_that_a_papyrus_gives():
    # Moscow Mathematical Papyrus, problem 14: sides 4 and 2, height 6, volume 56
    assert prismatoid(6, 16, 9, 4) == pytest.approx(56)


@settings(deadline=None)
@given(RING, st.floats(-3, 3), st.floats(-3, 3), st.floats(1, 30))
def test_the_volume_of_a_loft_is_what_its_slices_add_up_to(radii, dx, dy, length):
    # independent: areas of 400 slices by shapely, midpoint rule
    first, last = star([a for a, _ in radii]), star([b for _, b in radii], dx, dy)
    areas = [Polygon(between(first, last, share)).area for share in (0, 0.5, 1)]
    slices = [Polygon(between(first, last, (i + 0.5) / 400)).area for i in range(400)]
    assert prismatoid(length, *areas) == pytest.approx(length * math.fsum(slices) / 400, rel=1e-4)


@settings(deadline=None)
@given(RING, st.floats(-2, 2), st.floats(-2, 2), st.floats(2, 30))
def test_the_faces_of_a_loft_are_what_a_fine_mesh_of_triangles_measures(radii, dx, dy, length):
    first, last = (split(star([pair[i] for pair in radii], dx * i, dy * i), 12) for i in (0, 1))
    mesh = mesh_area([between(first, last, i / 40) for i in range(41)], length)
    assert loft_faces(length, first[::12], last[::12]) == pytest.approx(mesh, rel=2e-3)


def test_the_faces_of_a_prism_and_of_a_pyramid_s_frustum_are_plane():
    # plane geometry: girth × length, and four trapezia of the slant height
    assert loft_faces(5, SQUARE, SQUARE) == pytest.approx(40)
    half = tuple((x / 2, y / 2) for x, y in SQUARE)
    assert loft_faces(5, SQUARE, half) == pytest.approx(4 * (2 + 1) / 2 * math.hypot(5, 0.5))


@settings(deadline=None)
@given(st.lists(st.floats(1, 4), min_size=3, max_size=9), st.floats(0.05, 3), st.floats(3, 40))
def test_the_faces_of_a_twisted_part_are_what_a_fine_mesh_of_triangles_measures(radii, turns, length):
    ring = split(star(radii), 32)
    rings = [turned(ring, 2 * math.pi * turns * i / 500) for i in range(501)]
    assert twisted_faces(length, star(radii), turns) == pytest.approx(mesh_area(rings, length), rel=5e-3)


def test_a_strip_from_the_axis_outwards_is_a_helicoid():
    # helicoid of pitch 2πc to the radius r, one turn: π·(r·√(r² + c²) + c²·asinh(r/c)); Wolfram MathWorld, Helicoid
    r, c = 3.0, 0.8
    both_sides = ((0.0, 0.0), (r, 0.0))  # out and back: the same strip twice
    one = math.pi * (r * math.hypot(r, c) + c**2 * math.asinh(r / c))
    assert twisted_faces(2 * math.pi * c, both_sides, 1) == pytest.approx(2 * one)
