"""How long paper takes on one core, and how much memory, beside the same page laid out by reportlab's platypus alone.

    PYTHONPATH=. .venv/bin/python tests/bench/bench_paper.py [times]

Times are those of the process's own work (CPU), so a busy machine does not count; the least and the median of all runs.
The platypus page holds the same words, the same barcode and the same section as a picture, as paragraphs and tables in
the fonts that reportlab brings along: what one would get without our own drawing of anything.
"""

import resource
import sys
import time
import tracemalloc
from dataclasses import replace
from io import BytesIO
from statistics import median

from reportlab.graphics.barcode.code128 import Code128
from reportlab.graphics.shapes import Drawing, Polygon
from reportlab.lib.colors import white
from reportlab.lib.pagesizes import letter
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.platypus import PageBreak, Paragraph, SimpleDocTemplate, Spacer, Table

from cutsheets.drawings.lettering import length_parts, plain
from cutsheets.sheets.page import Pen
from cutsheets.sheets.traveller import draw_traveller, traveller_pdf
from tests.cutsheets.paper_samples import CORNICE_LINE, PANEL_LINE, SHEET

PAGES = 100
LIMIT_MS, LIMIT_BATCH_S = 60, 4
THREE_LINES = replace(SHEET, lines=(CORNICE_LINE, PANEL_LINE, replace(CORNICE_LINE, what="Cornice, back run")))


def batch():
    """Return a release of as many orders as fill a hundred pages, each with a bookmark and its own number."""
    pen = Pen("letter", title="Release", author=SHEET.shop, subject="a hundred pages")
    orders = PAGES // len(THREE_LINES.lines) + 1
    for number in range(orders):
        if number:
            pen.next_page()
        pen.bookmark(f"Order {4182 + number}")
        draw_traveller(pen, replace(THREE_LINES, number=4182 + number))
    return pen.finish()


def inches(*sizes):
    return " × ".join(plain(length_parts(size, "in")) for size in sizes)


def bars(high):
    return Code128("BY4182CU", barWidth=1.44, barHeight=high)


def size_of(box):
    return inches(box.l, box.w, box.h)


def flowables(sheet):
    """Return the words, barcodes and sections of a traveller as platypus has them."""
    style = getSampleStyleSheet()
    for line in sheet.lines:
        worked = line.worked
        yield Table([[Paragraph(f"{sheet.number} {sheet.revision}", style["Title"]), bars(50)]])
        yield Paragraph(f"{sheet.job}, {sheet.customer}. Line {worked.mark}: {line.what}", style["Heading2"])
        rows = [[", ".join(b.marks), b.qty, size_of(b.size), "[ ] " * b.qty] for b in worked.blanks]
        yield Table([["piece", "count", "blank", "done"], *rows], repeatRows=1)
        if worked.sticks:
            section = Drawing(150, 180)
            points = [side * 0.6 for point in worked.foam.outline for side in point]
            section.add(Polygon(points, fillColor=white))
            yield section
            rows = [[s.mark, s.qty, inches(s.long), inches(s.wall), s.left.kind, s.right.kind] for s in worked.sticks]
            yield Table([["piece", "count", "long point", "short", "left", "right"], *rows], repeatRows=1)
        yield Paragraph(f"{line.coat} {line.note} {line.saw_from}", style["Normal"])
        yield Spacer(1, 12)
        yield bars(30)
        yield PageBreak()


def platypus(sheets):
    held = BytesIO()
    story = [each for sheet in sheets for each in flowables(sheet)]
    SimpleDocTemplate(held, pagesize=letter, invariant=1).build(story)
    return held.getvalue()


def seconds(make, times):
    """Return the least and the median CPU time of a call."""
    took = []
    for _ in range(times):
        start = time.process_time()
        make()
        took.append(time.process_time() - start)
    return min(took), median(took)


def most_memory(make):
    """Return the most memory that Python's objects took during a call, MiB."""
    tracemalloc.start()
    make()
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return most / 2**20


def main() -> int:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    first, _ = seconds(lambda: traveller_pdf(THREE_LINES), 1)
    ours, ours_median = seconds(lambda: traveller_pdf(THREE_LINES), times)
    theirs, theirs_median = seconds(lambda: platypus([THREE_LINES]), times)
    print(f"traveller of three lines: least {1000 * ours:.1f}, median {1000 * ours_median:.1f} ms; limit {LIMIT_MS} ms")
    print(f"  the first, with its fonts: {1000 * first:.1f} ms")
    print(f"  the same by platypus: least {1000 * theirs:.1f}, median {1000 * theirs_median:.1f} ms")
    print(f"  ours ÷ platypus: {ours / theirs:.2f} of the least, {ours_median / theirs_median:.2f} of the median")
    whole, whole_median = seconds(batch, max(1, times // 7))
    copies = [replace(THREE_LINES, number=4182 + number) for number in range(PAGES // 3 + 1)]
    other, _ = seconds(lambda: platypus(copies), max(1, times // 7))
    print(f"release of {PAGES} pages: least {whole:.2f}, median {whole_median:.2f} s; limit {LIMIT_BATCH_S} s")
    print(f"  platypus {other:.2f} s, ours ÷ platypus {whole / other:.2f}; {len(batch()) / 1024:.0f} KiB")
    memory = most_memory(batch), most_memory(lambda: platypus(copies))
    print(f"  memory of Python's objects {memory[0]:.1f} MiB, platypus {memory[1]:.1f} MiB")
    print(f"  the process at its most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")
    return int(ours > LIMIT_MS / 1000 or whole > LIMIT_BATCH_S)


if __name__ == "__main__":
    sys.exit(main())
