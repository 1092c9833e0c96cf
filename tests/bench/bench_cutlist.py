"""How many lines of a mixed job one core works out in a second, which kind is the slowest, and what memory it takes.

PYTHONPATH=. .venv/bin/python tests/bench/bench_cutlist.py [times]
"""

import json
import resource
import sys
import time
import tracemalloc
from collections.abc import Callable
from itertools import cycle, islice
from statistics import median
from typing import Any

from shapely import Polygon

from cutsheets.coat import foam_outline
from cutsheets.cutlist import as_json, cut_list
from cutsheets.families import PRESETS, build
from cutsheets.files.job import read_job
from cutsheets.kinds import KINDS
from cutsheets.kinds.shapes import read_section
from cutsheets.records import parse
from cutsheets.sections import measure

LINES, LIMIT_S, LEAST_A_SECOND = 200, 0.7, 300
STEPPED = [[0, 0], [5, 0], [5, 2], [3, 2], [3, 7], [0, 7]]
CORNERS = {"left": {"outside": 90}, "right": {"inside": 120}}
STAR = [[0, 0], [12, 2], [24, 0], [20, 10], [24, 20], [12, 18], [0, 20], [4, 10]]
COUNTER = [[10, 8], [10, 12], [14, 12], [14, 8]]
WALLS = [{"name": "north", "wall": "31'-4\"", **CORNERS, "qty": 2}, {"wall": "24'", "left": "cap", "right": "square"}]

# Small lines of each kind; a job takes them in turn.
EXAMPLES: dict[str, list[dict[str, Any]]] = {
    "moulding": [
        {"section": STEPPED, "runs": WALLS, "coat": "1/8"},
        {"section": STEPPED, "frames": [{"width": 30, "height": 44, "qty": 6}], "coat": "1/8"},
        {**build(PRESETS["crown cornice"], "in"), "runs": WALLS, "coat": "1/8"},
        {"sprung": {"face": 4.5, "thick": 0.75, "spring": 45}, "runs": WALLS},
    ],
    "column": [
        {"round": 14, "height": 90, "shells": 2, "void": {"square": 4, "clearance": 0.25}, "coat": "1/8"},
        {"regular": {"sides": 6, "across_flats": 12}, "height": 90, "staves": {"thick": 1.25}, "coat": "1/8"},
    ],
    "taper": [{"base": {"round": 10}, "top": {"round": 7}, "length": 72, "coat": "1/8"}],
    "turned": [
        {"half_profile": [[0, 3], [1, 3], [4, 1.5], [9, 0.5]], "stub": {"base": 1.5, "top": 0}},
        {**build(PRESETS["baluster"], "in"), "stub": {"base": 1.5, "top": 1}},
    ],
    "twisted": [{"square": 6, "length": 60, "turns": 0.5, "hand": "right"}],
    "arch": [{"inside_radius": 24, "sweep": 180, "width": 4, "thick": 2, "longest_part": 36, "coat": "1/8"}],
    "cutout": [
        {"outlines": [{"name": "star", "outer": STAR, "holes": [COUNTER], "qty": 2}], "thick": 3},
        {"text": "LIBRARY", "font": "SignSerif-Bold.ttf", "cap_height": 12, "thick": 3, "lay": "row"},
    ],
    "mould": [
        {
            "cavity": [24, 14, 12], "draft": 3, "piece": [28, 18, 15], "wall": 4, "floor": 4, "halves": 2,
            "concrete_density": 150,
        },
    ],
    "wing": [
        {
            "root": {"naca": "0012", "chord": 9}, "tip": {"naca": "2412", "chord": 6}, "span": 28, "sweep": 1.5,
            "washout": 0, "hands": ["left", "right"], "stations": [0.3],
            "margin": {"ahead": 0.3, "behind": 0.3, "above": 0.2, "below": 0.2},
            "towers": {"gap": 52, "root_offset": 6},
        },
    ],
    "panel": [{"size": [48, 24, 6]}],
}  # fmt: skip


def job_text(names: list[str], lines: int) -> str:
    """Return a job file with lines of these kinds in turn."""
    bodies = islice(cycle(body | {"kind": name} for name in names for body in EXAMPLES[name]), lines)
    return json.dumps({
        "format": "blockyard-job-1", "unit": "in", "grades": {"EPS 1.0": {"density": 1.0}},
        "lines": [
            {"mark": f"M{i}", "grade": "EPS 1.0", "qty": 1 + i % 7} | body for i, body in enumerate(bodies)
        ],
    })  # fmt: skip


def whole(text: str) -> str:
    """Return the cut list of a job file, from text to text as the command line does it."""
    job = read_job(parse(text))
    return json.dumps(as_json(job, cut_list(job)), indent=1, ensure_ascii=False)


def seconds(work: Callable[[], object], times: int) -> list[float]:
    """Return the seconds of one core that each call took; what else the machine does counts little."""
    took = []
    for _ in range(times):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return took


def by_kind(times: int) -> dict[str, float]:
    """Return milliseconds a line for each kind, the slowest first."""
    took = {}
    for name in KINDS:
        text = job_text([name], 4 * len(EXAMPLES[name]))
        took[name] = 1000 * median(seconds(lambda text=text: whole(text), times)) / (4 * len(EXAMPLES[name]))
    return dict(sorted(took.items(), key=lambda each: -each[1]))


def beside_shapely(times: int) -> None:
    """Print what offset and area of a curved section take here, and by plain calls of shapely."""
    section = read_section(build(PRESETS["crown cornice"], "in") | {"bare": "none"}, "in")
    coat, points = 25.4 / 8, section.points
    ours = median(seconds(lambda: measure(foam_outline(section, coat)), 20 * times))
    plain = median(
        seconds(lambda: Polygon(points).buffer(-coat, join_style="mitre", mitre_limit=1000).area, 20 * times)
    )
    print(
        f"offset and area of a section of {len(points)} points: {1e3 * ours:.2f} ms; shapely alone {1e3 * plain:.2f} ms"
    )


def memory(text: str) -> str:
    """Return what a job holds on to at most while it is worked out, and the largest size of this process."""
    tracemalloc.start()
    whole(text)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    process = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return f"{peak / 2**20:.0f} MiB for the job, {process:.0f} MiB the whole process"


def main() -> int:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    if missing := KINDS.keys() - EXAMPLES.keys():
        print(f"no example of {', '.join(sorted(missing))}: add one to EXAMPLES")
        return 1
    text = job_text(list(KINDS), LINES)
    whole(text)  # fonts, tables: once
    took = seconds(lambda: whole(text), times)
    middle = median(took)
    print(f"{LINES} lines of {len(KINDS)} kinds: min {min(took):.3f} s, median {middle:.3f} s over {times}")
    print(
        f"  {LINES / middle:.0f} lines/s on one core, limits {LIMIT_S} s and {LEAST_A_SECOND} lines/s; {memory(text)}"
    )
    for name, each in by_kind(times).items():
        print(f"  {name:10} {each:6.2f} ms a line")
    beside_shapely(times)
    return int(middle > LIMIT_S or LINES / middle < LEAST_A_SECOND)


if __name__ == "__main__":
    sys.exit(main())
