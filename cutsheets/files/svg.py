"""Drawings as SVG: shapes and paths in, clean paths in real units out.

Read are rect, circle, ellipse, line, polyline, polygon and path with every curve, transforms, nested viewports and
what `use` repeats. The tree is walked here and svgelements is asked only for single paths, transforms and viewports,
so that nothing is ever fetched and no limit can be passed. Places are those of the root's own coordinates, y turned
up; lengths: 96 px to the inch (W3C, CSS Values and Units Level 3, absolute lengths).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import tau
from typing import Any, NamedTuple

import svgelements

from cutsheets.errors import CutsheetError
from cutsheets.files.xml import SAVE_PLAIN, Element, parse_xml
from cutsheets.solids import Outline, Point, Ring
from cutsheets.tracing import Drawn
from cutsheets.tracing.curves import bezier, ellipse
from cutsheets.tracing.drawn import CHORD, MOST_BYTES, MOST_POINTS, TOLERANCE, Gathering, guarded, refusal, too_large
from cutsheets.tracing.loops import trace
from cutsheets.units import Unit, to_unit

MM = {"in": 25.4, "mm": 1.0}
NAMESPACE = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink href"
PX = {"": 1.0, "px": 1.0, "in": 96.0, "cm": 96 / 2.54, "mm": 96 / 25.4, "q": 24 / 25.4, "pt": 96 / 72, "pc": 16.0}
SYSTEM: dict[str, Unit] = {"in": "in", "pt": "in", "pc": "in", "cm": "mm", "mm": "mm", "q": "mm"}
GROUPS = {"g", "a", "svg"}
NOT_DRAWN = {
    "title", "desc", "metadata", "defs", "symbol", "clipPath", "mask", "pattern", "marker", "filter",
    "linearGradient", "radialGradient",
}  # fmt: skip
EACH = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7}  # numbers of one piece of a path
DEEPEST_USE = 100  # groups, and uses of them, within one another

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_NUMBERS = re.compile(_NUMBER)
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*(px|in|cm|mm|q|pt|pc|%)?\s*", re.IGNORECASE)
_PATH = re.compile(r"\s*[Mm][MmLlHhVvCcSsQqTtAaZz0-9eE+\-.,\s]*")
_COMMANDS = re.compile(r"([mlhvcsqta])([^a-df-z]*)")
_TRANSFORM = re.compile(
    rf"\s*(?:(?:matrix|translate|scale|rotate|skewX|skewY)\s*\(\s*{_NUMBER}(?:[\s,]*{_NUMBER})*\s*\)[\s,]*)*"
)


class View(NamedTuple):
    """The space in which an element stands: its matrix to millimetres, y up, and the viewport for percentages."""

    matrix: Any
    width: float
    height: float


def read_svg(data: bytes, *, unit: Unit | None = None, tolerance: float = TOLERANCE, chord: float = CHORD) -> Drawn:
    """Return the drawing in an SVG file, traced; mm, y upwards.

    `unit` is that of the numbers in the file, None where its width, height and viewBox are to say it; without any of
    these a number is a pixel, 1/96 in. Raises CutsheetError: `drawing-unit` (a viewBox of no stated size, or scaled
    unevenly), `drawing-unsafe`, `drawing-size`, `drawing-range`, `drawing-kind` (no SVG), `drawing-broken`.
    """
    if len(data) > MOST_BYTES:
        raise too_large(f"is larger than {MOST_BYTES // 1_000_000} MB")
    root = parse_xml(data)
    if _name(root) != "svg":
        raise refusal("drawing-kind", "This XML file is not an SVG drawing; choose another file.")
    with guarded(SAVE_PLAIN):
        return _read(root, unit, tolerance, chord)


def write_svg(outlines: Sequence[Outline], unit: Unit, chains: Iterable[Ring] = ()) -> bytes:
    """Return an SVG file of the size of the shapes, a path each; raises CutsheetError `empty`."""
    chains = tuple(chains)
    points = [point for outline in outlines for point in outline.outer] + [p for chain in chains for p in chain]
    if not points:
        raise CutsheetError("empty", "There is nothing to write; choose a shape.")
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    pad = 1.0  # mm, so that no line lies on the border and nothing is 0 wide
    width, height = right - left + 2 * pad, high - low + 2 * pad
    box = " ".join(_n(value, unit) for value in (left - pad, -high - pad, width, height))
    paths = [
        (f'fill="#FFFFFF" fill-rule="evenodd" d="{"".join(_d(r, unit) + "Z" for r in o.rings)}"') for o in outlines
    ]
    paths += [f'fill="none" d="{_d(chain, unit)}"' for chain in chains]
    body = "".join(f'<path stroke="#000000" stroke-width="{_n(0.25, unit)}" {path}/>\n' for path in paths)
    return (
        f'<svg xmlns="{NAMESPACE}" width="{_n(width, unit)}{unit}" height="{_n(height, unit)}{unit}" viewBox="{box}">\n'
        f"{body}</svg>\n"
    ).encode()


def _d(points: Ring, unit: Unit) -> str:
    return "M" + "L".join(f"{_n(x, unit)} {_n(-y, unit)}" for x, y in points)


def _n(mm: float, unit: Unit) -> str:
    text = f"{to_unit(mm, unit):.9f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _read(root: Element, unit: Unit | None, tolerance: float, chord: float) -> Drawn:
    said, per_unit = _scale(root.attributes, unit)
    box = _box(root.attributes)
    width, height = (box[2], box[3]) if box else (0.0, 0.0)
    walk = _Walk(Gathering(chord), _named(root))
    walk.inside(root, View(svgelements.Matrix(per_unit, 0, 0, -per_unit, 0, 0), width, height), 0)
    gathering = walk.gathering
    outlines, chains, troubles = trace(gathering.paths, tolerance=tolerance)
    return Drawn(
        outlines, chains, troubles, unit=said, per_unit=per_unit, chord=chord, entities=gathering.entities,
        skipped=dict(gathering.skipped),
    )  # fmt: skip


def _scale(attributes: Mapping[str, str], unit: Unit | None) -> tuple[Unit | None, float]:
    """Return the system that the root's size is written in, and the millimetres of one of its units as it is used."""
    sizes = [_LENGTH.fullmatch(attributes.get(name, "")) for name in ("width", "height")]
    stated = [(float(found[1]), (found[2] or "").lower()) if found and found[2] != "%" else None for found in sizes]
    said = next((SYSTEM[size[1]] for size in stated if size and size[1] in SYSTEM), None)
    box = _box(attributes)
    if unit:
        return said, MM[unit]
    if not box:
        return said, 25.4 / 96
    scales = [
        size[0] * PX[size[1]] / 96 * 25.4 / across
        for size, across in zip(stated, box[2:], strict=True)
        if size and across
    ]
    if not scales or min(scales) <= 0:
        raise refusal(
            "drawing-unit",
            "This drawing does not say how large it is (its svg element has no width in mm or in); "
            "say whether its numbers are inches or millimetres.",
        )
    fit = attributes.get("preserveAspectRatio", "").split()
    if "none" in fit and max(scales) > min(scales) * (1 + 1e-6):
        raise refusal("drawing-unit", f"This drawing is stretched in one direction; {SAVE_PLAIN}.")
    return said, max(scales) if "slice" in fit else min(scales)


