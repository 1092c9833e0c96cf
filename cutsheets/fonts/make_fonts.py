"""Make the print fonts beside this file from the packages they come from.

Not needed to run anything: the results are kept in the project. To make them again, in an empty directory:

    npm pack @fontsource-variable/radio-canada@5.3.0 dejavu-fonts-ttf@2.37.3 @fontsource/noto-emoji@5.3.2
    mkdir radio-canada dejavu emoji
    tar xzf fontsource-variable-radio-canada-5.3.0.tgz -C radio-canada --strip-components=1
    tar xzf dejavu-fonts-ttf-2.37.3.tgz -C dejavu --strip-components=1
    tar xzf fontsource-noto-emoji-5.3.2.tgz -C emoji --strip-components=1
    apt-get download fonts-droid-fallback fonts-noto-core
    for each in *.deb; do dpkg-deb -x $each debian; done
    pip install fonttools brotli
    python .../cutsheets/fonts/make_fonts.py radio-canada dejavu debian/usr/share/fonts* emoji

Every file gets its own family and PostScript name. Where the three weights shared one, reportlab mixed them up and
text set in the regular weight came out bold.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

# fontTools is imported where it is used: nothing else of this module needs it.

HERE = Path(__file__).parent
SUBSETS = ("latin", "latin-ext", "vietnamese")
WEIGHTS = {"BlockyardFigures": (700, 75), "BlockyardStrong": (600, 82), "BlockyardText": (500, 88)}
FALLBACKS = {"BlockyardOtherStrong": "DejaVuSansCondensed-Bold.ttf", "BlockyardOtherText": "DejaVuSansCondensed.ttf"}
# Names from elsewhere: Latin with all its marks, Greek, Cyrillic, Armenian, Georgian, Hebrew, Arabic, signs, arrows.
SCRIPTS = (
    *((0x20, 0x36F), (0x370, 0x58F), (0x590, 0x6FF), (0x10A0, 0x10FF), (0x1E00, 0x1FFF), (0x2000, 0x27BF)),
    *((0xFB1D, 0xFDFF), (0xFE70, 0xFEFF), (0xFFFD, 0xFFFD)),
)
EAST = "BlockyardOtherEast"  # Chinese, Japanese, Korean
EAST_FILE = "truetype/DroidSansFallback.ttf"
SPACE = (0x20, 0x20)  # in every font, so that a space between two words is copied with them
EAST_SCRIPTS = (SPACE, (0x3000, 0x33FF), (0x4E00, 0x9FFF), (0xAC00, 0xD7AF), (0xF900, 0xFAFF), (0xFF00, 0xFFEF))
SOUTH = "BlockyardOtherSouth"  # with its layout tables: its letters are joined and put in order by HarfBuzz
BLANK = 260  # thousandths of an em, as in most of these files
JOINERS = (0x200C, 0x200D)
CIRCLE = (0x25CC, 0x25CC)  # under a mark without a letter
SOUTH_SCRIPTS = {
    "Sinhala": (0xD80, 0xDFF),  # first: it alone has a rule of its own for the joiner, and the first file's is kept
    "Devanagari": (0x900, 0x97F),
    "Bengali": (0x980, 0x9FF),
    "Gurmukhi": (0xA00, 0xA7F),
    "Gujarati": (0xA80, 0xAFF),
    "Oriya": (0xB00, 0xB7F),
    "Tamil": (0xB80, 0xBFF),
    "Telugu": (0xC00, 0xC7F),
    "Kannada": (0xC80, 0xCFF),
    "Malayalam": (0xD00, 0xD7F),
    "Thai": (0xE00, 0xE7F),
    "Lao": (0xE80, 0xEFF),
    "Myanmar": (0x1000, 0x109F),
    "Ethiopic": (0x1200, 0x137F),
    "Khmer": (0x1780, 0x17FF),
}
SIGNS = "BlockyardOtherSigns"  # emoji as outlines, in black
SIGN_FILES = "noto-emoji-[0-9]*-400-normal.woff2"
SIGN_SCRIPTS = ((0x203C, 0x32FF), (0x1F000, 0x1FBFF))  # no blank: theirs is as wide as a sign
SHAPING = ("GSUB", "GPOS", "GDEF")
UNUSED = ("STAT", "HVAR", "MVAR", "gasp", "prep", "DSIG", "vhea", "vmtx")
LAYOUT = (*SHAPING, *UNUSED)  # print sets other fonts glyph by glyph


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


def cut(source: Path, scripts: Sequence[tuple[int, int]], *, joined: bool = False) -> Any:
    """Return a font file with the characters of these scripts only, without hints; with layout tables if `joined`."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(source)
    options = Options()
    options.hinting = False
    options.layout_features = ["*"] if joined else []
    options.drop_tables += UNUSED if joined else LAYOUT
    subsetter = Subsetter(options=options)
    subsetter.populate(unicodes=[code for first, last in scripts for code in range(first, last + 1)])
    subsetter.subset(font)
    return font


def make_fallback(source: Path, name: str, scripts: Sequence[tuple[int, int]]) -> None:
    """Make `name`.ttf out of some scripts of one font."""
    font = cut(source, scripts)
    rename(font, name)
    font.save(HERE / f"{name}.ttf")


def make_south(folder: Path) -> None:
    """Merge the scripts of SOUTH_SCRIPTS, each from its own file, into one font."""
    from fontTools.merge import Merger, Options

    parts = []
    for script, codes in SOUTH_SCRIPTS.items():
        parts.append(BytesIO())
        font = cut(folder / f"NotoSans{script}-Regular.ttf", [SPACE, JOINERS, CIRCLE, codes], joined=True)
        font.save(parts[-1])
        parts[-1].seek(0)
    font = Merger(options=Options(drop_tables=list(UNUSED))).merge(parts)
    font["hmtx"][font.getBestCmap()[SPACE[0]]] = (BLANK, 0)
    rename(font, SOUTH)
    font.save(HERE / f"{SOUTH}.ttf")


def make_signs(package: Path) -> None:
    """Merge the files that hold emoji into one font; flags and joined signs come out sign by sign."""
    from fontTools.merge import Merger, Options

    parts = []
    for file in sorted(package.glob(f"files/{SIGN_FILES}")):
        font = cut(file, SIGN_SCRIPTS)
        font.flavor = None
        parts.append(BytesIO())
        font.save(parts[-1])
        parts[-1].seek(0)
    font = Merger(options=Options(drop_tables=list(LAYOUT))).merge(parts)
    rename(font, SIGNS)
    font.save(HERE / f"{SIGNS}.ttf")


def main(radio_canada: Path, dejavu: Path, debian: Path, droid: Path, emoji: Path) -> None:
    for each in WEIGHTS:
        make_weight(radio_canada, each)
    for each, file in FALLBACKS.items():
        make_fallback(dejavu / "ttf" / file, each, SCRIPTS)
    make_fallback(droid / EAST_FILE, EAST, EAST_SCRIPTS)
    make_south(debian / "truetype" / "noto")
    make_signs(emoji)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
