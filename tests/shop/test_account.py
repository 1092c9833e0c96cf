from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from shop import account
from shop.acts import Act
from shop.models import Grade, Person, StockMove, StockPiece
from shop.refusals import Refused

pytestmark = pytest.mark.django_db
FT = 304_800
LINE = {"order_ref": "4182", "line_ref": "A"}


@pytest.fixture
def firm():
    return Grade.objects.create(name="Firm 1.5 FR", density=Decimal(24), pattern="two")


@pytest.fixture
def raf():
    return Person.objects.create(username="raf", first_name="Raf", last_name="Tibbetts", role="manager")


@pytest.fixture
def act(raf):
    return Act(by=raf)


@pytest.fixture
def yesterday(raf):
    return Act(by=raf, at=timezone.now() - timedelta(days=1))


@pytest.fixture
def block(firm, yesterday):
    return account.receive("F-2207", firm, (8 * FT, 4 * FT, 2 * FT), yesterday, lot="2610-B")


def refused(code):
    return pytest.raises(Refused, check=lambda refusal: refusal.code == code)


def the_day(act):
    [figures] = account.day_figures(act.day)
    return figures


def test_a_received_block_stands_on_the_rack_and_in_the_book(block, firm):
    assert (block.state, block.lot) == ("rack", "2610-B")
    assert account.book_stock(firm) == block.volume == 64 * FT**3


def test_a_block_larger_than_a_64_bit_number_counts_keeps_its_last_cubic_micrometre(firm, act):
    account.receive("F-1", firm, (9_000_001, 3_000_001, 1_000_003), act)
    assert account.book_stock(firm) == 9_000_001 * 3_000_001 * 1_000_003 > 2**63


def test_a_tag_is_given_once(block, firm, act):
    with refused("tag-taken"):
        account.receive("F-2207", firm, (FT, FT, FT), act)
    assert StockMove.objects.count() == 1


def test_a_block_is_reserved_for_one_plan_only(block, act):
    account.reserve(block, act, held_for="plan 118")
    with refused("stock-gone"):
        account.reserve(StockPiece.objects.get(), act, held_for="plan 119")
    with refused("stock-gone"):
        account.issue(StockPiece.objects.get(), act, held_for="plan 119")
    account.free(block, act)
    assert account.issue(block, act, held_for="plan 119").state == "saw"


def test_issued_foam_leaves_the_book_and_is_followed_to_the_last_cubic_micrometre(block, firm, act):
    account.issue(block, act, held_for="plan 118")
    account.good(block, 20 * FT**3, act, **LINE)
    account.miscut(block, 4 * FT**3 + 1, act, reason="fence slipped", **LINE)
    account.back(block, "R-0001", (4 * FT, 4 * FT, FT), act)
    assert account.left_on_saw(block) == 24 * FT**3 - 1
    account.use_up(block, act)
    day = the_day(act)
    assert (day.issued, day.good, day.miscut, day.back, day.waste, day.unaccounted) == (
        64 * FT**3, 20 * FT**3, 4 * FT**3 + 1, 16 * FT**3, 24 * FT**3 - 1, 0,
    )  # fmt: skip
    assert account.book_stock(firm) == 16 * FT**3


def test_no_more_comes_out_of_a_block_than_went_in(block, act):
    account.issue(block, act, held_for="")
    account.good(block, 60 * FT**3, act, **LINE)
    with refused("more-than-left"):
        account.good(block, 4 * FT**3 + 1, act, **LINE)
    with refused("more-than-left"):
        account.back(block, "R-0001", (4 * FT, 2 * FT, FT), act)
    assert StockPiece.objects.count() == 1


def test_a_remnant_is_no_larger_than_its_parent(block, act):
    account.issue(block, act, held_for="")
    with refused("larger-than-parent"):
        account.back(block, "R-0001", (FT, FT, 8 * FT + 1), act)


def test_a_remnant_knows_its_parent_and_its_lot(block, act):
    account.issue(block, act, held_for="")
    remnant = account.back(block, "R-0001", (FT, FT, 8 * FT), act, place="rack 3")
    assert (remnant.parent, remnant.lot, remnant.place, remnant.state) == (block, "2610-B", "rack 3", "rack")


def test_foam_on_the_rack_is_not_counted_as_sawn(block, act):
    with refused("not-on-saw"):
        account.good(block, 1, act, **LINE)


def test_a_count_taken_back_frees_the_foam_again_but_no_more_than_was_counted(block, act):
    account.issue(block, act, held_for="")
    account.good(block, 10, act, **LINE)
    with refused("more-than-booked"):
        account.good(block, -11, act, **LINE)
    with refused("more-than-booked"):
        account.good(block, -1, act, order_ref="4182", line_ref="B")
    account.good(block, -10, act, **LINE)
    assert account.left_on_saw(block) == block.volume


def test_a_blank_ruined_at_the_wire_moves_from_good_to_miscut_and_back(block, firm, act):
    account.issue(block, act, held_for="")
    account.good(block, 10, act, **LINE)
    with refused("more-than-booked"):
        account.good_to_miscut(firm, 11, act, reason="wire sagged", **LINE)
    account.good_to_miscut(firm, 10, act, reason="wire sagged", **LINE)
    with refused("more-than-booked"):
        account.good(block, -10, act, **LINE)
    assert (the_day(act).good, the_day(act).miscut, the_day(act).unaccounted) == (0, 10, 0)
    account.good_to_miscut(firm, -10, act, reason="taken back", **LINE)
    assert (the_day(act).good, the_day(act).miscut) == (10, 0)


