"""The station page without a browser's help: plain forms and links, refusals that lose nothing."""

import re

import pytest
from floor_shop import theatre

from cutsheets.codes import make_plan_code, make_sheet_code
from orders import moves, sawing
from orders.models import Blank, Move, Piece, RunBlank, RunRemnant, Scan
from shop import account
from shop.acts import Act
from shop.models import StockMove, StockPiece

BAND = {"pieces": [{"length": 40, "qty": 3}]}


@pytest.fixture
def source(run):
    return run.sources.get()


@pytest.fixture
def opened(source, bo):
    return sawing.open_source(source, bo)


@pytest.fixture
def blank(order):
    return Blank.objects.get()


@pytest.fixture
def act(floor, order):
    """Return a function that presses something at a station: act("count", blank=3, qty=1)."""

    def press(what, station="saw-1", **fields):
        sent = {"order": order.number} | fields
        return floor.post(f"/station/{station}/{what}/", sent, follow=True)

    return press


@pytest.fixture
def at(floor, order):
    """Return a function that opens a screen of the order: at("saw-1", ask="count")."""
    return lambda station="saw-1", **query: floor.get(f"/station/{station}/", {"order": order.number} | query)


# Scans ----------------------------------------------------------------------------------------------------------------


def test_a_scan_through_the_plain_form_shows_the_blank_and_counts_nothing(floor, run, order, blank, words):
    sheet = make_sheet_code(order.number, "A")
    answer = floor.post("/station/saw-1/scan/", {"raw": sheet}, follow=True)
    assert 'aria-label="Blank: 41 long, 2 7/8 wide, 5 1/4 high"' in answer.content.decode()
    assert "3 left" in words(answer)
    blank.refresh_from_db()
    assert (blank.sawn, StockMove.objects.filter(kind="issue").count()) == (0, 0)


def test_the_same_scan_sent_twice_is_kept_once(floor, run, order):
    sent = {"raw": make_sheet_code(order.number, "A"), "scan_id": "0123456789abcdef"}
    floor.post("/station/saw-1/scan/", sent)
    floor.post("/station/saw-1/scan/", sent)
    assert Scan.objects.count() == 1


def test_a_saw_sheet_leads_to_its_next_block(floor, run, words):
    answer = floor.post("/station/saw-1/scan/", {"raw": make_plan_code(run.number)}, follow=True)
    assert "Take K-0001, open it" in words(answer)


def test_a_text_that_is_no_code_is_shown_escaped(floor, order):
    answer = floor.post("/station/saw-1/scan/", {"raw": "<script>alert(1)</script>"})
    assert answer.status_code == 409
    assert "<script>alert" not in answer.content.decode()
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in answer.content.decode()


def test_an_order_that_is_done_at_the_saw_says_where_its_blanks_go(floor, opened, order, blank, bo, words):
    moves.count_sawn(blank, 3, bo)
    sawing.give_up(RunRemnant.objects.get(), "too small", bo)
    sawing.finish_source(opened, bo)
    answer = floor.post("/station/saw-1/scan/", {"raw": make_sheet_code(order.number, "A")})
    assert "All 3 blanks are sawn; take them to the wire cutter." in words(answer)
    moves.count_cut(blank.pieces.get(), 3, bo)
    answer = floor.post("/station/saw-1/scan/", {"raw": make_sheet_code(order.number, "A")})
    assert "All 3 blanks are sawn, and all pieces are cut." in words(answer)


def test_a_cancelled_order_may_not_be_looked_at_as_work(at, shop, order, words):
    moves.cancel(order, "customer changed her mind", Act(shop.people["mina"]))
    answer = at()
    assert answer.status_code == 409
    assert "Cut nothing for it." in words(answer)


# Acts -----------------------------------------------------------------------------------------------------------------


def test_opening_the_block_issues_its_foam(act, source, words):
    answer = act("open", source=source.pk)
    assert "Blank sawn" in words(answer)
    assert StockMove.objects.get(kind="issue").volume == source.piece.volume


def test_a_block_that_lies_open_elsewhere_is_refused_with_who_has_it(act, shop, source, words):
    saw_2 = shop.stations["saw-1"].__class__.objects.create(code="saw-2", name="Saw 2", kind="saw")
    sawing.open_source(source, Act(shop.people["bo"], saw_2))
    answer = act("open", source=source.pk)
    assert answer.status_code == 409
    assert "lies open at Saw 2, opened by Bo L." in words(answer)


