import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from tests.cutsheets.both_units import check_both_units, check_round_trip, listed, metric, refusal, worked

PLANTER = {
    "kind": "mould", "cavity": [24, 14, 12], "draft": 3, "piece": [28, 18, 15], "wall": 4, "floor": 4, "halves": 2,
    "concrete_density": 150,
}  # fmt: skip


def mould(**keys):
    """Return a planter's mould, or one with other keys; None leaves a key out."""
    return {name: value for name, value in (PLANTER | keys).items() if value is not None}


def part(**keys):
    return listed(mould(**keys))["part"]


def codes(line, shop=None):
    return [note["code"] for note in listed(line, shop=shop)["notes"]]


def test_a_planter_is_worked_out_whole():
    # volumes by hand; kg, lbf by weight = volume · density at standard gravity (NIST SP 811)
    done = listed(mould(qty=3))
    figures = done["part"]
    less = 2 * 12 * math.tan(math.radians(3))
    core = 12 / 6 * (24 * 14 + 4 * (24 - less / 2) * (14 - less / 2) + (24 - less) * (14 - less))
    assert figures["cavity_bottom"] == pytest.approx([24 - less, 14 - less], abs=1e-6)
    assert (figures["core_volume"], figures["concrete_volume"]) == pytest.approx((core, 28 * 18 * 15 - core), abs=1e-5)
    assert (figures["core_mass"], figures["concrete_mass"]) == pytest.approx(
        (core / 1728, (28 * 18 * 15 - core) / 1728 * 150), abs=1e-5
    )
    assert (figures["core_blank"], figures["half_blank"]) == ([24.5, 14.5, 12.5], [36, 13, 19])
    assert [(one["l"], one["w"], one["h"], one["qty"]) for one in done["blanks"]] == [
        (36, 13, 19, 6), (24.5, 14.5, 12.5, 3),
    ]  # fmt: skip
    assert (done["parts"], done["core_volume"]) == (9, pytest.approx(3 * (36 * 26 * 19 - 28 * 18 * 15 + core)))
    assert done["finished"] == done["foam"] == {"l": 36, "w": 26, "h": 19}


def test_a_square_cavity_is_a_frustum_of_a_pyramid():
    # V = h/3·(A1 + A2 + √(A1·A2)): Machinery's Handbook, Volumes of Solids: Frustum of Pyramid
    done = part(cavity=[10, 10, 12], draft=10)
    top, bottom = 10**2, (10 - 24 * math.tan(math.radians(10))) ** 2
    assert done["core_volume"] == pytest.approx(12 / 3 * (top + bottom + math.sqrt(top * bottom)), abs=1e-5)


def test_liquid_concrete_presses_with_its_full_head():
    # C1: 150 lb/ft³ · 8 ft = 1200 lb/ft² = 8.333333 psi; ACI 347, p = w·h
    done = part(cavity=[24, 14, 60], draft=0, piece=[30, 20, 96])
    assert done["base_pressure"] == pytest.approx(8.333333, abs=1e-6)
    # ½·w·h² for each foot of wall: 4800 lbf/ft
    assert done["side_forces"] == pytest.approx([4800 * 30 / 12, 4800 * 20 / 12], abs=1e-4)


def test_the_core_is_lifted_by_what_it_displaces_less_its_own_weight():
    # Archimedes; a cubic foot in concrete of 150 lb/ft³, of foam of 1 lb/ft³
    done = part(cavity=[12, 12, 12], draft=0, concrete_density=None)
    assert done["uplift"] == pytest.approx(149, abs=1e-6)
    assert part(cavity=[12, 12, 12], draft=0, concrete_density="2400 kg/m3")["uplift"] == pytest.approx(
        2400 / 16.01846337396 - 1, abs=1e-6
    )


drafts = st.floats(0, 12)
margins = st.tuples(st.floats(0.5, 6), st.floats(0.5, 6), st.floats(0.5, 6))
cavities = st.tuples(st.floats(26, 60), st.floats(12, 20), st.floats(1, 24))


