"""A profile out of a drawing: looked at before it is saved, with every trouble placed; files from strangers refused."""

import re
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from cutsheets.drawings.svg import to_svg
from orders.demo import library
from orders.forms.profiles import drawing
from orders.models import Profile, ProfileRevision

NEW = "/profiles/new/?way=drawing"
BRACKET = (library.DRAWINGS / "bracket.dxf").read_bytes()  # 6 × 8 in, of lines and two arcs
GAP = BRACKET.replace(b"21\n8\n0\nLINE", b"21\n7.9\n0\nLINE", 1)
NO_UNIT = BRACKET.replace(b"9\n$INSUNITS\n70\n1\n", b"")
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">%s</svg>'
TWO = (
    SVG
    % b'<rect x="0" y="0" width="60" height="40"/><rect x="70" y="0" width="20" height="30"/><text x="1" y="1">A</text>'
)
BOMB = b'<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>' + SVG % b"<text>&b;</text>"
OUTSIDE = b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + SVG % b"<text>&x;</text>"
SCRIPT = SVG % b'<script>alert(1)</script><rect onload="alert(2)" width="60" height="40"/>'
TYPED = {
    "code": "br-1", "name": "Eaves bracket", "kind": "moulding", "unit": "", "bare": "wall", "tolerance": "0.05",
    "chord": "0.02", "to_wall": "on",
}  # fmt: skip


@pytest.fixture
def send(office, shop):
    """Return the function that posts a drawing as the page does, with whatever else is typed."""

    def post(data, name="bracket.dxf", **typed):
        file = {} if data is None else {"file": SimpleUploadedFile(name, data)}
        return office.post(NEW, TYPED | typed | file)

    return post


def kept(answer):
    """Return the reading and the mark of its size, as the page carries them."""
    page = answer.content.decode()
    found = [re.search(f'name="{name}"[^>]* value="([^"]+)"', page) for name in ("reading", "seen")]
    return dict(zip(("reading", "seen"), (match and match[1] for match in found), strict=True))


def saved():
    return ProfileRevision.objects.filter(profile__code="BR-1").first()


def size(points):
    return tuple(round(max(side) - min(side), 4) for side in zip(*points, strict=True))


# Seen before it is saved


def test_nothing_is_saved_before_somebody_saw_in_which_unit_it_was_read(send, words):
    answer = send(BRACKET)
    assert answer.status_code == 422
    assert "The file says inches; one of its units was read as 25.4 mm. The shape is 6 × 8 inches over all." in words(
        answer
    )
    assert "Nothing is saved yet" in words(answer)
    assert saved() is None


def test_a_drawing_that_was_seen_is_saved_with_its_file_or_without_it(send):
    marks = kept(send(BRACKET))
    assert send(None, **marks).status_code == 302
    assert (saved().unit, size(saved().shape["section"])) == ("in", (6, 8))
    assert saved().source["file"] == "bracket.dxf"
    saved().profile.delete()
    assert send(BRACKET, seen=marks["seen"]).status_code == 302


@pytest.mark.parametrize("changed", [{"unit": "mm"}, {"chord": "0.5"}])
def test_with_other_figures_it_has_to_be_read_and_seen_again(send, changed):
    marks = kept(send(BRACKET))
    without = send(None, **marks | changed)
    assert "Choose the file again" in without.context["form"].errors["file"][0]
    again = send(BRACKET, **marks | changed)
    assert (again.status_code, saved()) == (422, None)


def test_a_reading_that_somebody_changed_is_not_believed(send):
    marks = kept(send(BRACKET))
    answer = send(None, **marks | {"reading": marks["reading"][:-4] + "AAAA"})
    assert "Choose the file again" in answer.context["form"].errors["file"][0]
    assert saved() is None


def test_a_file_that_names_no_unit_asks_for_it(send, words):
    answer = send(NO_UNIT)
    assert "unit" in answer.context["form"].errors
    answer = send(NO_UNIT, unit="mm", kind="cutout")
    assert "The file names no unit; one of its units was read as 1 mm. The shape is 6 × 8 millimetres" in words(answer)
    assert send(NO_UNIT, unit="mm", kind="cutout", **kept(answer)).status_code == 302
    assert saved().unit == "mm"


# What stands in the way


def test_a_gap_is_marked_and_listed_with_its_coordinates(send, words):
    answer = send(GAP, picture="1")
    page = answer.content.decode()
    assert "1 152.400 200.660 A gap of 2.540 mm between (152.4, 200.66) mm and (152.4, 203.2) mm" in words(answer)
    assert to_svg(answer.context["marked"], title="the drawing as it was read, troubles numbered") in page
    assert "closed outline" in words(answer)


def test_a_larger_tolerance_closes_the_gap(send):
    answer = send(GAP, tolerance="3")
    assert answer.context["form"].shape is not None
    assert send(GAP, tolerance="3", **kept(answer)).status_code == 302


