import json
from contextlib import suppress

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageDraw

from cutsheets.__main__ import main
from cutsheets.errors import CutsheetError
from cutsheets.files.job import JobFaults, line_from_dict, read_job
from cutsheets.kinds import KINDS
from cutsheets.letters import LARGEST_FONT, shipped_font
from cutsheets.rules import Rules
from tests.cutsheets.both_units import check_both_units, check_round_trip, job, listed, metric, refusal, worked
from tests.cutsheets.font_files import H, box, font_bytes

SERIF, SANS = "SignSerif-Bold.ttf", "SignSans-Bold.ttf"
SQUARE = [[0, 0], [6, 0], [6, 8], [0, 8]]
EYE = [[2, 2], [4, 2], [4, 4], [2, 4]]
R = {"name": "R", "outer": SQUARE, "holes": [EYE], "qty": 2}
PLATE = {"name": "plate", "outer": [[1, 1], [13, 1], [13, 4]]}
SHAPES = {"kind": "cutout", "outlines": [R, PLATE], "thick": 3, "gap": 1, "margin": 0.5}
TEXT = {"kind": "cutout", "text": "LIBRARY", "font": SERIF, "cap_height": 12, "thick": 3}
IN = 25.4


def shapes(*outlines, **more):
    return SHAPES | {"outlines": list(outlines)} | more


def codes(line):
    return [note["code"] for note in listed(line)["notes"]]


def test_shapes_in_a_row_are_worked_out():
    # arithmetic: (2·(48 - 4) + 12·3/2) in² · 3 in; row 6 + 1 + 6 + 1 + 12; rings 2·(28 + 8) + 12 + 3 + √153
    done = listed(SHAPES)
    assert done["part"] == {"area": 106, "slab": [27, 9, 3], "entries": {"R": 1, "plate": 0}}
    assert (done["parts"], done["core_volume"], done["finished"]) == (3, 318, {"l": 26, "w": 8, "h": 3})
    assert [done["blanks"][0][side] for side in "lwh"] == [27, 9, 3]
    assert done["wire_length"] == pytest.approx(72 + 15 + 153**0.5, abs=1e-3)
    # W1: path / feed + entries, common practice; 10 ways in or out: two for each of three outer rings and two counters
    assert done["wire_minutes"] == pytest.approx(done["wire_length"] / 20 + 10 * 0.5)
    assert (done["coat_area"], done["sticks"][0]["run"]) == (0, "slab 1")


def test_a_slab_is_as_long_and_wide_as_the_saw_is_set_and_as_thick_as_its_letters():
    """A plan that took 26.9 in where the fence stands at 27 would run out of foam along a row of slabs."""
    shop = {"blank_step": "1/2", "skim": "1/4", "end_trim": "1/2"}
    blank = listed(shapes(PLATE, margin=0.2, thick="2 7/8"), shop=shop)["blanks"][0]
    assert (blank["l"], blank["w"], blank["h"]) == (12.5, 3.5, 2.875)  # 12.4 × 3.4 × 2 7/8


def test_a_coat_thins_every_stroke_by_two_coats_and_covers_face_and_edges():
    # arithmetic, coat 1/4: outside 5.5 × 7.5, the counter grows to 2.5 × 2.5, the slab loses one coat at its front
    done = listed(shapes(R | {"qty": 1}, coat="1/4"))
    assert done["part"]["area"] == pytest.approx(5.5 * 7.5 - 2.5 * 2.5)
    assert done["part"]["slab"] == [6.5, 8.5, 2.75]
    assert (done["finished"], done["foam"]) == ({"l": 6, "w": 8, "h": 3}, {"l": 5.5, "w": 7.5, "h": 2.75})
    assert done["coat_area"] == pytest.approx(48 - 4 + 3 * (28 + 8))
    assert done["wire_length"] == pytest.approx(26 + 10)
    plate = listed(shapes(PLATE, coat="1/4"))
    assert plate["coat_area"] == pytest.approx(18 + 3 * (15 + 153**0.5), abs=1e-3)


