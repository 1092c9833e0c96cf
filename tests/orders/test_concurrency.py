"""Many people at once: real threads on the current database. Whatever they do, no count passes what is there."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import replace

import pytest
from django.db import connection

from orders import entry, moves
from orders.demo import small_shop
from orders.models import Move, Order
from shop import account
from shop.refusals import Refused

pytestmark = pytest.mark.django_db(transaction=True)
THREADS = 16


@pytest.fixture
def shop(transactional_db):
    return small_shop()


def at_once(do, times=THREADS):
    """Run `do(0)`, `do(1)` … in threads of their own and return what each got: a result, or the code of its refusal."""

    def one(number):
        with closing(connection):  # each thread has its own
            try:
                return do(number)
            except Refused as refusal:
                return refusal.code

    with ThreadPoolExecutor(times) as pool:
        return list(pool.map(one, range(times)))


def test_sixteen_stations_never_saw_more_blanks_than_are_due(blank, opened, bo):
    answers = at_once(lambda number: moves.count_sawn(blank, 1, replace(bo, scan_id=f"scan-{number}")))
    blank.refresh_from_db()
    assert (blank.sawn, answers.count("over-count")) == (8, 8)
    assert Move.objects.filter(action="saw").count() == 8
    assert account.left_on_saw(opened.piece) == opened.piece.volume - 8 * blank.volume


def test_sixteen_cutters_never_use_more_blanks_than_are_sawn(order, blank, piece, opened, bo, cutter):
    moves.count_sawn(blank, 5, bo)
    answers = at_once(lambda _: moves.count_cut(piece, 1, cutter))
    piece.refresh_from_db()
    assert (piece.cut, answers.count("no-blank")) == (5, 11)


def test_cutting_and_ruining_never_use_a_blank_twice(blank, piece, opened, bo, cutter):
    moves.count_sawn(blank, 8, bo)

    def use(number):
        if number % 2:
            return moves.miscut_at_wire(piece, 1, "wire broke", cutter)
        return moves.count_cut(piece, 1, cutter)

    at_once(use)
    blank.refresh_from_db()
    assert blank.cut + blank.wire_miscut == blank.sawn == 8


def test_one_scan_sent_sixteen_times_counts_once(blank, opened, bo):
    scan = replace(bo, scan_id="one-scan")
    answers = at_once(lambda _: moves.count_sawn(blank, 1, scan))
    blank.refresh_from_db()
    assert (blank.sawn, len({move.pk for move in answers})) == (1, 1)


def test_the_last_pieces_of_two_lines_cut_at_once_make_the_order_done(draft, line_data, mina, bo, cutter, open_block):
    entry.save_line(draft, line_data, mina, version=draft.version)
    draft.refresh_from_db()
    moves.release(draft, mina)
    open_block(draft, bo)
    for line in draft.lines.all():
        moves.count_sawn(line.blanks.get(), 8, bo)
    pieces = [line.pieces.get() for line in draft.lines.all()]
    at_once(lambda number: moves.count_cut(pieces[number], 8, cutter), times=2)
    draft.refresh_from_db()
    assert draft.done_at is not None


def test_a_count_is_taken_back_once_however_many_undo_it(blank, opened, bo):
    move = moves.count_sawn(blank, 3, bo)
    answers = at_once(lambda _: moves.undo(move, bo))
    blank.refresh_from_db()
    assert (blank.sawn, answers.count("undone")) == (0, THREADS - 1)


def test_of_sixteen_who_save_one_order_fifteen_are_told(draft, mina):
    seen = draft.version
    answers = at_once(lambda number: entry.save_order(draft, {"note": f"note {number}"}, mina, version=seen))
    assert answers.count("changed-meanwhile") == THREADS - 1
    draft.refresh_from_db()
    assert draft.version == seen + 1


def test_sixteen_new_orders_get_sixteen_numbers_in_a_row(shop, mina):
    head = {"customer": shop.customer, "job": "Wickett Library, porch"}
    at_once(lambda _: entry.create_order(head, mina))
    numbers = Order.objects.order_by("number").values_list("number", flat=True)
    assert list(numbers) == list(range(4101, 4101 + THREADS))


def test_an_order_is_released_once_however_many_release_it(draft, mina):
    answers = at_once(lambda _: moves.release(draft, mina))
    assert (answers.count("released"), Move.objects.filter(action="release").count()) == (THREADS - 1, 1)
    assert draft.lines.get().blanks.get().qty == 8
