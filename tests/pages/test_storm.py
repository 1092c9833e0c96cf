"""Sixteen stations at once, with repeats, lost replies, wrong clocks and a killed server: the books stay right."""

import os
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.test import Client as Browser
from floor_shop import theatre
from storm import Client, Server

from cutsheets.codes import make_sheet_code
from orders.models import Blank, Clash, CuttingRun, Line, Move, Piece, RunBlank, RunSource, Scan
from shop import account
from shop.acts import Act
from shop.models import Station

pytestmark = pytest.mark.django_db(transaction=True)
ACTS = int(os.environ.get("STORM_ACTS", "60"))  # of each station; make storm asks for 500
ORDERS = 3
MANY = {"pieces": [{"length": 40, "qty": 500}]}
MOUNTAIN = (50_000_000, 10_000_000, 10_000_000)  # µm: no block is so large, and none is ever used up
KINDS = {"saw": 6, "cutter": 6, "coat": 2, "pack": 2}


@pytest.fixture
def stations(shop):
    return [
        Station.objects.create(code=f"{kind}-{n + 10}", name=f"{kind} {n + 10}", kind=kind)
        for kind, count in KINDS.items() for n in range(count)
    ]  # fmt: skip


@pytest.fixture
def orders(shop, stations):
    """Released orders of two lines, five hundred pieces each, that are coated and packed; foam for them is open."""
    made = [theatre(shop, lines=(("TP-22", MANY), ("TP-14", MANY))) for _ in range(ORDERS)]
    for number, order in enumerate(made, 1):
        _open_for(shop, order, number)
    return made


def _open_for(shop, order, number):
    bo, grade = Act(shop.people["bo"], shop.stations["saw-1"]), shop.grades["Firm 1.5"]
    block = account.receive(f"K-{number:04d}", grade, MOUNTAIN, bo)
    run = CuttingRun.objects.create(number=number, grade=grade, state="accepted", instance={}, plan={}, figures={})
    source = RunSource.objects.create(run=run, position=1, piece=block, state=RunSource.State.ON_SAW)
    for blank in Blank.objects.filter(line__order=order):
        RunBlank.objects.create(source=source, blank=blank, qty=2 * blank.qty)
    account.issue(block, bo, held_for="")


@pytest.fixture
def server():
    server = Server()
    yield server
    server.kill()


@pytest.fixture
def clients(shop, stations, orders, server):
    blanks, pieces = (
        [{name: row.pk, "order": row.line.order.number} for row in model.objects.select_related("line__order")]
        for name, model in (("blank", Blank), ("piece", Piece))
    )
    codes = [make_sheet_code(order.number, "A") for order in orders] + ["BY4182CX", "nonsense"]
    made = []
    for seed, station in enumerate(stations):
        browser = Browser()
        browser.force_login(shop.people["bo"], backend="django.contrib.auth.backends.ModelBackend")
        session = browser.cookies["sessionid"].value
        things = blanks if station.kind == "saw" else pieces
        made.append(Client(server.port, station.code, session, things, codes, seed))
    return made


def test_sixteen_stations_lose_and_double_nothing_though_the_server_is_killed(clients, server, orders):
    over = threading.Event()
    killing = threading.Thread(target=_kill_twice, args=(server, clients, over))
    killing.start()
    try:
        with ThreadPoolExecutor(len(clients)) as pool:
            for each in [pool.submit(client.work, ACTS) for client in clients]:
                each.result()
    finally:
        over.set()
        killing.join()
    _every_act_is_on_the_books_once(clients)
    _counts_are_the_sums_of_their_moves()
    assert [row.unaccounted for row in account.day_figures(Act(None).day)] == [0]
    assert sum(blank.sawn for blank in Blank.objects.all()) > 100, "hardly anything was counted"


def _kill_twice(server, clients, over):
    """Kill the server when a third of the acts are done, and again at two thirds."""
    for share in (1, 2):
        while sum(client.number for client in clients) < share * ACTS * len(clients) // 3:
            if over.wait(0.1):
                return
        server.kill()
        time.sleep(0.5)
        server.start()


def _every_act_is_on_the_books_once(clients):
    """Compare what each station was told with the rows: each id has one row at most, of the right sort."""
    taken = {act for client in clients for act in client.acked.taken}
    refused = {act for client in clients for act in client.acked.refused}
    moves = Counter(Move.objects.exclude(scan_id=None).values_list("scan_id", flat=True))
    settled = set(Clash.objects.exclude(taken_back_by="").values_list("taken_back_by", flat=True))
    assert taken - set(moves) - settled == set(), "an acknowledged act is lost"
    assert set(moves) - taken == set(), "an act is on the books that nobody was told of"
    assert set(moves) & refused == set(), "a refused act was done"
    assert set(moves.values()) == {1}
    scans = Counter(Scan.objects.values_list("scan_id", flat=True))
    assert (set(scans), set(scans.values())) == ({act for client in clients for act in client.acked.scans}, {1})


def _counts_are_the_sums_of_their_moves():
    sums = Counter()
    for action, undone, blank, piece, qty in Move.objects.values_list(
        "action", "undoes__action", "blank", "piece", "qty"
    ):
        sums[undone or action, piece or blank] += qty
    for blank in Blank.objects.all():
        assert (blank.sawn, blank.saw_miscut) == (sums["saw", blank.pk], sums["saw-miscut", blank.pk])
        assert 0 <= blank.cut + blank.wire_miscut <= blank.sawn <= blank.due
    for piece in Piece.objects.select_related("blank"):
        ruined = sums["coat-miscut", piece.pk] + sums["pack-miscut", piece.pk]
        assert piece.cut == sums["cut", piece.pk] - ruined
        assert piece.coated == sums["coat", piece.pk] - sums["pack-miscut", piece.pk]
        assert piece.packed == sums["pack", piece.pk]
        assert 0 <= piece.packed <= piece.coated <= piece.cut <= piece.qty
    assert Line.objects.exists()
