"""Cutout: letters and shapes sawn through a slab, one row to a slab.

The slab is the blank: its margin round the row is the allowance, so nothing else is added unless the line's `allow`
says so. Long and wide it is rounded up to the shop's step, as the saw is set; its thickness is that of the letters. The
coat lies on the front face and on all edges; the back is bare. Text keeps the font's kerned spacing, and `gap` is added
between its letters; shapes lie `gap` apart, each on its own lowest point. What is to be nested may be turned and lies
on one slab; rows stay where no nest takes less foam.

Wire: once round every ring of the foam; two ways in or out for each outer ring and two for each counter, which an open
wire enters by a slit; slabs are put on the machine, not letters (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from cutsheets.blanks import group, grown, note_too_long
from cutsheets.costing import ENTRIES, Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.cutout_views import finished_rect, slab_view
from cutsheets.kinds.limits import needed, read_within
from cutsheets.kinds.nested import dearness, nest
from cutsheets.kinds.outlines import Shape, read_outlines, write_outlines
from cutsheets.kinds.rows import Slab, lay, placed
from cutsheets.kinds.shapes import THINNEST
from cutsheets.kinds.strokes import Cut, cut_shape, has_gap_below, has_stroke_below
from cutsheets.letters import MOST_LETTERS, Font, set_text
from cutsheets.records import words
from cutsheets.runs import NOISE, SQUARE
from cutsheets.solids import Asks, Box, Figure, Loose, Note, Stick, Worked
from cutsheets.units import Unit, read_length, say, to_unit

THICKS = (6.0, 1300.0)  # mm; likewise below: outside these a size was typed in the other unit
CAP_HEIGHTS = (12.7, 3000.0)
GAP, MARGIN = 6.35, 12.7  # 1/4 in between shapes, 1/2 in round the row (common practice, no source)
WIDEST_GAP = 3000.0
TOUCHING = 0.1  # mm: no wire goes between
THIN = 6.0  # mm: strokes of foam below this break in the hand (common practice, no source)
MOST_PARTS = 500  # of one set
NAMED = 8  # letters or pairs in a note


@dataclass(frozen=True, slots=True)
class Text:
    """What was typed for letters; cap height in mm. `remark` says where the font has no H."""

    text: str
    font: str
    cap_height: float
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Cutout:
    """Shapes as finished, how thick, how they are laid; mm. `text` is None where outlines were given."""

    shapes: tuple[Shape, ...]
    thick: float
    lay: str
    gap: float
    margin: float
    text: Text | None = None


def read(raw: Mapping[str, Any], unit: Unit) -> Cutout:
    """Return a cutout from the keys of its line, where `font` is a font that was read; raises CutsheetError."""
    way = raw.get("lay", "row")
    if way not in ("row", "nest"):
        raise CutsheetError("lay", "Write “row” or “nest”.", "lay")
    if ("outlines" in raw) == ("text" in raw):
        raise CutsheetError("cutout-shapes", "Give outlines, or text with font and height of capitals: one of the two.")
    if "text" in raw:
        text, shapes = _read_text(raw, unit)
    else:
        text, shapes = None, read_outlines(raw["outlines"], unit)
        for name in ("font", "cap_height"):
            if name in raw:
                raise CutsheetError("cutout-shapes", "Outlines have their own size; leave this out.", name)
    loose = way == "nest" or text is None
    return Cutout(
        tuple(replace(shape, x=None) for shape in shapes) if loose else shapes,
        thick=read_within(needed(raw, "thick", "how thick the letters are when finished"), unit, "thick", *THICKS),
        lay=way,
        gap=_read_space(raw, "gap", unit, GAP if loose else 0.0),
        margin=_read_space(raw, "margin", unit, MARGIN),
        text=text,
    )


def write(cutout: Cutout, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    text = cutout.text
    if text is None:
        written: dict[str, Any] = {"outlines": write_outlines(cutout.shapes, unit)}
    else:
        written = {"text": text.text, "font": text.font, "cap_height": to_unit(text.cap_height, unit)}
    lengths = {name: to_unit(getattr(cutout, name), unit) for name in ("thick", "gap", "margin")}
    return written | lengths | {"lay": cutout.lay}


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    cutout: Cutout = line.spec
    thick = cutout.thick - line.coat
    if thick < THINNEST:
        raise CutsheetError("coat-swallows-slab", "The coat leaves no foam; take a thinner coat.", "thick")
    cuts = {shape.name: cut_shape(shape, line.coat, line.rules.wire_kerf) for shape in cutout.shapes}
    one_set = _one_set(cutout)
    set_cuts = [cuts[shape.name] for shape in one_set]
    slabs = _slabs(cutout, one_set, cuts, line)
    sticks = tuple(_stick(slab, number, thick, line) for number, slab in enumerate(slabs, 1))
    blanks = group(sticks)
    slab = max(slabs, key=lambda each: each.length)
    foam = Box(slab.length - 2 * cutout.margin, slab.height - 2 * cutout.margin, thick)
    left, low, right, high = finished_rect(slab, cuts)
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=len(one_set) * line.qty,
        finished=Box(right - left, high - low, cutout.thick), foam=foam, runs=(), frames=(),
        sticks=sticks, blanks=blanks,
        quantities=amounts(
            blanks, volume=line.qty * thick * sum(cut.foam.area for cut in set_cuts),
            coat_area=line.qty * sum(_coated(cut, cutout.thick) for cut in set_cuts) if line.coat else 0.0,
            wire=_wire(set_cuts, len(slabs), line.qty), density=line.density, rules=line.rules,
        ),
        notes=(*_notes(cutout, slabs, cuts, line), *note_too_long(blanks, line.rules.block, line.unit)),
        part=(
            Figure("area", "area of one set", sum(cut.foam.area for cut in set_cuts), "area"),
            Figure("slab", "slab", (slab.length, slab.height, thick), "length"),
            Figure("entries", "closed counters", {name: cut.counters for name, cut in cuts.items()}, "count"),
        ),
        views=tuple(
            slab_view(slab, cuts, stick, line.coat, named=cutout.text is None)
            for slab, stick in zip(slabs, sticks, strict=True)
        ),
        wire=wire_figures(line.rules.wire_kerf),
        asks=tuple(
            Asks(stick.mark, stick.blank.h + line.rules.wire_over, stick.blank.l, stick.blank.w, may_turn=True)
            for stick in sticks
        ),
        loose=_loose(cutout, cuts),
    )  # fmt: skip


def _loose(cutout: Cutout, cuts: Mapping[str, Cut]) -> Loose:
    """Return how high and how thick letters or shapes are when finished."""
    if cutout.text:
        return Loose("capitals", cutout.text.cap_height, cutout.thick)
    bounds = [cut.finished.bounds for cut in cuts.values()]
    return Loose("tallest", max(top - low for _, low, _, top in bounds), cutout.thick)


def _read_text(raw: Mapping[str, Any], unit: Unit) -> tuple[Text, tuple[Shape, ...]]:
    text = words(raw["text"], "text", least=1, most=MOST_LETTERS)
    font = needed(raw, "font", "the name of a font file, such as SignSerif-Bold.ttf")
    if not isinstance(font, Font):
        raise CutsheetError("font", "Write the name of a font file here.", "font")
    height = read_within(needed(raw, "cap_height", "the height of the capitals"), unit, "cap_height", *CAP_HEIGHTS)
    letters = set_text(text, font, height)
    shapes = (Shape(letter.name, letter.parts, f"text[{letter.at}]", x=letter.x) for letter in letters)
    return Text(text, font.name, height, font.cap_note), tuple(shapes)


def _read_space(raw: Mapping[str, Any], name: str, unit: Unit, default: float) -> float:
    space = float(read_length(raw[name], unit, name)) if name in raw else default
    if space > WIDEST_GAP:
        raise CutsheetError("range", f"This is more than {say(WIDEST_GAP, unit)} {unit}; check its unit.", name)
    return space


def _one_set(cutout: Cutout) -> list[Shape]:
    """Return every part of one set, those of a shape together."""
    count = sum(shape.qty for shape in cutout.shapes)
    if count > MOST_PARTS:
        raise CutsheetError(
            "too-many-parts",
            f"One set has {count} parts, above {MOST_PARTS}; raise the line's quantity instead.",
            "outlines",
        )
    return [shape for shape in cutout.shapes for _ in range(shape.qty)]


def _slabs(cutout: Cutout, one_set: Sequence[Shape], cuts: Mapping[str, Cut], line: Line) -> list[Slab]:
    """Return the slabs of one set; raises `letter-too-long`, `letters-close`."""
    longest = min(line.rules.longest_stick, line.rules.longest_across)
    room = longest - 2 * cutout.margin
    for shape in cutout.shapes:
        left, _, right, _ = cuts[shape.name].foam.bounds
        if right - left > room + NOISE:
            raise CutsheetError(
                "letter-too-long",
                f"“{shape.name}” alone is longer than the longest slab of {say(longest, line.unit)} "
                f"{line.unit} less its margins; make it smaller, or allow a longer stick.",
                shape.where,
            )
    if one_set[0].x is None and len(one_set) > 1 and cutout.gap < line.rules.wire_kerf - NOISE:
        raise CutsheetError("letters-close", "The wire is wider than this gap; write a wider one.", "gap")
    slabs = lay(
        one_set, lambda shape: cuts[shape.name].foam.bounds, gap=cutout.gap, margin=cutout.margin,
        longest=longest, stacked=cutout.lay == "nest",
    )  # fmt: skip
    if cutout.lay == "nest" and len(one_set) > 1:
        nested = nest(one_set, cuts, gap=cutout.gap, margin=cutout.margin, longest=longest)
        slabs = [min([*slabs, *([nested] if nested else [])], key=lambda slab: dearness(slab, longest))]
    for distance, names in _neighbours(slabs, cuts):
        if distance < TOUCHING:
            raise CutsheetError("letters-close", f"{names} touch or overlap; write a wider gap.", "gap")
    return slabs


def _neighbours(slabs: Iterable[Slab], cuts: Mapping[str, Cut]) -> Iterator[tuple[float, str]]:
    """Yield how far apart the foam of each two neighbours is, and their names."""
    for first, second in (pair for slab in slabs for pair in pairwise(slab.laid)):
        a, b = (placed(cuts[one.shape.name].foam, one) for one in (first, second))
        yield a.distance(b), f"{first.shape.name} and {second.shape.name}"


def _stick(slab: Slab, number: int, thick: float, line: Line) -> Stick:
    blank = grown(Box(slab.length, slab.height, thick), line.rules, wall=False)
    blank = replace(blank, h=round(thick + 2 * line.rules.skim_other, 6))
    foam = slab.length - 2 * line.spec.margin
    return Stick(
        mark=f"{line.mark}{number}", qty=line.qty, front=foam, wall=foam, left=SQUARE, right=SQUARE,
        blank=blank, run=f"slab {number}", overall=foam,
    )  # fmt: skip


def _coated(cut: Cut, thick: float) -> float:
    """Return the coated area of a finished shape: its face and its edges."""
    return float(cut.finished.area + cut.finished.length * thick)


def _wire(set_cuts: Sequence[Cut], slabs: int, qty: int) -> Wire:
    """Return the wire's work on a whole line."""
    rings = sum(len(cut.foam.geoms) + cut.counters for cut in set_cuts)
    return Wire(qty * sum(cut.foam.length for cut in set_cuts), qty * ENTRIES * rings, qty * slabs)