@pytest.mark.parametrize("name", [SERIF, SANS])
def test_a_letter_under_its_coat_is_what_is_farther_from_its_edge_than_the_coat(name):
    # independent: distances of a grid of points from the finished edge
    bare, coated = (worked(TEXT | {"text": "O", "font": name, "coat": coat}) for coat in (0, "1/4"))
    whole, foam = (polygon(done.views[0].foam) for done in (bare, coated))
    # both lie on a slab whose margin begins at their own foam
    whole = shapely.affinity.translate(whole, -0.25 * IN, -0.25 * IN)
    grid = shapely.points([(x, y) for x in range(5, 330, 7) for y in range(5, 330, 7)])
    inside = shapely.contains(whole, grid) & (shapely.distance(whole.boundary, grid) > 0.25 * IN + 0.1)
    outside = ~shapely.contains(whole, grid) | (shapely.distance(whole.boundary, grid) < 0.25 * IN - 0.1)
    assert inside.sum() > 100
    assert shapely.contains(foam, grid[inside]).all()
    assert not shapely.contains(foam, grid[outside]).any()


def polygon(rings):
    """Return the even-odd area of rings."""
    area = shapely.Polygon()
    for ring in rings:
        area = area.symmetric_difference(shapely.Polygon(ring))
    return area


@pytest.mark.parametrize("text", ["Ri%", "ÄB8g"])
def test_the_volume_is_that_of_the_picture_counted_in_pixels(text):
    done = worked(TEXT | {"text": text, "coat": "1/8", "qty": 3})
    (view,) = done.views
    scale = 3000 / max(x for ring in view.blank for x, _ in ring)
    image = Image.new("1", (3100, 3100))
    for ring in view.foam:
        layer = Image.new("1", image.size)
        ImageDraw.Draw(layer).polygon([(x * scale, y * scale) for x, y in ring], fill=1)
        image = ImageChops.logical_xor(image, layer)
    area = image.histogram()[255] / scale**2
    assert done.quantities.core_volume == pytest.approx(3 * area * 2.875 * IN, rel=0.01)


def test_text_keeps_its_spacing_and_names_its_counters():
    done = listed(TEXT)
    assert done["part"]["entries"] == {"L": 0, "I": 0, "B": 2, "R": 1, "A": 1, "Y": 0}
    assert (done["parts"], len(done["blanks"])) == (7, 1)
    wide = listed(TEXT | {"gap": 1})
    assert wide["part"]["slab"][0] == pytest.approx(done["part"]["slab"][0] + 6)
    apart = [listed(TEXT | {"text": text})["part"]["slab"][0] for text in ("AV", "AA", "VV")]
    assert apart[0] < (apart[1] + apart[2]) / 2 - 1


def test_equal_sets_are_equal_slabs():
    done = listed(TEXT | {"qty": 4})
    assert [(blank["qty"], blank["marks"]) for blank in done["blanks"]] == [(4, ["A1"])]
    for amount in ("core_mass", "blank_volume", "wire_length", "wire_minutes"):
        assert done[amount] == pytest.approx(4 * listed(TEXT)[amount])
    assert (done["parts"], done["part"]) == (28, listed(TEXT)["part"])


def test_a_row_that_is_too_long_goes_on_on_another_slab_and_no_letter_is_divided():
    done = worked(TEXT | {"text": "PUBLIC LIBRARY", "allow": {"longest_stick": 60}})
    slabs = [stick.blank for stick in done.sticks]
    assert len(slabs) == 3
    assert max(slab.l for slab in slabs) <= 60 * IN
    assert len({slab.w for slab in slabs}) == 1
    assert sum(len(view.foam) for view in done.views) == 13 + 8
    assert [stick.run for stick in done.sticks] == ["slab 1", "slab 2", "slab 3"]
    assert "row-broken" in codes(TEXT | {"text": "PUBLIC LIBRARY", "allow": {"longest_stick": 60}})


WEDGE = {"name": "wedge", "outer": [[0, 0], [10, 0], [2, 6]]}