def sliced(done, cavity, piece, draft, slices=4000):
    """Return the foam of a mould by thin layers: floor, walls round the piece, and the core that narrows downwards."""
    outside, floor = done.foam, done.foam.h - piece[2] * 25.4
    at = (np.arange(slices) + 0.5) * cavity[2] / slices
    inset = 2 * at * math.tan(math.radians(draft))
    core = ((cavity[0] - inset) * (cavity[1] - inset)).sum() * cavity[2] / slices * 25.4**3
    walls = (outside.l * outside.w - piece[0] * piece[1] * 25.4**2) * piece[2] * 25.4
    return core, outside.l * outside.w * floor + walls + core


@given(cavities, margins, drafts, st.integers(1, 2))
def test_thin_layers_add_up_to_the_foam_and_the_blanks_hold_it(cavity, margin, draft, halves):
    # second method: layers; and what is left of the blanks is the cast piece and the core's trimmings
    piece = [round(a + b, 6) for a, b in zip(cavity, margin, strict=True)]
    done = worked(mould(cavity=list(cavity), piece=piece, draft=draft, halves=halves, wall=3, floor=2))
    figures = {figure.key: figure.value for figure in done.part}
    core, foam = sliced(done, cavity, piece, draft)
    assert figures["core_volume"] == pytest.approx(core, rel=1e-5)
    assert done.quantities.core_volume == pytest.approx(foam, rel=1e-5)
    assert figures["concrete_volume"] + core == pytest.approx(math.prod(piece) * 25.4**3, rel=1e-6)
    box = math.prod(figures["core_blank"])
    assert done.quantities.blank_volume == pytest.approx(math.prod(figures["half_blank"]) * halves + box)
    assert done.quantities.core_volume < done.quantities.blank_volume


def test_left_and_right_half_are_mirror_pictures_counted_in_pairs():
    done = worked(mould(qty=2))
    assert [(stick.mark, stick.run, stick.qty) for stick in done.sticks] == [
        ("A1", "half left", 2), ("A2", "half right", 2), ("A3", "core", 2),
    ]  # fmt: skip
    left, right = (Polygon(ring) for ring in done.views[1].foam)
    mirrored = Polygon([(-x, y) for x, y in right.exterior.coords])
    assert left.symmetric_difference(mirrored).area == pytest.approx(0, abs=1e-6)
    assert left.intersection(right).area == 0
    assert left.area + right.area == pytest.approx((36 * 26 - 28 * 18) * 25.4**2)


def test_a_mould_in_one_piece_has_no_pair():
    done = worked(mould(halves=1))
    assert [stick.run for stick in done.sticks] == ["mould", "core"]
    assert listed(mould(halves=1))["part"]["half_blank"] == [36, 26, 19]
    assert "pairs" not in codes(mould(halves=1))
    assert "pairs" in codes(mould(halves=None))
    assert done.quantities.core_volume == worked(mould()).quantities.core_volume


def test_the_section_shows_the_core_in_its_trough():
    trough, core = (Polygon(ring) for ring in worked(mould()).views[0].foam)
    assert trough.area == pytest.approx((26 * 19 - 18 * 15) * 25.4**2)
    assert core.area == pytest.approx((14 + 14 - 24 * math.tan(math.radians(3))) / 2 * 12 * 25.4**2)
    assert core.intersection(trough).area == 0


def test_only_the_core_gets_the_allowances_of_the_shop():
    shop = {"skim": {"wall": 0, "other": 0.5}, "end_trim": 2, "blank_step": 0.25}
    assert listed(mould(piece=[28.1, 18.1, 15]), shop=shop)["part"]["half_blank"] == pytest.approx([36.1, 13.05, 19])
    assert listed(mould(cavity=[24.1, 14, 12]), shop=shop)["part"]["core_blank"] == pytest.approx([25.25, 15, 13])


def test_what_the_pour_needs_is_noted_and_none_of_it_ends_on_a_building():
    done = listed(mould())
    said = {note["code"]: note["text"] for note in done["notes"]}
    assert "have it checked" in said["uplift"]
    assert "have it checked by a licensed engineer" in said["liquid-head"]
    assert f"{done['part']['uplift']:.1f} lbf" in said["uplift"]
    assert "indoor-foam" not in said
    assert "no-draft" in codes(mould(draft=0))
    assert "no-draft" not in said
    assert "blank-too-long" in codes(mould(), {"block": [30, 30, 30]})


