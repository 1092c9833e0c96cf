"""Faces that give many pieces, laid out by hand: nothing here asks how well they are packed."""

from cutsheets.nesting.faces import Placement
from cutsheets.planning.gang import Gang, GangFace, basis
from cutsheets.solids import Box
from orders import entry
from orders.lines import work_each

INCH = 25.4
FACES = ((2, 3), (1, 2))  # two faces that give three pieces each, one that gives two: the eight of the order


def nest_for(line) -> Gang:
    """Return sections in a row on each face, by hand: nothing here asks how well they are packed."""
    worked, rules = work_each(line)
    faces = (
        GangFace(
            Box(1041.4, (gives * 6 + 1) * INCH, 8 * INCH), qty,
            tuple(Placement("part", 0.0, False, (0.5 + 6 * n) * INCH, 0.5 * INCH) for n in range(gives)), 1000.0,
        )
        for qty, gives in FACES
    )  # fmt: skip
    return Gang(basis(worked, rules), tuple(faces))


def choose_gang(order, mina):
    line = order.lines.get()
    data = {"way": "gang", "gang": {"chosen": nest_for(line).as_json()}}
    return entry.save_line(order, data, mina, version=order.version, line=line)
