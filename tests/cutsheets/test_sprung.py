import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from cutsheets.cutlist import as_json, cut_list
from cutsheets.errors import CutsheetError
from cutsheets.files.job import read_job, write_job
from cutsheets.sprung import Sprung, laid_flat, saw_angles

IN = 25.4
OUT, INSIDE = {"outside": 90}, {"inside": 90}
CROWN = {"face": 4.5, "thick": 0.75, "spring": 45}


def job(unit="in", shop=None, **keys):
    line = {"mark": "S", "kind": "moulding", "grade": "EPS", "sprung": CROWN, "pieces": [{"length": 60}]} | keys
    line = {name: value for name, value in line.items() if value is not None}
    return read_job(
        {"format": "blockyard-job-1", "unit": unit, "grades": {"EPS": {"density": 1.5 if unit == "in" else 24}},
         "shop": shop or {}, "lines": [line]}
    )  # fmt: skip


def work(**keys):
    return cut_list(job(**keys))[0]


def listed(**keys):
    read = job(**keys)
    return as_json(read, cut_list(read))["lines"][0]


def wall(length, left=OUT, right=OUT, **more):
    return {"wall": length, "left": left, "right": right} | more


def inches(size):
    return tuple(round(side / IN, 6) for side in (size.l, size.w, size.h))


@pytest.mark.parametrize(("corner", "mitre", "bevel"), [
    (90, 31.619007, 33.862914), (135, 14.306377, 17.551244), (45, 56.067557, 46.721245),
])  # fmt: skip
def test_the_saw_is_set_as_the_compound_mitre_table_says_for_38_degrees(corner, mitre, bevel):
    # M4: mitre = atan(sin S / tan(C/2)), bevel = asin(cos S·cos(C/2)); published compound-mitre tables. M6: the formula
    # atan(tan(C/2)·sin S) agrees at 90 and says 56.07 at 135: corner 90 cannot tell the two apart
    assert saw_angles(38, corner) == pytest.approx((mitre, bevel), abs=5e-7)


def test_the_saw_is_set_as_the_table_says_for_45_degrees():
    # M5: the same tables (memory)
    assert saw_angles(45, 90) == pytest.approx((35.26439, 30), abs=5e-6)
    assert saw_angles(45, 135) == pytest.approx((16.32495, 15.699857), abs=5e-6)


def test_drop_and_projection_follow_from_face_and_spring():
    # M7: face 5.25, spring 38; trigonometry
    crown = Sprung(5.25, 0.75, 38)
    assert (crown.drop, crown.projection) == pytest.approx((4.137056, 3.232223), abs=5e-7)


@given(st.floats(1, 89), st.floats(15, 179))
def test_the_saw_cuts_the_plane_in_which_the_two_mouldings_meet(spring, corner):
    # independent: solid geometry. Walls run along z and, behind the corner, at the angle `corner` to it; the plane of
    # the joint holds the upright and the bisector of the walls. The saw's table is the moulding's back.
    s, half = math.radians(spring), math.radians(corner) / 2
    along, upright = np.array([0, 0, 1.0]), np.array([0, 1.0, 0])
    bisector = np.array([math.sin(half), 0, math.cos(half)])
    joint = np.cross(upright, bisector)
    up_the_back = np.array([math.sin(s), math.cos(s), 0])
    off_the_table = np.cross(along, up_the_back)
    line = np.cross(joint, off_the_table)  # where the joint meets the table
    mitre, bevel = saw_angles(spring, corner)
    across = abs(line @ up_the_back) / np.linalg.norm(line)
    assert math.cos(math.radians(mitre)) == pytest.approx(across, abs=1e-9)
    assert math.sin(math.radians(bevel)) == pytest.approx(abs(joint @ off_the_table), abs=1e-9)


@given(st.floats(1, 89), st.floats(20, 400), st.floats(1, 20))
def test_the_section_on_the_wall_is_the_flat_one_tilted(spring, face, thick):
    crown = Sprung(face, thick, spring)
    standing, flat = Polygon(crown.outline), laid_flat(crown.outline, spring)
    assert standing.exterior.is_ccw
    assert standing.area == pytest.approx(face * thick)
    assert standing.bounds[0] == 0
    assert np.array(flat) == pytest.approx(np.array([(0, 0), (thick, 0), (thick, face), (0, face)]), abs=1e-9)
    # the back leans away from the wall by the spring
    (x, y) = crown.outline[3]
    assert math.degrees(math.atan2(x, y)) == pytest.approx(spring)