def _notes(cutout: Cutout, slabs: Sequence[Slab], cuts: Mapping[str, Cut], line: Line) -> Iterator[Note]:
    kerf = line.rules.wire_kerf
    if cutout.text and cutout.text.remark:
        yield Note("cap-height", cutout.text.remark)
    if closed := [name for name, cut in cuts.items() if cut.counters]:
        yield Note(
            "closed-counter",
            f"An open wire enters the counters of {_few(closed)} by a slit only (drawn dashed); close it with glue "
            "after, or thread the wire.",
        )
    if thin := [name for name, cut in cuts.items() if has_stroke_below(cut.foam, THIN)]:
        yield Note(
            "thin-stroke",
            f"Foam strokes are thinner than {say(THIN, line.unit)} {line.unit}: {_few(thin)}; "
            "take a bolder face, a larger size or a denser grade.",
        )
    if blunt := [name for name, cut in cuts.items() if has_gap_below(cut.foam, kerf)]:
        yield Note("narrow-notch", f"The wire is too wide for a notch and leaves it blunt: {_few(blunt)}.")
    if near := [names for distance, names in _neighbours(slabs, cuts) if distance < kerf - NOISE]:
        yield Note("letters-close", f"The wire is wider than the room between {_few(near)}; write a wider gap.")
    if cutout.margin < kerf:
        yield Note("no-margin", "The margin is less than the wire's kerf: crust of the slab may stay on an edge.")
    if cutout.lay == "nest" and len(slabs[0].laid) > 1 and not slabs[0].nested:
        yield Note("rows-not-nested", "The parts lie in rows: no nest of them was found that needs less foam.")
    elif len(slabs) > 1:
        yield Note("row-broken", f"The row is longer than the longest stick and lies on {len(slabs)} slabs.")
    yield Note(
        "wire-kerf",
        f"Guide the middle of the wire half its kerf ({say(kerf / 2, line.unit, denominator=64)} {line.unit}) "
        f"outside each outer edge{' and inside each counter' if closed else ''}.",
    )


def _few(names: Sequence[str]) -> str:
    """Return names in words, the first of many."""
    return ", ".join(names[:NAMED]) + (f" and {len(names) - NAMED} more" if len(names) > NAMED else "")


CUTOUT = Kind(
    "cutout", ("outlines", "text", "font", "cap_height", "thick", "lay", "gap", "margin"), read, write, work,
    shape="outlines", takes_allowances=False,
)  # fmt: skip
