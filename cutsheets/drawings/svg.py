"""Show a drawing on a page, as SVG.

Colours are presentation attributes and never `style`: a strict content security policy lets them through, and a
style sheet may override them by class (`d-` and the role, or `d-fill-` and the fill). No ids are used, so any number
of drawings can stand on one page.
"""

from __future__ import annotations

from html import escape

from cutsheets.drawings.lettering import LEFTWARD, typeset
from cutsheets.drawings.scene import (
    SHARE,
    Circle,
    Fill,
    Polygon,
    Polyline,
    Primitive,
    Role,
    Scene,
    Text,
    Weight,
    hatch_lines,
)
from cutsheets.solids import Point

INK, FIELD, EDGE, CHALK, FOAM, WASH = "#13201B", "#F4F7F2", "#586A60", "#2A2FA8", "#FFFFFF", "#D2D6F0"
STROKE: dict[Role, str] = {
    "outline": INK,
    "chalk": CHALK,
    "blank": INK,
    "waste": EDGE,
    "remnant": INK,
    "wall": EDGE,
    "coat": INK,
    "dim": INK,
    "label": INK,
    "mark": FIELD,  # the number on a cut's circle
}
FILL: dict[Fill, str] = {
    "none": "none",
    "foam": FOAM,
    "wash": WASH,
    "coat": INK,
    "mark": CHALK,
    "stripe": "currentColor",
}
PIXELS: dict[Weight, str] = {"hair": "1", "part": "1.5", "frame": "2", "cut": "4", "coat": "4"}
DASH = "6 4"
FACES = {"figures": ("700", "75%"), "strong": ("600", "82%"), "text": ("500", "88%")}  # weight, width of the family


def to_svg(scene: Scene, *, title: str, desc: str = "", width: int | None = None, ink: str = INK) -> str:
    """Return the drawing as one `<svg>` element; `width` in pixels, else it fills its container.

    `title` is what a screen reader says, `desc` a longer description, `ink` the colour of a grade's stripe.
    """
    left, bottom, right, top = scene.bounds
    pad = 0.01 * max(right - left, top - bottom)
    wide, high = right - left + 2 * pad, top - bottom + 2 * pad
    size = f' width="{width}" height="{_n(width * high / wide)}"' if width else ""
    more = f"<desc>{escape(desc)}</desc>" if desc else ""
    body = "".join(_shape(shape) for shape in scene.flat())
    box = " ".join(_n(value) for value in (left - pad, -top - pad, wide, high))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" viewBox="{box}"{size} fill="none" '
        f'color="{escape(ink)}" font-family="Radio Canada, Radio Canada Variable, sans-serif">'
        f"<title>{escape(title)}</title>{more}{body}</svg>"
    )


def _shape(shape: Primitive) -> str:
    match shape:
        case Polyline():
            return _path(_trace(shape.points), shape.role, shape.weight, dash=shape.dash)
        case Polygon():
            return _polygon(shape)
        case Circle(centre=(x, y)):
            stroke = _stroke(shape.role, shape.weight) if shape.role else ""
            return (
                f'<circle class="d-fill-{shape.fill}" cx="{_n(x)}" cy="{_n(-y)}" r="{_n(shape.radius)}" '
                f'fill="{FILL[shape.fill]}"{stroke}/>'
            )
        case Text():
            return _text(shape)


def _polygon(shape: Polygon) -> str:
    outline = "".join(_trace(ring) + "z" for ring in shape.rings)
    hatch = ""
    if shape.hatch:
        hatch = _path("".join(_trace(line) for line in hatch_lines(shape.rings, shape.hatch)), "waste", "hair")
    ground = f'<path class="d-fill-{shape.fill}" d="{outline}" fill="{FILL[shape.fill]}" fill-rule="evenodd"/>'
    return (
        (ground if shape.fill != "none" else "")
        + hatch
        + (_path(outline, shape.role, shape.weight, dash=shape.dash) if shape.role else "")
    )


def _text(shape: Text) -> str:
    setting = typeset(shape.parts, shape.face, shape.size, SHARE)
    x, y = shape.start
    turn = f" rotate({_n(-shape.angle)})" if shape.angle else ""
    # letters of all runs already stand from left to right
    fixed = ' unicode-bidi="bidi-override"' if any(LEFTWARD.search(run.text) for run in setting.glyphs) else ""
    weight, stretch = FACES[shape.face]
    colour = STROKE[shape.role]
    words = "".join(
        f'<text x="{_n(run.x)}" y="{_n(-run.y)}" font-size="{_n(run.size)}">{escape(run.text)}</text>'
        for run in setting.glyphs
    )
    bars = "".join(
        f'<rect x="{_n(bar.x)}" y="{_n(-bar.y - bar.thick)}" width="{_n(bar.width)}" height="{_n(bar.thick)}"/>'
        for bar in setting.bars
    )
    return (
        f'<g class="d-text d-{shape.role}" transform="translate({_n(x)} {_n(-y)}){turn}" fill="{colour}" '
        f'font-weight="{weight}" font-stretch="{stretch}" xml:space="preserve"{fixed}>{words}{bars}</g>'
    )


def _path(trace: str, role: Role, weight: Weight, *, dash: bool = False) -> str:
    return f'<path class="d-{role}" d="{trace}"{_stroke(role, weight, dash=dash)}/>'


def _stroke(role: Role, weight: Weight, *, dash: bool = False) -> str:
    dashes = f' stroke-dasharray="{DASH}"' if dash else ""
    return f' stroke="{STROKE[role]}" stroke-width="{PIXELS[weight]}" vector-effect="non-scaling-stroke"{dashes}'


def _trace(points: tuple[Point, ...]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(-y)}" for x, y in points)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
