"""What a shop does to a barcode: pictures of printed bars that are turned, blurred, dirty, pale, folded and torn.

A scanner's eye is finer than a printer's dots: a print at 203 or 300 dpi is brought to about 600 dpi, dot by dot,
before it is worn. Every way takes a picture in greys, its scale and a source of chance; it returns the picture as a
scanner would have it. How bad each is stands in its docstring; the figures are chosen here, from no standard.
"""

from io import BytesIO
from typing import NamedTuple

import numpy as np
import pypdfium2
from PIL import Image, ImageDraw, ImageFilter
from reportlab.pdfgen.canvas import Canvas

from cutsheets.sheets.barcodes import Barcode, draw_barcode, least_height, symbol_width

ROOM = 10.0  # white around the symbol, pt
FINE = 600  # dpi
WORDS = 16.0  # below the bars


class Scale(NamedTuple):
    """Dots of a module, and of a millimetre."""

    module: float
    mm: float


def printed(text, module, resolution):
    """Return a symbol at its least height as a printer leaves it, black or white, and its scale."""
    high = least_height(text, module)
    held = BytesIO()
    dot = 72 / resolution
    # whole dots, and a hair less: a picture has whole dots, up to which a page is stretched; a printer stretches none
    size = [
        (side // dot + 1) * dot - 0.001 for side in (symbol_width(text, module) + 2 * ROOM, high + WORDS + 2 * ROOM)
    ]
    canvas = Canvas(held, pagesize=size, invariant=1)
    left = ROOM + 10 * module
    draw_barcode(canvas, Barcode(text, left, ROOM + WORDS, high, module))
    canvas.save()
    with pypdfium2.PdfDocument(held.getvalue()) as file:
        grey = file[0].render(scale=resolution / 72, grayscale=True).to_pil()
    return grey.point(lambda value: 255 * (value > 127)), Scale(module * resolution / 72, resolution / 25.4)


def bars_alone(text, module, resolution):
    """Return the bars of a printed symbol with their quiet zones, without the words below, and the dots of a module."""
    picture, scale = printed(text, module, resolution)
    dark = [row for row in range(picture.height) if picture.crop((0, row, picture.width, row + 1)).getextrema()[0] == 0]
    high = round(least_height(text, module) / 72 * resolution)
    return picture.crop((0, dark[0] + 1, picture.width, dark[0] + high - 1)), scale.module


def worn(way, text, module, resolution, chance):
    """Return the picture of a symbol that was printed and then treated in one of the ways."""
    picture, scale = printed(text, module, resolution)
    finer = 1 if way is clean else round(FINE / resolution)
    picture = picture.resize((picture.width * finer, picture.height * finer), Image.Resampling.NEAREST)
    return way(picture, Scale(scale.module * finer, scale.mm * finer), chance)


def clean(picture, scale, chance):
    """As printed."""
    return picture


def turned(picture, scale, chance):
    """Held askew by 3 to 7 degrees, either way: further, and no straight line crosses all bars of the least height."""
    angle = chance.uniform(3, 7) * chance.choice((-1, 1))
    return picture.rotate(angle, Image.Resampling.BILINEAR, expand=True, fillcolor=255)


def blurred(picture, scale, chance):
    """Out of focus or smeared: Gaussian, sigma 0.15 to 0.35 of a module."""
    return picture.filter(ImageFilter.GaussianBlur(scale.module * chance.uniform(0.15, 0.35)))


def dusty(picture, scale, chance):
    """Dust and a poor sensor: noise of sigma 15 of 255; six specks a cm², black or white, 0.1 to 0.4 mm across."""
    worn = picture.copy()
    draw = ImageDraw.Draw(worn)
    for _ in range(round(6 * picture.width * picture.height / (10 * scale.mm) ** 2)):
        x, y = chance.uniform(0, picture.width), chance.uniform(0, picture.height)
        draw.circle((x, y), scale.mm * chance.uniform(0.05, 0.2), fill=chance.choice((0, 255)))
    seed = np.random.default_rng(chance.getrandbits(32))
    grey = np.asarray(worn) + seed.normal(0, 15, (picture.height, picture.width))
    return Image.fromarray(grey.clip(0, 255).astype(np.uint8))


def pale(picture, scale, chance):
    """Toner running out on grey paper: the bars at 105 of 255, the paper at 150."""
    return picture.point(lambda value: 105 + value * 45 // 255)


def folded(picture, scale, chance):
    """Folded across the bars at up to 3 degrees: toner gone over 0.7 mm, a shadow of 1.5 mm on one side."""
    middle = picture.height * chance.uniform(0.3, 0.6)
    rise = picture.width * np.tan(np.radians(chance.uniform(-3, 3))) / 2
    line = [(0, middle - rise), (picture.width, middle + rise)]
    shadow = Image.new("L", picture.size, 255)
    ImageDraw.Draw(shadow).line([(x, y + scale.mm) for x, y in line], fill=150, width=round(1.5 * scale.mm))
    worn = Image.fromarray(np.minimum(np.asarray(picture), np.asarray(shadow)))
    ImageDraw.Draw(worn).line(line, fill=235, width=round(0.7 * scale.mm))
    return worn


def torn(picture, scale, chance):
    """The upper quarter of the bars torn off along a ragged edge; a dark bench shows behind."""
    top = np.flatnonzero(np.asarray(picture).min(axis=1) == 0)[0]
    level = top + 0.25 * 10 * scale.mm  # symbols here are 10 mm high, or little more
    ragged = range(0, picture.width, round(scale.mm))
    edge = [(x, level - scale.mm * chance.uniform(0, 1)) for x in ragged]
    worn = picture.copy()
    ImageDraw.Draw(worn).polygon([(0, 0), *edge, (picture.width, level), (picture.width, 0)], fill=60)
    return worn


def at_once(picture, scale, chance):
    """Turned by 2 to 5 degrees, blurred by 0.2 of a module, bars at 60 on paper at 200, dust."""
    angle = chance.uniform(2, 5) * chance.choice((-1, 1))
    worn = picture.rotate(angle, Image.Resampling.BILINEAR, expand=True, fillcolor=255)
    worn = worn.filter(ImageFilter.GaussianBlur(scale.module * 0.2))
    return dusty(worn.point(lambda value: 60 + value * 140 // 255), scale, chance)


WORN = (turned, blurred, dusty, pale, folded, torn, at_once)
