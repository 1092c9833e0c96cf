"""Make the print fonts beside this file from the two packages they come from.

Not needed to run anything: the results are kept in the project. To make them again, in an empty directory:

    npm pack @fontsource-variable/radio-canada@5.3.0 dejavu-fonts-ttf@2.37.3
    mkdir radio-canada dejavu
    tar xzf fontsource-variable-radio-canada-5.3.0.tgz -C radio-canada --strip-components=1
    tar xzf dejavu-fonts-ttf-2.37.3.tgz -C dejavu --strip-components=1
    pip install fonttools brotli
    python .../cutsheets/fonts/make_fonts.py radio-canada dejavu

Every file gets its own family and PostScript name. Where the three weights shared one, reportlab mixed them up and
text set in the regular weight came out bold.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path
from typing import Any

# fontTools is imported where it is used: nothing else of this module needs it.

HERE = Path(__file__).parent
SUBSETS = ("latin", "latin-ext", "vietnamese")
WEIGHTS = {"BlockyardFigures": (700, 75), "BlockyardStrong": (600, 82), "BlockyardText": (500, 88)}
FALLBACKS = {"BlockyardOtherStrong": "DejaVuSansCondensed-Bold.ttf", "BlockyardOtherText": "DejaVuSansCondensed.ttf"}
# Names from elsewhere: Latin with all its marks, Greek, Cyrillic, Armenian, Georgian, punctuation, signs, arrows.
SCRIPTS = ((0x20, 0x24F), (0x250, 0x2AF), (0x370, 0x58F), (0x10A0, 0x10FF), (0x1E00, 0x1FFF), (0x2000, 0x22FF))
LAYOUT = ("GSUB", "GPOS", "GDEF", "STAT", "HVAR", "MVAR", "gasp", "prep", "DSIG")  # print sets glyph by glyph


def rename(font: Any, name: str) -> None:
    """Give the font its own family (1, 16), unique (3), full (4) and PostScript (6) name."""
    names = font["name"]
    for record in (16, 17, 21, 22, 25):
        names.removeNames(nameID=record)
    for record, text in ((1, name), (2, "Regular"), (3, f"{name} 1"), (4, name), (6, name)):
        names.removeNames(nameID=record)
        names.setName(text, record, 3, 1, 0x409)
    font["head"].created = font["head"].modified = 0  # the same input makes the same file
    font.recalcTimestamp = False


def instance(source: Path, weight: int, width: int) -> BytesIO:
    """Return one subset of the variable font at a fixed weight and width, without layout tables."""
    from fontTools.ttLib import TTFont
    from fontTools.varLib.instancer import instantiateVariableFont

    font = instantiateVariableFont(TTFont(source), {"wght": weight, "wdth": width})
    for tag in LAYOUT:
        if tag in font:
            del font[tag]
    font.flavor = None
    held = BytesIO()
    font.save(held)
    held.seek(0)
    return held


def make_weight(package: Path, name: str) -> None:
    """Merge the subsets at one weight and width into `name`.ttf."""
    from fontTools.merge import Merger, Options

    files = [package / "files" / f"radio-canada-{subset}-standard-normal.woff2" for subset in SUBSETS]
    font = Merger(options=Options(drop_tables=list(LAYOUT))).merge([instance(file, *WEIGHTS[name]) for file in files])
    rename(font, name)
    font.save(HERE / f"{name}.ttf")


def make_fallback(package: Path, name: str) -> None:
    """Cut the scripts of SCRIPTS out of the DejaVu file that stands behind `name`."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(package / "ttf" / FALLBACKS[name])
    options = Options()
    options.hinting = False
    options.layout_features = []
    options.drop_tables += list(LAYOUT)
    subsetter = Subsetter(options=options)
    subsetter.populate(unicodes=[code for first, last in SCRIPTS for code in range(first, last + 1)])
    subsetter.subset(font)
    rename(font, name)
    font.save(HERE / f"{name}.ttf")


if __name__ == "__main__":
    for each in WEIGHTS:
        make_weight(Path(sys.argv[1]), each)
    for each in FALLBACKS:
        make_fallback(Path(sys.argv[2]), each)
