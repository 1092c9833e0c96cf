"""What a manager asks of a plan: foam that stays shut or comes first, pieces that stay, a saw with its own reach."""

from decimal import Decimal

import pytest

from cutsheets.planning.check import check
from orders import entry, moves, planning
from orders.models import Line, Order
from orders.planning.pieces import leaves_named, tags_of
from orders.planning.working import work
from shop import account
from shop.acts import Act
from shop.models import Grade, ShopRules, Station, StockPiece

HALF = (1_300_000, 600_000, 260_000)  # gives four of the eight blanks
BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in


@pytest.fixture
def firm(shop):
    return shop.grades["Firm 1.5"]


@pytest.fixture
def raf(shop):
    return Act(by=shop.people["raf"])


@pytest.fixture
def halves(order, firm, raf):
    """Four half blocks, of which the order needs two."""
    return [account.receive(f"K-000{number}", firm, HALF, raf) for number in (1, 2, 3, 4)]


@pytest.fixture
def plan(firm, raf):
    """Return a function that plans as a page and its worker do; three rounds of search are enough for eight blanks."""

    def make(follows=None, **asked):
        run = planning.start_plan(firm, planning.Asked(1, **asked), raf, follows)
        work(run.pk, iterations=3)
        run.refresh_from_db()
        return run

    return make


def test_what_was_asked_is_kept_word_for_word(order, halves, plan):
    asked = {"orders": (order.number,), "out": ("K-0001",), "first": ("K-0004",), "saw": "saw-1"}
    run = plan(**asked)
    assert planning.Asked.of(run) == planning.Asked(1, **asked)
    assert run.saw.code == "saw-1"


def test_a_block_that_stays_shut_is_not_opened(halves, plan):
    assert tags_of(plan()) == ["K-0001", "K-0002"]
    assert tags_of(plan(out=("K-0001", "K-0003"))) == ["K-0002", "K-0004"]


def test_where_what_is_left_does_not_do_the_plan_fails_with_the_remedy(halves, plan):
    run = plan(out=("K-0001", "K-0002", "K-0003"))
    assert run.state == "failed"
    assert run.refusal.startswith("The rack does not hold 4 of ")
    assert "Receive blocks of Firm 1.5" in run.refusal


def test_of_equal_blocks_the_one_to_use_first_is_opened(halves, plan):
    assert tags_of(plan(first=("K-0004",))) == ["K-0004", "K-0001"]


@pytest.fixture
def remnants(order, firm, raf):
    """A remnant that is as large as the blanks need, and one that is longer by too little to be kept."""
    parent = account.receive("K-0009", firm, BLOCK, raf)
    return [
        StockPiece.objects.create(tag=tag, grade=firm, parent=parent, l_um=l_um, w_um=600_000, h_um=260_000)
        for tag, l_um in (("R-0001", 2_450_000), ("R-0002", 2_530_000))
    ]


def test_a_remnant_to_use_first_is_used_though_another_is_cheaper_and_the_figures_stay_true(remnants, plan):
    cheap, asked = plan(), plan(first=("R-0002",))
    assert (tags_of(cheap), tags_of(asked)) == (["R-0001"], ["R-0002"])
    assert asked.figures["score"] > cheap.figures["score"], "the score is at true prices"
    assert asked.figures["bound"]["score"] == pytest.approx(cheap.figures["bound"]["score"])


def test_the_score_of_a_steered_plan_is_counted_as_the_planner_counts(halves, plan):
    assert plan(first=("K-0001",)).figures["score"] == pytest.approx(plan().figures["score"])


# Pieces that stay -----------------------------------------------------------------------------------------------------


@pytest.fixture
def second_order(shop, mina, line_data):
    order = entry.create_order({"customer": shop.customer, "job": "Wickett Library, porch"}, mina)
    entry.save_line(order, line_data, mina, version=order.version)
    moves.release(Order.objects.get(pk=order.pk), mina)
    return Order.objects.get(pk=order.pk)