def test_the_cut_list_gives_one_setting_of_the_saw_for_each_angle_of_the_walls():
    runs = [wall(200, OUT, {"inside": 135}), wall(100, INSIDE, "cap"), wall(90, {"outside": 135}, "square")]
    sprung = listed(pieces=None, runs=runs)["sprung"]
    assert (sprung["drop"], sprung["projection"]) == pytest.approx((4.5 * math.sqrt(0.5),) * 2, abs=1e-6)
    assert [row["angle"] for row in sprung["saw"]] == [90, 135]
    assert sprung["saw"][0] == {"angle": 90, "mitre": 35.26439, "bevel": 30}
    assert listed()["sprung"]["saw"] == []
    assert "sprung" not in listed(sprung=None, section=[[0, 0], [2, 0], [2, 2], [0, 2]])


def test_corners_reach_as_far_as_the_foam_stands_out():
    # face 4.5 and thick 0.75 at 45°: the front upper edge stands (4.5 + 0.75)·√½ out; the coat takes 1/8 of the face
    # at its end and 1/8 of the thickness
    bare, coated = (listed(pieces=None, runs=[wall(60)], coat=coat)["runs"][0] for coat in (0, "1/8"))
    assert bare["left"]["extension"] == pytest.approx(5.25 * math.sqrt(0.5), abs=1e-6)
    assert bare["finished_long"] == pytest.approx(60 + 2 * 5.25 * math.sqrt(0.5), abs=1e-6)
    assert coated["right"]["extension"] == pytest.approx(5 * math.sqrt(0.5), abs=1e-6)
    assert coated["finished_long"] == bare["finished_long"]


def test_the_moulding_is_cut_lying_flat():
    done = work(coat="1/8")
    # foam 0.75 - 1/8 thick and 4.5 - 2/8 wide; skim 1/4 all round, end trim 1/2
    assert inches(done.blanks[0].size) == (61, 1.125, 4.75)
    skims = {"skim": {"wall": 0, "other": "1/4"}}
    assert inches(work(coat="1/8", allow=skims).blanks[0].size) == (61, 0.875, 4.75)  # the back is the wall's side
    (asks,) = done.asks
    assert (asks.travel, asks.height) == pytest.approx((1.125 * IN, 4.75 * IN))


def test_face_and_edges_are_coated_and_the_back_where_the_line_says_so():
    default, all_round, face_only = (work(coat="1/8", **bare) for bare in ({}, {"bare": "none"}, {"bare": [0, 2, 3]}))
    assert default.finished.coated_girth / IN == pytest.approx(4.5 + 2 * 0.75)
    assert default.foam.area / IN**2 == pytest.approx(4.25 * 0.625)
    assert default.quantities.coat_area / IN**2 == pytest.approx(60 * 6)
    assert all_round.foam.area / IN**2 == pytest.approx(4.25 * 0.5)
    assert face_only.foam.area / IN**2 == pytest.approx(4.5 * 0.625)
    assert "bare-back" in [note.code for note in default.notes]
    assert "bare-back" not in [note.code for note in all_round.notes]


@settings(max_examples=30, deadline=None)
@given(
    st.floats(5, 85), st.floats(3, 9), st.floats(0.6, 2), st.floats(0, 0.2), st.floats(60, 170),
    st.lists(st.sampled_from(["outside", "inside"]), min_size=2, max_size=2),
)  # fmt: skip
def test_the_volume_is_that_of_slices_across_the_run(spring, face, thick, coat, corner, ends):
    # second method: the tilted section sliced along the wall, each slice cut off at the joints by shapely
    crown = {"face": face, "thick": thick, "spring": spring}
    run = wall(50, *({end: corner} for end in ends))
    done = work(sprung=crown, coat=coat, pieces=None, runs=[run], shop={"longest_stick": 300})
    section, lean = Polygon([(x / IN, y / IN) for x, y in done.foam.outline]), 1 / math.tan(math.radians(corner / 2))

    def beyond(end, z):  # the joint at z = 0 leaves x·lean ≥ -z at an outside corner, x·lean ≤ z at an inside one
        return box(-z / lean, -99, 99, 99) if end == "outside" else box(-99, -99, z / lean, 99)

    at = np.linspace(-12 * lean, 50 + 12 * lean, 1001)
    areas = [section.intersection(beyond(ends[0], z)).intersection(beyond(ends[1], 50 - z)).area for z in at]
    assert done.quantities.core_volume / IN**3 == pytest.approx(np.trapezoid(areas, at), rel=5e-4)


