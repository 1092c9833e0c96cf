"""An order as it is coated and packed, worked out by the core: invented theatre, invented customer."""

from dataclasses import replace
from datetime import date, datetime

from cutsheets.sheets.orderpage import OrderHead
from cutsheets.sheets.packing import Coat, PackedLine
from tests.cutsheets.kind_jobs import IN, work

# A stepped cornice, 5 deep × 7 high (common practice, no source); its back, the edge at x = 0, is bare.
STEPPED = [[0, 0], [5, 0], [5, 2], [3, 2], [3, 7], [0, 7]]
MESHED = Coat("Base coat and mesh 1/8", "Wall face bare.", IN / 8, hours=48, lap=2.5 * IN, density=1600)
HARD = Coat("Hard coat 3/16", "Front and edges coated; back bare.", 3 * IN / 16, hours=24, density=1600)
OUTSIDE, INSIDE = {"outside": 90}, {"inside": 135}


def moulding(**lengths):
    return work(kind="moulding", section=STEPPED, bare="wall", coat="1/8", **lengths)


CORNICE = PackedLine(
    moulding(
        runs=[
            {"name": "front", "wall": 504, "left": OUTSIDE, "right": INSIDE},
            {"name": "porch", "wall": 42, "left": "cap", "right": OUTSIDE, "qty": 2},
        ]
    ),
    "Cornice, front run A and returns B", MESHED, "TP-14 rev 3",
)  # fmt: skip
COLUMNS = PackedLine(
    work(
        kind="column", mark="B", round=18, height=120, shells=2, void={"square": 6, "clearance": 0.25}, coat="1/8",
    ),
    "Column wraps", MESHED,
)  # fmt: skip
PANELS = PackedLine(work(kind="panel", mark="C", size=[48, 24, 6], qty=40), "Panels for the lobby")
SPRUNG = PackedLine(
    work(
        kind="moulding", mark="D", sprung={"face": 4, "thick": 1, "spring": 45}, coat="3/16",
        pieces=[{"length": 60 + n, "qty": n} for n in range(1, 30)],
    ),
    "Sprung moulding of a name so long that it never goes into one line, however small", HARD,
    "TP-99-EXTRA-LONG-PROFILE-NAME rev 12",
)  # fmt: skip
HEAD = OrderHead(
    number=4182, revision="C", customer="Osgood & Lyle Builders", job="Bramhall Street Theatre, front",
    shop="Tern Point Foam Works", unit="in", printed=datetime(2026, 11, 23, 14, 12), printed_by="Mina O.",
    needed=date(2026, 12, 3), reference="PO 7731",
)  # fmt: skip
# As long as the columns of the database let them be.
UGLY = replace(
    HEAD, number=104182, revision="BD", print_number=12, printed_by="Bartholomew Featherstonehaugh",
    customer="Żółć & Σπύρος Παπαδόπουλος, Большая улица, третий двор, строение десять" + 9 * "W",
    job="Nguyễn Thị Hương, Большой театр, западный фасад, Łódź" + 22 * " Ŵg",
    shop="Tern Point Foam Works of the Northern Peninsula and Isles", reference=40 * "W",
)  # fmt: skip
LINES = (CORNICE, COLUMNS, PANELS)
MANY = (CORNICE, COLUMNS, PANELS, SPRUNG)
