"""The demo is a shop in the middle of a believable week: every promise of the README can be shown in it."""

from collections import Counter
from datetime import timedelta

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.management import call_command
from django.db.models import F
from django.utils import timezone
from pypdfium2 import PdfDocument

from cutsheets.drawings.part import part_scenes
from cutsheets.grades import C578
from cutsheets.kinds import KINDS
from cutsheets.units import KG_M3_PER_PCF, read_length
from orders import batches, office_paper, packing
from orders.curing import curing
from orders.demo import PEOPLE, PINS, load
from orders.demo.week import workday
from orders.lines import work_out
from orders.models import CuttingRun, Line, Move, Order, Piece, Print, Scan
from orders.operations import own_pieces
from orders.papers import OF_ORDER, Paper
from orders.standing import standings, with_word
from orders.workflow import WORDS
from shop import account
from shop.acts import Act
from shop.models import DayClose, Grade, Person, Station, StockMove, StockPiece


@pytest.fixture(scope="module")
def week(django_db_setup, django_db_blocker):
    """The whole demo, loaded once for the tests of this file and taken away after them."""
    with django_db_blocker.unblock():
        from django.db import transaction

        with transaction.atomic():
            assert load(passwords=False)
            yield
            transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def in_the_week(request, week, db):
    """Look at the demo inside of its own transaction."""


def words():
    orders = list(Order.objects.all())
    return {order.number: standings(orders)[order.pk].word for order in orders}


def test_some_orders_are_done_some_in_work_one_on_hold_some_drafts():
    counted = Counter(words().values())
    assert counted == {"done": 2, "in work": 2, "released": 5, "on hold": 1, "draft": 4}


@pytest.mark.parametrize("word", WORDS)
def test_the_list_of_a_word_holds_the_orders_that_have_it(word):
    listed = {order.number for order in with_word(Order.objects.all(), word)}
    assert listed == {number for number, has in words().items() if has == word}


def test_some_orders_are_late():
    today = timezone.localdate()
    late = [order for order in Order.objects.filter(due__lt=today) if words()[order.number] != "done"]
    assert {words()[order.number] for order in late} == {"in work", "released"}


def test_remnants_lie_on_the_rack_and_a_block_on_the_saw():
    assert StockPiece.objects.filter(state="rack").exclude(parent=None).exists()
    assert StockPiece.objects.filter(state="saw").count() == 1


def test_yesterdays_foam_is_closed_and_every_day_balances():
    assert DayClose.objects.filter(day=workday(1)).exists()
    for day in StockMove.objects.order_by("day").values_list("day", flat=True).distinct():
        assert [row.unaccounted for row in account.day_figures(day)] == [0] * len(account.day_figures(day))


def test_the_books_say_what_stands_on_the_rack():
    for grade in Grade.objects.all():
        on_rack = StockPiece.objects.filter(grade=grade, state__in=("rack", "reserved"))
        assert account.book_stock(grade) == sum(piece.volume for piece in on_rack)


def test_a_miscut_of_each_kind_was_made_good():
    assert Move.objects.filter(action__in=("saw-miscut", "cut-miscut")).count() == 2
    assert words()[4177] == "done"


def test_done_orders_are_packed_one_is_packed_in_part_and_some_pieces_still_cure():
    done = [order for order, word in words().items() if word == "done"]
    assert done
    assert not Piece.objects.filter(line__order__number__in=done, live=True, packed__lt=F("qty")).exists()
    inn = list(Piece.objects.filter(line__order__number=4178, live=True).select_related("line__coat_system", "blank"))
    assert 0 < sum(piece.packed for piece in inn) < sum(piece.qty for piece in inn)
    assert any(cure.waiting for cure in curing(inn, timezone.now()).values())


def test_the_shop_has_a_station_for_every_step_of_its_paper():
    assert {station.kind for station in Station.objects.all()} == set(Station.Kind.values)


def test_the_bundles_of_every_order_hold_each_of_its_pieces_once():
    for order in Order.objects.filter(state="released"):
        pieces = list(own_pieces(order, "pack").select_related("line", "blank"))
        tied = packing.tied_bundles(order, pieces)
        for piece in pieces:
            assert sum(bundle.holds.get(piece.pk, 0) for bundle in tied) == piece.qty
            assert sum(bundle.inside.get(piece.pk, 0) for bundle in tied) == piece.packed
        whole = {line.mark for line in order.lines.exclude(kind="cutout")}  # letters are counted by the slab
        assert all(one.due == one.bundle.qty for one in tied if one.bundle.line.worked.mark in whole)


def test_every_released_order_and_every_plan_is_on_paper():
    assert Print.objects.filter(sheet="traveller").count() == Order.objects.filter(state="released").count()
    assert Print.objects.filter(sheet="saw-sheet").count() == CuttingRun.objects.count()


def test_nothing_of_the_demo_lies_in_the_future():
    soon = timezone.now() + timedelta(seconds=1)
    for model in (Move, StockMove, Scan):
        assert not model.objects.filter(happened_at__gt=soon).exists()


def test_a_second_load_changes_nothing_and_says_so(capsys):
    before = Order.objects.count(), StockMove.objects.count(), Person.objects.count()
    call_command("load_demo")
    said = capsys.readouterr().out
    assert (Order.objects.count(), StockMove.objects.count(), Person.objects.count()) == before
    assert "nothing was changed" in said
    assert all(password in said for *_, password in PEOPLE)
    assert all(f"PIN {pin}" in said for pin in PINS.values())


def test_every_grade_weighs_more_than_the_minimum_of_its_type():
    """Minima: ASTM C578, Table 1."""
    least = {row.name: row.pcf * KG_M3_PER_PCF for row in C578}
    assert all(grade.density > least[grade.c578_type] for grade in Grade.objects.all())


def test_the_passwords_of_the_demo_pass_the_rules_of_the_shop():
    for name, first, last, role, password in PEOPLE:
        validate_password(password, Person(username=name, first_name=first, last_name=last, role=role))


def test_the_demo_holds_an_order_of_every_kind_with_its_picture():
    drawn = {line.kind: part_scenes(work_out(line), line.order.unit) for line in Line.objects.select_related("order")}
    assert drawn.keys() == KINDS.keys()
    assert all(drawn.values())


def as_batch(sheet):
    return lambda order, act: batches.draw("Sheet", [Paper(sheet, order.number)], act).pdf


SHEETS = {sheet: as_batch(sheet) for sheet in OF_ORDER} | {"confirmation": office_paper.print_confirmation}


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_sheet_of_an_order_prints_for_every_kind_of_part(sheet):
    act, printed = Act(Person.objects.get(username="raf")), set()
    numbers = [number for number, word in words().items() if word in ("released", "in work")]
    coated = {
        line.order.number for line in Line.objects.select_related("order") if read_length(line.coat, line.order.unit)
    }
    for order in Order.objects.filter(number__in=coated & {*numbers} if sheet == "coat-sheet" else numbers):
        assert len(PdfDocument(SHEETS[sheet](order, act)))
        printed |= {line.kind for line in order.lines.all()}
    assert printed >= KINDS.keys() - {"mould", "wing", "panel"}  # those are drafts, or done