def tree_of(run, tag):
    """Return the tree of a piece, its remnants without names: those are numbered anew in every plan."""

    def bare(node):
        if "remnant" in node:
            return "remnant"
        return {key: bare(value) if isinstance(value, dict) else value for key, value in node.items()}

    return bare(dict(zip(tags_of(run), run.plan["pieces"], strict=True))[tag]["tree"])


def test_a_piece_that_stays_is_cut_as_before_and_the_rest_is_planned_anew(halves, plan):
    before = plan()
    after = plan(before, keep=("K-0002",), out=("K-0001",))
    assert tags_of(after) == ["K-0002", "K-0003"]
    assert tree_of(after, "K-0002") == tree_of(before, "K-0002")
    assert check(after.instance, after.plan).ok
    assert after.follows == before


def test_the_younger_of_equal_blocks_stays_itself_though_the_older_is_planned_anew(halves, order, plan, mina):
    line = order.lines.get()
    spec = line.spec | {"pieces": [{"length": 40, "qty": 6}]}
    entry.save_line(order, {"grade": line.grade, "spec": spec}, mina, version=order.version, line=line)
    before = plan()
    full, rest = (len(list(leaves_named(piece["tree"], "blank"))) for piece in before.plan["pieces"])
    assert (tags_of(before), full, rest) == (["K-0001", "K-0002"], 4, 2)
    after = plan(before, keep=("K-0002",))
    assert sorted(tags_of(after)) == ["K-0001", "K-0002"]
    assert tree_of(after, "K-0002") == tree_of(before, "K-0002")


def test_a_piece_that_stays_leaves_its_blanks_to_none_else(halves, second_order, plan):
    before = plan()
    kept = tags_of(before)[1]
    after = plan(before, keep=(kept,))
    named = [name for piece in after.plan["pieces"] for name in leaves_named(piece["tree"], "blank")]
    assert len(named) == sum(blank["qty"] for blank in after.instance["blanks"]) == 16
    assert len(set(tags_of(after))) == 4


def test_a_plan_of_pieces_that_all_stay_is_the_same_plan(halves, plan):
    before = plan()
    after = plan(before, keep=tuple(tags_of(before)))
    assert tags_of(after) == tags_of(before)
    assert after.figures["stats"] == before.figures["stats"]
    assert after.figures["score"] == pytest.approx(before.figures["score"])


def test_a_plan_with_a_piece_that_stayed_is_accepted_with_its_foam(halves, plan, raf):
    run = planning.accept(plan(plan(), keep=("K-0002",), out=("K-0001",)), raf)
    assert sorted(run.sources.values_list("piece__tag", flat=True)) == ["K-0002", "K-0003"]
    assert sum(row.qty for source in run.sources.all() for row in source.blanks.all()) == 8


def test_remnants_of_pieces_that_stay_and_of_new_ones_have_names_of_their_own(firm, raf, order, second_order, plan):
    for number in (1, 2, 3):
        account.receive(f"K-000{number}", firm, BLOCK, raf)
    before = plan(orders=(order.number,))
    after = plan(before, keep=("K-0001",))
    names = [name for piece in after.plan["pieces"] for name in leaves_named(piece["tree"], "remnant")]
    assert names
    assert len(names) == len(set(names))


def test_a_piece_whose_foam_is_gone_cannot_stay(halves, plan, raf, refused):
    before = plan()
    account.scrap(halves[0], raf, reason="wet")
    refusal = refused("keep-old", plan, before, keep=("K-0001",))
    assert "K-0001 cannot stay as planned: it is not free on the rack as it was" in refusal.sentence


def test_a_piece_whose_blanks_are_not_wanted_any_more_cannot_stay(halves, order, plan, mina, refused):
    before = plan()
    line = order.lines.get()
    spec = line.spec | {"pieces": [{"length": 40, "qty": 2}]}
    entry.save_line(order, {"grade": line.grade, "spec": spec}, mina, version=order.version, line=line)
    refused("keep-old", plan, before, keep=("K-0002",))