def _box(attributes: Mapping[str, str]) -> tuple[float, ...] | None:
    """Return the four numbers of a viewBox, None where there is none."""
    if "viewBox" not in attributes:
        return None
    box = tuple(map(float, _NUMBERS.findall(attributes["viewBox"])))
    if len(box) != 4 or not (box[2] > 0 and box[3] > 0):
        raise _broken(f"viewBox “{attributes['viewBox'][:40]}”")
    return box


def _broken(what: str) -> CutsheetError:
    return refusal("drawing-broken", f"This SVG file has a wrong {what}; {SAVE_PLAIN}.")


def _name(element: Element) -> str:
    """Return the SVG name of an element, "" for one of another language."""
    namespace, _, name = element.name.rpartition(" ")
    return name if namespace in ("", NAMESPACE) else ""


def _named(root: Element) -> dict[str, Element]:
    """Return the elements by their ids."""
    found: dict[str, Element] = {}
    waiting = [root]
    while waiting:
        element = waiting.pop()
        if "id" in element.attributes:
            found.setdefault(element.attributes["id"], element)
        waiting += element.children
    return found


@dataclass(slots=True)
class _Walk:
    """One walk through the tree."""

    gathering: Gathering
    named: Mapping[str, Element]

    def inside(self, element: Element, view: View, depth: int) -> None:
        """Take in everything that an element holds."""
        if depth > DEEPEST_USE:
            raise too_large(f"has groups within groups more than {DEEPEST_USE} deep")
        for child in element.children:
            self.one(child, view, depth)

    def one(self, element: Element, view: View, depth: int) -> None:
        """Take in one element."""
        name, attributes = _name(element), element.attributes
        if not name or name in NOT_DRAWN:
            return
        self.gathering.count()
        style = _style(attributes)
        if style.get("display") == "none" or style.get("visibility") in ("hidden", "collapse"):
            self.gathering.skip("hidden")
            return
        if "clip-path" in style or "mask" in style:
            self.gathering.skip("clip-path")  # what it would hide is drawn
        view = view._replace(matrix=_transform(style.get("transform", "")) * view.matrix)
        if name in GROUPS:
            self.inside(element, _viewport(attributes, attributes, view) if name == "svg" else view, depth + 1)
        elif name == "use":
            self.use(attributes, view, depth)
        elif name in SHAPES:
            for path in SHAPES[name](attributes, view, self.gathering.chord):
                self.gathering.add(path)
        else:
            self.gathering.skip(name)

    def use(self, attributes: Mapping[str, str], view: View, depth: int) -> None:
        """Take in what a use repeats, if it is in this file."""
        target = attributes.get("href", attributes.get(XLINK, ""))
        element = self.named.get(target[1:]) if target.startswith("#") else None
        if element is None:
            self.gathering.skip("use of something that is not in this file")
            return
        x, y = _length(attributes, "x", view.width), _length(attributes, "y", view.height)
        view = view._replace(matrix=svgelements.Matrix(1, 0, 0, 1, x, y) * view.matrix)
        if _name(element) == "symbol":
            size = {name: attributes[name] for name in ("width", "height") if name in attributes}
            self.inside(element, _viewport(size, element.attributes, view), depth + 1)
        elif depth > DEEPEST_USE:
            raise too_large(f"has groups within groups more than {DEEPEST_USE} deep")
        else:
            self.one(element, view, depth + 1)


