"""Where the words of a printed page stand: a box of ink around each run of letters, as pdfium measures it."""

import ctypes
import re
from collections import defaultdict, namedtuple
from dataclasses import dataclass, fields, is_dataclass, replace

import pypdfium2.raw as pdfium

TOUCH = 0.7  # pt that two boxes may share: a box is that of the glyphs' outlines, rounded outwards
JOINED = b"BlockyardOtherSouth"
MARKS = {"mark", "marks"}
Box = namedtuple("Box", "left bottom right top")


@dataclass(frozen=True)
class Words:
    """A run of letters; `upright` is false where it leans."""

    text: str
    box: Box
    letters: tuple[Box, ...]
    upright: bool


def hit(one, other):
    """Return whether two boxes share more than a hair."""
    across = min(one.right, other.right) - max(one.left, other.left)
    along = min(one.top, other.top) - max(one.bottom, other.bottom)
    return across > TOUCH and along > TOUCH


def text_boxes(page):
    """Return every run of letters of a page, points from the lower left corner."""
    reader = page.get_textpage()
    letters = defaultdict(list)
    for place in range(reader.count_chars()):
        owner = pdfium.FPDFText_GetTextObject(reader.raw, place)
        box = Box(*reader.get_charbox(place))
        if owner and not chr(pdfium.FPDFText_GetUnicode(reader.raw, place)).isspace():
            letters[ctypes.addressof(owner.contents)].append((pdfium.FPDFText_GetUnicode(reader.raw, place), box))
    found = []
    for shape in page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_TEXT,)):
        if JOINED in font_name(shape):
            join(found, shape, letters)
        elif run := letters.get(ctypes.addressof(shape.raw.contents)):
            matrix = shape.get_matrix()
            upright = abs(matrix.b) < 1e-6 and abs(matrix.c) < 1e-6
            boxes = tuple(box for _, box in run)
            found.append(Words("".join(chr(code) for code, _ in run), around(boxes), boxes, upright))
    return found


def font_name(shape):
    held = ctypes.create_string_buffer(100)
    pdfium.FPDFFont_GetBaseFontName(pdfium.FPDFTextObj_GetFont(shape.raw), held, 100)
    return held.value


def join(found, shape, letters):
    """Add glyphs that are no letters to the words found: the first of a text holds its letters, the boxes are ink."""
    box = Box(*shape.get_bounds())
    if run := letters.get(ctypes.addressof(shape.raw.contents)):
        found.append(Words("".join(chr(code) for code, _ in run), box, (box,), True))
    elif box.right > box.left:
        found[-1] = replace(found[-1], box=around((found[-1].box, box)), letters=(*found[-1].letters, box))


def around(boxes):
    left, bottom, right, top = zip(*boxes, strict=True)
    return Box(min(left), min(bottom), max(right), max(top))


def overlaps(page):
    """Return the pairs of runs with letters over each other; not of leaning ones, whose boxes are too big."""
    runs = sorted((words for words in text_boxes(page) if words.upright), key=lambda words: words.box.left)
    pairs = []
    for place, one in enumerate(runs):
        for other in runs[place + 1 :]:
            if other.box.left >= one.box.right:
                break
            if hit(one.box, other.box) and any(hit(a, b) for a in one.letters for b in other.letters):
                pairs.append((one, other))
    return pairs


def with_names(value, name, keep, marks=8):
    """Return a value of dataclasses with every text in it exchanged for a name, but for the fields to keep.

    Marks keep their numbers and take so many characters of the name; an order holds eight.
    """
    if isinstance(value, tuple):
        return tuple(with_names(each, name, keep, marks) for each in value)
    if not is_dataclass(value):
        return value
    changed = {}
    for field in fields(value):
        old = getattr(value, field.name)
        if field.name in MARKS:
            changed[field.name] = marked(old, name[:marks])
        elif field.init and field.name not in keep:
            changed[field.name] = name if isinstance(old, str) else with_names(old, name, keep, marks)
    return replace(value, **changed)


def marked(old, name):
    return re.sub(r"^[^\W\d]+", name, old) if isinstance(old, str) else tuple(marked(each, name) for each in old)
