"""A cornice line, worked by hand, for the tests of drawings and sheets: invented shop, invented theatre.

Finished 9 deep × 11 high, 1/8 in of coat on top, face and drip; a 42 ft wall between two outside corners and two
returns. Figures in inches are turned into millimetres once, here.
"""

from dataclasses import replace
from datetime import UTC, date, datetime

from cutsheets.sheets.values import SawBlanks, SawPiece, SawSheet, TravellerLine, TravellerSheet
from cutsheets.solids import (
    Blank,
    Box,
    End,
    Face,
    Note,
    Quantities,
    Run,
    Stick,
    Worked,
)
from cutsheets.steps import opened_piece

IN = 25.4
OUT, SPLICE, SQUARE = End("outside", 90), End("splice"), End("square")
FINISHED = (
    (0, 0),
    (1.5, 0),
    (3, 1.2),
    (3.4, 2.6),
    (6.2, 2.6),
    (6.2, 5.6),
    (7, 7.4),
    (7.4, 9.1),
    (9, 9.6),
    (9, 10.4),
    (0, 11),
)
FOAM = (
    (0, 0.125),
    (1.45, 0.125),
    (2.88, 1.27),
    (3.3, 2.725),
    (6.075, 2.725),
    (6.075, 5.63),
    (6.88, 7.44),
    (7.3, 9.2),
    (8.875, 9.7),
    (8.875, 10.28),
    (0, 10.875),
)


def mm(*inches):
    return tuple(each * IN for each in inches)


def box(*inches):
    return Box(*mm(*inches))


def face(points, width, height, girth=0.0):
    return Face(tuple(mm(*point) for point in points), width * IN, height * IN, 60 * IN**2, 3 * IN, girth * IN)


def stick(mark, front, wall, ends, **more):
    return Stick(mark, more.get("qty", 1), front * IN, wall * IN, *ends, more.get("blank", LONG), more.get("run", "A"))


LONG, SHORT = box(88, 9.5, 11.25), box(52, 9.5, 11.25)
STICKS = (
    stick("A1", 87, 78.125, (OUT, SPLICE)),
    *(stick(f"A{n}", 87, 87, (SPLICE, SPLICE)) for n in range(2, 6)),
    stick("A6", 86.75, 77.875, (SPLICE, OUT)),
    stick("B1", 50.875, 42, (OUT, SQUARE), blank=SHORT, run="B left"),
    stick("B2", 50.875, 42, (SQUARE, OUT), blank=SHORT, run="B right"),
)


def run(name, wall, pieces, ends, extensions):
    """Return one run; the coat lies outside the foam, so the finished length is a little more."""
    left, right = mm(*extensions)
    total = sum(pieces) * IN
    mitres = [45.0 if end.kind == "outside" else 0.0 for end in ends]
    return Run(name, 1, wall * IN, total + 6.35, total, mm(*pieces), *ends, *mitres, left, right)


RUNS = (
    run("A", 504, (87, 87, 87, 87, 87, 86.75), (OUT, OUT), (8.875, 8.875)),
    run("B left", 42, (50.875,), (OUT, SQUARE), (8.875, 0)),
    run("B right", 42, (50.875,), (SQUARE, OUT), (0, 8.875)),
)
CORNICE = Worked(
    mark="A",
    kind="moulding",
    grade="Firm 1.5 FR",
    parts=8,
    finished=face(FINISHED, 9, 11, 27.125),
    foam=face(FOAM, 8.875, 10.75),
    runs=RUNS,
    frames=(),
    sticks=STICKS,
    blanks=(Blank(LONG, 6, tuple(f"A{n}" for n in range(1, 7))), Blank(SHORT, 2, ("B1", "B2"))),
    quantities=Quantities(
        core_volume=500_000 * IN**3 / 10,
        blank_volume=469.1 * 144 * IN**3,
        core_mass=14.0,
        coat_area=10.9e6,
        wire_length=1e6,
        wire_minutes=40.0,
    ),
)
PANEL = Worked(
    mark="C",
    kind="panel",
    grade="Firm 1.5 FR",
    parts=40,
    finished=box(48, 24, 6),
    foam=box(48, 24, 6),
    runs=(),
    frames=(),
    sticks=(),
    blanks=(Blank(box(48, 24, 6), 40, ("C1",)),),
    quantities=Quantities(6912 * 40 * IN**3, 6912 * 40 * IN**3, 80.0, 0.0, 0.0, 0.0),
)


