"""Faces of many sections on a traveller and on a page: large enough to read, numbered, in the order of the blanks."""

import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from cutsheets.drawings.part import face_caption, view_scene
from cutsheets.drawings.scene import Polygon, Scene, Text
from cutsheets.files.job import line_from_dict
from cutsheets.kinds import KINDS
from cutsheets.nesting.faces import Placement
from cutsheets.planning.gang import Gang, GangFace, basis, ganged
from cutsheets.rules import Rules
from cutsheets.sheets import facepage
from cutsheets.sheets.traveller import traveller_pdf
from cutsheets.sheets.values import TravellerLine, TravellerSheet
from cutsheets.solids import Box
from tests.cutsheets.paper_reader import words

IN = 25.4
PITCH = 3.5  # in, of small square sections of 3
FOOT = 98.0


def gang_line(*faces, length=40):
    """A line of square sections, and its faces as (blanks, columns, rows)."""
    qty = sum(count * wide * high for count, wide, high in faces)
    given = {
        "mark": "A", "kind": "moulding", "grade": "Firm", "qty": 1, "section": [[0, 0], [3, 0], [3, 3], [0, 3]],
        "pieces": [{"length": length, "qty": qty}],
    }  # fmt: skip
    read = line_from_dict(given, "in", Rules(), grades={"Firm": 24.0})
    worked = KINDS["moulding"].work(read)
    long = worked.sticks[0].blank.l
    laid = (
        GangFace(
            Box(long, (wide * PITCH + 0.5) * IN, (high * PITCH + 0.5) * IN), count,
            tuple(Placement("p", 0.0, False, (0.5 + PITCH * x) * IN, (0.5 + PITCH * y) * IN)
                  for y in range(high) for x in range(wide)), 1000.0,
        )
        for count, wide, high in faces
    )  # fmt: skip
    return ganged(worked, Gang(basis(worked, read.rules), tuple(laid)), read.rules)


def on_paper(worked):
    return TravellerLine(
        worked=worked, what="Moulding", pattern="two", profile="", coat="", coat_mm=0.0, saw_from="", indoors=False,
        note="",
    )  # fmt: skip


def pdf(worked):
    sheet = TravellerSheet(
        number=4182, revision="C", customer="Osgood & Lyle", job="Theatre", shop="Tern Point", unit="in",
        lines=(on_paper(worked),), printed=datetime(2026, 11, 28, tzinfo=UTC), printed_by="Mina",
    )  # fmt: skip
    return traveller_pdf(sheet)


def is_number(shape):
    return isinstance(shape, Text) and isinstance(shape.parts[0], str) and shape.parts[0].isdecimal()


def numbers_of(scene):
    return [shape.parts[0] for shape in scene.shapes if is_number(shape)]


@pytest.mark.parametrize("face", [(1, 6, 4), (1, 4, 4), (1, 4, 6)])
def test_a_face_is_at_least_three_inches_wide_on_paper(face):
    line = on_paper(gang_line(face))
    [(view,)] = facepage.face_pages(line, "in", 792.0, FOOT)
    assert facepage._face_width(view, "in", facepage._room(792.0, FOOT)) >= 216


def test_two_low_faces_share_a_page_and_a_tall_one_has_its_own():
    line = on_paper(gang_line((2, 8, 2), (1, 7, 2), (1, 2, 8)))
    pages = facepage.face_pages(line, "in", 792.0, FOOT)
    assert [len(page) for page in pages] == [2, 1]
    half = facepage._room(792.0, FOOT) / 2
    assert all(facepage._face_width(view, "in", half) >= 216 for view in pages[0])


def test_every_section_is_numbered_where_that_can_be_read():
    [view] = facepage.faces_of(gang_line((1, 6, 4)))
    assert numbers_of(view_scene(view, "in")) == [str(n) for n in range(1, 25)]


def test_of_very_many_sections_each_so_many_th_is_numbered_and_no_two_numbers_touch():
    [view] = facepage.faces_of(gang_line((1, 30, 20)))
    scene = view_scene(view, "in")
    numbers = [int(n) for n in numbers_of(scene)]
    step = numbers[1]
    assert step in (2, 5, 10, 20, 50, 100)
    assert numbers == [1, *range(step, 601, step)]
    boxes = [Scene((shape,)).bounds for shape in scene.shapes if is_number(shape)]
    for place, (left, low, right, high) in enumerate(boxes):
        assert not any(
            left < other[2] and other[0] < right and low < other[3] and other[1] < high for other in boxes[:place]
        )


def test_a_number_stands_clear_of_the_outline_behind_it():
    [view] = facepage.faces_of(gang_line((1, 6, 4)))
    shapes = view_scene(view, "in").shapes
    for place, shape in enumerate(shapes):
        if is_number(shape):
            below = shapes[place - 1]
            assert isinstance(below, Polygon)
            assert (below.fill, below.role) == ("foam", None)


def test_the_caption_says_size_count_and_kerf():
    [view] = facepage.faces_of(gang_line((2, 6, 4)))
    assert face_caption(view, "in") == (
        "Face 21-1/2 × 14-1/2 in, 24 sections, kerf 1/16 in, numbered as they come free"
    )  # fmt: skip
    assert face_caption(replace(view, kerf=1.2), "mm").endswith("24 sections, kerf 1.2 mm, numbered as they come free")


def test_the_paper_has_a_page_with_the_face_its_caption_and_how_many_to_wire():
    pages = words(pdf(gang_line((2, 6, 4))))
    assert len(pages) == 2
    assert "The sections on their faces stand on a page behind, of line A." in pages[0]
    assert "2 blanks. Face 21-1/2 × 14-1/2 in, 24 sections, kerf 1/16 in" in pages[1]
    assert {str(n) for n in range(1, 25)} <= set(re.findall(r"\d+", pages[1]))


def test_blanks_pieces_and_faces_stand_in_one_order():
    worked = gang_line((1, 2, 2), (1, 6, 4))  # the smaller face first, as a nest may have it
    assert [blank.gives for blank in worked.blanks] == [24, 4]
    assert [stick.gives for stick in worked.sticks] == [24, 4]
    assert [len(view.numbers) for view in facepage.faces_of(worked)] == [24, 4]
