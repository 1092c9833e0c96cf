"""The members of classical mouldings, each drawn upwards from where the last one ended.

Names and shapes follow W. R. Ware, The American Vignola, 1903, "Mouldings", and Encyclopaedia Britannica, "moulding
(architecture)" (both memory): a cavetto is a quarter hollow and an ovolo a quarter round; a cyma recta is hollow above
and round below, so that its ends lie level; a cyma reversa is round above and hollow below, so that its ends stand
upright; torus, bead and astragal are half rounds; a scotia is a hollow of two radii.
Stepping in turns a curve upside down, as it stands in a base.
"""

from __future__ import annotations

from collections.abc import Callable

from cutsheets.errors import CutsheetError
from cutsheets.families.arcs import arc, quarter
from cutsheets.families.base import LEAST, Draw, Field, Member, Values, choice, length, tell
from cutsheets.solids import Point

OUTWARDS = choice("direction", "direction", (("out", "out"), ("in", "in")), "out from the wall, or back in")
INWARDS = choice("direction", "direction", (("in", "in"), ("out", "out")), "out from the wall, or back in")
RADIUS = length("radius", "radius", "", "empty: quarter")


def _high(default: str) -> Field:
    return length("height", "height", default)


def _out(default: str, help: str = "", *, zero_ok: bool = False) -> Field:
    return length("out", "out", default, help or "how far it steps out or in", zero_ok=zero_ok)


def _stepping(curve: Callable[[Values], list[Point]]) -> Draw:
    """Return how a curve is drawn that steps from (0, 0) outwards and upwards; inwards it is upside down."""

    def draw(values: Values, start: float) -> list[Point]:
        points = curve(values)
        if values["direction"] == "in":
            out, high = points[-1]
            points = [(x - out, high - y) for x, y in reversed(points)]
        return [(start + x, y) for x, y in points]

    return draw


def _stepped(values: Values, start: float) -> float:
    """Return where a level step ends."""
    return float(start - values["out"] if values["direction"] == "in" else start + values["out"])


def _step(values: Values, start: float) -> list[Point]:
    return [(start, 0.0), (_stepped(values, start), 0.0)]


def _fillet(values: Values, start: float) -> list[Point]:
    return [*_step(values, start), (_stepped(values, start), values["height"])]


def _bevel(values: Values) -> list[Point]:
    return [(0.0, 0.0), (values["out"], values["height"])]


def _cavetto(values: Values) -> list[Point]:
    return quarter(values["out"], values["height"], values["radius"], hollow=True)


def _ovolo(values: Values) -> list[Point]:
    return quarter(values["out"], values["height"], values["radius"], hollow=False)


def _cyma(values: Values, *, hollow_below: bool) -> list[Point]:
    """Return two quarters, tangent where they meet; radii are as the heights, so both lean alike there."""
    out, high = values["out"], values["height"]
    low = high / 2 if values["lower"] is None else values["lower"]
    if high - low < LEAST:
        raise CutsheetError(
            "family-lower", f"The lower curve takes all of the height; write less than {tell(high)}.", "lower"
        )
    share, radius = low / high, values["radius"]
    upper = None if radius is None else radius * (1 - share) / share
    below = quarter(out * share, low, radius, hollow=hollow_below)
    above = quarter(out * (1 - share), high - low, upper, hollow=not hollow_below)
    return [*below, *((out * share + x, low + y) for x, y in above[1:])]


def _cyma_recta(values: Values) -> list[Point]:
    return _cyma(values, hollow_below=False)


def _cyma_reversa(values: Values) -> list[Point]:
    return _cyma(values, hollow_below=True)


def _half_round(values: Values, start: float) -> list[Point]:
    return _bead(start, 0.0, values["height"], values["bulge"])


def _bead(start: float, low: float, high: float, bulge: float | None) -> list[Point]:
    """Return a half circle, or half an ellipse where the bulge is not half the height."""
    half = high / 2
    return arc((start, low + half), (half if bulge is None else bulge, half), -90, 90)


def _astragal(values: Values, start: float) -> list[Point]:
    """Return a level step, then a bead with a fillet below, above or on both sides."""
    below, above = values["fillets"] != "above", values["fillets"] != "below"
    face, fillet = _stepped(values, start), values["fillet"]
    bead = values["height"] - fillet * (below + above)
    if bead < LEAST:
        raise CutsheetError(
            "family-fillet", "The fillets leave nothing for the bead; make them lower or the astragal higher.", "fillet"
        )
    round_ = _bead(face, fillet * below, bead, values["bulge"])
    return [(start, 0.0), *([(face, 0.0)] if below else []), *round_, *([(face, values["height"])] if above else [])]


def _scotia(values: Values) -> list[Point]:
    """Return two quarter hollows whose radii differ by the step: r = (height ± out) / 2, the larger one outside."""
    out, high = values["out"], values["height"]
    small, large = (high - out) / 2, (high + out) / 2
    if small < LEAST:
        raise CutsheetError(
            "family-scotia", f"A scotia steps by less than its height; write less than {tell(high)}.", "out"
        )
    # outwards: the small hollow below, the large one above; both turn at the deepest point, `small` behind the start
    below = arc((0.0, small), (small, small), 270, 180)
    above = arc((large - small, small), (large, large), 180, 90)
    return [*below, *above[1:]]


MEMBERS = (
    Member("fillet", "fillet", (_high("1/2 in"), _out("1/4 in", zero_ok=True), OUTWARDS), _fillet),
    Member("fascia", "fascia (flat band)", (_high("3 in"), _out("0 in", zero_ok=True), OUTWARDS), _fillet),
    Member("step", "level step", (_out("1/2 in"), OUTWARDS), _step),
    Member("cavetto", "cavetto (quarter hollow)", (_high("2 in"), _out("2 in"), RADIUS, OUTWARDS), _stepping(_cavetto)),
    Member("ovolo", "ovolo (quarter round)", (_high("2 in"), _out("2 in"), RADIUS, OUTWARDS), _stepping(_ovolo)),
    Member(
        "cyma_recta",
        "cyma recta (hollow above, round below)",
        (_high("3 in"), _out("3 in"), RADIUS, length("lower", "lower part", "", "empty: half"), OUTWARDS),
        _stepping(_cyma_recta),
    ),
    Member(
        "cyma_reversa",
        "cyma reversa (round above, hollow below)",
        (_high("3 in"), _out("3 in"), RADIUS, length("lower", "lower part", "", "empty: half"), OUTWARDS),
        _stepping(_cyma_reversa),
    ),
    Member("torus", "torus (half round)", (_high("2 in"), length("bulge", "bulge", "", "empty: half")), _half_round),
    Member("bead", "bead", (_high("1/2 in"), length("bulge", "bulge", "", "empty: half")), _half_round),
    Member(
        "astragal",
        "astragal (bead with fillets)",
        (
            _high("1 in"),
            length("fillet", "height of a fillet", "1/4 in"),
            choice("fillets", "fillets", (("below", "below"), ("above", "above"), ("both", "both"))),
            length("bulge", "bulge of the bead", "", "empty: half its height"),
            _out("0 in", zero_ok=True),
            OUTWARDS,
        ),
        _astragal,
    ),
    Member("scotia", "scotia (hollow of two radii)", (_high("2 in"), _out("1/2 in"), INWARDS), _stepping(_scotia)),
    Member("bevel", "bevel (splay)", (_high("1 in"), _out("1 in"), OUTWARDS), _stepping(_bevel)),
)
