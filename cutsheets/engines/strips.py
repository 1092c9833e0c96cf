"""spyrrow, a packer of strips, in a child process: a strip of fixed height, shorter and shorter.

A job holds `height`, `items` [{outer, copies, turns or None}] and `seed`. An answer holds the `width` of the strip and
`parts` [[item, turn, x, y], …]. With the same seed and time enough it says the same; where the clock ends it, not.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Mapping
from typing import Any

import spyrrow

from cutsheets.engines.children import Say, serve

LOOK = 0.05  # seconds between two looks for progress


def work(job: Mapping[str, Any], say: Say) -> None:
    """Answer with each strip that is shorter than the last one."""
    items = [
        spyrrow.Item(str(n), [tuple(point) for point in item["outer"]], item["copies"], item["turns"])
        for n, item in enumerate(job["items"])
    ]
    instance = spyrrow.StripPackingInstance("", job["height"], items)
    config = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=max(2, math.ceil(job["seconds"])),  # whole seconds only
        num_workers=1, seed=job["seed"],
    )  # fmt: skip
    progress = spyrrow.ProgressQueue()
    solving = threading.Thread(target=instance.solve, args=(config, progress), daemon=True)
    solving.start()
    best = math.inf
    while solving.is_alive():
        time.sleep(LOOK)
        for kind, found in progress.drain():
            if kind in FEASIBLE and found.width < best:
                best = found.width
                parts = [(int(part.id), part.rotation, *part.translation) for part in found.placed_items]
                say({"width": best, "parts": parts})


FEASIBLE = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)

if __name__ == "__main__":
    serve(work)