def test_the_wire_goes_round_the_piece_and_round_the_core():
    done = listed(mould(qty=2))
    assert done["wire_length"] == pytest.approx(2 * 2 * (28 + 18 + 24 + 14))
    assert done["wire_minutes"] == pytest.approx(done["wire_length"] / 20 + 6 * 2 * 0.5)


def test_a_line_written_and_read_again_is_the_same():
    check_round_trip(mould(concrete_density=145.3), "in")
    check_round_trip(mould(concrete_density=None, halves=None, qty=4), "in")
    sizes = {"cavity": [600, 350.5, 300], "piece": [700, 450, 380], "wall": 100, "floor": "4 in"}
    check_round_trip(mould(**sizes, concrete_density=2350), "mm")
    check_round_trip(mould(**sizes, concrete_density=None), "mm")


def test_millimetres_give_the_same_part():
    same = {name: metric(PLANTER[name]) for name in ("cavity", "piece", "wall", "floor")}
    check_both_units(mould(qty=2), mould(**same, qty=2, concrete_density="150 pcf"))
    check_both_units(mould(concrete_density=None), mould(**same, concrete_density=None))


def test_a_metric_mould_is_answered_in_newtons_and_kilopascals():
    # 2400 kg/m³ · 9.80665 m/s² · 1 m = 23.53596 kPa, half of it on each square metre; NIST SP 811, ACI 347 p = w·h
    sizes = {"cavity": [500, 300, 500], "piece": [2000, 1000, 1000], "wall": 100, "floor": 100}
    done = listed(mould(**sizes, draft=0, concrete_density=2400), "mm")["part"]
    assert done["base_pressure"] == pytest.approx(23.53596)
    assert done["side_forces"] == pytest.approx([23535.96, 11767.98])
    assert done["uplift"] == pytest.approx((2400 - 16.01846337) * 9.80665 * 0.5 * 0.3 * 0.5)


@pytest.mark.parametrize(("keys", "code", "where"), [
    *(({name: None}, "missing-key", "") for name in ("cavity", "draft", "piece", "wall", "floor")),
    ({"cavity": [24, 14]}, "list-size", "cavity"),
    ({"cavity": 24}, "not-a-list", "cavity"),
    ({"cavity": [24, 14, 0]}, "length-zero", "cavity[2]"),
    ({"cavity": [24, math.nan, 12]}, "length", "cavity[1]"),
    ({"cavity": [24, 14, 0.25]}, "range", "cavity[2]"),
    ({"piece": [711, 457, 381]}, "range", "piece[0]"),
    ({"piece": [28, -18, 15]}, "length-negative", "piece[1]"),
    ({"piece": [1.5, 1, 1], "cavity": [1, 0.6, 0.6]}, "range", "piece"),
    ({"piece": [24, 18, 15]}, "cavity-outside", "cavity[0]"),
    ({"piece": [28, 14, 15]}, "cavity-outside", "cavity[1]"),
    ({"piece": [28, 18, 12]}, "cavity-outside", "cavity[2]"),
    ({"piece": [28, 30, 15]}, "mould-length", "piece"),
    ({"draft": -1}, "draft", "draft"),
    ({"draft": 60}, "draft", "draft"),
    ({"draft": "steep"}, "angle", "draft"),
    ({"draft": 31}, "cavity-draft", "draft"),
    ({"wall": 0}, "length-zero", "wall"),
    ({"floor": 100}, "range", "floor"),
    ({"halves": 0}, "count", "halves"),
    ({"halves": 3}, "halves", "halves"),
    ({"concrete_density": 2400}, "density", "concrete_density"),
    ({"concrete_density": 1}, "range", "concrete_density"),
    ({"concrete_density": 400}, "range", "concrete_density"),
    ({"coat": "1/8"}, "coat-mould", "coat"),
    ({"section": []}, "unknown-key", ""),
])  # fmt: skip
def test_a_mould_that_cannot_be_made_is_refused(keys, code, where):
    assert refusal(mould(**keys)) == (code, where)


def test_inches_in_a_file_of_millimetres_are_noticed():
    assert refusal(mould(), "mm") == ("range", "cavity[2]")
    sizes = {"cavity": [600, 350, 300], "piece": [700, 450, 380], "wall": 100, "floor": 100}
    assert refusal(mould(**sizes), "mm") == ("range", "concrete_density")
