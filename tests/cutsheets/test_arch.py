import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from cutsheets import arcs
from tests.cutsheets.both_units import check_both_units, check_round_trip, listed, metric, refusal, worked

ROUND = {"kind": "arch", "inside_radius": 24, "sweep": 180, "width": 4, "thick": 2, "longest_part": 36}


def arch(**keys):
    """Return a half round, or an arch with other keys; None leaves a key out."""
    return {name: value for name, value in (ROUND | keys).items() if value is not None}


def bow(span, rise, **keys):
    return arch(inside_radius=None, sweep=None, span=span, rise=rise, **keys)


def part(**keys):
    return listed(arch(**keys))["part"]


def codes(line, shop=None):
    return [note["code"] for note in listed(line, shop=shop)["notes"]]


@pytest.mark.parametrize(("span", "rise", "radius", "angle", "length", "area"), [
    (21, 6, 12.1875, 118.979525, 25.308373, 89.254148),
    (1.2, 0.5, 0.61, 159.222284, 1.695161, 0.451024),
])  # fmt: skip
def test_an_opening_by_span_and_rise_is_a_circular_segment(span, rise, radius, angle, length, area):
    # G1, G2: Machinery's Handbook, Mensuration: Circular Segment; MathWorld, Circular Segment
    done = listed(bow(span, rise, longest_part=None))["part"]
    sweep = math.radians(done["segments"] * done["segment_angle"])
    assert (done["radius"], math.degrees(sweep)) == pytest.approx((radius, angle), abs=1e-6)
    assert done["radius"] * sweep == pytest.approx(length, abs=2e-6)
    assert done["radius"] ** 2 / 2 * (sweep - math.sin(sweep)) == pytest.approx(area, abs=2e-6)
    assert done["inner_chord"] == pytest.approx(span, abs=1e-6)


def test_segments_are_counted_by_chord_and_their_box_is_chord_by_rise():
    # G5: sector a/2·(Ro² - Ri²), chord 2·R·sin(a/2), sagitta R·(1 - cos(a/2)): Machinery's Handbook, Mensuration.
    # Counted by its arc, 37.7 in, this arch would have four segments.
    done = listed(arch(inside_radius=30, width=6))
    figures = done["part"]
    assert (figures["segments"], figures["segment_angle"], figures["joint_angle"]) == (3, 60, 30)
    assert (figures["outer_chord"], figures["inner_chord"], figures["rise_box"], figures["area"]) == pytest.approx(
        (36, 30, 10.019238, 207.345115), abs=1e-6
    )
    assert done["core_volume"] == pytest.approx(3 * 207.345115 * 2, abs=1e-5)
    # wire: both arcs, two joints of 6 in, front and back across the chord; six ways in or out (common practice)
    assert done["wire_length"] == pytest.approx(3 * (37.699112 + 31.415927 + 2 * 6 + 2 * 36), abs=1e-5)
    assert done["wire_minutes"] == pytest.approx(done["wire_length"] / 20 + 3 * 6 * 0.5)


@pytest.mark.parametrize(("facets", "error"), [(3, 4.823085), (6, 1.22667), (12, 0.307985), (24, 0.07707876)])
def test_the_error_of_facets_is_the_sagitta(facets, error):
    # G6: R 36, 180 degrees in n facets; sagitta, Machinery's Handbook, Mensuration: Circular Segment
    assert arcs.facet_angle(36, error) == pytest.approx(180 / facets, rel=1e-6)


def test_coat_lies_on_the_front_and_on_both_curves():
    done = listed(arch(coat="1/8", qty=2))
    figures = done["part"]
    assert (figures["radius"], figures["foam_inside_radius"], figures["foam_outside_radius"]) == (24, 24.125, 27.875)
    assert figures["foam_thick"] == 1.875  # the back is bare
    front, curves = math.pi / 2 * (28**2 - 24**2), math.pi * (24 + 28) * 2
    assert done["coat_area"] == pytest.approx(2 * (front + curves), abs=1e-5)
    assert listed(arch())["coat_area"] == 0


