"""A first piece that is right, and what the wire was set to, for whoever cuts the section next."""

from dataclasses import replace

import pytest

from orders import wire_uses
from orders.cut_paper import cut_sheets_of
from orders.views.station_wire import pairs


@pytest.fixture
def cut(shop, sawn, cutter):
    return cutter


def test_a_first_piece_is_kept_with_who_and_at_what_heat(piece, cut):
    assert wire_uses.checked(piece) is None
    wire_uses.keep(piece, " 4.2 A ", "45", cut)
    use = wire_uses.checked(piece)
    assert (use.by, use.station, use.heat, float(use.feed)) == (cut.by, cut.station, "4.2 A", 1143.0)


def test_the_same_word_sent_twice_is_one_row(piece, cut):
    again = replace(cut, scan_id="first-1")
    assert wire_uses.keep(piece, "4.2 A", "45", again) == wire_uses.keep(piece, "4.2 A", "45", again)
    assert piece.wire_uses.count() == 1


def test_the_next_cut_sheet_of_the_section_says_what_was_last_used(order, piece, cut, mina):
    [before] = cut_sheets_of(order, mina)
    wire_uses.keep(piece, "4.2 A", "45", cut)
    [after] = cut_sheets_of(order, mina)
    assert (before.wire.last_used, after.wire.last_used.split(", ")[:3]) == (
        "", ["heat 4.2 A", "feed 45 in a minute", "Cutter 1"],
    )  # fmt: skip


def test_without_heat_and_feed_it_is_checked_and_nothing_is_last_used(piece, cut):
    wire_uses.keep(piece, "", "", cut)
    assert wire_uses.checked(piece) is not None
    assert wire_uses.last_used(piece.line) is None


def test_another_grade_has_settings_of_its_own(shop, piece, cut):
    wire_uses.keep(piece, "4.2 A", "", cut)
    piece.line.grade = shop.grades["Dense 2.0"]
    assert wire_uses.last_used(piece.line) is None


@pytest.mark.parametrize("feed", ["fast", "-3", "0", "5'-"])
def test_a_feed_that_is_no_length_is_refused(piece, cut, feed, refused):
    refused("feed", wire_uses.keep, piece, "4.2 A", feed, cut)
    assert wire_uses.checked(piece) is None


def test_left_and_right_ones_are_counted_against_each_other(piece):
    left, right = (replace_side(piece, side) for side in ("left", "right"))
    left.cut = 3
    assert pairs(left, [left, right]) == "left 3 of 8, right 0 of 8"
    assert pairs(piece, [piece]) == ""


def replace_side(piece, side):
    """Return the same piece, mitred at one end."""
    mitred = type(piece)(line=piece.line, blank=piece.blank, qty=piece.qty, marks=piece.marks)
    setattr(mitred, side, {"kind": "outside", "angle": 90})
    return mitred