def test_a_count_sent_twice_is_counted_once(act, opened, blank):
    for _ in range(2):
        act("count", blank=blank.pk, qty=2, scan_id="abc")
    blank.refresh_from_db()
    assert blank.sawn == 2


@pytest.mark.parametrize(
    ("qty", "said"), [("4", "3 blanks"), ("", "not a count"), ("-1", "not a count"), ("½", "not a")]
)
def test_a_count_that_cannot_be_is_refused_in_a_sentence(act, opened, blank, words, qty, said):
    answer = act("count", blank=blank.pk, qty=qty)
    assert answer.status_code == 409
    assert said in words(answer)
    blank.refresh_from_db()
    assert blank.sawn == 0


def test_a_remnant_goes_back_in_the_size_that_was_measured(act, opened, blank, bo):
    moves.count_sawn(blank, 3, bo)
    sizes = {"long": "47 1/2", "wide": "24", "high": "12", "place": "rack 4"}
    act("put-back", remnant=RunRemnant.objects.get().pk, **sizes)
    piece = RunRemnant.objects.get().piece
    assert (piece.size_um, piece.place, piece.tag) == ((1_206_500, 609_600, 304_800), "rack 4", "R-0001")


def test_the_planned_size_of_a_remnant_is_the_one_that_stands_there_already(at, opened, words):
    RunRemnant.objects.update(h_um=305_753)  # 12.0375 in: nearer to 12 1/16, of which there is not so much
    asked = at(source=opened.pk, ask="back", remnant=RunRemnant.objects.get().pk)
    assert 'value="12"' in asked.content.decode()
    assert "× 12. Measure it" in words(asked)


def test_after_a_remnant_is_put_back_the_saw_leads_to_its_tag_on_paper(act, at, opened, blank):
    link = "/station/saw-1/tags/?tag=R-0001"
    assert link not in at(ask="block", source=opened.pk).content.decode()
    sizes = {"long": "47 1/2", "wide": "24", "high": "12", "place": "rack 4"}
    answer = act("put-back", remnant=RunRemnant.objects.get().pk, order=blank.line.order.number, **sizes)
    assert link in answer.content.decode()
    assert link in at(ask="block", source=opened.pk).content.decode()


@pytest.mark.parametrize(("long", "said"), [("47..2", "is not a length"), ("970", "cannot be larger than K-0001")])
def test_a_wrong_size_is_asked_for_again_with_the_rest_kept(act, opened, words, long, said):
    sizes = {"long": long, "wide": "23", "high": "12", "place": "rack 4"}
    answer = act("put-back", remnant=RunRemnant.objects.get().pk, **sizes)
    assert answer.status_code == 409
    assert said in words(answer)
    assert 'value="23"' in answer.content.decode()
    assert RunRemnant.objects.get().piece is None


def test_the_planned_size_of_a_remnant_stands_there_in_sixteenths(at, opened):
    remnant = RunRemnant.objects.get()
    RunRemnant.objects.update(h_um=365_124)  # a micrometre below 14 3/8
    page = at(ask="back", remnant=remnant.pk).content.decode()
    assert re.search(r'name="high" value="14-3/8"', page)


def test_a_remnant_that_is_not_kept_needs_a_reason(act, opened, words):
    remnant = RunRemnant.objects.get()
    assert act("give-up", remnant=remnant.pk, reason=" ").status_code == 409
    act("give-up", remnant=remnant.pk, reason="crushed corner")
    remnant.refresh_from_db()
    assert (remnant.settled, remnant.piece) == (True, None)


def test_a_block_that_gives_fewer_is_finished_with_the_reason(act, at, opened, words):
    sawing.give_up(RunRemnant.objects.get(), "too small", Act(None))
    blank = Blank.objects.get()
    assert "3 short" in words(at(pick=blank.pk, ask="block", source=opened.pk))
    answer = act("finish", source=opened.pk, reason="void in the foam")
    assert "No plan yet for 3." in words(answer)
    assert account.left_on_saw(opened.piece) == 0