def test_a_piece_that_cannot_stay_by_the_time_of_the_search_is_said_on_the_plan(halves, firm, plan, raf):
    before = plan()
    run = planning.start_plan(firm, planning.Asked(1, keep=("K-0001",)), raf, before)
    account.scrap(halves[0], raf, reason="wet")
    work(run.pk, iterations=3)
    run.refresh_from_db()
    assert (run.state, run.refusal[:26]) == ("failed", "K-0001 cannot stay as plan")


def test_what_the_plan_before_does_not_open_cannot_stay(halves, plan, refused):
    refused("keep-old", plan, plan(), keep=("K-0004",))
    refused("keep-old", plan, keep=("K-0004",))


def test_a_plan_that_follows_another_is_looked_for_from_another_place(halves, plan):
    first = plan()
    second = plan(first)
    assert [run.figures["seed"] for run in (first, second, plan(second))] == [0, 1, 2]


# Saw, prices and lies -------------------------------------------------------------------------------------------------


def test_a_saw_brings_its_own_kerf_and_reach(halves, plan, raf):
    Station.objects.filter(code="saw-1").update(kerf=Decimal("2.5"), height=1000, travel=3000)
    run = plan(saw="saw-1")
    assert run.instance["kerf"] == 2_500
    assert run.instance["saw"] == {"height": 1_000_000, "length": 3_000_000}
    assert planning.accept(run, raf).state == "accepted", "its kerf is not the shop's, and right"


def test_a_saw_that_does_not_say_how_far_it_reaches_has_no_limit_and_the_kerf_of_the_shop(halves, plan):
    Station.objects.filter(code="saw-1").update(kerf=None, height=None, travel=None)
    instance = plan(saw="saw-1").instance
    assert "saw" not in instance
    assert instance["kerf"] == 1_588  # 1/16 in, rounded up to whole micrometres


def test_a_saw_with_another_kerf_by_now_makes_the_draft_out_of_date(halves, plan, raf, refused):
    run = plan(saw="saw-1")
    Station.objects.filter(code="saw-1").update(kerf=4)
    refused("plan-old", planning.accept, run, raf)


def test_a_wire_cutter_is_no_saw(halves, plan, refused):
    refused("no-saw", plan, saw="cutter-1")


def test_foam_counts_at_the_price_of_its_grade_and_a_remnant_at_its_share(remnants, plan, firm):
    ShopRules.objects.update(price_foam="3.00", rack_share=40, price_cut="0.20", price_keep="0.70", credit_large=41)
    instance = plan().instance
    size = 2_463_800 * 1_244_600 * 939_800 / 304_800**3  # cubic feet
    assert instance["stock"][0]["price"] == int(300 * size)
    rest = 2_530_000 * 600_000 * 260_000 / 304_800**3
    assert instance["remnants"][1]["price"] == int(120 * rest)
    assert instance["prices"]["credit"] == [[4, 0.25], [12, 0.35], [32, 0.41], [None, 0.5]]
    assert (instance["prices"]["cut"], instance["prices"]["keep"]) == (20, 70)
    Grade.objects.filter(pk=firm.pk).update(price="5.00")
    assert plan().instance["stock"][0]["price"] == int(500 * size)


@pytest.mark.parametrize(
    ("lie", "allowed"),
    [("any", 6), ("along", {"LWH", "LHW"}), ("upright", {"LWH", "WLH"}), ("as-is", {"LWH"})],
)
def test_blanks_lie_only_as_their_line_allows(halves, plan, order, lie, allowed):
    Line.objects.filter(order=order).update(lie=lie)
    run = plan()
    rot = run.instance["blanks"][0]["rot"]
    assert (len(rot) if allowed == 6 else set(rot)) == allowed
    if run.state == "draft":
        assert check(run.instance, run.plan).ok
