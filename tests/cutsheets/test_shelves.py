"""The plain planner: first fit decreasing onto shelves, the measure that every better plan stands beside."""

from hypothesis import given, settings

from cutsheets.planning.layout import Job
from cutsheets.planning.prices import Prices
from cutsheets.planning.shelves import shelves
from tests.cutsheets.plan_days import ANY, any_instance, blank, block, instance, remnant, shelf_of


def planned(day, grade="1.0"):
    return shelves(Job(day, grade, Prices()))


def bars(day):
    return [sorted(piece.gives) for piece in planned(day)[0]]


def test_the_longest_blank_goes_first_onto_the_first_shelf_with_room():
    """First fit decreasing: 48 + 36, then 32 + 28 + 28, then 20 (hand example)."""
    day = shelf_of(96, (48, 1), (36, 1), (32, 1), (28, 2), (20, 1))
    assert bars(day) == [[(0, 1), (1, 1)], [(2, 1), (3, 2)], [(4, 1)]]


def test_blanks_stand_in_rows_rows_in_layers_and_layers_in_a_block():
    day = instance(blank("A", [10, 10, 10], 27), stock=[block([30, 30, 30])])
    (piece,), left = planned(day)
    assert piece.gives == ((0, 27),)
    assert not left


def test_remnants_are_opened_before_blocks():
    day = instance(blank("A", [10, 10, 10], 2), stock=[block([30, 30, 30])], remnants=[remnant("R", [10, 10, 10], 5)])
    assert [piece.source.id for piece in planned(day)[0]] == ["R", "BLK"]


def test_the_kerf_counts_between_blanks_and_not_at_the_faces():
    day = instance(blank("A", [10, 10, 10], 3), stock=[block([34, 10, 10])], kerf=2)
    assert len(planned(day)[0]) == 1
    day["kerf"] = 3
    assert len(planned(day)[0]) == 2


def test_a_last_cut_in_the_air_is_only_made_where_it_may_be():
    day = instance(blank("A", [10, 10, 10], 1), stock=[block([11, 10, 10])], kerf=2)
    assert len(planned(day)[0]) == 1
    day["allow_edge_shave"] = False
    assert planned(day) == ([], {0: 1})


def test_blanks_of_another_grade_are_left_alone():
    day = instance(blank("A", [10, 10, 10], 1), blank("H", [10, 10, 10], 1, grade="2.0"), stock=[block([30, 30, 30])])
    (piece,), left = planned(day)
    assert (piece.gives, left) == (((0, 1),), {})


@settings(max_examples=60, deadline=None)
@given(any_instance())
def test_shelves_give_or_leave_out_every_blank(day):
    for grade in ("G", "H"):
        pieces, left = planned(day, grade)
        given_out = {n: sum(dict(piece.gives).get(n, 0) for piece in pieces) for n in range(len(day["blanks"]))}
        for n, each in enumerate(day["blanks"]):
            assert given_out[n] + left[n] == (each["qty"] if each["grade"] == grade else 0)


def test_a_blank_lies_as_it_must_to_fit():
    day = instance(blank("A", [10, 20, 30], 1, rot=ANY), stock=[block([30, 10, 20])])
    assert len(planned(day)[0]) == 1
    day["blanks"][0]["rot"] = ["LWH"]
    assert planned(day) == ([], {0: 1})
