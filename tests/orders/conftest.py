"""The small shop of the demo, an order in it, and the short ways to what the tests of orders start from."""

import pytest

from orders import entry, moves
from orders.demo import small_shop
from orders.models import CuttingRun, RunBlank, RunSource
from shop import account
from shop.acts import Act
from shop.refusals import Refused
from tests.orders.gang_faces import choose_gang

# A stepped cornice, 5 deep × 7 high (common practice, no source).
STEPPED = [[0, 0], [5, 0], [5, 2], [3, 2], [3, 7], [0, 7]]
BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in


@pytest.fixture
def shop(db):
    return small_shop()


@pytest.fixture
def mina(shop):
    """Somebody of the office, at her desk."""
    return Act(by=shop.people["mina"])


@pytest.fixture
def bo(shop):
    """The saw hand at Saw 1."""
    return Act(by=shop.people["bo"], station=shop.stations["saw-1"])


@pytest.fixture
def cutter(shop):
    """The same man at Cutter 1."""
    return Act(by=shop.people["bo"], station=shop.stations["cutter-1"])


@pytest.fixture
def line_data(shop):
    """Eight square pieces of 40 in of a stepped cornice, Firm 1.5, bare."""
    return {"grade": shop.grades["Firm 1.5"], "spec": {"section": STEPPED, "pieces": [{"length": 40, "qty": 8}]}}


@pytest.fixture
def draft(shop, mina, line_data):
    """A draft with one line, A."""
    order = entry.create_order({"customer": shop.customer, "job": "Bramhall Street Theatre, front"}, mina)
    entry.save_line(order, line_data, mina, version=order.version)
    order.refresh_from_db()
    return order


@pytest.fixture
def order(draft, mina):
    """The same order, released."""
    moves.release(draft, mina)
    draft.refresh_from_db()
    return draft


@pytest.fixture
def blank(order):
    return order.lines.get().blanks.get()


@pytest.fixture
def piece(order):
    return order.lines.get().pieces.get()


@pytest.fixture
def open_block(shop):
    """Return the function that puts a planned block on the saw."""
    return _open_block


@pytest.fixture
def opened(order, bo, open_block):
    """A block on the saw, planned to give every blank of the order."""
    return open_block(order, bo)


@pytest.fixture
def sawn(opened, blank, bo):
    """All eight blanks sawn."""
    return moves.count_sawn(blank, 8, bo)


@pytest.fixture
def faces(order, mina, bo, open_block):
    """The released order cut out of faces, its block on the saw, every blank sawn: the blank of three, of two."""
    choose_gang(order, mina)
    order.refresh_from_db()
    open_block(order, bo)
    rows = list(order.lines.get().blanks.filter(live=True).order_by("-gives"))
    for row in rows:
        moves.count_sawn(row, row.qty, bo)
    return rows


def _open_block(order, act, tag="K-0001", *, qty=None):
    """Receive a block, plan the blanks of an order on it (`qty`: another number of them), and open it."""
    grade = order.lines.first().grade
    block = account.receive(tag, grade, BLOCK, act)
    run = CuttingRun.objects.create(
        number=CuttingRun.objects.count() + 1, grade=grade, state=CuttingRun.State.ACCEPTED,
        instance={}, plan={}, figures={},
    )  # fmt: skip
    source = RunSource.objects.create(run=run, position=1, piece=block, state=RunSource.State.ON_SAW)
    for line in order.lines.all():
        for row in line.blanks.filter(live=True):
            RunBlank.objects.create(source=source, blank=row, qty=qty or row.to_saw)
    account.issue(block, act, held_for="")
    return source


@pytest.fixture
def refused():
    """Run something that must be refused with this code, and return the refusal."""

    def check(code, do, *args, **kwargs):
        with pytest.raises(Refused) as caught:
            do(*args, **kwargs)
        assert caught.value.code == code
        assert caught.value.sentence.endswith(".")
        return caught.value

    return check
