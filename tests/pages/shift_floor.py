"""The hands of the shift: what each station does with the paper that it scans, and what its screen says to it."""

import re
from datetime import timedelta

from floor_network import Place
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from cutsheets.codes import read_code
from orders.models import Blank, Move, Piece, RunSource
from tests.pages import day_floor as floor
from tests.pages import shift_paper as paper
from tests.pages.day_floor import SCREEN

CURE = timedelta(hours=49)  # one more than the coat takes


# Saw ------------------------------------------------------------------------------------------------------------------


def refuse_at_saw(hands, order, old):
    """Scan the sheet of before the change: it is old, and nothing was counted."""
    floor.at(hands, "saw-1")
    floor.scan(hands, old, "Old sheet", "Tear it up. Sheet B is in force.", "Nothing was counted")
    hands.look("old-sheet")
    assert not order.moves.filter(station__isnull=False).exists()


def refuse_held(hands, order, sheet):
    floor.at(hands, "saw-1")
    floor.scan(hands, sheet, "On hold", "Do not cut.", "The colour is asked again.", "Held by Mina O.")
    hands.look("held")
    assert order.scans.last().answer == "held"


def open_by_tag(hands, sheet, tag, wrong=""):
    """Scan the sheet, then the tag of the block that it asks for, and open that; foam of another grade is refused."""
    floor.at(hands, "saw-1")
    floor.scan(hands, sheet, "open it")
    if wrong:
        floor.scan(hands, wrong, "Wrong foam", "Dense 2.0", "Firm 1.5")
        hands.look("wrong-foam")
        assert not RunSource.objects.filter(state="saw").exists()
    floor.scan(hands, tag, "Open ")
    hands.act()
    hands.sees("On the saw", where=SCREEN)
    return RunSource.objects.get(state="saw").piece.tag


def choose(hands, blank):
    """Press the size of these blanks among the others of the order, unless it is the one in front."""
    if others := hands.browser.find_elements(By.CSS_SELECTOR, f".st-others [data-row=blank-{blank.pk}]"):
        others[0].click()
        hands.until(
            lambda: hands.browser.find_elements(By.CSS_SELECTOR, f"#screen[data-pick='{blank.pk}']"), "its size"
        )
    return blank


def spoil_a_blank(hands, cost):
    """Saw one, spoil the next one at somebody's cost: it is due again, what was ordered stays."""
    blank = choose(hands, Blank.objects.get(line__mark="A"))
    floor.count_one(hands)
    hands.key("t")
    hands.sees("What went wrong?", where=SCREEN)
    hands.key("2")
    hands.sees("How many are spoiled?", where=SCREEN)
    hands.browser.find_element(By.CSS_SELECTOR, f"[name=cost][value={cost}]").click()
    hands.look("spoiled")
    hands.press("Spoiled, cut again")
    hands.sees("1 cut again", where=SCREEN)
    move = Move.objects.get(action="saw-miscut")
    assert (move.blank, move.qty, move.cost) == (blank, 1, cost)


def pause_and_go_on(hands, sheet):
    """Let the order wait for the break, then take it in hand again by its sheet."""
    hands.key("p")
    hands.sees("Why does it wait?", where=SCREEN)
    hands.key("1")
    hands.sees("Scan a sheet", where=SCREEN)
    floor.scan(hands, sheet, "Blank sawn")


def saw_the_rest(hands):
    while "Blank sawn" in hands.words(SCREEN):
        floor.count_one(hands)


def settle(hands, tag):
    """Put every remnant back with its tag on it, finish the block; return the tags of the remnants."""
    while "Put back R-" in hands.words(SCREEN):
        hands.act()
        hands.sees("on it, back on the rack", where=SCREEN)
        hands.press("Tag R-")
        hands.until(lambda: "on it, back on the rack" not in hands.words(SCREEN), "the next screen")
    hands.sees(f"{tag} is finished", where=SCREEN)
    hands.act()
    hands.until(lambda: RunSource.objects.get(piece__tag=tag).state == "done", f"{tag} is used up")
    return list(RunSource.objects.get(piece__tag=tag).remnants.values_list("piece__tag", flat=True))


