import pytest

from orders import entry, moves, planning, sawing
from orders.models import Blank, CuttingRun, Order, RunBlank
from shop import account
from shop.models import ShopRules, StockMove, StockPiece

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in


@pytest.fixture
def firm(shop):
    return shop.grades["Firm 1.5"]


@pytest.fixture
def raf(shop, mina):
    """The manager, who plans."""
    return type(mina)(by=shop.people["raf"])


@pytest.fixture
def block(firm, raf):
    return account.receive("K-0001", firm, BLOCK, raf)


@pytest.fixture
def plan(firm, raf):
    """Make a draft for Firm 1.5; three rounds of search are enough for eight blanks."""

    def make(**how):
        return planning.make_plan(firm, raf, **{"iterations": 3} | how)

    return make


@pytest.fixture
def second_order(shop, mina, line_data):
    order = entry.create_order({"customer": shop.customer, "job": "Wickett Library, porch"}, mina)
    entry.save_line(order, line_data, mina, version=order.version)
    moves.release(Order.objects.get(pk=order.pk), mina)
    return Order.objects.get(pk=order.pk)


def wanted(grade):
    return [(blank.line.order.number, qty) for blank, qty in planning.demand(grade)]


# What is wanted -------------------------------------------------------------------------------------------------------


def test_a_released_order_waits_for_its_blanks_under_its_own_grade(order, firm, shop):
    assert wanted(firm) == [(order.number, 8)]
    assert wanted(shop.grades["Dense 2.0"]) == []
    [row] = planning.waiting_grades()
    assert (row.grade, row.blanks, row.orders) == (firm, 8, (order.number,))


def test_a_draft_a_held_and_a_cancelled_order_want_nothing(draft, firm, mina):
    assert wanted(firm) == []
    moves.release(draft, mina)
    moves.hold(draft, "deposit not in.", mina)
    assert wanted(firm) == []
    moves.resume(draft, mina)
    assert wanted(firm) == [(draft.number, 8)]
    moves.cancel(draft, "job given up", mina)
    assert wanted(firm) == []


def test_what_an_accepted_plan_gives_is_not_wanted_again_and_a_miscut_is(order, blank, firm, raf, bo, block, plan):
    run = planning.accept(plan(), raf)
    assert wanted(firm) == []
    sawing.open_source(run.sources.get(), bo)
    moves.count_sawn(blank, 3, bo)
    assert wanted(firm) == []
    moves.miscut_at_saw(blank, 2, "fence slipped", bo)
    assert wanted(firm) == [(order.number, 2)]


def test_the_sooner_an_order_is_needed_the_earlier_its_blanks_are_listed(order, second_order, firm, mina):
    Order.objects.filter(pk=second_order.pk).update(due=mina.day)
    assert [number for number, _ in wanted(firm)] == [second_order.number, order.number]


# A draft --------------------------------------------------------------------------------------------------------------


def test_a_draft_is_checked_shows_its_figures_and_reserves_nothing(order, block, plan, raf):
    run = plan()
    assert (run.state, run.made_by, run.instance["blanks"][0]["id"]) == ("draft", raf.by, f"{order.number} A1")
    assert run.figures["bound"]["score"] <= run.figures["score"] <= run.figures["plain_score"]
    assert 0 < run.figures["yield_gross"] <= run.figures["yield_net"] <= 1
    block.refresh_from_db()
    assert block.state == "rack"


def test_a_plan_takes_a_fitting_remnant_before_a_block(order, block, plan, firm):
    StockPiece.objects.create(tag="R-0001", grade=firm, parent=block, l_um=2_400_000, w_um=1_200_000, h_um=400_000)
    [piece] = plan().plan["pieces"]
    assert piece["source"] == "remnant:R-0001"


def test_the_oldest_of_equal_blocks_is_opened(order, block, plan, firm, raf):
    old = account.receive("K-0002", firm, BLOCK, raf, mould_date=raf.day.replace(year=2020))
    run = planning.accept(plan(), raf)
    assert run.sources.get().piece == old


