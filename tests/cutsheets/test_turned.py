import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Polygon

from cutsheets.errors import CutsheetError
from tests.cutsheets.both_units import check_both_units, check_round_trip, listed, metric, refusal, worked

FINIAL = [[0, 3], [1, 3], [4, 1.5], [9, 0.5]]
STUB = {"base": 1.5, "top": 0}


def turned(profile=FINIAL, **keys):
    return {"kind": "turned", "half_profile": profile, "stub": STUB} | keys


def part(profile=FINIAL, **keys):
    return listed(turned(profile, **keys))["part"]


def codes(line):
    return [note["code"] for note in listed(line)["notes"]]


def frustum(height, base, top):
    return math.pi * height / 3 * (base**2 + base * top + top**2)


def ball(radius, points=1501):
    """Return the half profile of a ball that stands on its pole."""
    turns = np.linspace(0, math.pi, points)
    profile = [[float(radius * (1 - math.cos(a))), float(radius * math.sin(a))] for a in turns]
    return [[0, 0], *profile[1:-1], [2 * radius, 0]]


def test_a_finial_is_worked_out_whole():
    # by hand: a cylinder and frusta of the foam; V = π·h/3·(R² + R·r + r²), Machinery's Handbook, Frustum of Cone
    done = listed(turned(coat="1/8", qty=2))
    end = 0.5 + 1 / 5 * 0.125 - 0.125  # where the top face is cut, 1/8 below the finished one
    volume = math.pi * 2.875**2 + frustum(3, 2.875, 1.375) + frustum(4.875, 1.375, end)
    assert done["part"]["volume"] == pytest.approx(volume, abs=1e-6)
    assert (done["part"]["largest_diameter"], done["part"]["foam_length"]) == (5.75, 8.875)
    assert done["core_volume"] == pytest.approx(2 * volume, abs=2e-6)
    assert done["blanks"] == [{"l": 8.875 + 1.5 + 1, "w": 6.25, "h": 6.25, "qty": 2, "marks": ["A1"]}]
    assert (done["finished"], done["foam"]) == ({"l": 9, "w": 6, "h": 6}, {"l": 8.875, "w": 5.75, "h": 5.75})
    assert done["parts"] == 2


def test_a_torus_is_one_turned_part_less_another():
    # V1: circle of radius 1 at 2: V = 2π·2·π, S = 2π·2·2π; theorem of Pappus, Larson & Edwards, Calculus 7.6
    turns = np.linspace(0, math.pi, 1501)
    outer, inner = ([[1 - math.cos(a), 2 + s * math.sin(a)] for a in turns] for s in (1, -1))
    for profile in (outer, inner):
        profile[0], profile[-1] = [0, 2], [2, 2]
    volumes = [part(profile)["volume"] for profile in (outer, inner)]
    assert volumes[0] - volumes[1] == pytest.approx(39.478418, rel=1e-5)
    coats = [listed(turned(profile, coat="1/8"))["coat_area"] for profile in (outer, inner)]
    assert sum(coats) - 2 * math.pi * 2**2 == pytest.approx(78.956835, rel=1e-5)  # each has its top face as well


def test_a_ball_and_its_half_disc():
    # V = 4/3·π·R³; centroid of a half disc at 4R/3π: Machinery's Handbook, Sphere; Center of Gravity, Half-circle
    done = part(ball(3))
    assert done["volume"] == pytest.approx(4 / 3 * math.pi * 27, rel=1e-5)
    assert done["half_area"] == pytest.approx(math.pi * 9 / 2, rel=1e-5)
    assert done["centroid_radius"] == pytest.approx(4 / math.pi, rel=1e-5)


profiles = st.lists(st.tuples(st.floats(0.5, 4), st.floats(1.5, 6)), min_size=2, max_size=8)


def climbing(steps):
    """Return a half profile from rises and radii, heights from 0."""
    heights = np.cumsum([0.0, *(rise for rise, _ in steps[1:])])
    return [[round(float(h), 4), round(r, 4)] for h, (_, r) in zip(heights, steps, strict=True)]


