"""What people get wrong, each through its page: one sentence with its place and remedy, and nothing half-written."""

import json

import pytest
from floor_shop import plan_for

from cutsheets.codes import make_sheet_code
from orders import moves, planning
from orders.models import Blank, Customer, CuttingRun, Line, Order, Scan
from shop import account
from shop.acts import Act
from shop.models import StockMove, StockPiece

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
CROSSED = "0, 0\n5, 5\n5, 0\n0, 5"
SHUT_TWICE = "0, 0\n5, 0\n5, 5\n0, 5\n0, 0"
TINY = "0, 0\n0.3, 0\n0.3, 0.4\n0, 0.4"  # millimetres of a drawing in inches
RUN = {"name": "front", "wall": "18'-0\"", "left": {"outside": 90}, "right": "cap"}

WRONG = [
    # lengths that mean two things
    ("runs-0-wall", "14.2'", "write 14.2 ft, or feet and inches"), ("runs-0-wall", "5 1/2 3/4", "means two lengths"),
    ("runs-0-wall", "1,220", "with a point for decimals"), ("runs-0-wall", "12' 13", "write feet and 0 to 11 inches"),
    # units that nobody knows, and what is no length
    ("runs-0-wall", "12 furlongs", "write 5 1/2, 5.5, 14'-2\" or 1220 mm"), ("runs-0-wall", "NaN", "is not a length"),
    ("runs-0-wall", "-5", "a length is 0 or more"), ("runs-0-wall", "", "required"),
    # 25 times too large or too small for the profile
    ("runs-0-wall", "12802", "longer than 300 m; correct it"), ("runs-0-wall", "1.65", "shorter than the section"),
    ("coat", "3", "check its unit"), ("section", "0, 0\n203, 0\n203, 229\n0, 229", "correct it"),
    ("section", TINY, "less than 1/2 across in"),
    # a section that is open or crosses itself
    ("section", "0, 0\n5, 0", "at least 3 corners"), ("section", CROSSED, "Edge 0 and edge 2 cross"),
    ("section", SHUT_TWICE, "the section closes itself"),
    # a coat thicker than the part, a run shorter than its mitres, a stick shorter than its mitre
    ("coat", "3/4", "take a thinner coat"), ("longest_stick", "8", "allow a longer stick"),
    ("runs-0-left_angle", "10", "15 to 179"), ("qty", "0", "a whole number from 1 to 1,000,000"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "said"), WRONG)
def test_a_line_is_refused_with_what_to_do_and_stays_as_it_was(office, draft, typed, words, name, text, said):
    before = Line.objects.values().get()
    own = {"way": "own", "section": text} if name == "section" else {name: text}
    answer = office.post(f"/orders/4101/lines/{before['id']}/", typed | {"version": draft.version} | own)
    assert answer.status_code == 422
    assert said in words(answer)
    assert Line.objects.values().get() == before


def test_a_run_shorter_than_its_mitres_is_refused(office, draft, typed, words):
    inside = {"runs-0-wall": "17 in", "runs-0-left": "inside", "runs-0-right": "inside"}
    answer = office.post(f"/orders/4101/lines/{draft.lines.get().pk}/", typed | {"version": draft.version} | inside)
    assert answer.status_code == 422
    assert "This run is shorter than its mitres" in words(answer)


def test_a_blank_that_no_block_holds_is_said_at_once_and_stops_the_release(office, draft, typed, words):
    long = typed | {"version": draft.version, "longest_stick": "20'"}
    said = words(office.post(f"/orders/4101/lines/{draft.lines.get().pk}/", long, follow=True))
    assert "the largest block gives 97 × 49 × 37; shorten or splice the part." in said
    draft.refresh_from_db()
    answer = office.post("/orders/4101/release/", {"version": draft.version})
    draft.refresh_from_db()
    assert (answer.status_code, draft.state, Blank.objects.count()) == (409, "draft", 0)


