"""The floor's part of the day: scans, counts, remnants, a miscut; every figure read off the station's screen."""

import re

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from orders.models import RunRemnant, RunSource
from tests.pages.day_browser import NUMBER, number

SCREEN = "#screen"
NEXT = ("Blank sawn", "Put back", "is finished", "open it", "All sawn")


def at(hands, station):
    hands.open(f"/station/{station}/")
    hands.sees("Scan a sheet", where=SCREEN)


def scan(hands, code, *says):
    """Scan with keys that come as fast as a scanner's, and wait for what the screen says to it."""
    hands.scan(code)
    hands.sees(*says, where=SCREEN)


def readout(hands):
    """Return the blank that the screen shows, long, wide, high in inches."""
    said = hands.browser.find_element(By.CSS_SELECTOR, ".st-readout").get_attribute("aria-label")
    return tuple(number(side) for side in re.findall(rf"({NUMBER}) (?:long|wide|high)", said))


def count(hands):
    """Return (done, due) of the size or the piece on the screen: “3 of 6 sawn”, “6 cut”."""
    done, due = re.search(r"(?:(\d+) of )?(\d+) (?:sawn|cut)\b", hands.words(SCREEN)).groups()
    return int(done or due), int(due)


def open_block(hands):
    """Take the block that the screen names, and return its tag."""
    tag = re.search(r"Take (\S+), open it", hands.words(SCREEN))[1]
    hands.act()
    hands.sees("On the saw", where=SCREEN)
    assert RunSource.objects.filter(piece__tag=tag, state="saw").exists()
    return tag


def count_one(hands):
    """Press the one large button: one more is done, and the next size comes up after the last one."""
    before = hands.words(SCREEN)
    hands.act()
    hands.until(lambda: hands.words(SCREEN) != before, "the next count")


def count_many(hands, qty, *says):
    """Ask for the number pad, type how many and press Enter; the answer may be a refusal."""
    first_piece(hands)
    hands.key("+")
    hands.sees("How many", where=SCREEN)
    field = hands.browser.find_element(By.NAME, "qty")
    field.send_keys(str(qty), Keys.ENTER)
    hands.until(lambda: "How many" not in hands.words(SCREEN), "the answer to a count")
    hands.sees(*says, where=SCREEN)


def first_piece(hands):
    """Say at the wire that the first piece is right, which comes before a number of them."""
    if "measure it before the run" in hands.words(SCREEN):
        hands.key("f")
        hands.sees("Measured, it is right", where=SCREEN)
        hands.press("Measured, it is right")
        hands.sees("First piece right", where=SCREEN)


def saw_all(hands):
    """Count what is open blank by blank and then all at once, and return {size: how many are sawn}."""
    sawn = {}
    while "Blank sawn" in hands.words(SCREEN):
        size, (done, due) = readout(hands), count(hands)
        left = due - done
        count_one(hands)
        if left > 1:
            count_many(hands, left, f"not {left}")  # one more than is left is refused
            count_many(hands, left - 1)
        sawn[size] = left
    return sawn


def put_back_all(hands):
    """Put every remnant back: the first half an inch shorter than planned, as the tape says. Return tag and size."""
    tags = {}
    while put_back := re.search(r"Put back (R-\d+)", hands.words(SCREEN)):
        hands.act()
        hands.sees(f"Tag {put_back[1]} on it", where=SCREEN)
        if not tags:
            hands.fill(long=str(float(number(hands.field("long").get_attribute("value").replace("-", " "))) - 0.5))
        hands.press("Tag R-")
        hands.until(lambda tag=put_back[1]: f"Tag {tag} on it" not in hands.words(SCREEN), "the next screen")
        remnant = RunRemnant.objects.get(tag=put_back[1])
        assert remnant.piece.state == "rack"
        tags[put_back[1]] = remnant.l_um - remnant.piece.l_um
    return tags


def finish_block(hands, tag):
    hands.sees(f"{tag} is finished", where=SCREEN)
    hands.act()
    hands.sees("All sawn. Blanks to", where=SCREEN)


def miscut(hands, cause):
    """Say that one piece was spoiled, by the keys of the station."""
    hands.key("t")
    hands.sees("What went wrong?", where=SCREEN)
    hands.key(cause)
    hands.sees("How many are spoiled?", where=SCREEN)
    hands.press("Spoiled, cut again")
    hands.until(lambda: "How many are spoiled?" not in hands.words(SCREEN), "the work again")


def piece_shown(hands):
    """Return the mark of the piece on the cutter's screen, and its lengths in the order in which they stand."""
    lengths = re.findall(NUMBER, hands.words(".st-points"))
    return hands.words(".st-mark b"), tuple(number(length) for length in lengths)


def section_shown(hands):
    """Return the digits of the two sizes that stand beside the section: foam, never the finished size."""
    return [one.text for one in hands.browser.find_elements(By.CSS_SELECTOR, ".st-profile svg text")]


def cut_all(hands, *, spoil=""):
    """Count all pieces that have a blank, spoil one of the mark `spoil`, and return {mark: its lengths}."""
    seen = {}
    while "Piece cut" in hands.words(SCREEN):
        mark, seen_lengths = piece_shown(hands)
        seen[mark] = seen_lengths
        count_one(hands)
        if mark == spoil:
            miscut(hands, "1")
            spoil = ""
        if piece_shown(hands)[0] == mark and "Piece cut" in hands.words(SCREEN):
            here = int(re.search(r"(\d+) here", hands.words(SCREEN))[1])
            count_many(hands, here) if here > 1 else count_one(hands)
    return seen
