"""What a part asks of a machine, and how long the wire takes: the facts are common practice, no source."""

import pytest

from cutsheets.costing import Wire, wire_minutes
from cutsheets.machines import Machine, lacks, wired_along
from cutsheets.rules import Rules
from cutsheets.solids import Asks, Blank, Box

IN = 25.4
FOOT = 12 * IN


def test_one_pound_foam_is_cut_at_about_55_inches_a_minute_which_is_close_to_an_inch_a_second():
    # common practice, no source
    rules = Rules(feed=55 * IN)
    assert wire_minutes(Wire(path=55 * IN), rules) == pytest.approx(1.0)
    assert wire_minutes(Wire(path=60 * IN), rules) == pytest.approx(1.0, rel=0.1)


def test_minutes_are_path_ways_in_and_out_and_handling():
    # common practice, no source: 42.5 in at 20 in a minute, two ways of half a minute, three parts of half a minute
    assert wire_minutes(Wire(42.5 * IN, 2, parts=3), Rules(handling=0.5)) == pytest.approx(4.625)


@pytest.mark.parametrize("feet", [8, 16])
def test_a_block_wants_four_inches_more_wire_than_its_length(feet):
    # an 8 ft block, and a 16 ft block likewise: common practice, no source
    [asks] = wired_along([Blank(Box(feet * FOOT, 500, 300), 1, ("A1",))], Rules())
    assert asks.wire == pytest.approx(feet * FOOT + 4 * IN)
    assert lacks(asks, Machine("bow", wire=feet * FOOT + 4 * IN), "in") == ()
    [said] = lacks(asks, Machine("bow", wire=feet * FOOT), "in")
    assert said == f"wire: needs {12 * feet + 4}, has {12 * feet}"


def test_straight_work_may_lie_on_either_side_and_a_wing_may_not():
    bench = Machine("bench", travel=600, height=400)
    lying = Asks("A1", travel=400, height=600, may_turn=True)
    assert lacks(lying, bench, "mm") == ()
    assert lacks(Asks("A1", travel=400, height=600), bench, "mm") == ("height: needs 600, has 400",)


def test_every_limit_that_is_broken_is_named_and_an_unknown_one_is_none():
    lathe = Machine("lathe", swing=300, centres=1000)
    said = lacks(Asks("B1", wire=9000, swing=301, centres=1200), lathe, "mm")
    assert said == ("swing: needs 301, has 300", "length between centres: needs 1200, has 1000")