UM = 25_400
KERF = UM // 16 + 1
AXES = {0: "x", 1: "y", 2: "z"}


def node(tree):
    """Return a tree as a plan has it: a leaf (kind, name), or (axis, at in inches, low part, high part)."""
    if len(tree) == 2:
        kind, name = tree
        return {"blank": name, "rot": "LWH"} if kind == "blank" else {kind: name}
    axis, at, low, high = tree
    return {"axis": AXES[axis], "at": round(at * UM), "lo": node(low), "hi": node(high)}


def opened(source, size, tree, skin=(0, 0, 0)):
    """Return a block, inches, with its leaves and its numbered cuts; skin is on its low faces."""
    sides, low = [each * UM for each in size], [[int(each * UM), 0] for each in skin]
    block = {"id": source, "grade": "Firm 1.5 FR", "size": sides, "skin": low, "limit": 1, "price": 1}
    instance = {
        "kerf": KERF,
        "stock": [block],
        "remnants": [],
        "blanks": [],
        "min_remnant": {"dims": [0, 0, 0], "volume": 0},
        "allow_edge_shave": False,
        "max_stages": None,
    }
    piece = opened_piece(instance, {"source": f"stock:{source}#1", "tree": node(tree)})
    return replace(piece, source=source)


def blank(name):
    return ("blank", name)


def rest(name):
    return ("remnant", name)


TRIM = ("waste", "trim")


def ripped(names, last):
    """Return a bar after bar, 9 1/2 wide, and what is left."""
    tree = last
    for name in reversed(names):
        tree = (1, 9.5, name if isinstance(name, tuple) else blank(name), tree)
    return tree


SLAB_1 = (0, 88, ripped(["A1", "A2", "A3", "A4", "A5"], TRIM), TRIM)
SLAB_2 = ripped(
    [(0, 88, blank("A6"), TRIM), (0, 52, blank("B1"), rest("R-0232")), (0, 52, blank("B2"), rest("R-0233"))],
    rest("R-0231"),
)
BLOCK = opened("F-2207", (96, 48, 24), (2, 11.25, SLAB_1, (2, 11.25, SLAB_2, TRIM)))


def crossed(names, at):
    """Return a bar cut into blanks of one length; the end is trim."""
    tree = TRIM
    for name in reversed(names):
        tree = (0, at, name if isinstance(name, tuple) else blank(name), tree)
    return tree


def small(first, bars=2, count=5):
    return ripped_at(18, [crossed([f"E{first + bar * count + n}" for n in range(count)], 18) for bar in range(bars)])


def ripped_at(at, parts):
    tree = TRIM
    for part in reversed(parts):
        tree = (1, at, part, tree)
    return tree


BUSY = opened(
    "F-2209",
    (96, 48, 24),
    (2, 5.5, small(1), (2, 5.5, small(11), (2, 5.5, small(21), (2, 5.5, small(31), TRIM)))),
)
STACKED = opened(
    "R-0219",
    (60, 40, 12),
    (
        1,
        20,
        (2, 5.5, crossed(["F1", "F2", "F3"], 18), (2, 5.5, blank("G1"), TRIM)),
        (0, 40, blank("H1"), rest("R-0240")),
    ),
)
ALONE = opened("R-0300", (60, 20, 12), (1, 12, (0, 50, (2, 6, blank("K1"), rest("R-0301")), TRIM), TRIM))
WHOLE = opened("R-0301", (50, 12, 6), blank("K2"))