def test_of_several_outlines_one_is_chosen_and_what_was_left_out_is_said(send, words):
    answer = send(TWO, "two.svg")
    assert "There are 2 separate outlines in this drawing; choose one." in words(answer)
    assert "outline 1: 60 × 40" in words(answer)
    assert "Left out: 1 text" in words(answer)
    marks = kept(send(TWO, "two.svg", which="0"))
    answer = send(TWO, "two.svg", which="1", **marks)
    assert (answer.status_code, saved()) == (422, None)
    assert send(TWO, "two.svg", which="1", **kept(answer)).status_code == 302
    assert size(saved().shape["section"]) == (20, 30)


def test_shapes_take_every_outline(send):
    marks = kept(send(TWO, "two.svg", kind="cutout"))
    assert send(None, kind="cutout", **marks).status_code == 302
    assert [size(one["outer"]) for one in saved().shape["outlines"]] == [(60, 40), (20, 30)]


def test_a_turned_part_is_taken_from_the_right_half_of_its_outline(send):
    half = SVG % b'<polyline points="0 0 20 0 20 60 5 90 0 90"/>'
    marks = kept(send(half, "post.svg", kind="turned"))
    assert send(None, kind="turned", **marks).status_code == 302
    heights = [height for height, _ in saved().shape["half_profile"]]
    assert (min(heights), max(heights)) == (0, 90)


def test_a_curve_of_too_many_points_asks_for_a_larger_chord_error(send):
    answer = send(SVG % b'<circle cx="2000" cy="2000" r="1400"/>', "round.svg", kind="moulding", chord="0.0001")
    assert "allow a larger chord error" in answer.context["form"].errors["chord"][0]


# Files from strangers

HOSTILE = [
    (b"", "empty.dxf", "empty"),
    (b"MZ\x90\x00" + bytes(500), "part.exe", "no DXF or SVG drawing but a EXE file"),
    (b"%PDF-1.7", "part.svg", "no DXF or SVG drawing"),
    (BOMB, "bomb.svg", "declares a document type"),
    (OUTSIDE, "outside.svg", "declares a document type"),
    (b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n", "cut.dxf", "save it again"),
    (SVG % (b"<g>" * 5000), "deep.svg", "groups more than"),
    (b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(99), "binary.dxf", "text (ASCII) DXF"),
]


@pytest.mark.parametrize(("data", "name", "said"), HOSTILE, ids=[name for _, name, _ in HOSTILE])
def test_a_file_that_is_no_drawing_is_answered_with_a_sentence(send, data, name, said):
    answer = send(data, name)
    sentence = answer.context["form"].errors["file"][0]
    assert answer.status_code == 422
    assert said in sentence
    assert sentence.endswith(".")
    assert "Traceback" not in answer.content.decode()
    assert saved() is None


def test_a_file_beyond_the_limit_is_not_even_read(send, monkeypatch):
    monkeypatch.setattr(drawing, "MOST_BYTES", 1_000_000)
    monkeypatch.setattr(drawing, "read_drawing", None)
    answer = send(b"0\nSECTION\n" + bytes(1_000_001))
    assert (answer.status_code, answer.context["form"].errors["file"]) == (422, ["This file is larger than 1 MB."])


def test_a_reading_too_large_for_a_page_is_refused(send, monkeypatch):
    monkeypatch.setattr(drawing, "LARGEST_READING", 100)
    assert "too many points" in send(BRACKET).context["form"].errors["file"][0]


def test_no_script_of_a_drawing_is_kept_or_served(send, office):
    answer = send(SCRIPT, "card.svg", kind="cutout")
    assert send(None, kind="cutout", **kept(answer)).status_code == 302
    pages = [office.get(path).content for path in ("/profiles/BR-1/", "/profiles/BR-1/1/svg/")]
    assert not any(b"alert(" in page for page in [answer.content, *pages])
    assert "alert" not in str(saved().shape) + str(saved().source)


@pytest.mark.parametrize(
    ("name", "plain"),
    [("../../etc/passwd.dxf", "passwd.dxf"), ("C:\\shop\\a b.dxf", "a b.dxf"), ("<img src=x>.dxf", "<img src=x>.dxf")],
)
def test_of_a_path_only_the_name_is_kept_and_shown_as_text(send, office, name, plain):
    marks = kept(send(BRACKET, name))
    send(None, **marks)
    assert saved().source["file"] == plain
    assert b"<img src=x>" not in office.get("/profiles/BR-1/").content
    assert not Path("passwd.dxf").exists()


def test_the_next_revision_may_come_from_a_drawing_of_the_same_shape(office, shop):
    marks = kept(
        office.post("/profiles/TP-14/revise/?way=drawing", TYPED | {"file": SimpleUploadedFile("b.dxf", BRACKET)})
    )
    answer = office.post("/profiles/TP-14/revise/?way=drawing", TYPED | marks)
    assert (answer.status_code, Profile.objects.get(code="TP-14").current.source["way"]) == (302, "drawing")