def _style(attributes: Mapping[str, str]) -> dict[str, str]:
    """Return the attributes with those of `style` over them."""
    own = (item.partition(":") for item in attributes.get("style", "").split(";"))
    return {**attributes, **{name.strip(): value.strip() for name, _, value in own}}


def _transform(text: str) -> Any:
    """Return the matrix of a transform; a wrong one is refused, where the library would leave it out."""
    if not _TRANSFORM.fullmatch(text):
        raise _broken(f"transform “{text[:40]}”")
    return svgelements.Matrix(text)


def _viewport(size: Mapping[str, str], attributes: Mapping[str, str], view: View) -> View:
    """Return the space inside a nested svg or a symbol; its size is that of the space around it unless it says so."""
    x, y = _length(size, "x", view.width), _length(size, "y", view.height)
    width, height = _length(size, "width", view.width, "100%"), _length(size, "height", view.height, "100%")
    box = _box(attributes)
    if not box:
        return View(svgelements.Matrix(1, 0, 0, 1, x, y) * view.matrix, width, height)
    if not (width > 0 and height > 0):
        raise _broken("size of a nested drawing (it says none)")
    fit = svgelements.Viewbox.viewbox_transform(
        x, y, width, height, *box, attributes.get("preserveAspectRatio")
    )  # the rule of SVG 2, 8.2
    return View(svgelements.Matrix(fit) * view.matrix, box[2], box[3])


def _length(attributes: Mapping[str, str], name: str, whole: float, default: str = "0") -> float:
    """Return a length in user units; `whole` is what 100 % means, 0 where nothing does."""
    text = attributes.get(name, default)
    found = _LENGTH.fullmatch(default if text == "auto" else text)
    if not found:
        raise _broken(f"{name} “{text[:40]}”")
    if found[2] == "%":
        return float(found[1]) / 100 * whole
    return float(found[1]) * PX[(found[2] or "").lower()]


def _rect(attributes: Mapping[str, str], view: View, chord: float) -> list[list[Point]]:
    x, y = _length(attributes, "x", view.width), _length(attributes, "y", view.height)
    width, height = _length(attributes, "width", view.width), _length(attributes, "height", view.height)
    if not (width > 0 and height > 0):
        return []
    rx = _length(attributes, "rx", view.width, attributes.get("ry", "0"))
    ry = _length(attributes, "ry", view.height, attributes.get("rx", "0"))
    return _segments(svgelements.Path(svgelements.Rect(x, y, width, height, rx, ry)), view.matrix, chord)