def test_the_pictures_show_it_on_the_wall_and_lying_in_its_blank():
    done = work(coat="1/8")
    on_wall, flat = done.views
    assert on_wall.foam == (done.foam.outline,)
    assert not on_wall.blank
    assert Polygon(flat.foam[0]).within(Polygon(flat.blank[0]))
    left, low, right, high = Polygon(flat.foam[0]).bounds
    assert ((right - left) / IN, (high - low) / IN) == pytest.approx((0.625, 4.25))
    assert not work(sprung=None, section=[[0, 0], [2, 0], [2, 2], [0, 2]]).views


@pytest.mark.parametrize("keys", [
    {}, {"bare": "none"}, {"bare": [3, 0]}, {"coat": "1/8 in", "runs": [wall("31'-4\"", OUT, {"inside": 135}, qty=2)]},
    {"unit": "mm", "sprung": {"face": 114.3, "thick": "3/4 in", "spring": 38}, "pieces": [{"length": 1500}]},
])  # fmt: skip
def test_a_sprung_moulding_is_written_as_it_was_read(keys):
    read = job(**keys)
    written = json.loads(json.dumps(write_job(read)))
    assert "section" not in written["lines"][0]
    assert read_job(written) == read
    assert cut_list(read_job(written)) == cut_list(read)


def test_an_inch_file_gives_the_same_moulding_as_one_in_millimetres():
    metric = {"face": 114.3, "thick": 19.05, "spring": 45}
    inch, mm = listed(coat="1/8"), listed(unit="mm", sprung=metric, coat=3.175, pieces=[{"length": 1524}])
    assert mm["sprung"]["drop"] == pytest.approx(inch["sprung"]["drop"] * IN, abs=1e-4)
    assert mm["core_bf"] == pytest.approx(inch["core_bf"], abs=1e-5)
    assert mm["blanks"][0]["h"] == pytest.approx(inch["blanks"][0]["h"] * IN)


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"section": [[0, 0], [2, 0], [2, 2]]}, "sprung", "sprung"),
    ({"sprung": 4.5}, "not-an-object", "sprung"),
    ({"sprung": {"face": 4.5, "spring": 45}}, "missing-key", "sprung"),
    ({"sprung": CROWN | {"drop": 3}}, "unknown-key", "sprung"),
    ({"sprung": CROWN | {"face": 0}}, "length-zero", "sprung.face"),
    ({"sprung": CROWN | {"face": -4}}, "length-negative", "sprung.face"),
    ({"sprung": CROWN | {"face": math.inf}}, "length", "sprung.face"),
    ({"sprung": CROWN | {"face": 450}}, "range", "sprung.face"),
    ({"sprung": CROWN | {"thick": 0.01}}, "range", "sprung.thick"),
    ({"sprung": CROWN | {"thick": 5}}, "range", "sprung.thick"),
    ({"sprung": CROWN | {"spring": 0}}, "spring", "sprung.spring"),
    ({"sprung": CROWN | {"spring": 90}}, "spring", "sprung.spring"),
    ({"sprung": CROWN | {"spring": "steep"}}, "angle", "sprung.spring"),
    ({"sprung": CROWN | {"spring": math.nan}}, "angle", "sprung.spring"),
    ({"frames": [{"width": 30, "height": 40}]}, "sprung-frames", "frames"),
    ({"bare": [4]}, "section-edge", "sprung"),
    ({"bare": "back"}, "bare", "bare"),
    ({"coat": 0.8}, "coat-swallows-edge", "sprung"),
    ({"pieces": None}, "no-lengths", ""),
    ({"pieces": None, "runs": [wall(7, INSIDE, INSIDE)]}, "run-too-short", "runs[0]"),
])  # fmt: skip
def test_what_cannot_be_cut_is_refused_at_its_place(keys, code, where):
    with pytest.raises(CutsheetError) as caught:
        work(**keys)
    assert (caught.value.code, caught.value.where) == (code, f"lines[0].{where}".rstrip("."))
