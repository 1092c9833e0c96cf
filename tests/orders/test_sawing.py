import pytest

from orders import moves, planning, sawing
from orders.models import CuttingRun, RunBlank, RunRemnant, RunSource
from shop import account
from shop.acts import Act
from shop.models import Station, StockMove

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
REST = (1_300_000, 1_200_000, 900_000)


@pytest.fixture
def run(shop, order, blank, mina):
    """An accepted plan: two blocks reserved, five blanks and a remnant out of the first, three out of the second."""
    grade = shop.grades["Firm 1.5"]
    run = CuttingRun.objects.create(number=118, grade=grade, state="accepted", instance={}, plan={}, figures={})
    for position, (tag, qty) in enumerate([("K-0001", 5), ("K-0002", 3)], 1):
        piece = account.reserve(account.receive(tag, grade, BLOCK, mina), mina, held_for="plan 118")
        source = RunSource.objects.create(run=run, position=position, piece=piece)
        RunBlank.objects.create(source=source, blank=blank, qty=qty)
    RunRemnant.objects.create(
        source=run.sources.first(), tag="R-0001", l_um=REST[0], w_um=REST[1], h_um=REST[2],
    )  # fmt: skip
    return run


@pytest.fixture
def first(run):
    return run.sources.first()


@pytest.fixture
def remnant(first, bo):
    """The planned remnant of the first block, which lies open."""
    sawing.open_source(first, bo)
    return first.remnants.get()


@pytest.fixture
def saw_2(bo):
    return Act(by=bo.by, station=Station.objects.create(code="saw-2", name="Saw 2", kind="saw"))


def test_opening_the_next_piece_issues_its_foam(run, first, blank, bo):
    assert sawing.next_source(run) == sawing.next_source(blank) == first
    sawing.open_source(first, bo)
    assert (first.state, first.piece.state) == ("saw", "saw")
    assert account.left_on_saw(first.piece) == first.piece.volume


def test_a_second_saw_is_told_who_has_the_block(first, bo, saw_2, refused):
    sawing.open_source(first, bo)
    refusal = refused("open-elsewhere", sawing.open_source, first, saw_2)
    assert refusal.details == {"who": "Bo L.", "where": "Saw 1", "tag": "K-0001"}


def test_opening_the_same_block_twice_issues_it_once(first, bo):
    sawing.open_source(first, bo)
    sawing.open_source(first, bo)
    assert StockMove.objects.filter(kind="issue").count() == 1


def test_a_plan_that_is_not_accepted_opens_nothing(run, first, bo, refused):
    CuttingRun.objects.update(state="draft")
    refused("not-accepted", sawing.open_source, first, bo)


def test_a_remnant_goes_back_in_the_size_that_was_measured(remnant, bo):
    piece = sawing.put_back(remnant, (1_290_000, 1_200_000, 900_000), bo, place="rack 2")
    assert (piece.tag, piece.l_um, piece.parent, piece.place) == ("R-0001", 1_290_000, remnant.source.piece, "rack 2")
    assert remnant.settled


def test_putting_a_remnant_back_twice_makes_one_piece_of_stock(remnant, bo, refused):
    piece = sawing.put_back(remnant, REST, bo)
    assert sawing.put_back(remnant, REST, bo) == piece
    refused("settled", sawing.put_back, remnant, (1, 1, 1), bo)
    refused("settled", sawing.give_up, remnant, "broke", bo)
    assert StockMove.objects.filter(kind="back").count() == 1


def test_a_remnant_given_up_is_waste_with_its_reason(remnant, bo, refused):
    refused("no-reason", sawing.give_up, remnant, " ", bo)
    sawing.give_up(remnant, "corner broke off", bo)
    sawing.give_up(remnant, "corner broke off", bo)
    line = StockMove.objects.get(kind="waste")
    assert (line.reason, line.volume) == ("R-0001 not kept: corner broke off", REST[0] * REST[1] * REST[2])
    refused("settled", sawing.put_back, remnant, REST, bo)


def test_a_block_is_not_finished_while_a_remnant_waits_or_blanks_are_short(remnant, bo, refused):
    source = remnant.source
    assert refused("remnants-open", sawing.finish_source, source, bo).details["tags"] == ["R-0001"]
    sawing.put_back(remnant, REST, bo)
    refusal = refused("blanks-short", sawing.finish_source, source, bo)
    assert "5 of " in refusal.sentence
    sawing.finish_source(source, bo, reason="soft core")
    assert (source.state, source.piece.state) == ("done", "used")
    assert StockMove.objects.get(kind="waste").reason == "soft core"