def test_blanks_without_foam_are_named_and_nothing_is_written(order, plan, refused, firm, raf):
    refusal = refused("no-foam", plan)
    assert f"8 of {order.number} A1, " in refusal.sentence
    account.receive("K-0001", firm, (900_000, 900_000, 100_000), raf)
    refusal = refused("no-foam", plan)
    assert refusal.details["orders"] == [str(order.number)]
    assert not CuttingRun.objects.exists()


def test_another_grade_never_helps_out(order, shop, raf, plan, refused):
    account.receive("K-0009", shop.grades["Dense 2.0"], BLOCK, raf)
    refused("no-foam", plan)


def test_a_crust_is_kept_off_new_blocks_only(order, block, plan, firm):
    ShopRules.objects.update(block_skin=30)
    StockPiece.objects.create(tag="R-0001", grade=firm, parent=block, l_um=700_000, w_um=700_000, h_um=700_000)
    instance = plan().instance
    assert instance["stock"][0]["skin"] == [[30_000, 30_000]] * 3
    assert "skin" not in instance["remnants"][0]


def test_an_order_may_be_left_out_of_a_plan(order, second_order, block, plan):
    run = plan(order_numbers=[second_order.number])
    assert [blank["id"] for blank in run.instance["blanks"]] == [f"{second_order.number} A1"]


def test_there_is_no_plan_where_nothing_is_wanted(shop, block, plan, refused):
    refused("nothing-wanted", plan)


# Accepted -------------------------------------------------------------------------------------------------------------


def test_accepting_reserves_the_foam_and_writes_what_each_piece_gives(order, blank, block, plan, raf):
    run = planning.accept(plan(), raf)
    block.refresh_from_db()
    assert (run.state, block.state, block.held_for) == ("accepted", "reserved", str(run))
    assert [(row.blank, row.qty) for row in RunBlank.objects.all()] == [(blank, 8)]
    tags = [remnant.tag for remnant in run.sources.get().remnants.all()]
    assert tags == [f"R-{number:04d}" for number in range(1, len(tags) + 1)]
    assert len(tags) > 0


def test_a_plan_is_accepted_once(order, block, plan, raf, refused):
    run = planning.accept(plan(), raf)
    refused("not-draft", planning.accept, run, raf)


def test_a_row_of_two_thousand_blanks_is_kept_and_accepted(order, blank, firm, raf):
    # deeper than SQLite reads JSON (1000 or 2000 levels) and than Python calls itself
    piece = account.receive("K-0001", firm, (40_000_000, 600_000, 200_000), raf)
    Blank.objects.update(l_um=15_000, w_um=600_000, h_um=200_000, qty=2000)
    run = planning.accept(planning.make_plan(firm, raf, iterations=0), raf)
    run = CuttingRun.objects.get(pk=run.pk)
    depth, node = 0, run.plan["pieces"][0]["tree"]
    while "axis" in node and node["hi"]:
        depth, node = depth + 1, node["hi"]
    assert (depth, RunBlank.objects.get().qty, piece.run_sources.get().run) == (2000, 2000, run)
    [opened] = planning.opened_pieces(run)
    assert sum(leaf.kind == "blank" for leaf in opened.placed) == 2000


def test_foam_that_is_gone_in_the_meantime_stops_the_plan_whole(order, block, plan, raf, refused):
    run = plan()
    account.scrap(block, raf, reason="broken by the forklift")
    assert refused("stock-gone", planning.accept, run, raf).details["tag"] == "K-0001"
    run.refresh_from_db()
    assert run.state == "draft"
    assert not StockMove.objects.filter(kind="reserve").exists()


def test_a_block_measured_again_in_the_meantime_stops_the_plan(order, block, plan, raf, refused):
    run = plan()
    account.correct(block, raf, found=(2_463_000, 1_244_600, 939_800), reason="measured short")
    refused("stock-gone", planning.accept, run, raf)


