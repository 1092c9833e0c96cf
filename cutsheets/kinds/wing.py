"""Wing: a foam core between two sections, cut by a wire whose two ends run round both in the same time.

The foam is the ruled loft between points at equal fractions of the two chords; its volume by the prismoidal formula is
exact. Sections of points need not have as many points, since each gets those of the other. x runs aft from the root's
finished leading edge and y is up, in the same place at both ends: `sweep` moves the tip's leading edge aft, `washout`
turns the tip nose down about its quarter chord (common practice, no source). The coat is the skin, taken off along the
normal on both sides; the ends stay bare.

Figures are for the first hand with its root at the left; for the other hand the towers change places.

Wire: the mean of the two sections' girths, one way in and one way out for each core (common practice, no source). The
margins stand in place of skim; one that is not given is the shop's skim.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from cutsheets.airfoils import Airfoil, drawn_airfoil, matched, naca_airfoil, under_skin, upper_point
from cutsheets.blanks import group, note_too_long, step_up
from cutsheets.costing import MM3_PER_M3, Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import needed, read_within
from cutsheets.kinds.shapes import WIDEST, read_free_section, write_points
from cutsheets.kinds.wing_views import Core, Held, wing_views
from cutsheets.records import items, record
from cutsheets.rules import Rules
from cutsheets.runs import SQUARE
from cutsheets.sections import measure, perimeter
from cutsheets.solids import Asks, Blank, Box, Figure, Note, Point, Quantities, Ring, Section, Stick, Worked
from cutsheets.towers import Towers, at_towers, read_towers, write_towers
from cutsheets.units import Unit, read_angle, read_length, say, to_unit
from cutsheets.volumes import between, loft_faces, prismatoid

HANDS = ("left", "right")
SIDES = ("ahead", "behind", "above", "below")
SHORTEST, LONGEST = 12.7, 10_000.0  # mm, of chord and span: beyond these they were typed in the other unit
WIDEST_MARGIN = 300.0
STEEPEST = 30.0  # degrees of washout
MOST_STATIONS = 50
OFF_NOSE = 0.01  # of the chord: tables put the foremost point of a cambered section a hair before x = 0
END = '{"naca": "0012", "chord": 220} or {"section": [[x, y], …]}'


@dataclass(frozen=True, slots=True)
class WingEnd:
    """A section as finished: a NACA code with its chord, mm, or points."""

    naca: str = ""
    chord: float = 0.0
    drawn: Section | None = None

    def airfoil(self, where: str) -> Airfoil:
        """Return the section with its two sides; raises CutsheetError `naca` or `wing-section`."""
        return drawn_airfoil(self.drawn.points, where) if self.drawn else naca_airfoil(self.naca, self.chord, where)


@dataclass(frozen=True, slots=True)
class Wing:
    """A wing panel as ordered: sizes mm, `washout` degrees; a margin of None is the shop's skim."""

    root: WingEnd
    tip: WingEnd
    span: float
    towers: Towers
    sweep: float = 0.0
    washout: float = 0.0
    hands: tuple[str, ...] = HANDS
    margin: tuple[float | None, ...] = (None,) * len(SIDES)
    stations: tuple[float, ...] = (0.3,)

    def placed(self, points: Sequence[Point]) -> Ring:
        """Return points of the tip where they are cut: turned nose down about the quarter chord, then moved aft."""
        tip = self.tip.airfoil("tip")
        pivot = tip.nose + tip.chord / 4
        sine, cosine = math.sin(math.radians(self.washout)), math.cos(math.radians(self.washout))
        return tuple(
            ((x - pivot) * cosine - y * sine + pivot + self.sweep, (x - pivot) * sine + y * cosine) for x, y in points
        )


def read(raw: Mapping[str, Any], unit: Unit) -> Wing:
    """Return a wing from the keys of its line; raises CutsheetError."""
    root, tip = (_read_end(needed(raw, end, END), unit, end) for end in ("root", "tip"))
    span = read_within(needed(raw, "span", "the length from root to tip"), unit, "span", SHORTEST, LONGEST)
    return Wing(
        root, tip, span,
        towers=read_towers(needed(raw, "towers", '{"gap": 1300, "root_offset": 150}'), unit, span),
        sweep=_read_up_to(LONGEST, raw.get("sweep", 0), unit, "sweep"),
        washout=_read_washout(raw.get("washout", 0)),
        hands=_read_hands(raw.get("hands", HANDS)),
        margin=_read_margin(raw.get("margin", {}), unit),
        stations=_read_stations(raw.get("stations", [0.3])),
    )  # fmt: skip