def test_the_blank_of_a_segment_lies_out_from_the_wall_as_that_of_a_moulding():
    shop = {"skim": {"wall": 0, "other": "1/4"}, "end_trim": "1/2"}
    done = listed(arch(coat="1/8", qty=2), shop=shop)
    chord, rise = 27.875, 27.875 - 24.125 * math.cos(math.pi / 6)
    assert done["blanks"][0] == {
        "l": pytest.approx(chord + 1), "w": 1.875 + 0.25, "h": pytest.approx(rise + 0.5, abs=1e-6), "qty": 6,
        "marks": ["A1"],
    }  # fmt: skip
    assert done["foam"] == {"l": 27.875, "w": 1.875, "h": pytest.approx(rise, abs=1e-6)}
    assert done["finished"] == {"l": 28, "w": 2, "h": pytest.approx(28 - 24 * math.cos(math.pi / 6), abs=1e-6)}
    assert (done["parts"], done["sticks"][0]["run"]) == (6, "segment")


radii, sweeps = st.floats(5, 120), st.floats(10, 360)
widths, longest, coats = st.floats(1, 20), st.floats(12, 96), st.floats(0, 0.25)


def polygon(inside, outside, sweep, steps=2000):
    """Return a ring sector as a polygon, its middle straight up."""
    turns = [math.radians(sweep * (i / steps - 0.5)) for i in range(steps + 1)]
    outer = [(outside * math.sin(a), outside * math.cos(a)) for a in turns]
    return Polygon(outer + [(inside * math.sin(a), inside * math.cos(a)) for a in reversed(turns)])


@given(radii, sweeps, widths, longest, coats)
def test_a_segment_drawn_with_many_points_has_the_same_box_area_and_volume(inside, sweep, width, most, coat):
    # second method: shapely's area and bounds of the polygon, against the closed forms
    done = worked(arch(inside_radius=inside, sweep=sweep, width=width, longest_part=most, coat=coat))
    figures = {figure.key: figure.value for figure in done.part}
    count = figures["segments"]
    drawn = polygon((inside + coat) * 25.4, (inside + width - coat) * 25.4, sweep / count)
    left, low, right, high = drawn.bounds
    assert (done.foam.l, done.foam.h) == pytest.approx((right - left, high - low), rel=1e-5)
    assert figures["area"] == pytest.approx(drawn.area, rel=1e-5)
    assert done.quantities.core_volume == pytest.approx(count * drawn.area * (2 - coat) * 25.4, rel=1e-5)
    assert done.foam.l <= most * 25.4 + 1e-5
    if count > 1:  # one fewer would be too long
        fewer = polygon(inside + coat, inside + width - coat, sweep / (count - 1)).bounds
        assert fewer[2] - fewer[0] > most * (1 - 1e-6)


