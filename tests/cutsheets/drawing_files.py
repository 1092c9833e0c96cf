"""Drawings for tests: DXF text that ezdxf itself writes, SVG text, and rings that are easy to compare."""

import io
import math

import ezdxf
from hypothesis import strategies as st
from shapely import Polygon

from cutsheets.solids import Outline


def dxf(*draw, units=4, version="R2000"):
    """Return the bytes of a DXF file; each of `draw` is given the document and its model space."""
    document = ezdxf.new(version, units=units)
    for each in draw:
        each(document, document.modelspace())
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def svg(body, *, size='width="100mm" height="100mm"', box='viewBox="0 0 100 100"'):
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box}>{body}</svg>'.encode()


def rectangle(left, low, right, high):
    return ((left, low), (right, low), (right, high), (left, high))


@st.composite
def shapes(draw):
    """Up to two outlines beside each other, the first with up to two holes, and perhaps a chain above them; mm."""
    size = st.integers(1, 400_000).map(lambda um: um / 1000)
    wide, high, thin = draw(size) + 20, draw(size) + 20, 0.05 + draw(size) / 100
    holes = [from_corner(rectangle(x, 5.0, x + thin, 5 + thin)[::-1]) for x in range(5, 5 * draw(st.integers(1, 3)), 5)]
    first = Outline(rectangle(0.0, 0.0, wide, high), tuple(holes))
    second = Outline(from_corner(((-9.5, 1.0), (-1.25, 0.5), (-3.0, 1.5 + draw(size)))))
    chain = tuple((3.0 * i, high + 50 + draw(size)) for i in range(draw(st.integers(2, 9))))
    return draw(st.sampled_from([(first,), (first, second)])), draw(st.sampled_from([(), (chain,)]))


def from_corner(ring):
    """Return a ring from its leftmost, lowest corner on."""
    start = ring.index(min(ring))
    return (*ring[start:], *ring[:start])


def rings_of(outlines, chains):
    """Return all corners in an order that does not depend on how they were drawn."""
    largest_first = sorted(outlines, key=lambda outline: -Polygon(outline.outer).area)
    return [ring for outline in largest_first for ring in outline.rings] + list(chains)


def farthest(some, others):
    """Return how far corners lie from those that they should be, mm; inf when their numbers differ."""
    if list(map(len, some)) != list(map(len, others)):
        return math.inf
    pairs = (pair for one, other in zip(some, others, strict=True) for pair in zip(one, other, strict=True))
    return max(math.dist(*pair) for pair in pairs)
