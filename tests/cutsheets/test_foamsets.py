"""Sets of foam: the cheapest of every size that is enough, and none that cannot be."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from cutsheets.planning.foamsets import MOST, cheapest_sets
from tests.cutsheets.bars import bar_job


def rack_sources(*rack):
    """Foam as long as listed, 10 × 10; the bar of 100 that every job has may be opened again and again."""
    return bar_job((20, 1), rack=[(f"R{n}", long, price) for n, (long, price) in enumerate(rack)]).sources


def lengths(sets):
    return {tuple(sorted(source.core[0] for source in foam)) for foam in sets}


def test_sets_have_room_for_what_is_needed_and_little_more():
    found = lengths(cheapest_sets(rack_sources((50, 100), (80, 150)), 12_000, {}))
    assert (50, 80) in found  # 130 for 120
    assert (50, 100) in found
    assert all(sum(foam) >= 120 for foam in found)
    assert (80, 100, 100) not in found  # 100 and 100 are enough by far


def test_foam_that_is_in_use_is_in_no_set():
    sources = rack_sources((50, 100), (80, 150))
    used = {source.name: 1 for source in sources if source.is_remnant}
    assert lengths(cheapest_sets(sources, 12_000, used)) == {(100, 100)}


@given(
    st.lists(st.tuples(st.integers(20, 90), st.integers(1, 900)), max_size=4), st.integers(3_000, 10_000)
)  # no two rooms in one class
def test_no_set_of_the_same_size_is_cheaper(rack, needed):
    sources = rack_sources(*rack)
    found = cheapest_sets(sources, needed, {})
    cheapest = {}
    for foam in found:
        size = sum(s.core[0] for s in foam) * 100 * 100 // needed
        cheapest[size] = min(cheapest.get(size, 10**9), sum(s.price for s in foam))
    counts = [range(2) if source.is_remnant else range(6) for source in sources]
    for taken in product(*counts):  # independent: every set there is
        room = sum(count * s.core[0] for count, s in zip(taken, sources, strict=True)) * 100
        if 100 <= room * 100 // needed <= MOST:
            price = sum(count * s.price for count, s in zip(taken, sources, strict=True))
            assert cheapest[room * 100 // needed] <= price