CORNICE_LINE = TravellerLine(
    worked=CORNICE,
    what="Cornice, front run A and returns B",
    pattern="two",
    profile="TP-14 rev 3",
    coat="base and mesh on top, face, drip. Back and mitred ends bare. Cure 48 h.",
    coat_mm=3.175,
    saw_from="block F-2207, saw sheet 118 page 1",
)
PANEL_LINE = TravellerLine(worked=PANEL, what="Panels for the lobby", pattern="zigzag", indoors=True)
SHEET = TravellerSheet(
    number=4182,
    revision="C",
    customer="Osgood & Lyle Builders",
    job="Bramhall Street Theatre, front",
    shop="Tern Point Foam Works",
    unit="in",
    lines=(CORNICE_LINE,),
    printed=datetime(2026, 11, 23, 14, 12, tzinfo=UTC),
    printed_by="Mina O.",
    print_number=2,
    needed=date(2026, 12, 3),
    ship=date(2026, 11, 30),
    replaces="B",
)
SAW_PIECE = SawPiece(
    opened=BLOCK,
    pattern="two",
    blanks=(SawBlanks("4182 C", "A1–A6", LONG, 6), SawBlanks("4182 C", "B1, B2", SHORT, 2)),
    about="lot 2610-B, moulded 2 Nov, 22 days old",
    place="rack 4",
)
SAW_SHEET = SawSheet(
    plan=118,
    shop="Tern Point Foam Works",
    unit="in",
    pieces=(SAW_PIECE,),
    printed=datetime(2026, 11, 23, 16, 24, tzinfo=UTC),
    printed_by="Raf T.",
    station="Saw 1",
    day=date(2026, 11, 24),
)
WIDE = tuple(
    Blank(box(103.5 - n, 48.75, 23.6875), qty, tuple(f"D{7 * n + i}" for i in range(1, 7)))
    for n, qty in enumerate((6, 38, 400, 12, 1, 3, 1200))
)
MANY = (
    stick("D1", 95.4375, 86.5, (OUT, SPLICE)),
    *(stick(f"D{n}", 96, 96, (SPLICE, SPLICE)) for n in range(2, 60)),
    stick("D60", 50, 60, (SPLICE, End("inside", 135))),
    *(stick(f"D{60 + n}", 20 + n * 1.3, 20 + n * 1.3, (SQUARE, SQUARE), run="", qty=n) for n in range(1, 14)),
)
NORTH = run(
    "north wall over the river",
    504,
    (87,) * 58 + (50, 70.3, 22.1, 33.4, 44.44, 55.55),
    (OUT, End("inside", 135)),
    (8.875, 0),
)
LONG_LINE = replace(
    CORNICE_LINE,
    worked=replace(
        CORNICE,
        mark="D",
        sticks=MANY,
        blanks=WIDE,
        runs=(NORTH,),
        notes=(Note("blank-too-long", "The blank 103 1/2 long fits no block of 96; order longer blocks."),),
    ),
    what="Cornice with a name so long that it does not go into one line however small it is set, so it needs two",
    note="Nguyễn Văn Đặng asks: keep the Łódź pieces apart. " * 3,
    indoors=True,
    profile="TP-14-EXTRA-LONG-NAM rev 12",
    saw_from="blocks F-2207, F-2208, F-2209, F-2210, saw sheet 118 pages 1 to 4",
)
LONG_SHEET = replace(
    SHEET,
    number=104182,
    revision="BD",
    lines=(LONG_LINE, PANEL_LINE),
    customer="Żółć & Σπύρος Παπαδόπουλος",
    job="Nguyễn Thị Hương, Большой театр, западный фасад, Łódź",
    printed_by="Bartholomew Featherstonehaugh",
    shop="Tern Point Foam Works of the Northern Peninsula",
)
TWO_HIGH = (2, 5.25, blank("L1"), (2, 5.25, crossed(["M1", "M2"], 25), TRIM))
LAYERED = opened("R-0310", (60, 40, 24), (2, 11, (1, 20, TWO_HIGH, rest("R-0311")), blank("N1")))
FULL_SAW_SHEET = replace(
    SAW_SHEET,
    pieces=(
        SAW_PIECE,
        *(
            replace(SAW_PIECE, opened=each, blanks=(SawBlanks("4185 A", "E1–E40", box(18, 18, 5.5), 40),))
            for each in (BUSY, STACKED, ALONE, WHOLE, LAYERED)
        ),
    ),
)
