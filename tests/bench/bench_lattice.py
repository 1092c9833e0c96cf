"""How often one section goes on a face: the lattice beside rows of boxes and a general packer in the same run.

PYTHONPATH=. .venv/bin/python tests/bench/bench_lattice.py [seconds]

The general packer (packingsolver's irregular solver) gets the seconds for each section, ten unless told otherwise;
seconds of the lattice are of the processor, its child process included.
"""

import math
import resource
import sys
from typing import Any

from packingsolver import irregular
from shapely import Polygon

from cutsheets.airfoils import naca
from cutsheets.nesting.faces import FaceRoom
from cutsheets.nesting.lattice import pack_face
from cutsheets.nesting.pieces import grown
from cutsheets.solids import Outline, Ring

KERF, FACE = 0.06, FaceRoom(48, 48, 0.25)
MOST_SECONDS = 2.0  # of the lattice on a busy machine
HALF, QUARTERS = (0.0, 180.0), (0.0, 90.0, 180.0, 270.0)
WAYS = ((HALF, False, "half turns"), (QUARTERS, True, "four turns, mirror"))
ARC = [(4 + 2 * math.sin(math.radians(a)), 3.5 - 2 * math.cos(math.radians(a))) for a in range(0, 91, 6)]
OGEE = [(5 - 2 * math.sin(t), 2.75 - 2 * math.cos(t)) for t in map(math.radians, range(0, 91, 10))]
OGEE += [(1 + 2 * math.cos(t), 2.75 + 2 * math.sin(t)) for t in map(math.radians, range(10, 91, 10))]
NOSE = [(7 + math.sin(math.radians(a)), 1 - math.cos(math.radians(a))) for a in range(0, 181, 15)]
SECTIONS: dict[str, Ring] = {
    "L, 1 in legs": ((0, 0), (6, 0), (6, 1), (1, 1), (1, 6), (0, 6)),
    "C, 1/2 in walls": ((0, 0), (8, 0), (8, 0.5), (0.5, 0.5), (0.5, 3.5), (8, 3.5), (8, 4), (0, 4)),
    "crown": ((0, 0), (4, 0), (4, 1.5), *ARC, (6, 6), (0, 6)),
    "sill": ((0, 0), (8, 0), (8, 1.6), (2.5, 2.6), (2.5, 4), (0, 4)),
    "nosed sill": ((0, 0), *NOSE, (0, 3.5)),
    "triangle": ((0, 0), (5, 0), (1, 3)),
    "ogee": ((0, 0), (5, 0), *OGEE, (0, 4.75)),
    "pedestal": ((0, 0), (10, 0), (10, 3), (8.6, 3.6), (8.2, 4.5), (1.8, 4.5), (1.4, 3.6), (0, 3)),
    "wing, NACA 2412": naca("2412", 14),
    "wing, NACA 0012": naca("0012", 9),
    "stepped band": (
        (0, 0),
        (9, 0),
        (9, 0.8),
        (8.4, 1.4),
        (8.4, 2.2),
        (8, 2.2),
        (8, 2.5),
        (1, 2.5),
        (1, 2.2),
        (0.6, 2.2),
        (0.6, 1.4),
        (0, 0.8),
    ),
}


def in_boxes(ring: Ring) -> int:
    left, low, right, top = Polygon(ring).bounds
    wide, high = FACE.inner
    return int((wide + KERF) / (right - left + KERF)) * int((high + KERF) / (top - low + KERF))


def used() -> float:
    """Return the seconds of the processor of this process and of its children."""
    return sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))


def packed(ring: Ring, turns: tuple[float, ...], mirror: bool, seconds: float) -> int:
    """Return how many a general packer puts on the face."""
    library: Any = irregular
    builder = library.InstanceBuilder()
    builder.set_objective(library.Objective.Knapsack)
    wide, high = FACE.inner
    builder.add_bin_type(library.build_rectangle(wide + KERF, high + KERF), cost=1, copies=1)
    shape = library.build_shape(grown(ring, KERF / 2, 0.01))
    copies = int(wide * high / Polygon(ring).area)
    lies = [(turn, turn, side) for turn in turns for side in {False, mirror}]
    builder.add_item_type(shape, copies=copies, allowed_rotations=lies, profit=1)
    asked = library.OptimizeParameters()
    asked.time_limit, asked.verbosity_level = seconds, 0
    return int(library.optimize(builder.build(), asked).solution.number_of_items())


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    slow = []
    print(f"{'section':<18}{'allowed':<20}{'boxes':>7}{'packer':>8}{'lattice':>9}{'÷ packer':>10}{'yield':>8}{'s':>7}")
    for name, ring in SECTIONS.items():
        for turns, mirror, words in WAYS:
            began = used()
            count = len(pack_face(Outline(ring), FACE, KERF, turns=turns, mirror=mirror))
            took = used() - began
            boxes, general = in_boxes(ring), packed(ring, turns, mirror, seconds)
            share = count * Polygon(ring).area / (FACE.w * FACE.h)
            print(
                f"{name:<18}{words:<20}{boxes:>7}{general:>8}{count:>9}{count / max(general, 1):>10.2f}"
                f"{share:>8.1%}{took:>7.2f}"
            )
            slow += [name] if took > MOST_SECONDS or count < boxes else []
    if slow:
        sys.exit(f"too slow, or worse than boxes: {', '.join(slow)}")


if __name__ == "__main__":
    main()