def test_the_last_block_finishes_the_plan_and_the_foam_balances(run, blank, bo):
    for source in run.sources.all():
        sawing.open_source(source, bo)
        for remnant in source.remnants.all():
            sawing.put_back(remnant, REST, bo)
        moves.count_sawn(blank, source.blanks.get().qty, bo)
        run.refresh_from_db()
        assert run.state == "accepted"
        sawing.finish_source(source, bo)
        sawing.finish_source(source, bo)
    run.refresh_from_db()
    [day] = account.day_figures(bo.day)
    assert (run.state, sawing.next_source(run), day.on_saw_end, day.unaccounted) == ("done", None, 0, 0)
    assert day.issued == day.good + day.back + day.waste


def test_a_rest_that_no_plan_knew_of_is_kept_under_the_tag_that_was_shown(remnant, bo, refused):
    size = (600_000, 600_000, 600_000)
    kept = sawing.keep_rest(remnant.source, "R-0002", size, bo, place="rack 2")
    assert (kept.tag, kept.size_um, kept.parent, kept.place) == ("R-0002", size, remnant.source.piece, "rack 2")
    assert sawing.keep_rest(remnant.source, "R-0002", size, bo) == kept
    assert refused("tag-taken", sawing.keep_rest, remnant.source, "R-0002", REST, bo).details["tag"] == "R-0003"
    refused("larger-than-parent", sawing.keep_rest, remnant.source, "R-0003", (2_463_801, 1, 1), bo)
    assert RunRemnant.objects.count() == 2


# A piece that is not as planned ---------------------------------------------------------------------------------------


def test_a_block_that_is_short_is_free_in_its_real_size_and_its_blanks_are_wanted_again(run, first, bo):
    short = (2_400_000, 1_244_600, 939_800)
    assert planning.demand(run.grade) == []
    sawing.leave_out(first, short, "end broken off", bo)
    first.piece.refresh_from_db()
    assert (first.state, first.piece.state, first.piece.size_um) == ("out", "rack", short)
    line = StockMove.objects.get(kind="correction")
    assert (line.reason, line.volume) == ("end broken off", -63_800 * 1_244_600 * 939_800)
    assert [qty for _, qty in planning.demand(run.grade)] == [5]
    assert sawing.next_source(run).piece.tag == "K-0002"


def test_a_block_that_is_no_good_is_scrapped_with_the_reason(run, first, bo, refused):
    refused("no-reason", sawing.leave_out, first, None, " ", bo)
    sawing.leave_out(first, None, "soaked", bo)
    sawing.leave_out(first, None, "soaked", bo)
    first.piece.refresh_from_db()
    assert first.piece.state == "scrapped"
    assert account.book_stock(run.grade) == run.sources.last().piece.volume


def test_a_block_that_measures_as_booked_stays_in_its_plan(first, bo, refused):
    refused("same-size", sawing.leave_out, first, BLOCK, "looks short", bo)
    first.refresh_from_db()
    first.piece.refresh_from_db()
    assert (first.state, first.piece.state) == ("waiting", "reserved")


def test_a_piece_that_is_open_or_out_or_sawn_is_not_left_out_nor_opened_again(run, remnant, bo, refused):
    source = remnant.source
    refused("opened", sawing.leave_out, source, None, "soft", bo)
    last = sawing.leave_out(run.sources.last(), None, "soft", bo)
    refused("left-out", sawing.open_source, last, bo)
    sawing.put_back(remnant, REST, bo)
    sawing.finish_source(source, bo, reason="soft too")
    refused("source-done", sawing.leave_out, source, None, "soft", bo)
    run.refresh_from_db()
    assert run.state == "done"


def test_a_plan_whose_every_block_is_no_good_is_over_without_being_sawn(run, bo):
    for source in run.sources.all():
        sawing.leave_out(source, None, "soaked", bo)
    run.refresh_from_db()
    assert run.state == "void"


def test_foam_is_put_back_only_from_an_opened_block(first, bo, refused):
    refused("not-open", sawing.put_back, first.remnants.get(), REST, bo)
    refused("not-open", sawing.finish_source, first, bo)