def write(wing: Wing, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    given = zip(SIDES, wing.margin, strict=True)
    return {
        "root": _write_end(wing.root, unit), "tip": _write_end(wing.tip, unit), "span": to_unit(wing.span, unit),
        "sweep": to_unit(wing.sweep, unit), "washout": wing.washout, "hands": list(wing.hands),
        "margin": {side: to_unit(size, unit) for side, size in given if size is not None},
        "towers": write_towers(wing.towers, unit), "stations": list(wing.stations),
    }  # fmt: skip


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    wing: Wing = line.spec
    ends = [(end, getattr(wing, end).airfoil(end)) for end in ("root", "tip")]
    cores = [under_skin(airfoil, line.coat, end) for end, airfoil in ends]
    finished, foam = _core(wing, *(airfoil for _, airfoil in ends)), _core(wing, *cores)
    areas = _areas(foam)
    volume = prismatoid(wing.span, *areas)
    margin = [line.rules.skim_other if size is None else size for size in wing.margin]
    blank = _blank(foam.box, margin, line.rules)
    sticks = [
        Stick(
            mark=f"{line.mark}{i}", qty=line.qty, front=wing.span, wall=wing.span, left=SQUARE, right=SQUARE,
            blank=blank, run=hand, overall=wing.span,
        )
        for i, hand in enumerate(wing.hands, 1)
    ]  # fmt: skip
    blanks = group(sticks)
    held = Held(blank, trim=line.rules.end_trim, ahead=margin[0], below=margin[3], towers=wing.towers)
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=line.qty * len(sticks),
        finished=finished.box, foam=foam.box, runs=(), frames=(), sticks=tuple(sticks), blanks=blanks,
        quantities=_quantities(line, finished, foam, volume, blanks),
        notes=(*_notes(line, margin, cores), *note_too_long(blanks, line.rules.block, line.unit)),
        part=_figures(line, cores, areas, volume),
        views=wing_views(wing.hands, finished, foam, held),
        wire=wire_figures(line.rules.wire_kerf),
        asks=(_asks(sticks[0].mark, wing, foam),),
    )  # fmt: skip


def _read_end(raw: object, unit: Unit, where: str) -> WingEnd:
    if isinstance(raw, list | tuple):
        return _drawn(raw, unit, where)
    if isinstance(raw, Mapping) and "section" in raw:
        return _drawn(record(raw, where, required=("section",))["section"], unit, f"{where}.section")
    given = record(raw, where, required=("naca", "chord"))
    code, place = given["naca"], f"{where}.naca"
    if not isinstance(code, str):
        raise CutsheetError("naca", "Write the four digits of a NACA section in quotes, as in “0012”.", place)
    end = WingEnd(code, read_within(given["chord"], unit, f"{where}.chord", SHORTEST, WIDEST))
    end.airfoil(place)
    return end


def _drawn(raw: object, unit: Unit, where: str) -> WingEnd:
    end = WingEnd(drawn=read_free_section(raw, unit, where))
    airfoil = end.airfoil(where)
    if abs(airfoil.nose) > OFF_NOSE * airfoil.chord:
        raise CutsheetError(
            "wing-section", "x runs aft from the leading edge; move the section's foremost point to x = 0.", where
        )
    return end


def _write_end(end: WingEnd, unit: Unit) -> dict[str, Any]:
    if end.drawn:
        return {"section": write_points(end.drawn, unit)}
    return {"naca": end.naca, "chord": to_unit(end.chord, unit)}


def _read_up_to(most: float, raw: Any, unit: Unit, where: str) -> float:
    """Return a length that may be 0."""
    length = float(read_length(raw, unit, where))
    if length > most:
        raise CutsheetError("range", f"This is at most {say(most, unit)} {unit}; check its unit.", where)
    return length


def _read_washout(raw: Any) -> float:
    degrees = read_angle(raw, "washout")
    if abs(degrees) > STEEPEST:
        raise CutsheetError("washout", f"Washout is {STEEPEST:g}° at most, below 0 for a tip nose up.", "washout")
    return degrees


def _read_hands(raw: object) -> tuple[str, ...]:
    hands = items(raw, "hands", least=1, most=2)
    if any(hand not in HANDS for hand in hands) or len(set(hands)) < len(hands):
        raise CutsheetError("hands", "Write [“left”, “right”] for pairs, or one of them.", "hands")
    return tuple(hands)


def _read_margin(raw: object, unit: Unit) -> tuple[float | None, ...]:
    given = record(raw, "margin", optional=SIDES)
    return tuple(
        _read_up_to(WIDEST_MARGIN, given[side], unit, f"margin.{side}") if side in given else None for side in SIDES
    )


def _read_stations(raw: object) -> tuple[float, ...]:
    return tuple(_read_share(at, f"stations[{i}]") for i, at in enumerate(items(raw, "stations", most=MOST_STATIONS)))


def _read_share(raw: Any, where: str) -> float:
    if isinstance(raw, int | float | Decimal) and not isinstance(raw, bool) and 0 <= raw <= 1:
        return float(raw)
    raise CutsheetError("station", "A station is a share of the chord, 0 at the nose and 1 at the tail.", where)