def test_rows_stay_where_no_nest_takes_less_foam():
    line = shapes(R | {"qty": 5}, lay="nest", gap=1, margin=0.5, allow={"longest_stick": 24})
    assert listed(line)["part"]["slab"] == [21, 18, 3]
    assert "rows-not-nested" in codes(line)
    assert len(worked(line).sticks) == 1
    assert "rows-not-nested" not in codes(shapes(R | {"qty": 1}, lay="nest"))


@pytest.mark.parametrize("gap", [0.25, 1])
def test_shapes_are_nested_into_each_other_a_gap_apart_on_one_slab(gap):
    line = shapes(WEDGE | {"qty": 20}, PLATE | {"qty": 9}, lay="nest", gap=gap, margin=0.5)
    (view,) = worked(line).views
    parts = [shapely.Polygon(ring) for ring in view.foam]
    assert len(parts) == 29
    # independent: shapely's distances, and that nothing was bent: 20 · 30 in² and 9 · 18 in²
    assert sum(part.area for part in parts) == pytest.approx((20 * 30 + 9 * 18) * IN**2)
    assert min(a.distance(b) for n, a in enumerate(parts) for b in parts[:n]) >= gap * IN - 1e-6
    assert polygon(view.blank).buffer(-0.5 * IN + 1e-6).covers(shapely.union_all(parts))
    assert "rows-not-nested" not in codes(line)
    assert worked(line) == worked(line)


def test_nested_triangles_take_far_less_foam_than_their_boxes():
    long, high, _ = listed(shapes(WEDGE | {"qty": 40}, lay="nest", gap="1/4", margin=0.5))["part"]["slab"]
    assert long <= 96
    assert 40 * 30 <= long * high < 0.7 * 40 * 10.25 * 6.25


def test_nested_letters_are_all_there_with_their_counters():
    done = worked(TEXT | {"lay": "nest", "gap": "1/4"})
    assert sum(len(view.foam) for view in done.views) == 7 + 5
    assert len(done.views[0].lines) == 5
    row = worked(TEXT | {"gap": "1/4"})
    assert done.quantities.blank_volume < row.quantities.blank_volume
    assert done.quantities.core_volume == pytest.approx(row.quantities.core_volume)


def test_a_slab_gets_no_allowances_but_those_of_its_line():
    shop = {"skim": "1/4", "end_trim": "1/2", "blank_step": 1}
    assert listed(SHAPES, shop=shop)["blanks"][0]["l"] == 27
    grown = listed(SHAPES | {"allow": {"skim": "1/4", "end_trim": 1}})["blanks"][0]
    assert [grown[side] for side in "lwh"] == [29, 9.5, 3.5]


def test_the_picture_lies_on_its_slab_and_every_counter_has_a_slit_to_the_edge():
    for line, counters in ((TEXT | {"text": "B8R"}, 5), (SHAPES | {"coat": "1/4"}, 2)):
        (view,) = worked(line).views
        assert len(view.lines) == counters
        slab = polygon(view.blank)
        edges = shapely.MultiLineString([[*ring, ring[0]] for ring in view.foam])
        assert all(slab.contains(shapely.Polygon(ring)) for ring in view.foam)
        for slit in view.lines:
            assert edges.distance(shapely.points(slit)) == pytest.approx(0, abs=1e-6)


def test_a_machine_is_asked_for_the_slab_upright_before_the_wire():
    (asks,) = worked(SHAPES).asks
    assert (asks.wire, asks.travel, asks.height) == pytest.approx((3 * IN + 101.6, 27 * IN, 9 * IN))


def test_both_units_are_one_part():
    outlines = [each | {"outer": metric(each["outer"]), "holes": metric(each.get("holes", []))} for each in (R, PLATE)]
    check_both_units(SHAPES, {"kind": "cutout", "outlines": outlines, "thick": 76.2, "gap": 25.4, "margin": 12.7})
    check_both_units(TEXT, TEXT | {"cap_height": 304.8, "thick": 76.2})


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_line_that_is_written_and_read_again_is_the_same_line(unit):
    scale = 1 if unit == "in" else 25
    outer = [[x * scale / 7, y * scale / 7] for x, y in SQUARE[::-1]]
    check_round_trip({"kind": "cutout", "outlines": [{"outer": outer}], "thick": scale}, unit)
    text = {"kind": "cutout", "text": "Ä 8", "font": SANS, "cap_height": 12 * scale, "thick": 3 * scale}
    for lay in ("row", "nest"):
        check_round_trip(text | {"lay": lay, "gap": 0.3 * scale}, unit)