def _round(attributes: Mapping[str, str], view: View, chord: float) -> list[list[Point]]:
    """Return a circle or an ellipse."""
    across = ((view.width**2 + view.height**2) / 2) ** 0.5
    x, y = _length(attributes, "cx", view.width), _length(attributes, "cy", view.height)
    radius = attributes.get("r", "0")
    rx = _length(attributes, "rx", view.width, attributes.get("ry", radius)) if "r" not in attributes else None
    ry = _length(attributes, "ry", view.height, attributes.get("rx", radius)) if "r" not in attributes else None
    if rx is None or ry is None:
        rx = ry = _length(attributes, "r", across)
    if not (rx > 0 and ry > 0):
        return []
    matrix = view.matrix
    points = ellipse(
        _at(matrix, x, y), (matrix.a * rx, matrix.b * rx), (matrix.c * ry, matrix.d * ry),
        start=0.0, sweep=tau, chord=chord,
    )  # fmt: skip
    return [[*points[:-1], points[0]]]


def _line(attributes: Mapping[str, str], view: View, _: float) -> list[list[Point]]:
    ends = [(_length(attributes, f"x{i}", view.width), _length(attributes, f"y{i}", view.height)) for i in (1, 2)]
    return [[_at(view.matrix, x, y) for x, y in ends]]


def _polyline(attributes: Mapping[str, str], view: View, _: float) -> list[list[Point]]:
    text = attributes.get("points", "")
    numbers = [float(number) for number in _NUMBERS.findall(text)]
    if len(numbers) % 2 or _NUMBERS.sub("", text).strip(" \t\r\n,"):
        raise _broken(f"list of points “{text[:40]}”")
    return [[_at(view.matrix, x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]] if numbers else []


def _polygon(attributes: Mapping[str, str], view: View, chord: float) -> list[list[Point]]:
    return [[*points, points[0]] for points in _polyline(attributes, view, chord)]


def _path(attributes: Mapping[str, str], view: View, chord: float) -> list[list[Point]]:
    text = attributes.get("d", "")
    if not text.strip() or text.strip() == "none":
        return []
    if not _PATH.fullmatch(text):
        raise _broken(f"path “{text[:40]}”")
    pieces = sum(len(_NUMBERS.findall(numbers)) // EACH[letter] for letter, numbers in _COMMANDS.findall(text.lower()))
    if pieces > MOST_POINTS:  # before the library takes its 20 µs for each
        raise too_large(f"has a path of more than {MOST_POINTS:,} pieces")
    try:
        path = svgelements.Path(text)
    except (ValueError, TypeError) as error:
        raise _broken(f"path “{text[:40]}”") from error
    return _segments(path, view.matrix, chord)


def _segments(path: Any, matrix: Any, chord: float) -> list[list[Point]]:
    """Return the lines of a path, a new one wherever it is moved."""
    lines: list[list[Point]] = []
    for segment in path:
        if isinstance(segment, svgelements.Move):
            lines.append([_at(matrix, *segment.end)])
            continue
        if segment.end is None:  # a close without anything before it
            continue
        if isinstance(segment, svgelements.Close):
            lines[-1].append(lines[-1][0])
            lines.append([lines[-1][0]])  # what follows without a move begins where the loop closed
            continue
        lines[-1] += _flattened(segment, matrix, chord)[1:]
    return [line for line in lines if len(line) > 1]


def _flattened(segment: Any, matrix: Any, chord: float) -> list[Point]:
    """Return the points of one segment."""
    start, end = _at(matrix, *segment.start), _at(matrix, *segment.end)
    match segment:
        case svgelements.CubicBezier():
            return bezier([start, _at(matrix, *segment.control1), _at(matrix, *segment.control2), end], chord)
        case svgelements.QuadraticBezier():
            return bezier([start, _at(matrix, *segment.control), end], chord)
        case svgelements.Arc() if segment.rx and segment.ry and segment.sweep:
            centre = segment.center
            u, v = (
                (matrix.a * dx + matrix.c * dy, matrix.b * dx + matrix.d * dy)
                for dx, dy in ((p.x - centre.x, p.y - centre.y) for p in (segment.prx, segment.pry))
            )
            points = ellipse(_at(matrix, *centre), u, v, start=segment.get_start_t(), sweep=segment.sweep, chord=chord)
            return [start, *points[1:-1], end]
    return [start, end]


def _at(matrix: Any, x: float, y: float) -> Point:
    return (matrix.a * x + matrix.c * y + matrix.e, matrix.b * x + matrix.d * y + matrix.f)


SHAPES: dict[str, Callable[[Mapping[str, str], View, float], list[list[Point]]]] = {
    "rect": _rect,
    "circle": _round,
    "ellipse": _round,
    "line": _line,
    "polyline": _polyline,
    "polygon": _polygon,
    "path": _path,
}