@given(profiles, st.floats(0, 0.4))
def test_thin_slices_add_up_to_the_foam_and_pappus_holds(steps, coat):
    # second method: slices of π·(r − t)² up to the coated top; V = 2π·centroid·area, Larson & Edwards, Calculus 7.6
    profile, coat = climbing(steps), round(coat, 4)
    done = part(profile, coat=coat)
    top, slices = profile[-1][0] - coat, 20_000
    at = (np.arange(slices) + 0.5) * top / slices
    radii = np.interp(at, *np.array(profile).T) - coat
    assert done["volume"] == pytest.approx(math.pi * (radii**2).sum() * top / slices, rel=1e-5, abs=1e-5)
    assert done["half_area"] == pytest.approx(radii.sum() * top / slices, rel=1e-5, abs=1e-5)
    pappus = 2 * math.pi * done["centroid_radius"] * done["half_area"]
    assert pappus == pytest.approx(done["volume"], rel=1e-6, abs=2e-4)  # six places of each figure


@given(profiles, st.floats(0, 0.4), st.floats(0, 3), st.floats(0, 3))
def test_the_blank_holds_the_foam_and_its_stubs_and_the_machine_can_swing_it(steps, coat, base, top):
    done = worked(turned(climbing(steps), coat=coat, stub={"base": base, "top": top}))
    blank, asks = done.blanks[0].size, done.asks[0]
    assert blank.l == pytest.approx(done.foam.l + (base + top + 1) * 25.4, abs=1e-4)
    assert (blank.w, blank.h) == pytest.approx((done.foam.w + 0.5 * 25.4,) * 2, abs=2e-6)
    assert asks.swing == pytest.approx(blank.w * math.sqrt(2))
    assert asks.centres == blank.l
    assert done.quantities.core_volume < done.quantities.blank_volume
    for ring, size in ((done.views[0].foam, done.foam), (done.views[0].finished, done.finished)):
        left, low, right, high = Polygon(ring[0]).bounds
        assert (high - low, right - left) == pytest.approx((size.l, size.w))
        assert left == pytest.approx(-right)


def test_points_on_the_axis_only_close_the_base_and_the_top():
    closed = [[0, 0], *FINIAL, [9, 0]]
    assert part(closed, coat="1/8") == part(coat="1/8")
    assert refusal(turned([[0, 0], [0, 3], [4, 0.1], [9, 2]], coat="1/8")) == ("coat-splits-part", "half_profile[2]")


def test_a_step_is_two_points_at_one_height():
    # two cylinders, π·r²·h: Machinery's Handbook, Cylinder
    stepped = [[0, 3], [2, 3], [2, 1], [5, 1]]
    assert part(stepped)["volume"] == pytest.approx(math.pi * (9 * 2 + 1 * 3), abs=1e-6)
    coat = listed(turned(stepped, coat="1/8"))
    assert coat["coat_area"] == pytest.approx(math.pi * (6 * 2 + (9 - 1) + 2 * 3 + 1), abs=1e-6)  # base bare
    assert coat["part"]["volume"] == pytest.approx(math.pi * (2.875**2 * 2 + 0.875**2 * 2.875), abs=1e-6)


def test_round_work_has_no_side_on_the_wall():
    shop = {"skim": {"wall": 0, "other": "1/2"}, "blank_step": "1/4"}
    blank = listed(turned(coat="1/8"), shop=shop)["blanks"][0]
    assert (blank["l"], blank["w"], blank["h"]) == (11.5, 6.75, 6.75)


def test_at_a_pointed_top_the_foam_ends_where_its_radius_is_one_coat():
    cone = turned([[0, 3], [9, 0]], coat="1/8")
    assert listed(cone)["part"]["foam_length"] == pytest.approx(9 * (1 - 0.125 / 3))  # similar triangles
    assert "pointed-top" in codes(cone)
    assert "pointed-top" not in codes(turned(coat="1/8"))
    assert "pointed-top" not in codes(turned([[0, 3], [9, 0]]))


def test_without_a_stub_there_is_nothing_to_hold():
    assert "no-stub" in codes({"kind": "turned", "half_profile": FINIAL})
    assert "no-stub" not in codes(turned(stub={"top": 1}))


def test_a_weak_neck_is_named():
    assert "weak-neck" in codes(turned([[0, 3], [3, 0.4], [6, 2]]))
    assert "weak-neck" not in codes(turned([[0, 3], [3, 0.6], [6, 2]]))
    assert "weak-neck" not in codes(turned())  # it thins out towards its end and has no neck