def test_rings_may_be_typed_either_way_round():
    turned = R | {"outer": [SQUARE[0], *SQUARE[:0:-1]], "holes": [[EYE[0], *EYE[:0:-1]]]}
    read, other = (read_job(job(shapes(each))).lines[0].spec for each in (R, turned))
    assert read == other
    outline = read.shapes[0].parts[0]
    assert [shapely.LinearRing(ring).is_ccw for ring in outline.rings] == [True, False]


def test_notes_name_the_letters():
    assert codes(SHAPES) == ["closed-counter", "wire-kerf", "indoor-foam", "fumes"]
    small = listed(TEXT | {"cap_height": 2, "gap": "1/8"})["notes"]
    assert "B" in next(note["text"] for note in small if note["code"] == "narrow-notch")
    assert "A" in next(note["text"] for note in small if note["code"] == "thin-stroke")
    assert "letters-close" in codes(TEXT)
    assert "letters-close" not in codes(TEXT | {"gap": "1/16"})
    assert "narrow-notch" in codes(shapes({"outer": SLOT}))
    assert "narrow-notch" not in codes(TEXT)
    assert "no-margin" in codes(SHAPES | {"margin": 0})
    assert all(len(note["text"]) <= 200 for note in listed(TEXT | {"text": "ABDOPQRabdegopq4689"})["notes"])


SLOT = [[0, 0], [10, 0], [10, 6], [5.02, 6], [5.02, 1], [4.98, 1], [4.98, 6], [0, 6]]
KEYHOLE = [*SLOT[:4], [5.02, 4], [7, 4], [7, 1], [4.98, 1], *SLOT[6:]]
FINE = [*([x / 1000, 0] for x in range(5000, 6999)), [6, 6]]  # as many points as a ring may have
DUMB_BELL = [[0, 0], [4, 0], [4, 2], [4.1, 2], [4.1, 0], [9, 0], [9, 5], [4.1, 5], [4.1, 3], [4, 3], [4, 5], [0, 5]]
FIN = [[0, 0], [10, 0], [10, 0.3], [6, 0.3], [6, 5], [0, 5]]


