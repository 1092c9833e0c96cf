"""How long a traveller of three lines and the saw sheet of a day's blocks take.

PYTHONPATH=. .venv/bin/python tests/bench/bench_sheets.py [times]
"""

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

from cutsheets.sheets.sawsheet import saw_sheet_pdf
from cutsheets.sheets.traveller import traveller_pdf
from tests.cutsheets.paper_samples import CORNICE_LINE, FULL_SAW_SHEET, PANEL_LINE, SHEET

LIMIT_MS = 150  # a traveller of three lines
THREE_LINES = replace(SHEET, lines=(CORNICE_LINE, PANEL_LINE, replace(CORNICE_LINE, what="Cornice, back run")))


def measure(make: Callable[[], bytes], times: int) -> list[float]:
    """Return how many milliseconds each call took."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        make()
        took.append(1000 * (time.perf_counter() - start))
    return took


def main() -> int:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    (first,) = measure(lambda: traveller_pdf(THREE_LINES), 1)
    travellers = measure(lambda: traveller_pdf(THREE_LINES), times)
    saw_sheets = measure(lambda: saw_sheet_pdf(FULL_SAW_SHEET), max(1, times // 3))
    print(f"traveller of three lines: min {min(travellers):.1f} ms, median {median(travellers):.1f} ms over {times}")
    print(f"  the first, with its fonts loaded: {first:.1f} ms; limit {LIMIT_MS} ms")
    pieces = len(FULL_SAW_SHEET.pieces)
    print(f"saw sheet of {pieces} pieces: min {min(saw_sheets):.1f} ms, median {median(saw_sheets):.1f} ms")
    return int(median(travellers) > LIMIT_MS)


if __name__ == "__main__":
    sys.exit(main())