def _core(wing: Wing, root: Airfoil, tip: Airfoil) -> Core:
    """Return both ends with their points matched, the tip where it is cut."""
    first, last = matched(root, tip)
    return Core(wing.span, first, wing.placed(last))


def _areas(core: Core) -> tuple[float, ...]:
    """Return the areas at the root, in the middle and at the tip, mm²: all that the volume of a loft needs."""
    return tuple(measure(between(core.root, core.tip, share)).area for share in (0.0, 0.5, 1.0))


def _blank(part: Box, margin: Sequence[float], rules: Rules) -> Box:
    ahead, behind, above, below = margin
    sizes = (part.l + 2 * rules.end_trim, part.w + ahead + behind, part.h + above + below)
    return Box(*(round(step_up(size, rules.blank_step), 6) for size in sizes))


def _quantities(line: Line, finished: Core, foam: Core, volume: float, blanks: Sequence[Blank]) -> Quantities:
    parts = line.qty * len(line.spec.hands)
    girth = (perimeter(foam.root) + perimeter(foam.tip)) / 2
    return amounts(
        blanks, volume=parts * volume,
        coat_area=parts * loft_faces(finished.span, finished.root, finished.tip) if line.coat else 0.0,
        wire=Wire(parts * girth, 2 * parts, parts), density=line.density, rules=line.rules,
    )  # fmt: skip


def _figures(line: Line, cores: Sequence[Airfoil], areas: Sequence[float], volume: float) -> tuple[Figure, ...]:
    root, tip = cores
    return (
        Figure("root_area", "foam at the root", areas[0], "area"),
        Figure("tip_area", "foam at the tip", areas[2], "area"),
        Figure("volume", "foam of one", volume, "volume"),
        Figure("mass", "weight of one", volume / MM3_PER_M3 * line.density, "mass"),
        Figure("speed_ratio", "wire speeds, root to tip", root.chord / tip.chord, "ratio"),
        Figure("stations", "upper surface", tuple(_station(line.spec, cores, at) for at in line.spec.stations), "rows"),
    )


def _station(wing: Wing, cores: Sequence[Airfoil], at: float) -> tuple[Figure, ...]:
    """Return where the wire stands at both ends and at both towers while it cuts this share of the upper side."""
    root, tip = (upper_point(airfoil, at) for airfoil in cores)
    (tip,) = wing.placed([tip])
    (left,), (right,) = at_towers([root], [tip], wing.span, wing.towers)
    points = {"root": root, "tip": tip, "left_tower": left, "right_tower": right}
    named = (Figure(key, key.replace("_", " "), point, "fine") for key, point in points.items())
    return (Figure("at", "share of the chord", at, "ratio"), *named)


def _asks(mark: str, wing: Wing, foam: Core) -> Asks:
    """Return what the machine must have room for: the wire at both towers, above, below, ahead and behind."""
    left, right = at_towers(foam.root, foam.tip, wing.span, wing.towers)
    box = Core(wing.towers.gap, left, right).box
    return Asks(mark, wire=box.l, travel=box.w, height=box.h)


def _notes(line: Line, margin: Sequence[float], cores: Sequence[Airfoil]) -> Iterator[Note]:
    wing: Wing = line.spec
    first, unit = wing.hands[0], line.unit
    where = "towards you" if first == "left" else "away from you"
    yield Note(
        "hand",
        f"The figures are for a {first} wing: root at the left tower, leading edge {where}. For the other hand the "
        "towers change places.",
    )
    if len(wing.hands) == 1:
        yield Note("pairs", f"Only {first} wings are ordered; add the other hand, or check that none is wanted.")
    yield Note("beds", "Keep both beds, the foam above and below the core: they carry it while it is skinned.")
    if line.coat:
        lost = [
            say(before.nose + before.chord - after.nose - after.chord, unit)
            for before, after in zip((wing.root.airfoil("root"), wing.tip.airfoil("tip")), cores, strict=True)
        ]
        yield Note(
            "trailing-edge",
            f"The foam ends where the two skins meet, {lost[0]} {unit} ahead of the trailing edge at the root and "
            f"{lost[1]} {unit} at the tip.",
        )
    if cores[1].chord > cores[0].chord:
        yield Note("tip-larger", "The tip is larger than the root; check that they have not changed places.")
    if wing.washout < 0:
        yield Note("nose-up", "The washout is below 0, so the tip is turned nose up; check its sign.")
    if not min(margin):
        yield Note("no-skim", "A margin is 0: the wire leaves no bed there, and crust may stay on the core.")
    if min(wing.towers.offset, wing.towers.beyond(wing.span)) < line.rules.end_trim:
        yield Note("towers-near", "The blank with its end trim reaches a tower; set the towers farther apart.")


WING = Kind(
    "wing", ("root", "tip", "span", "sweep", "washout", "hands", "margin", "towers", "stations"),
    read, write, work, on_buildings=False,
)  # fmt: skip