@given(radii, sweeps, widths, coats)
def test_the_picture_stays_within_its_chord_error(inside, sweep, width, coat):
    done = worked(arch(inside_radius=inside, sweep=sweep, width=width, coat=coat))
    segment, whole = done.views
    figures = {figure.key: figure.value for figure in done.part}
    (ring,) = segment.foam
    for radius in (figures["foam_inside_radius"], figures["foam_outside_radius"]):
        on = [point for point in ring if math.hypot(*point) == pytest.approx(radius, abs=1e-6)]
        middles = [math.hypot((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(on)]
        assert min(middles) >= radius - arcs.CHORD_ERROR - 1e-6
    blank = Polygon(segment.blank[0]).bounds
    assert (blank[2] - blank[0], blank[3] - blank[1]) == pytest.approx((done.blanks[0].size.l, done.blanks[0].size.h))
    assert len(whole.lines) == figures["segments"] - 1


@pytest.mark.parametrize(("sweep", "long", "rise"), [
    (180, 56, 28), (240, 56, 42), (300, 56, 28 + 28 * math.cos(math.radians(30))), (360, 56, 56),
])  # fmt: skip
def test_one_part_beyond_a_half_circle_is_as_wide_as_its_diameter(sweep, long, rise):
    # its chord is shorter again, and the outer corners lie lowest; plane trigonometry
    done = listed(arch(sweep=sweep, longest_part=60))
    assert done["part"]["segments"] == 1
    assert (done["foam"]["l"], done["part"]["rise_box"]) == pytest.approx((long, rise), abs=1e-6)
    assert done["part"]["outer_chord"] == pytest.approx(56 * math.sin(math.radians(sweep / 2)), abs=1e-6)
    assert ("ring" in codes(arch(sweep=sweep, longest_part=60))) == (sweep == 360)
    assert listed(arch(sweep=sweep, longest_part=55))["part"]["segments"] > 1


def test_the_longest_stick_of_the_shop_is_the_longest_part():
    whole = arch(longest_part=None)
    assert listed(whole)["part"]["segments"] == 1
    assert listed(whole, shop={"longest_stick": 30})["part"]["segments"] == 3
    assert "blank-too-long" in codes(whole, {"block": [40, 24, 24]})


def test_the_machine_must_pass_the_chord_and_reach_across_the_thickness():
    done = worked(arch())
    blank, asks = done.blanks[0].size, done.asks[0]
    assert (asks.wire, asks.travel, asks.height) == pytest.approx((blank.w + 101.6, blank.l, blank.h))


def test_thin_foam_is_noted():
    assert "thin-foam" in codes(arch(thick="1/2", coat="1/16"))
    assert "thin-foam" not in codes(arch())


@pytest.mark.parametrize("line", [arch(coat="1/16 in"), bow("54 in", "9 in"), arch(longest_part=None)])
def test_a_line_written_and_read_again_is_the_same(line):
    check_round_trip(line, "in")
    in_mm = {key: f"{value} in" if isinstance(value, int) and key != "sweep" else value for key, value in line.items()}
    check_round_trip(in_mm, "mm")


def test_millimetres_give_the_same_part():
    sizes = metric([24, 4, 2, 36])
    same = dict(zip(("inside_radius", "width", "thick", "longest_part"), sizes, strict=True))
    check_both_units(arch(coat=0.125, qty=2), arch(**same, coat=3.175, qty=2))
    same = dict(zip(("width", "thick", "longest_part"), sizes[1:], strict=True))
    check_both_units(bow(54, 9), bow(1371.6, 228.6, **same))


@pytest.mark.parametrize(("line", "code", "where"), [
    (bow(54, 28), "arch-rise", "rise"),
    (bow(54, 0), "length-zero", "rise"),
    (bow(-54, 9), "length-negative", "span"),
    (bow(2000, 0.1), "range", "rise"),
    (bow(54, None), "arch-opening", ""),
    (arch(span=54), "arch-opening", ""),
    (arch(span=54, rise=9), "arch-opening", ""),
    (arch(sweep=None), "arch-opening", ""),
    (arch(sweep=0), "sweep", "sweep"),
    (arch(sweep=-90), "sweep", "sweep"),
    (arch(sweep=361), "angle", "sweep"),
    (arch(sweep=math.nan), "angle", "sweep"),
    (arch(sweep=0.5), "range", "inside_radius"),
    (arch(inside_radius=0), "length-zero", "inside_radius"),
    (arch(inside_radius=15_000), "range", "inside_radius"),
    (arch(inside_radius=math.inf), "length", "inside_radius"),
    (arch(width=None), "missing-key", ""),
    (arch(thick=None), "missing-key", ""),
    (arch(width=0.25), "range", "width"),
    (arch(width=102), "range", "width"),
    (arch(thick=0), "length-zero", "thick"),
    (arch(thick=100), "range", "thick"),
    (arch(longest_part=1), "range", "longest_part"),
    (arch(longest_part=914), "range", "longest_part"),
    (arch(inside_radius=600, longest_part=2, sweep=360), "too-many-segments", "longest_part"),
    (arch(inside_radius=600, longest_part=None, sweep=360, allow={"longest_stick": 1}),
     "too-many-segments", "allow.longest_stick"),
    (arch(width=1, coat=0.5), "coat-swallows-arch", "width"),
    (arch(thick=0.5, coat=0.5), "coat-swallows-arch", "thick"),
    (arch(depth=3), "unknown-key", ""),
])  # fmt: skip
def test_an_arch_that_cannot_be_cut_is_refused(line, code, where):
    assert refusal(line) == (code, where)


def test_inches_in_a_file_of_millimetres_are_noticed():
    assert refusal(arch(), "mm") == ("range", "width")
