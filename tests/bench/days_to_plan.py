"""Days of sawing for the benchmark of plans: invented ones, and small traps whose answer is known by hand.

Sizes in inches. A blank: name, size, how many, how it may lie.
"""

from random import Random

from cutsheets.stock import LIES, Instance
from tests.cutsheets.plan_days import blank as any_blank
from tests.cutsheets.plan_days import block, inches, instance, remnant

FOAM = (
    260  # cents a cubic foot of the lighter grade; the denser one costs 1.7 times as much (common practice, no source)
)
FEET3 = 1728  # cubic inches
ALL, FLAT, ALONG = list(LIES), ["LWH", "WLH"], ["LWH", "LHW"]
HEIGHTS = [48, 36, 24]  # of the blocks that are sold, usable inches

MOULDINGS = [  # long profiles, many of a kind: they lie along the block, on their flat or on their edge
    ("cornice", (95.5, 10.5, 7.25), 14, ALONG), ("band", (95.5, 6.25, 3.5), 18, ALONG),
    ("sill", (71, 7, 4.75), 10, ALONG),
    ("crown", (83.25, 9.5, 8), 8, ALONG), ("trim", (47.5, 5.5, 2.75), 16, ALL), ("keystone", (17, 13.5, 8.5), 6, ALL),
    ("quoin", (21, 14, 5), 12, ALL),
]  # fmt: skip
FINIALS = [  # turned parts and planters: nearly cubes, in two grades; a planter stands as it is
    ("finial", (23, 12.5, 12.5), 10, ALL), ("ball", (15.5, 15.5, 15.5), 8, ALL), ("planter", (27, 27, 22), 6, FLAT),
    ("base", (19, 19, 9.5), 8, ALL), ("column drum", (31, 17, 17), 4, ALL), ("cap", (21.5, 21.5, 6.5), 6, FLAT),
]  # fmt: skip
URNS = [("urn", (29, 16, 16), 5, ALL), ("plinth", (18, 18, 11.5), 5, FLAT), ("letter slab", (44, 26, 3.25), 7, ALL)]
REPEAT = [  # one order that comes every month: few sizes, hundreds of pieces
    ("box side", (30.5, 14.25, 2.25), 96, ALL), ("box end", (14.25, 11.75, 2.25), 96, ALL),
    ("box floor", (30.5, 11.75, 2.75), 48, ALL), ("corner post", (46.5, 4.25, 4.25), 60, ALL),
    ("lid", (33, 16.5, 3), 24, ALL), ("wedge", (9.5, 6.25, 4.5), 40, ALL),
]  # fmt: skip
MIXED = [  # a bit of everything
    ("cornice", (96.5, 9.25, 8.375), 8, ALL), ("column shell", (92, 16, 8), 6, ALL),
    ("sill", (62.5, 6.5, 4.25), 10, ALL),
    ("newel", (50, 7, 7), 8, ALL), ("panel", (48, 24, 6), 5, ALL), ("letters", (40, 24, 3), 4, ALL),
    ("arch", (36, 10.5, 6), 8, ALL), ("planter", (24, 24, 20), 3, ALL), ("finial", (21, 11, 11), 4, ALL),
    ("keystone", (18, 14, 9), 4, ALL),
]  # fmt: skip
RACK = [(57, 46, 23), (38, 30, 11), (94, 22, 12), (29, 28, 10)]


def days() -> dict[str, Instance]:
    """Return the days by name."""
    return {
        "mouldings": _day(_blanks(MOULDINGS), _stock("1.0", (97, 49), 0.5), _rack("1.0", RACK[:2]), kerf=1_588),
        "finials and planters": _day(
            _blanks(FINIALS) + _blanks(URNS, "2.0"), _stock("1.0", (97, 49), 0.5) + _stock("2.0", (97, 49), 0.5, 1.7),
            _rack("1.0", RACK[:3]) + _rack("2.0", RACK[1:], 1.7),
        ),
        "repeat order": _day(_blanks(REPEAT), _stock("1.0", (96, 48), 0), _rack("1.0", RACK[2:])),
        "sixty blanks": _day(_blanks(MIXED), [_block("1.0", (97, 49, 37), 0, 1)], []),
    }  # fmt: skip


def largest() -> Instance:
    """Return 5,000 blanks of 250 sizes, no two sizes alike."""
    rng = Random(5000)
    sizes = [(rng.uniform(6, 90), rng.uniform(2, 30), rng.uniform(2, 20)) for _ in range(250)]
    blanks = [any_blank(f"b{n}", inches(*size), 20, rot=ALL) for n, size in enumerate(sizes)]
    return _day(blanks, _stock("1.0", (97, 49), 0.5), _rack("1.0", RACK))


def traps() -> dict[str, tuple[Instance, int]]:
    """Return small days by name, each with the price in cents of the foam that no plan can do without."""
    cubes = [any_blank("A", inches(24, 24, 24), 16)]
    usual = [block(inches(96, 48, 48))]
    exact = [block([4 * 609_600 + 3 * 3_175, 2 * 609_600 + 3_175, 2 * 609_600 + 3_175])]
    plates = [any_blank("A", inches(24, 16, 8), 4, rot=FLAT)]
    upright = [any_blank("A", inches(40, 30, 20), 2)]
    small = [any_blank("A", inches(20, 20, 10), 1)]
    rack = [remnant("R1", inches(24, 24, 12), 520), remnant("R2", inches(60, 40, 20), 3_600)]
    half = [any_blank("A", inches(47.5, 47, 47), 4)]
    skinned = [block(inches(96, 48, 48), skin=[inches(0.5, 0.5)] * 3)]
    return {
        "kerf just fits": (instance(*cubes, stock=exact, kerf=3_175), 33_280),
        "kerf does not fit": (instance(*cubes, stock=usual, kerf=3_175), 6 * 33_280),
        "no turning": (instance(*upright, stock=[block(inches(62, 41, 31))], kerf=3_175), 2 * 33_280),
        "pinwheel": (instance(*plates, stock=[block(inches(40, 40, 8), price=1_000)]), 2_000),
        "remnant first": (instance(*small, stock=usual, remnants=rack, kerf=3_175), 520),
        "skin": (instance(*half, stock=skinned, kerf=3_175), 4 * 33_280),
    }


def _day(blanks, stock, remnants, *, kerf=3_175):
    return instance(*blanks, stock=stock, remnants=remnants, kerf=kerf)


def _blanks(rows, grade="1.0"):
    return [any_blank(name, inches(*size), qty, grade=grade, rot=lies) for name, size, qty, lies in rows]


def _stock(grade, face, skin, dearer=1.0):
    return [_block(grade, (*face, high + 2 * skin), skin, dearer) for high in HEIGHTS]


def _block(grade, size, skin, dearer):
    name, skins = f"{size[2]:.0f} high {grade}", [inches(skin, skin)] * 3
    return block(inches(*size), name, grade=grade, skin=skins, price=_price(size, dearer))


def _rack(grade, sizes, dearer=1.0):
    numbered = [(f"R{n} {grade}", size) for n, size in enumerate(sizes, 1)]
    return [remnant(name, inches(*size), _price(size, dearer / 2), grade=grade) for name, size in numbered]


def _price(size, share):
    return round(size[0] * size[1] * size[2] / FEET3 * FOAM * share)
