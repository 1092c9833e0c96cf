"""The coat sheet as the coat bench gets it: read back from the file and from pictures of the page."""

import re
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from cutsheets.errors import CutsheetError
from cutsheets.sheets.coatsheet import CoatSheet, coat_sheet_pdf
from cutsheets.sheets.packing import Coat
from cutsheets.units import square_feet
from tests.cutsheets.packed_orders import CORNICE, HEAD, LINES, PANELS, SPRUNG
from tests.cutsheets.paper_reader import document, text_overlaps, words

NEW_YORK = ZoneInfo("America/New_York")


def read(*lines, coated=None, **head):
    return " ".join(words(coat_sheet_pdf(CoatSheet(replace(HEAD, **head), lines, coated))))


def test_the_coat_of_every_line_is_on_the_paper_in_all_and_a_piece():
    text = read(CORNICE)
    said = re.search(r"Coat in all: ([\d,.]+) ft²", text)
    assert float(said[1]) == pytest.approx(square_feet(CORNICE.worked.quantities.coat_area), abs=0.05)
    each = [f"{square_feet(like.coat):.1f} ft²" for like in CORNICE.pieces]
    rows = [re.search(rf"{like.names} {like.qty} .*?([\d.]+ ft²)", text)[1] for like in CORNICE.pieces]
    assert rows == each


def test_girth_times_length_makes_the_area_that_stands_behind_it():
    text = read(CORNICE, unit="mm")
    found = re.findall(r"([\d.]+) × ([\d.]+) ([\d.]+) m² ([\d.]+) m²", text)
    assert len(found) >= 3
    for girth, length, area, _ in found:
        assert float(girth) * float(length) / 1e6 == pytest.approx(float(area), abs=0.006)


def test_mesh_is_more_than_coat_by_two_laps_and_a_coat_without_mesh_says_so():
    assert f"Mesh in all: {square_feet(CORNICE.mesh):.1f} ft², 2 laps of 2 1 2 in on a piece" in read(CORNICE)
    text = read(SPRUNG)
    assert "No mesh." in text
    assert "Mesh in all" not in text


def test_which_faces_and_which_ends_get_coat_can_be_read():
    text = read(CORNICE, SPRUNG)
    capped = next(like for like in CORNICE.pieces if "cap" in like.ends)
    assert "Wall face bare." in text
    assert f"Coat the capped ends of {capped.names}; all other ends bare." in text
    assert "Front and edges coated; back bare. All ends bare." in text
    assert text.count("thick edge gets coat; dashed: blank") == 2


def test_without_a_start_there_is_a_line_for_it_and_for_the_hours_later():
    text = read(CORNICE)
    assert "coated at + 48 h = ready at" in text


def test_with_a_start_the_ready_time_is_worked_out():
    text = read(CORNICE, SPRUNG, coated=datetime(2026, 11, 23, 14, 12, tzinfo=NEW_YORK))
    assert "Coated Mon 23 Nov 2026 14:12, cures 48 h. Ready Wed 25 Nov 2026 14:12" in text
    assert "cures 24 h. Ready Tue 24 Nov 2026 14:12" in text
    assert "coated at" not in text


def test_a_cure_over_the_night_when_the_clocks_go_back_is_no_hour_short():
    """15 U.S.C. 260a: in the United States summer time ends at 2 on the first Sunday of November, the 1st in 2026."""
    text = read(CORNICE, coated=datetime(2026, 10, 31, 14, 12, tzinfo=NEW_YORK))
    assert "Ready Mon 2 Nov 2026 13:12" in text


def test_a_coat_of_which_nothing_but_the_thickness_is_known_says_where_to_look():
    text = read(replace(CORNICE, coat=Coat("", "Wall face bare.", 3.175)))
    assert "Cure as the maker's data sheet says." in text
    assert "h =" not in text


def test_a_line_without_coat_is_named_and_an_order_without_any_is_refused():
    assert "Line C: Panels for the lobby No coat: pack it as it is cut." in read(CORNICE, PANELS)
    with pytest.raises(CutsheetError) as caught:
        read(PANELS)
    assert caught.value.code == "no-coat"


def test_the_finished_size_is_for_checking_only_and_the_blank_is_not_there():
    text = read(CORNICE)
    assert "Finished 5 deep × 7 high, for checking only." in text
    assert "lank" not in text.replace("dashed: blank", "")  # the one in the picture is named, not sized


def test_cautions_name_what_the_coat_can_do_to_people():
    for text in words(coat_sheet_pdf(CoatSheet(HEAD, LINES))):
        for caution in ("solvents", "gloves and goggles", "29 CFR 1910.1053", "local rules", "data sheet"):
            assert caution in text


@pytest.mark.parametrize("field", ["name", "faces"])
def test_long_words_beside_the_picture_keep_off_the_cautions_and_stand_whole_behind(field):
    long = "skim twice, " * 400
    sheet = CoatSheet(HEAD, (replace(CORNICE, coat=replace(CORNICE.coat, **{field: long})),))
    data = coat_sheet_pdf(sheet)
    assert not [pair for page in document(data) for pair in text_overlaps(page, slack=2)]
    assert " ".join(words(data)[1:]).count("skim twice") >= 400