def test_spoiled_at_the_saw_is_booked_and_the_order_stays(act, opened, blank):
    act("miscut", blank=blank.pk, qty=1, reason="fence slipped")
    blank.refresh_from_db()
    assert (blank.saw_miscut, blank.sawn, blank.qty, RunBlank.objects.get().miscut) == (1, 0, 3, 1)


def test_undo_of_something_else_than_the_page_named_is_refused(act, opened, blank, bo, words):
    first = moves.count_sawn(blank, 1, bo)
    moves.count_sawn(blank, 1, bo)
    answer = act("undo", move=first.pk)
    assert "Something else was counted here meanwhile" in words(answer)
    assert not Move.objects.filter(action="undo").exists()


def test_a_count_on_an_order_just_held_shows_the_hold(act, shop, opened, order, blank, words):
    moves.hold(order, "Deposit not in.", Act(shop.people["mina"]))
    answer = act("count", blank=blank.pk, qty=1)
    assert "Do not cut." in words(answer)
    blank.refresh_from_db()
    assert blank.sawn == 0


# Blocks that are not as planned ---------------------------------------------------------------------------------------


def test_a_block_that_measures_short_before_it_is_opened_is_not_sawn_for_this_plan(act, at, source, words):
    assert "Take K-0001, open it" in words(at())
    page = at(ask="measure", source=source.pk)
    assert "K-0001 is not as planned?" in words(page)
    assert 'name="long" value="97"' in page.content.decode()
    said = words(act("measured", source=source.pk, long="90 1/2", wide="49", high="37", reason="end broken off"))
    assert "No plan yet for 3. Ask the manager." in said
    source.piece.refresh_from_db()
    assert (source.piece.size_um, source.piece.state) == ((2_298_700, 1_244_600, 939_800), "rack")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"long": "ninety"}, "is not a length"), ({"reason": ""}, "This field is required."),
        ({"long": "97"}, "on the books with just that size; open it as planned"),
    ],
)  # fmt: skip
def test_a_measure_that_cannot_be_is_asked_for_again_with_the_rest_kept(act, source, words, typed, said):
    answer = act("measured", source=source.pk, **{"long": "90", "wide": "49", "high": "37", "reason": "bowed"} | typed)
    assert answer.status_code == 409
    assert said in words(answer)
    assert 'name="wide" value="49"' in answer.content.decode()
    source.refresh_from_db()
    assert source.state == "waiting"


def test_a_block_that_is_no_good_is_scrapped_with_its_reason(act, source):
    assert act("no-good", source=source.pk, reason=" ").status_code == 409
    act("no-good", source=source.pk, reason="soaked")
    source.piece.refresh_from_db()
    assert source.piece.state == "scrapped"


def test_a_block_opened_meanwhile_is_not_measured_any_more(act, opened, words):
    answer = act("measured", source=opened.pk, long="90", wide="49", high="37", reason="bowed")
    assert answer.status_code == 409
    assert "K-0001 lies open on a saw already" in words(answer)


def test_a_rest_is_kept_under_the_tag_that_the_screen_says(act, at, opened, words):
    assert "Keep a rest: R-0002" in words(at(ask="rest", source=opened.pk))
    size = {"long": "30", "wide": "20", "high": "10", "place": "rack 4"}
    act("keep-rest", source=opened.pk, tag="R-0002", **size)
    assert StockPiece.objects.get(tag="R-0002").size_um == (762_000, 508_000, 254_000)
    answer = act("keep-rest", source=opened.pk, tag="R-0002", **size | {"long": "31"})
    assert "“R-0002” is not the next tag; write R-0003 on it." in words(answer)
    assert "Keep a rest: R-0003" in words(answer)


def test_a_block_whose_order_is_held_can_still_be_finished(floor, shop, opened, order, words):
    moves.hold(order, "Deposit not in.", Act(shop.people["mina"]))
    assert "K-0001 lies open, plan 118" in words(floor.get("/station/saw-1/"))
    scan = floor.post("/station/saw-1/scan/", {"raw": make_plan_code(118)}, follow=True)
    assert "K-0001 gives no more? 3 short" in words(scan)
    sawing.give_up(RunRemnant.objects.get(), "too small", Act(None))
    floor.post("/station/saw-1/finish/", {"source": opened.pk, "reason": "order is on hold"})
    assert account.left_on_saw(opened.piece) == 0


# Screens --------------------------------------------------------------------------------------------------------------