# Wire and turning -----------------------------------------------------------------------------------------------------


def refuse_too_early(hands, sheet):
    """Scan the sheet at the wire before anything is sawn: it belongs to the saw."""
    floor.at(hands, "cutter-1")
    floor.scan(hands, sheet, "Not here", "Take it to", "Saw 1", "Nothing was counted")
    hands.look("not-here")


def cut(hands, sheet):
    """Measure the first piece, count one; two more without network; two by a number; spoil one."""
    floor.at(hands, "cutter-1")
    floor.scan(hands, sheet, "Piece cut", "measure it before the run")
    hands.key("f")
    hands.sees("First piece A1", where=SCREEN)
    hands.fill(heat="62 %", feed="45")
    hands.press("Measured, it is right")
    hands.sees("right, Bo L.", where=SCREEN)
    floor.count_one(hands)
    cut_without_network(hands)
    floor.count_many(hands, 2, "4 of 6 cut")


def cut_without_network(hands):
    """Count a piece while the network is gone, reload, count nothing twice: it is sent when the network is back."""
    place = Place(hands.browser).with_worker().offline().act().sees("kept here: 1", "No network since")
    hands.browser.refresh()
    place.sees("kept here: 1", "2 of 6 cut", "1 count kept here")
    assert _cut() == 1
    place.online().sees_no("kept here").sees("2 of 6 cut")
    place.leave()
    hands.browser.get_log("browser")  # it complained of every request that found no network
    assert _cut() == 2


def spoil_a_piece(hands):
    """Spoil a piece at the wire: its blank is due again at the saw."""
    floor.miscut(hands, "1")
    hands.sees("No blank here yet", where=SCREEN)
    assert Blank.objects.get(line__mark="A").to_saw == 2


def cut_the_rest(hands, sheet):
    floor.at(hands, "cutter-1")
    floor.scan(hands, sheet, "Piece cut")
    floor.count_many(hands, 2, "All 6 of A1")
    assert _cut() == 6


def turn(hands, sheet):
    """Turn both pieces; the second count is taken back and made again."""
    floor.at(hands, "turning-1")
    floor.scan(hands, sheet, "B1", "between centres")
    floor.count_one(hands)
    floor.count_one(hands)
    hands.key(Keys.BACKSPACE)
    hands.sees("1 left", where=SCREEN)
    floor.count_one(hands)
    hands.sees("All 2 of B1", where=SCREEN)
    assert Move.objects.filter(action="undo").count() == 1


def _cut():
    return Piece.objects.get(line__mark="A").cut


# Coat and pack --------------------------------------------------------------------------------------------------------


def coat(hands, sheet):
    """Coat all pieces that get a coat, from the coat sheet; the clock says when they are ready."""
    floor.at(hands, "coat-1")
    floor.scan(hands, sheet, "Piece coated", "Cures", "48 h")
    while left := re.search(r"(\d+) left .* Piece coated", hands.words(SCREEN)):
        floor.count_many(hands, left[1], "ready")
    hands.sees("6 of A1 ready", "2 of B1 ready", "are coated", where=SCREEN)
    hands.look("coated")


def refuse_what_cures(hands, order, sheet):
    """Print labels at the packing station; the bundle of what cures is not to be packed. Return their codes."""
    floor.at(hands, "pack-1")
    floor.scan(hands, sheet, "8 curing")
    labels = paper.bundle_labels(hands, order)
    floor.scan(hands, labels[0], "A1 still cures")
    assert "into bundle" not in hands.words(SCREEN)
    hands.look("still-cures")
    return labels


def let_it_cure():
    """Let the two days of the cure pass: the clock of a test does not, so the counts are moved back by as much."""
    for move in Move.objects.filter(action="coat"):
        Move.objects.filter(pk=move.pk).update(happened_at=move.happened_at - CURE)


def pack(hands, labels):
    """Scan the label of every bundle and fill it; the last count ends the order."""
    for label in labels:
        into = f"into bundle {read_code(label).bundle}"
        floor.at(hands, "pack-1")
        floor.scan(hands, label, into)
        while into in hands.words(".is-main"):
            floor.count_one(hands)
    hands.look("packed")
