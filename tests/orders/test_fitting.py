"""What machines have room for, and how fast they cut: limits shorten sticks, refuse parts and say why."""

import pytest

from orders import moves
from orders.fitting import objections
from orders.lines import rules_for, work_out
from shop.models import ShopRules, Station, WireFeed

INCH = 25.4
MOULD = {"cavity": [24, 14, 12], "draft": 3, "piece": [28, 18, 15], "wall": 4, "floor": 4}
WALL = {"name": "front", "wall": "30'", "left": "square", "right": "square"}


@pytest.fixture
def line(draft):
    return draft.lines.get()


def limit(**limits):
    Station.objects.filter(kind="cutter").update(**limits)


def sentences(line):
    return [objection.sentence for objection in objections(line.order, [(line, work_out(line))])]


def test_a_wire_shorter_than_the_longest_stick_makes_shorter_sticks(line):
    # blank = stick + 2 × 1/2 in of trim; the wire wants 4 in more (common practice): 60 - 4 - 1 = 55 in
    limit(wire=60 * INCH)
    line.spec = {"section": line.spec["section"], "runs": [WALL]}
    worked = work_out(line)
    assert max(stick.long for stick in worked.sticks) == pytest.approx(55 * INCH)
    assert sentences(line) == []


def test_the_longest_wire_of_the_shop_counts_and_an_unknown_one_is_no_limit(shop):
    limit(wire=60 * INCH)
    Station.objects.filter(code="cutter-2").update(wire=80 * INCH)
    assert rules_for().longest_stick == pytest.approx(75 * INCH)
    Station.objects.filter(code="cutter-2").update(wire=None)
    assert rules_for().longest_stick == pytest.approx(95 * INCH)
    Station.objects.filter(code="cutter-2").update(wire=80 * INCH, active=False)
    assert rules_for().longest_stick == pytest.approx(55 * INCH)


def test_letters_and_arches_are_made_in_parts_that_pass_under_the_wire(line):
    limit(travel=50 * INCH)
    line.kind = "cutout"
    line.spec = {"text": "LIBRARY", "font": "SignSerif-Bold.ttf", "cap_height": 12, "thick": 3, "margin": "1/2"}
    assert [blank.size.l <= 50 * INCH for blank in work_out(line).blanks] == [True, True]
    line.kind, line.spec = "arch", {"inside_radius": 40, "sweep": 90, "width": 4, "thick": 2}
    [segment] = work_out(line).blanks
    assert (segment.qty, segment.size.l <= 50 * INCH) == (2, True)
    assert sentences(line) == []


def test_a_wire_no_longer_than_what_it_must_be_over_does_not_stop_the_page(line):
    limit(wire=4 * INCH)
    assert rules_for().longest_stick == pytest.approx(95 * INCH)
    assert "wire: needs 45, has 4" in sentences(line)[0]


def test_a_part_that_fits_no_machine_is_refused_with_need_and_room_of_each(line, draft, mina, refused):
    # section 5 × 7 with 1/4 in of skim all round: a blank 5 1/2 × 7 1/2, which may lie on either side
    limit(travel=6 * INCH, height=6 * INCH)
    Station.objects.filter(code="cutter-2").update(height=7 * INCH)
    refusal = refused("machine-too-small", moves.release, draft, mina)
    assert "Line A, part A1, fits no wire cutter" in refusal.sentence
    assert "Cutter 1 – height: needs 7-1/2, has 6" in refusal.sentence
    assert "Cutter 2 – height: needs 7-1/2, has 7 in" in refusal.sentence


def test_a_part_that_one_machine_takes_is_no_trouble(line):
    limit(wire=50 * INCH, travel=INCH)
    Station.objects.filter(code="cutter-2").update(travel=60 * INCH)
    assert sentences(line) == []


def test_foam_that_is_not_flame_retardant_may_become_what_never_goes_on_a_building(line, shop):
    line.grade = shop.grades["Mould 1.25"]
    assert "is not flame retardant" in sentences(line)[0]
    line.kind, line.spec = "panel", {"size": [48, 24, 6]}
    assert sentences(line) == []
    line.kind, line.spec = "mould", MOULD
    assert sentences(line) == []
    line.order.indoors = True
    assert "goes indoors" in sentences(line)[0]


# Feeds


def minutes(line):
    return work_out(line).quantities.wire_minutes


def feed(line, inches, **more):
    WireFeed.objects.filter(grade=line.grade, station=more.get("station")).delete()
    return WireFeed.objects.create(grade=line.grade, feed=inches * INCH, entry=0, handling=0, **more)


def test_minutes_come_from_the_feed_of_the_grade(line):
    # 8 pieces, each once round 5 × 7: 8 × 24 in of cut (the stepped outline is as long as its box)
    feed(line, 48)
    assert minutes(line) == pytest.approx(8 * 24 / 48)


def test_ways_in_and_out_and_handling_are_counted_for_each_part(line):
    row = feed(line, 48)
    row.entry, row.handling = "0.25", "1.5"
    row.save()
    assert minutes(line) == pytest.approx(8 * 24 / 48 + 8 * (2 * 0.25 + 1.5))


def test_a_feed_on_a_machine_counts_where_that_machine_is_the_first_that_takes_the_part(line, shop):
    feed(line, 48)
    feed(line, 24, station=shop.stations["cutter-1"])
    feed(line, 12, station=shop.stations["cutter-2"])
    assert minutes(line) == pytest.approx(8)
    Station.objects.filter(code="cutter-1").update(travel=INCH, height=INCH)
    assert minutes(line) == pytest.approx(16)
    Station.objects.filter(code="cutter-2").update(active=False)
    assert minutes(line) == pytest.approx(4)


def test_a_grade_without_a_feed_is_cut_at_the_feed_of_the_shop(line):
    WireFeed.objects.all().delete()
    ShopRules.objects.update(wire_feed=24 * INCH)
    # the core's half minute for each of two ways, common practice
    assert minutes(line) == pytest.approx(8 * (1 + 2 * 0.5))
