"""Two people at the same foam at the same moment: the database decides, one is refused, nothing is counted twice."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from orders import planning, sawing
from orders.models import RunSource
from shop import account
from shop.acts import Act
from shop.models import Station, StockMove
from shop.refusals import Refused

pytestmark = pytest.mark.django_db(transaction=True)
BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
AT_ONCE = 6


def codes(do, whats):
    """Do it with each of these at once, in threads; return “ok” or the code of the refusal for each, sorted."""

    def one(what):
        try:
            do(what)
            return "ok"
        except Refused as refusal:
            return refusal.code
        finally:
            connection.close()

    with ThreadPoolExecutor(AT_ONCE) as pool:
        return sorted(pool.map(one, whats))


@pytest.fixture
def drafts(shop, order, mina):
    """Drafts for the same blanks, each out of the one block."""
    grade = shop.grades["Firm 1.5"]
    account.receive("K-0001", grade, BLOCK, mina)
    return [planning.make_plan(grade, mina, iterations=1) for _ in range(AT_ONCE)]


def test_of_plans_accepted_at_once_one_gets_the_foam(drafts, mina):
    found = codes(lambda run: planning.accept(run, mina), drafts)
    assert found.count("ok") == 1
    assert set(found) <= {"ok", "plan-old", "stock-gone"}
    assert StockMove.objects.filter(kind="reserve").count() == RunSource.objects.count() == 1


def test_of_saws_that_open_a_block_at_once_one_has_it(drafts, mina, bo):
    source = planning.accept(drafts[0], mina).sources.get()
    saws = [Station.objects.create(code=f"s-{n}", name=f"Saw no. {n}", kind="saw") for n in range(AT_ONCE)]

    def open_at(saw):
        sawing.open_source(RunSource.objects.get(pk=source.pk), Act(by=bo.by, station=saw))

    assert codes(open_at, saws) == ["ok"] + ["open-elsewhere"] * (AT_ONCE - 1)
    assert StockMove.objects.filter(kind="issue").count() == 1


def test_counts_made_at_once_never_take_more_than_a_block_holds(shop, mina):
    block = account.issue(account.receive("K-0001", shop.grades["Firm 1.5"], BLOCK, mina), mina, held_for="")
    third = block.volume // 3

    def count(_):
        account.good(block, third, mina, order_ref="4182", line_ref="A")

    assert codes(count, range(AT_ONCE)) == ["more-than-left"] * (AT_ONCE - 3) + ["ok"] * 3
    assert account.left_on_saw(block) == block.volume - 3 * third