def test_a_screen_that_was_seen_is_not_sent_again_until_somebody_counts(at, opened, blank, bo):
    seen = re.search(r'data-version="([^"]+)"', at().content.decode())[1]
    assert at(seen=seen).status_code == 204
    moves.count_sawn(blank, 1, bo)
    assert at(seen=seen).status_code == 200


def test_a_block_whose_remnants_are_back_does_not_deny_them(at, opened, blank, bo, words):
    assert "Leaves R-0001." in words(at())
    moves.count_sawn(blank, 3, bo)
    remnant = RunRemnant.objects.get()
    sawing.put_back(remnant, (remnant.l_um, remnant.w_um, remnant.h_um), bo)
    assert "Its remnants are back or given up." in words(at())


def test_the_cutter_sees_foam_lengths_and_never_a_finished_size(shop, floor, words):
    front = {"name": "front", "wall": "7'-0\"", "left": {"outside": 90}, "right": "cap"}
    order = theatre(shop, lines=(("TP-14", {"runs": [front]}),))
    answer = floor.get("/station/cutter-1/", {"order": order.number})
    said = words(answer)
    # 84 + 8 7/8 of foam beyond the corner − 1/8 of coat on the cap (a mitre at 90° adds the foam's own depth)
    assert "Long point, front 92 3/4" in said
    assert "Mitred end on your left, face towards you." in said
    assert "No blank here yet. Saw 1 saws it." in said


@pytest.fixture
def surround(shop):
    """Pieces A1 and A2, six each, the blanks of A2 first in the books; all are sawn."""
    order = theatre(shop, lines=(("TP-22", {"frames": [{"width": 38, "height": 60, "qty": 3}]}),))
    Blank.objects.update(sawn=6)
    return order


def test_the_side_of_a_frame_is_mitred_across_its_face(surround, floor, words):
    said = words(floor.get("/station/cutter-1/", {"order": surround.number}))
    # the opening is 38 in finished: 38 + 2 × 1/8 of coat, and 4 3/4 of foam more at each outer corner
    assert "Long point, outside 47 3/4 Short point, opening 38 1/4" in said
    assert "Side of a frame, mitred across its face." in said


def test_the_cutter_stays_at_the_piece_that_was_picked(surround, floor, words):
    order = surround
    for piece in Piece.objects.all():
        one = {"order": order.number, "piece": piece.pk, "qty": 1}
        screen = floor.post("/station/cutter-1/count/", one, follow=True)
        assert f"{piece.label} Both ends mitred" in words(screen)
        assert f'name="piece" value="{piece.pk}"' in screen.content.decode()


def test_without_a_blank_for_the_rest_the_cutter_goes_on_with_the_next_piece(surround, floor, words):
    first = surround.lines.get().pieces.first()
    Blank.objects.filter(pk=first.blank_id).update(sawn=4)
    sent = {"order": surround.number, "piece": first.pk, "qty": 4}
    screen = words(floor.post("/station/cutter-1/count/", sent, follow=True))
    assert "A2 Both ends mitred" in screen
    assert "Piece cut" in screen


def test_the_last_piece_of_an_order_says_that_all_are_cut(surround, floor, words):
    for piece in Piece.objects.all():
        sent = {"order": surround.number, "piece": piece.pk, "qty": 6}
        screen = words(floor.post("/station/cutter-1/count/", sent, follow=True))
    assert "All pieces are cut." in screen


def test_the_tag_of_a_remnant_is_never_broken_in_two(at, opened):
    page = at("saw-1").content.decode()
    assert 'Leaves <span class="st-whole">R-0001</span>.' in page


def test_the_last_sheets_of_this_station_stand_on_its_empty_screen(floor, run, order, words):
    floor.post("/station/saw-1/scan/", {"raw": make_sheet_code(order.number, "A")})
    assert "0 of 3 sawn" in words(floor.get("/station/saw-1/"))
    assert "Nothing scanned here yet today." in words(floor.get("/station/cutter-1/"))


def test_a_wrong_number_or_pick_in_the_address_is_no_fault_of_the_server(at, floor, opened):
    assert floor.get("/station/saw-1/?order=99999").status_code == 404
    assert at(pick="x", ask="count").status_code == 200
    assert floor.get("/station/saw-1/?ask=back&remnant=x").status_code == 404
    assert Piece.objects.get().cut == 0