def test_foam_still_on_the_saw_is_carried_to_the_next_day(block, yesterday, act):
    account.issue(block, yesterday, held_for="")
    account.good(block, 10, yesterday, **LINE)
    account.use_up(block, act)
    before, after = the_day(yesterday), the_day(act)
    assert before.on_saw_end == after.on_saw_start == after.waste == block.volume - 10
    assert before.unaccounted == after.unaccounted == after.on_saw_end == 0


def test_a_late_entry_is_never_dated_before_the_foam_was_issued(block, yesterday, act):
    account.issue(block, act, held_for="")
    account.good(block, 10, yesterday, **LINE)
    line = StockMove.objects.get(kind="good")
    assert (line.day, line.happened_at) == (act.day, yesterday.at)


def test_a_block_that_a_count_misses_leaves_the_book_with_a_reason_and_may_turn_up_again(block, firm, act):
    account.correct(block, act, found=False, reason="not on rack 2")
    assert (block.state, account.book_stock(firm)) == ("scrapped", 0)
    account.correct(block, act, found=True, reason="behind rack 5")
    assert (block.state, account.book_stock(firm)) == ("rack", block.volume)
    assert the_day(act).corrected == 0


def test_a_scrapped_block_does_not_turn_up_again(block, act):
    account.scrap(block, act, reason="broken by the forklift")
    with refused("not-lost"):
        account.correct(block, act, found=True, reason="count")


def test_another_measured_size_is_a_dated_line_and_changes_the_block(block, firm, act):
    account.correct(block, act, found=(8 * FT - 1, 4 * FT, 2 * FT), reason="measured short")
    assert account.book_stock(firm) == block.volume == (8 * FT - 1) * 8 * FT * FT
    assert the_day(act).corrected == -8 * FT * FT


def test_a_count_does_not_touch_foam_that_is_reserved(block, act):
    account.reserve(block, act, held_for="plan 118")
    with refused("stock-gone"):
        account.correct(block, act, found=False, reason="count")


def test_a_correction_needs_a_reason(block, act):
    with refused("no-reason"):
        account.correct(block, act, found=False, reason=" ")


def test_a_closed_day_stays_as_it_was(block, firm, yesterday, act):
    closed = account.close_day(yesterday.day, act)
    with refused("day-closed"):
        account.receive("F-2208", firm, (FT, FT, FT), yesterday)
    with refused("day-closed"):
        account.correct(block, yesterday, found=False, reason="count")
    account.correct(block, act, found=False, reason="count")
    assert closed.figures["grades"][0]["received"] == str(64 * FT**3)
    assert the_day(yesterday).corrected == 0
    assert the_day(act).corrected == -block.volume


def test_a_day_is_closed_once_and_not_before_it_has_begun(act):
    with refused("day-ahead"):
        account.close_day(act.day + timedelta(days=1), act)
    account.close_day(act.day, act)
    with refused("day-closed"):
        account.close_day(act.day, act)


def test_a_correction_is_possible_after_today_was_closed(block, firm, act):
    account.close_day(act.day, act)
    account.correct(block, act, found=False, reason="count")
    with refused("day-closed"):
        account.receive("F-2208", firm, (FT, FT, FT), act)
    assert not StockPiece.objects.filter(tag="F-2208").exists()


def test_new_foam_is_known_to_be_fresh(block):
    block.mould_date = date(2026, 11, 20)
    assert account.too_fresh(block, date(2026, 11, 26))
    assert not account.too_fresh(block, date(2026, 11, 27))
    block.mould_date = None
    assert not account.too_fresh(block, date(2026, 11, 20))


def test_a_remnant_that_broke_is_waste_with_its_reason(block, act):
    account.issue(block, act, held_for="")
    account.waste(block, 3 * FT**3, act, reason="corner broke off")
    account.waste(block, 64 * FT**3, act, reason="the rest too")
    assert [line.volume for line in StockMove.objects.filter(kind="waste")] == [3 * FT**3, 61 * FT**3]
    assert account.left_on_saw(block) == 0


def test_what_stood_free_on_an_evening_is_known_afterwards(block, firm, act, yesterday):
    kept = account.receive("F-2208", firm, (FT, FT, FT), yesterday)
    account.reserve(kept, yesterday, held_for="plan 1")
    opened = account.issue(account.receive("F-2209", firm, (FT, FT, FT), yesterday), yesterday, held_for="")
    remnant = account.back(opened, "R-0001", (FT, FT, FT // 2), yesterday)
    lost = account.receive("F-2210", firm, (FT, FT, FT), yesterday)
    account.correct(lost, yesterday, found=False, reason="not there")
    account.free(kept, act)
    account.correct(lost, act, found=True, reason="behind rack 2")
    account.correct(block, act, found=(FT, FT, FT), reason="measured again")
    account.issue(remnant, act, held_for="")
    assert account.free_at_end(yesterday.day - timedelta(days=1)) == []
    assert set(account.free_at_end(yesterday.day)) == {block, remnant}
    assert set(account.free_at_end(act.day)) == {block, kept, lost}