def test_the_wire_follows_the_half_profile_once():
    done = listed(turned([[0, 3], [4, 3], [7, 7]], qty=3))
    assert done["wire_length"] == pytest.approx(3 * (4 + 5))
    assert done["wire_minutes"] == pytest.approx(3 * (9 / 20 + 2 * 0.5))  # the shop's feed and entries
    assert done["coat_area"] == 0


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_line_written_and_read_again_is_the_same(unit):
    profile = FINIAL if unit == "in" else [[0, 76.2], [25, 76.2], [25, 40.123], [228.6, 12]]
    check_round_trip(turned(profile, coat="1/16 in", qty=3, stub={"base": "38.1 mm"}), unit)


def test_millimetres_give_the_same_part():
    check_both_units(
        turned(coat=0.125, qty=2), turned(metric(FINIAL), coat=3.175, qty=2, stub={"base": 38.1, "top": 0})
    )


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"half_profile": [[0, 3]]}, "list-size", "half_profile"),
    ({"half_profile": "cone"}, "not-a-list", "half_profile"),
    ({"half_profile": [[0, 3], [4]]}, "list-size", "half_profile[1]"),
    ({"half_profile": [[0, 3], [4, -1]]}, "length-negative", "half_profile[1]"),
    ({"half_profile": [[0, 3], [math.nan, 1]]}, "length", "half_profile[1]"),
    ({"half_profile": [[1, 3], [4, 3]]}, "profile-base", "half_profile[0]"),
    ({"half_profile": [[0, 3], [4, 3], [3, 2]]}, "profile-falls", "half_profile[2]"),
    ({"half_profile": [[0, 3], [4, 3], [4, 3]]}, "profile-points", "half_profile[2]"),
    ({"half_profile": [[0, 3], [4, 3], [4, 5], [4, 2], [6, 2]]}, "profile-step", "half_profile[3]"),
    ({"half_profile": [[0, 1], [0, 3], [4, 3]]}, "profile-step", "half_profile[1]"),
    ({"half_profile": [[0, 3], [4, 3], [4, 5]]}, "profile-step", "half_profile[2]"),
    ({"half_profile": [[0, 3], [4, 0], [9, 3]]}, "profile-axis", "half_profile[1]"),
    ({"half_profile": [[0, 0], [0, 3]]}, "range", "half_profile"),
    ({"half_profile": [[0, 76], [229, 38]]}, "range", "half_profile"),
    ({"half_profile": [[0, 0], [1, 0.2], [2, 0.1]]}, "range", "half_profile"),
    ({"half_profile": [[0, 3], [4, 0.1], [9, 3]], "coat": "1/8"}, "coat-splits-part", "half_profile[1]"),
    ({"half_profile": [[0, 0], [4, 3]], "coat": "1/8"}, "coat-swallows-part", "half_profile[0]"),
    ({"half_profile": [[0, 3], [0.5, 3]], "coat": "1/2"}, "coat-swallows-part", "half_profile[0]"),
    ({"half_profile": [[0, 3], [0.52, 3]], "coat": "1/2"}, "coat-swallows-part", "coat"),
    ({"stub": {"base": -1}}, "length-negative", "stub.base"),
    ({"stub": {"bottom": 1}}, "unknown-key", "stub"),
    ({"stub": 2}, "not-an-object", "stub"),
    ({"stub": {"top": 38}}, "range", "stub.top"),
])  # fmt: skip
def test_a_part_that_cannot_be_turned_is_refused(keys, code, where):
    assert refusal(turned(**keys)) == (code, where)


def test_a_part_without_a_profile_is_refused():
    assert refusal({"kind": "turned"}) == ("missing-key", "")
    assert refusal(turned(FINIAL), "mm") == ("range", "half_profile")  # inches in a file of millimetres


@given(profiles, st.floats(0, 6))
def test_a_coat_either_leaves_sound_foam_or_is_refused(steps, coat):
    assume(coat <= 1)  # a coat beyond one inch is refused anyway
    try:
        done = worked(turned(climbing(steps), coat=coat))
    except CutsheetError:
        return
    ring = Polygon(done.views[0].foam[0])
    assert ring.is_valid
    assert ring.within(Polygon(done.views[0].finished[0]).buffer(1e-6))
