"""Show a drawing on paper, through reportlab: black only, no grey, hatches as lines.

Widths are points; the least is 0.6 pt, which a worn laser printer still holds.
"""

from __future__ import annotations

from collections.abc import Callable

from reportlab.pdfgen.canvas import Canvas

from cutsheets.drawings.lettering import JOINED, Glyphs, Setting, font, joined, typeset
from cutsheets.drawings.scene import SHARE, Polygon, Polyline, Primitive, Scene, Text, Weight, hatch_lines
from cutsheets.solids import Point

POINTS: dict[Weight, float] = {"hair": 0.6, "part": 1.0, "frame": 1.6, "cut": 2.2, "coat": 3.2}
DASH = (5, 3)
Place = Callable[[Point], Point]


def draw_scene(canvas: Canvas, scene: Scene, *, x: float, y: float, w: float, h: float) -> float:
    """Draw the scene in the middle of the box (x, y, w, h) of the page, points; return its scale, points per mm."""
    left, bottom, right, top = scene.bounds
    scale = scene.scale_for(w, h)
    dx = x + (w - (right - left) * scale) / 2 - left * scale
    dy = y + (h - (top - bottom) * scale) / 2 - bottom * scale

    def place(point: Point) -> Point:
        return (point[0] * scale + dx, point[1] * scale + dy)

    canvas.saveState()
    canvas.setLineJoin(0)
    for shape in scene.flat():
        _draw(canvas, shape, place, scale)
    canvas.restoreState()
    return scale


def draw_setting(canvas: Canvas, setting: Setting, x: float, y: float) -> None:
    """Draw a text that is already set, its baseline beginning at (x, y), in the canvas's fill colour."""
    for run in setting.glyphs:
        font(run.font)  # known to reportlab from here on
        canvas.setFont(run.font, run.size)
        if run.font == JOINED:
            _draw_joined(canvas, run, x, y)
        else:
            canvas.drawString(x + run.x, y + run.y, run.text)
    for bar in setting.bars:
        canvas.rect(x + bar.x, y + bar.y, bar.width, bar.thick, stroke=0, fill=1)


def _draw_joined(canvas: Canvas, run: Glyphs, x: float, y: float) -> None:
    """Draw glyphs that are no longer letters, and say which text they are, for search and copy."""
    canvas.addLiteral(f"/Span <</ActualText <FEFF{run.text.encode('utf-16-be').hex().upper()}>>> BDC")
    canvas.drawString(x + run.x, y + run.y, joined(run.text))
    canvas.addLiteral("EMC")


def _draw(canvas: Canvas, shape: Primitive, place: Place, scale: float) -> None:
    match shape:
        case Text():
            _draw_text(canvas, shape, place, scale)
        case Polyline():
            _pen(canvas, shape.weight, dash=shape.dash)
            _trace(canvas, (shape.points,), place, close=False, fill=False, stroke=True)
        case Polygon():
            _draw_polygon(canvas, shape, place)
        case _:
            _pen(canvas, shape.weight)
            canvas.setFillGray(0 if shape.fill in {"stripe", "coat"} else 1)
            centre = place(shape.centre)
            canvas.circle(*centre, shape.radius * scale, stroke=bool(shape.role), fill=shape.fill != "none")


def _draw_text(canvas: Canvas, shape: Text, place: Place, scale: float) -> None:
    setting = typeset(shape.parts, shape.face, round(shape.size * scale, 2), SHARE)
    x, y = place(shape.start)
    canvas.saveState()
    canvas.setFillGray(0)
    canvas.translate(x, y)
    canvas.rotate(shape.angle)
    draw_setting(canvas, setting, 0.0, 0.0)
    canvas.restoreState()


def _draw_polygon(canvas: Canvas, shape: Polygon, place: Place) -> None:
    if shape.fill != "none":
        canvas.setFillGray(0 if shape.fill in {"stripe", "coat"} else 1)
        _trace(canvas, shape.rings, place, close=True, fill=True, stroke=False)
    if shape.hatch:
        _pen(canvas, "hair")
        for line in hatch_lines(shape.rings, shape.hatch):
            canvas.line(*place(line[0]), *place(line[1]))
    if shape.role:
        _pen(canvas, shape.weight, dash=shape.dash)
        _trace(canvas, shape.rings, place, close=True, fill=False, stroke=True)


def _pen(canvas: Canvas, weight: Weight, *, dash: bool = False) -> None:
    canvas.setStrokeGray(0)
    canvas.setLineWidth(POINTS[weight])
    canvas.setDash(*DASH) if dash else canvas.setDash()


def _trace(
    canvas: Canvas, rings: tuple[tuple[Point, ...], ...], place: Place, *, close: bool, fill: bool, stroke: bool
) -> None:
    path = canvas.beginPath()
    for ring in rings:
        path.moveTo(*place(ring[0]))
        for point in ring[1:]:
            path.lineTo(*place(point))
        if close:
            path.close()
    canvas.drawPath(path, stroke=stroke, fill=fill, fillMode=0)  # 0: even-odd, so that holes stay open
