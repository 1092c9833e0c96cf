"""Reads a printed sheet as a stranger would: its words, its ink, its codes, the size and font of its letters."""

import ctypes

import pypdfium2
import pypdfium2.raw as pdfium
import zxingcpp

from cutsheets.sheets.barcodes import modules


def document(data):
    return pypdfium2.PdfDocument(data)


def words(data, half="all"):
    """Return the text of each page, of its upper or lower half, with single spaces."""
    texts = []
    for page in document(data):
        height = page.get_height()
        low, high = {"all": (0, height), "upper": (height / 2, height), "lower": (0, height / 2)}[half]
        texts.append(" ".join(page.get_textpage().get_text_bounded(bottom=low, top=high).split()))
    return texts


def picture(page, resolution):
    """Return the page as a printer has it: black or white."""
    grey = page.render(scale=resolution / 72, grayscale=True).to_pil()
    return grey.point(lambda value: 255 * (value > 127))


def codes(page, resolution):
    return zxingcpp.read_barcodes(picture(page, resolution))


def quiet_zones_are_white(page, resolution=200):
    """Return whether ten modules on both sides of every code hold no ink, over the whole height of its bars."""
    sheet = picture(page, resolution)
    for code in zxingcpp.read_barcodes(sheet):
        top, bottom = code.position.top_left.y, code.position.bottom_left.y
        left, right = code.position.top_left.x, code.position.top_right.x
        zone = 10 * (right - left) / len(modules(code.text))
        for start, end in ((left - zone + 2, left - 2), (right + 3, right + zone - 2)):
            if sheet.crop((int(start), top, int(end), bottom)).getextrema()[0] == 0:
                return False
    return True


def ink_box(page, resolution=100):
    """Return left, top, right, bottom of all ink, as distances from the four edges in points."""
    sheet = picture(page, resolution)
    left, top, right, bottom = sheet.point(lambda value: 255 - value).getbbox()
    factor = 72 / resolution
    return left * factor, top * factor, (sheet.width - right) * factor, (sheet.height - bottom) * factor


def letters(data):
    """Yield (size in points, whether the font is in the file) of each run of text."""
    for page in document(data):
        for shape in page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_TEXT,)):
            size, matrix = ctypes.c_float(), shape.get_matrix()
            pdfium.FPDFTextObj_GetFontSize(shape.raw, size)
            scale = (matrix.b**2 + matrix.d**2) ** 0.5
            yield size.value * scale, bool(pdfium.FPDFFont_GetIsEmbedded(pdfium.FPDFTextObj_GetFont(shape.raw)))


def text_overlaps(page, slack=0.6):
    """Return the pairs of runs of text whose ink boxes lie on each other by more than `slack` points both ways."""
    boxes = [shape.get_bounds() for shape in page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_TEXT,))]
    return [
        (one, other)
        for place, one in enumerate(boxes)
        for other in boxes[:place]
        if min(one[2], other[2]) - max(one[0], other[0]) > slack
        and min(one[3], other[3]) - max(one[1], other[1]) > slack
    ]
