"""The lines of a printed page, measured: what a caliper would read off the paper."""

import ctypes

import pypdfium2.raw as pdfium

MM = 72 / 25.4  # points


def strokes(page):
    """Yield (left, bottom, right, top, weight, dashed) of everything that is stroked, points."""
    for shape in page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_PATH,)):
        mode, stroked = ctypes.c_int(), ctypes.c_int()
        pdfium.FPDFPath_GetDrawMode(shape.raw, mode, stroked)
        if stroked:
            weight = ctypes.c_float()
            pdfium.FPDFPageObj_GetStrokeWidth(shape.raw, weight)
            yield (*shape.get_bounds(), weight.value, pdfium.FPDFPageObj_GetDashCount(shape.raw) > 0)


def longest_run(picture, box):
    """Return the longest level run of ink in a box of a picture, in dots."""
    dark = picture.crop(box).point(lambda value: value < 128, "1")
    longest = 0
    for row in range(dark.height):
        ink = bytes(dark.crop((0, row, dark.width, row + 1)).convert("L").tobytes())
        longest = max(longest, *(len(run) for run in ink.split(b"\0")))
    return longest


def bar_before(page, picture, words, resolution):
    """Return how long the bar is that stands before some words, mm, measured on the picture of the page."""
    reader = page.get_textpage()
    first, _ = reader.search(words).get_next()
    left, bottom, _, top = reader.get_charbox(first)
    dots = resolution / 72
    high = page.get_height()
    box = (0, int((high - top - 4) * dots), int((left - 1) * dots), int((high - bottom + 4) * dots))
    return longest_run(picture, box) / dots / MM
