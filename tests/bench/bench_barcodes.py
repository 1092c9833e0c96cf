"""How often the bars on paper are read: printed at three resolutions, then worn in the ways of a shop.

    PYTHONPATH=. .venv/bin/python tests/bench/bench_barcodes.py [trials]

A trial is a code of its own, printed, worn and given to zxing-cpp. Readings of something else are counted too, and the
benchmark ends where our own check character lets one pass. The grade is that of clean prints, estimated after ISO/IEC
15416, of the poorest of three codes. 200 trials a cell take some six minutes.
"""

import random
import sys

import zxingcpp

from cutsheets.codes import make_sheet_code, make_stock_code, read_code, revision_letter
from cutsheets.errors import CutsheetError
from cutsheets.sheets.barcodes import MODULE, MODULES
from tests.cutsheets.bar_grade import grade
from tests.cutsheets.worn_paper import WORN, bars_alone, clean, worn

RESOLUTIONS = (203, 300, 600)
PAPERS = (
    *(("page, 20 mil", MODULE, dpi) for dpi in RESOLUTIONS),
    *(("tag, 10 mil", MODULES[300][-1], dpi) for dpi in RESOLUTIONS),
    ("tag, 14.8 mil", MODULES[203][-1], 203),
)
GRADED = ("BY4182CU", "BR0231G", "BY104182BDE")
LEAST = {clean: 1.0} | dict.fromkeys(WORN, 0.99)


def any_code(chance: random.Random) -> str:
    if chance.random() < 0.3:
        return make_stock_code(chance.choice(("block", "remnant")), chance.randint(1, 99_999))
    return make_sheet_code(chance.randint(1, 250_000), revision_letter(chance.randint(1, 60)))


def refused(text: str) -> bool:
    try:
        read_code(text)
    except CutsheetError:
        return True
    return False


def read_and_misread(way, module, resolution, trials):
    """Return how many codes are read, and how many readings are of something else."""
    chance = random.Random(f"{way.__name__} {module} {resolution}")
    read = misread = 0
    for _ in range(trials):
        text = any_code(chance)
        found = [one.text for one in zxingcpp.read_barcodes(worn(way, text, module, resolution, chance))]
        wrong = [other for other in found if other != text]
        assert all(map(refused, wrong)), f"{text} was read as {found}"
        read += text in found
        misread += len(wrong)
    return read, misread


def main() -> int:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print(f"share of {trials} codes that are read, percent; readings of something else, all refused by the check")
    print(f"{'':14} {'dpi':>4}", *(f"{way.__name__:>8}" for way in LEAST), "   else  grade")
    short = []
    for paper, module, resolution in PAPERS:
        counts = {way: read_and_misread(way, module, resolution, trials) for way in LEAST}
        shares = {way: read / trials for way, (read, _) in counts.items()}
        wrong = sum(misread for _, misread in counts.values())
        cells = (f"{100 * share:8.1f}" for share in shares.values())
        worst = min(grade(*bars_alone(text, module, resolution))[0] for text in GRADED)
        print(f"{paper:14} {resolution:4}", *cells, f"{wrong:7} {worst:6.1f}", flush=True)
        short += [(paper, resolution, way.__name__) for way, share in shares.items() if share < LEAST[way]]
    for each in short:
        print("too few:", *each)
    return int(bool(short))


if __name__ == "__main__":
    sys.exit(main())