def test_a_job_file_with_a_bad_line_40_of_60_writes_none_of_them(office, shop, words):
    lines = [
        {"mark": f"P{n}", "kind": "moulding", "grade": "Light 1.0", "profile": "TP-14", "coat": "1/8", "runs": [RUN]}
        for n in range(1, 61)
    ]
    lines[39] = lines[39] | {"runs": [RUN | {"wall": "18.2'"}]}
    job = {"format": "blockyard-job-1", "unit": "in", "customer": "Nobody Yet", "job": "Porch", "lines": lines}
    answer = office.post("/orders/import/", {"text": json.dumps(job)})
    assert answer.status_code == 422
    assert "Nothing was written. 1 fault to put right first" in words(answer)
    assert "Line 40, run 1, wall lines[39].runs[0].wall “18.2'” means two lengths" in words(answer)
    assert not Order.objects.exists()
    assert not Customer.objects.filter(name="Nobody Yet").exists()


def test_of_two_people_in_one_order_the_second_is_told_who_was_first(office, manager, draft, typed, words):
    pk = draft.lines.get().pk
    first = manager.post(f"/orders/4101/lines/{pk}/", typed | {"version": draft.version, "runs-0-wall": "40'"})
    second = office.post(f"/orders/4101/lines/{pk}/", typed | {"version": draft.version, "runs-0-wall": "41'"})
    assert (first.status_code, second.status_code) == (302, 409)
    assert "Raf A. changed order 4101" in words(second)
    assert 'value="41&#x27;"' in second.content.decode()  # what was typed is still there
    assert draft.lines.get().spec["runs"][0]["wall"] == "40'"


@pytest.mark.parametrize("rubbish", ["0123456789012", "BY4101", "BY4102A9", "]C0", "\x00\x1b[2J", "'; --", "é" * 900])
def test_a_scan_of_rubbish_is_kept_and_counts_nothing(floor, released, rubbish):
    answer = floor.post("/station/saw-1/scan/", {"raw": rubbish, "scan_id": "s1"})
    assert answer.status_code == 409
    assert Scan.objects.get().answer in ("unknown", "code-damaged")
    assert not StockMove.objects.exists()


def test_a_sheet_scanned_twice_shows_the_same_and_is_one_scan(floor, shop, released, words):
    plan_for(shop, released)
    sent = {"raw": make_sheet_code(4101, "A"), "scan_id": "s1"}
    first, second = (words(floor.post("/station/saw-1/scan/", sent, follow=True)) for _ in range(2))
    assert first == second
    assert (Scan.objects.count(), StockMove.objects.filter(kind="issue").count()) == (1, 0)


def test_a_count_above_what_is_left_is_refused_and_says_how_many_are(floor, shop, released, words):
    run = plan_for(shop, released)
    bo = Act(shop.people["bo"], shop.stations["saw-1"])
    moves_before = StockMove.objects.count()
    floor.post("/station/saw-1/open/", {"source": run.sources.get().pk, "order": 4101})
    blank = Blank.objects.order_by("-qty").first()
    answer = floor.post("/station/saw-1/count/", {"blank": blank.pk, "qty": blank.qty + 1, "order": 4101})
    blank.refresh_from_db()
    assert (answer.status_code, blank.sawn, moves.last_count(bo)) == (409, 0, None)
    assert f"{blank.qty} blanks" in words(answer)
    assert StockMove.objects.count() == moves_before + 1  # the block was opened, nothing else


def test_a_plan_whose_foam_has_gone_meanwhile_reserves_nothing(manager, shop, released, words):
    raf, firm = Act(shop.people["raf"]), shop.grades["Firm 1.5"]
    block = account.receive("K-0001", firm, BLOCK, raf)
    run = planning.make_plan(firm, raf, iterations=1)
    account.scrap(block, raf, reason="wet")
    answer = manager.post(f"/plans/{run.number}/accept/")
    assert answer.status_code == 409
    assert "K-0001 is not free on the rack" in words(answer)
    assert "Plan again with what is there now" in words(answer)
    assert (CuttingRun.objects.get().state, StockPiece.objects.filter(state="reserved").count()) == ("draft", 0)