@pytest.mark.parametrize(("line", "fault"), [
    ({"kind": "cutout", "thick": 3}, ("cutout-shapes", "")),
    (SHAPES | {"text": "A"}, ("cutout-shapes", "")),
    (SHAPES | {"cap_height": 3}, ("cutout-shapes", "cap_height")),
    (SHAPES | {"lay": "pile"}, ("lay", "lay")),
    (SHAPES | {"thick": 0}, ("length-zero", "thick")),
    (SHAPES | {"thick": "3000 in"}, ("range", "thick")),
    (SHAPES | {"gap": -1}, ("length-negative", "gap")),
    (SHAPES | {"gap": 0.01}, ("letters-close", "gap")),
    (SHAPES | {"margin": 999}, ("range", "margin")),
    (SHAPES | {"thick": "1/4", "coat": "1/4"}, ("coat-swallows-slab", "thick")),
    ({"kind": "cutout", "outlines": [R]}, ("missing-key", "")),
    (shapes(), ("list-size", "outlines")),
    (shapes(*[{"outer": SQUARE}] * 201), ("list-size", "outlines")),
    (shapes(R, R), ("name-twice", "outlines[1].name")),
    (shapes(R | {"qty": 501}), ("too-many-parts", "outlines")),
    (shapes(R | {"colour": 1}), ("unknown-key", "outlines[0]")),
    (shapes({"name": "R"}), ("missing-key", "outlines[0]")),
    (shapes({"outer": SQUARE[:2]}), ("outline-open", "outlines[0].outer")),
    (shapes({"outer": [*SQUARE, SQUARE[0]]}), ("outline-points", "outlines[0].outer[4]")),
    (shapes({"outer": [[0, 0], [4, 0], [8, 0]]}), ("outline-flat", "outlines[0].outer")),
    (shapes(R, {"outer": [[0, 0], [6, 0], [0, 8], [6, 8]]}), ("outline-crossing", "outlines[1].outer[1]")),
    (shapes({"outer": [[0, 0], [0.01, 0], [0, 0.01]]}), ("range", "outlines[0].outer")),
    (shapes({"outer": [[0, 0], [999, 0], [0, 9]]}), ("range", "outlines[0].outer")),
    (shapes({"outer": [[0, 0], [1, 1]] * 1001}), ("list-size", "outlines[0].outer")),
    (shapes(*[{"outer": FINE}] * 12), ("too-many-points", "outlines[10]")),
    (shapes({"outer": [[0, 0], [1, "x"], [2, 5]]}), ("length", "outlines[0].outer[1]")),
    (shapes({"outer": [[0, 0], [1, float("nan")], [2, 5]]}), ("length", "outlines[0].outer[1]")),
    (shapes(R | {"holes": [EYE, [[5, 5], [5, 7], [5.5, 7], [7, 5]]]}), ("hole-outside", "outlines[0].holes[1][3]")),
    (shapes(R | {"holes": [[[0, 2], *EYE[1:]]]}), ("hole-outside", "outlines[0].holes[0][0]")),
    (shapes({"outer": DUMB_BELL, "holes": [[[1, 1], [5, 1], [5, 4]]]}), ("hole-outside", "outlines[0].holes[0]")),
    (shapes(R | {"holes": [EYE, [[3, 3], [5, 3], [5, 7]]]}), ("hole-crossing", "outlines[0].holes[1]")),
    (shapes(R | {"holes": [[[3, 3], [3.05, 3], [3, 3.05]]]}), ("wire-kerf", "outlines[0]")),
    (shapes({"outer": KEYHOLE}), ("wire-kerf", "outlines[0]")),
    (shapes({"outer": FIN}, coat="1/4"), ("coat-swallows-stroke", "outlines[0]")),
    (shapes({"outer": DUMB_BELL}, coat=0.6), ("coat-splits-letter", "outlines[0]")),
    (shapes({"outer": [[0, 0], [97, 0], [97, 9]]}), ("letter-too-long", "outlines[0]")),
    (TEXT | {"text": "   "}, ("text", "text")),
    (TEXT | {"text": "A" * 101}, ("text", "text")),
    (TEXT | {"text": "LI中"}, ("font-glyph", "text[2]")),
    (TEXT | {"font": "Comic.ttf"}, ("font", "font")),
    (TEXT | {"font": "../fonts/SignSans-Bold.ttf"}, ("font", "font")),
    (TEXT | {"font": 5}, ("text", "font")),
    ({key: value for key, value in TEXT.items() if key != "font"}, ("missing-key", "")),
    ({key: value for key, value in TEXT.items() if key != "cap_height"}, ("missing-key", "")),
    (TEXT | {"cap_height": 200}, ("range", "cap_height")),
    (TEXT | {"cap_height": 1, "coat": "1/4"}, ("coat-swallows-stroke", "text[0]")),
    (TEXT | {"cap_height": 9, "coat": "1/4", "text": "8g"}, ("coat-splits-letter", "text[1]")),
    (TEXT | {"cap_height": 100, "text": "MI"}, ("letter-too-long", "text[0]")),
    (TEXT | {"cap_height": 1, "text": "RA"}, ("letters-close", "gap")),
])  # fmt: skip
def test_a_cutout_that_cannot_be_cut_is_refused_at_its_place(line, fault):
    assert refusal(line) == fault


STRANGE = [None, True, -1, 0, 1e-9, 1e308, float("nan"), "", "½", "x" * 999, [], [[]], {}, [[0, 0]] * 4, [SQUARE]]