def test_of_two_drafts_for_the_same_blanks_one_is_out_of_date(order, block, plan, firm, raf, refused):
    account.receive("K-0002", firm, BLOCK, raf)
    first, second = plan(), plan(seed=1)
    planning.accept(first, raf)
    refusal = refused("plan-old", planning.accept, second, raf)
    assert refusal.details["changes"] == [f"{order.number} A1: 8 planned, 0 wanted now"]
    assert StockMove.objects.filter(kind="reserve").count() == 1


def test_a_hold_or_a_new_size_makes_a_draft_out_of_date(order, line_data, block, plan, mina, raf, refused):
    run = plan()
    moves.hold(order, "deposit not in.", mina)
    refused("plan-old", planning.accept, run, raf)
    moves.resume(order, mina)
    order.refresh_from_db()
    longer = line_data | {"spec": line_data["spec"] | {"pieces": [{"length": 50, "qty": 8}]}}
    entry.save_line(order, longer, mina, version=order.version, line=order.lines.get())
    refused("plan-old", planning.accept, run, raf)


def test_another_kerf_makes_a_draft_out_of_date(order, block, plan, raf, refused):
    run = plan()
    ShopRules.objects.update(kerf=3)
    refused("plan-old", planning.accept, run, raf)


def test_a_plan_thrown_away_frees_its_foam_and_its_blanks_are_wanted_again(order, block, plan, firm, raf, refused):
    run = planning.throw_away(planning.accept(plan(), raf), raf)
    block.refresh_from_db()
    assert (run.state, block.state, wanted(firm)) == ("void", "rack", [(order.number, 8)])
    refused("plan-over", planning.throw_away, run, raf)


def test_an_opened_plan_is_stopped_not_thrown_away(order, second_order, block, plan, firm, raf, bo, refused):
    account.receive("K-0002", firm, BLOCK, raf)
    first = planning.accept(plan(order_numbers=[order.number]), raf)
    planning.accept(plan(order_numbers=[second_order.number]), raf)
    sawing.open_source(first.sources.get(), bo)
    refused("opened", planning.throw_away, first, raf)
    planning.stop(first, raf)
    assert first.state == "done"
    assert wanted(firm) == []
    refused("plan-over", planning.stop, first, raf)


def test_what_waits_of_a_stopped_plan_is_wanted_again(order, blank, firm, raf, bo, plan, refused):
    # two half blocks, four blanks each
    for tag in ("K-0001", "K-0002"):
        account.receive(tag, firm, (1_300_000, 600_000, 260_000), raf)
    run = planning.accept(plan(), raf)
    first, second = run.sources.all()
    sawing.open_source(first, bo)
    planning.stop(run, raf)
    refused("plan-stopped", sawing.open_source, second, bo)
    assert wanted(firm) == [(order.number, second.blanks.get().qty)]
    second.piece.refresh_from_db()
    assert second.piece.state == "rack"
    assert sawing.next_source(run) == first


def test_pictures_show_tags_of_the_rack_and_the_marks_of_orders(order, block, plan, raf):
    run = planning.accept(plan(), raf)
    [opened] = planning.opened_pieces(run)
    names = {leaf.kind: leaf.name for leaf in opened.placed}
    assert (opened.source, names["blank"], names["remnant"][:2]) == ("K-0001", f"{order.number} A1", "R-")
    assert [step.number for step in opened.steps] == list(range(1, len(opened.steps) + 1))


def test_a_plan_sawn_as_drawn_leaves_nothing_over(order, blank, block, plan, firm, raf, bo):
    run = planning.accept(plan(), raf)
    source = sawing.open_source(sawing.next_source(run), bo)
    moves.count_sawn(blank, 8, bo)
    for remnant in source.remnants.all():
        sawing.put_back(remnant, (remnant.l_um, remnant.w_um, remnant.h_um), bo)
    sawing.finish_source(source, bo)
    stats, [day] = run.figures["stats"], account.day_figures(bo.day)
    assert (day.good, day.back, day.waste) == (stats["blanks"], stats["kept"], stats["waste"] + stats["kerf"])
    assert account.book_stock(firm) == stats["kept"]
