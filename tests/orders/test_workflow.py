"""The words of an order follow from its counts, and nothing else."""

from hypothesis import given
from hypothesis import strategies as st

from orders.workflow import WORDS, Count, Counts, allowed, possible, word
from shop.roles import Role

counts = st.builds(
    lambda due, sawn, cut, ruined: Counts(
        saw=Count(due + ruined, min(sawn, due + ruined)), cut=Count(due, min(cut, sawn, due), ruined)
    ),
    st.integers(1, 50), st.integers(0, 60), st.integers(0, 60), st.integers(0, 5),
)  # fmt: skip
NONE_YET = Counts(saw=Count(8, 0), cut=Count(8, 0))
ALL = Counts(saw=Count(8, 8), cut=Count(8, 8))


@given(counts, st.sampled_from(["draft", "released", "cancelled"]), st.booleans())
def test_every_order_has_exactly_one_known_word(counted, state, held):
    assert word(state, held=held, counts=counted) in WORDS


@given(counts)
def test_an_order_is_done_only_when_nothing_is_left_at_any_operation(counted):
    is_done = word("released", held=False, counts=counted) == "done"
    assert is_done == (counted.saw.left == 0 and counted.cut.left == 0)


@given(counts, counts)
def test_two_lines_together_are_done_when_both_are(one, other):
    assert (one + other).finished == (one.finished and other.finished)


def test_the_first_blank_sawn_puts_an_order_in_work():
    assert word("released", held=False, counts=NONE_YET) == "released"
    assert word("released", held=False, counts=Counts(saw=Count(8, 1), cut=Count(8, 0))) == "in work"


def test_a_blank_ruined_at_the_saw_puts_an_order_in_work_too():
    assert word("released", held=False, counts=Counts(saw=Count(8, 0, miscut=1), cut=Count(8, 0))) == "in work"


def test_a_hold_covers_the_counts_and_a_cancellation_covers_the_hold():
    assert word("released", held=True, counts=ALL) == "on hold"
    assert word("cancelled", held=True, counts=ALL) == "cancelled"


def test_panels_are_done_when_they_are_sawn():
    assert word("released", held=False, counts=Counts(saw=Count(6, 6), cut=Count(0, 0))) == "done"


def test_nothing_is_counted_on_hold_nor_after_cancellation():
    for stopped in ("on hold", "cancelled", "draft"):
        assert not possible(stopped) & {"saw", "cut", "saw-miscut", "cut-miscut"}


def test_only_the_floor_and_the_manager_count_and_only_the_desk_releases():
    assert "saw" in allowed("released", "floor")
    assert "saw" not in allowed("released", "office")
    assert "release" in allowed("draft", "office")
    assert "release" not in allowed("draft", "floor")


def test_the_administrator_may_do_whatever_anybody_may():
    for of in WORDS:
        assert allowed(of, Role.ADMIN) == possible(of)


def test_every_role_of_the_shop_is_known_to_the_table():
    assert all(any(allowed(of, role) for of in WORDS) for role in Role)