@settings(max_examples=150)
@given(st.sampled_from([*TEXT, *SHAPES, "outer", "holes", "qty", "name"]), st.sampled_from(STRANGE), st.booleans())
def test_whatever_stands_in_a_line_it_is_read_or_refused(key, strange, text):
    line = TEXT | {key: strange} if text else SHAPES | {key: strange}
    if key not in {*TEXT, *SHAPES}:
        line = shapes(R | {key: strange})
    with suppress(JobFaults):
        read_job(job(line))
    with suppress(CutsheetError):
        KINDS["cutout"].read({name: value for name, value in line.items() if name != "kind"}, "in")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=3, max_size=9, unique=True), st.data())
def test_any_outline_that_is_taken_fits_its_slab(points, data):
    coat = data.draw(st.sampled_from([0, "1/16", "1/4"]))
    with suppress(JobFaults):
        done = worked(shapes({"outer": [list(point) for point in points], "qty": 2}, coat=coat, gap="1/4"))
        area = shapely.Polygon(points).area
        assert done.quantities.core_volume <= 2 * area * 3 * IN**3 + 1
        blank = done.blanks[0].size
        assert (blank.l, blank.w, blank.h) >= (done.foam.l, done.foam.w, done.foam.h)
        assert done.quantities.core_volume < done.quantities.blank_volume


def test_a_profile_of_the_shop_stands_in_for_outlines():
    profiles = {
        "S-1": {"outlines": [{"name": "R", "outer": metric(SQUARE), "holes": [metric(EYE)], "qty": 2}], "unit": "mm"}
    }
    raw = {"mark": "A", "grade": "EPS", "kind": "cutout", "thick": 3}
    kept = line_from_dict(raw | {"profile": "S-1"}, "in", Rules(), grades={"EPS": 16}, profiles=profiles)
    assert kept.spec == line_from_dict(raw | {"outlines": [R]}, "in", Rules(), grades={"EPS": 16}).spec


def test_an_application_hands_in_fonts_of_its_own():
    mine = font_bytes({"H": H, "O": [box(0, 0, 700, 700), box(200, 200, 500, 500)[::-1]]})
    raw = TEXT | {"mark": "A", "grade": "EPS", "text": "HO", "font": "Mine.otf"}
    read = line_from_dict(raw, "in", Rules(), grades={"EPS": 16}, fonts=lambda name: {"Mine.otf": mine}[name])
    done = KINDS["cutout"].work(read)
    assert done.part[2].value == {"H": 0, "O": 1}
    assert KINDS["cutout"].write(read.spec, "in")["font"] == "Mine.otf"


def run(tmp_path, capsys, font):
    path = tmp_path / "orders" / "job.json"
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(job(TEXT | {"text": "H", "font": font})), encoding="utf-8")
    code = main(["cutlist", str(path)])
    printed = capsys.readouterr()
    return code, printed.out or json.loads(printed.err.splitlines()[-1])


def test_the_command_line_takes_a_font_that_lies_beside_the_job_file(tmp_path, capsys):
    (tmp_path / "orders").mkdir()
    (tmp_path / "orders" / "Mine.TTF").write_bytes(shipped_font(SANS))
    code, mine = run(tmp_path, capsys, "Mine.TTF")
    assert (code, run(tmp_path, capsys, SANS)) == (0, (0, mine))


def test_the_command_line_takes_no_other_file(tmp_path, capsys):
    (tmp_path / "Outside.ttf").write_bytes(shipped_font(SANS))
    (tmp_path / "orders").mkdir()
    (tmp_path / "orders" / "Large.ttf").write_bytes(shipped_font(SANS) + bytes(LARGEST_FONT))
    (tmp_path / "orders" / "folder.ttf").mkdir()
    names = ["../Outside.ttf", "/fonts/Outside.ttf", "..\\Outside.ttf", "C:Outside.ttf", "Missing.ttf",
             "job.json", ".ttf", "Large.ttf", "folder.ttf"]  # fmt: skip
    for name in names:
        code, said = run(tmp_path, capsys, name)
        assert (code, said["code"], said["where"]) == (2, "font", "lines[0].font"), name
