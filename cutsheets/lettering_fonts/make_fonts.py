"""Make the sign letters beside this file from Debian's package of the fonts they come from.

Not needed to run anything: the results are kept in the project. To make them again, in an empty directory:

    apt-get download fonts-liberation2 && dpkg -x fonts-liberation2_2.1.5-1_all.deb .
    python -m cutsheets.lettering_fonts.make_fonts DIRECTORY/usr/share/fonts/truetype/liberation2

Cut down to the scripts of SCRIPTS, without hints, kerning kept. The licence keeps the old names to unchanged files, so
every file gets a name of its own.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

from cutsheets.fonts.make_fonts import rename

HERE = Path(__file__).parent
SOURCES = {"SignSans-Bold": "LiberationSans-Bold.ttf", "SignSerif-Bold": "LiberationSerif-Bold.ttf"}
DATE = 3_700_000_000  # seconds from 1904: 2021, when the sources were made; 0 makes fontTools warn
# Latin with all its marks, Greek, Cyrillic, punctuation, currency, letter-like signs, arrows.
SCRIPTS = ((0x20, 0x24F), (0x370, 0x52F), (0x1E00, 0x1EFF), (0x2010, 0x2044), (0x20A0, 0x2122), (0x2190, 0x2195))


def make(folder: Path, name: str) -> None:
    """Cut one font down and give it its own name."""
    font = TTFont(folder / SOURCES[name])
    options = Options()
    options.hinting = False
    options.layout_features = ["kern"]
    options.name_IDs = [0, 5, 13, 14]  # copyright, version, licence; rename adds the others
    options.drop_tables += ["FFTM"]
    subsetter = Subsetter(options=options)
    subsetter.populate(unicodes=[code for first, last in SCRIPTS for code in range(first, last + 1)])
    subsetter.subset(font)
    rename(font, name)
    font["head"].created = font["head"].modified = DATE
    font.save(HERE / f"{name}.ttf")


if __name__ == "__main__":
    for each in SOURCES:
        make(Path(sys.argv[1]), each)
