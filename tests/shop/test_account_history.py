"""Whatever happens to the foam, in whatever order, the account balances to the last cubic micrometre."""

from contextlib import suppress
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from shop import account
from shop.acts import Act
from shop.models import Grade, Person, StockMove, StockPiece
from shop.refusals import Refused

LENGTH = st.integers(1, 14)
SIZE = st.tuples(LENGTH, LENGTH, LENGTH)
VOLUME = st.integers(-200, 2000)
LINES = st.sampled_from([{"order_ref": "4182", "line_ref": "A"}, {"order_ref": "4183", "line_ref": "A"}])
PICK = st.integers(0, 5)


class Week(RuleBasedStateMachine):
    """Acts of four days, tried in any order; a refused one must leave nothing behind."""

    def __init__(self):
        super().__init__()
        self.block = transaction.atomic()
        self.block.__enter__()
        self.grades = [Grade.objects.create(name=n, density=Decimal(20), pattern=n) for n in ("one", "two")]
        self.person = Person.objects.create(username="mina")
        self.start = timezone.now() - timedelta(days=3)
        self.day = 0
        self.tags = 0
        self.states = {}  # of each piece: its state from a day on
        for grade in self.grades:
            account.issue(account.receive(self.tag(), grade, (10, 10, 20), self.act()), self.act(), held_for="")

    def teardown(self):
        transaction.set_rollback(True)
        self.block.__exit__(None, None, None)

    def act(self):
        return Act(by=self.person, at=self.start + timedelta(days=self.day))

    def tag(self):
        self.tags += 1
        return f"T-{self.tags}"

    def some(self, pick, *states):
        pieces = list(StockPiece.objects.filter(state__in=states).order_by("pk")) or [None]
        return pieces[pick % len(pieces)]

    def attempt(self, pick, states, what, *args, **kwargs):
        """Do it with one of the pieces in such a state, also when the account should refuse."""
        if piece := self.some(pick, *states):
            before = StockMove.objects.count()
            try:
                what(piece, *args, self.act(), **kwargs)
            except Refused:
                assert StockMove.objects.count() == before

    @rule(size=SIZE, grade=st.integers(0, 1))
    def a_block_arrives(self, size, grade):
        with suppress(Refused):
            account.receive(self.tag(), self.grades[grade], size, self.act())

    @rule(pick=PICK)
    def one_is_reserved(self, pick):
        self.attempt(pick, ["rack"], account.reserve, held_for="plan 1")

    @rule(pick=PICK)
    def one_is_freed(self, pick):
        self.attempt(pick, ["reserved"], account.free)

    @rule(pick=PICK)
    def one_is_opened(self, pick):
        self.attempt(pick, ["rack", "reserved", "used"], account.issue, held_for="plan 1")

    @rule(pick=PICK, volume=VOLUME, line=LINES)
    def blanks_are_good(self, pick, volume, line):
        self.attempt(pick, ["saw"], account.good, volume, **line)

    @rule(pick=PICK, volume=VOLUME, line=LINES)
    def blanks_are_ruined(self, pick, volume, line):
        self.attempt(pick, ["saw"], account.miscut, volume, reason="slipped", **line)

    @rule(grade=st.integers(0, 1), volume=VOLUME, line=LINES)
    def the_wire_ruins_some(self, grade, volume, line):
        with suppress(Refused):
            account.good_to_miscut(self.grades[grade], volume, self.act(), reason="sagged", **line)

    @rule(pick=PICK, size=SIZE)
    def a_remnant_goes_back(self, pick, size):
        self.attempt(pick, ["saw"], account.back, self.tag(), size)

    @rule(pick=PICK, volume=st.integers(0, 2000))
    def foam_is_not_kept(self, pick, volume):
        self.attempt(pick, ["saw"], account.waste, volume, reason="broke")

    @rule(pick=PICK)
    def one_is_finished(self, pick):
        self.attempt(pick, ["saw"], account.use_up)

    @rule(pick=PICK)
    def one_is_scrapped(self, pick):
        self.attempt(pick, ["rack", "saw"], account.scrap, reason="broken")

    @rule(pick=PICK, found=st.one_of(st.booleans(), SIZE))
    def a_count_finds(self, pick, found):
        self.attempt(pick, ["rack", "reserved", "scrapped"], account.correct, found=found, reason="count")

    @rule(day=st.integers(0, 3))
    def somebody_writes_for_another_day(self, day):
        self.day = day

    @rule(day=st.integers(0, 3))
    def a_day_is_closed(self, day):
        with suppress(Refused):
            account.close_day(timezone.localdate(self.start + timedelta(days=day)), self.act())

    @invariant()
    def the_book_is_what_stands_on_the_rack(self):
        for grade in self.grades:
            standing = StockPiece.objects.filter(grade=grade, state__in=["rack", "reserved"])
            assert account.book_stock(grade) == sum(piece.volume for piece in standing)

    @invariant()
    def every_day_of_every_grade_adds_up(self):
        carried = {}
        for ahead in range(4):
            for row in account.day_figures(timezone.localdate(self.start + timedelta(days=ahead))):
                assert row.unaccounted == 0
                assert min(row.issued, row.back, row.waste, row.on_saw_start, row.on_saw_end) >= 0
                assert row.on_saw_start == carried.get(row.grade, 0)
                carried[row.grade] = row.on_saw_end
            assert all(volume >= 0 for volume in carried.values())

    @invariant()
    def every_evening_is_remembered(self):
        for piece in StockPiece.objects.annotate(last=Max("moves__day")):
            self.states.setdefault(piece, {})[piece.last] = piece.state
        for ahead in range(4):
            evening = timezone.localdate(self.start + timedelta(days=ahead))
            until = {piece: [day for day in days if day <= evening] for piece, days in self.states.items()}
            free = {piece for piece, days in until.items() if days and self.states[piece][max(days)] == "rack"}
            assert set(account.free_at_end(evening)) == free

    @invariant()
    def nothing_is_negative(self):
        for grade in self.grades:
            rows = StockMove.objects.filter(grade=grade).values_list("kind", "volume")
            for kind in ("good", "miscut", "back", "waste"):
                assert sum(volume for its, volume in rows if its == kind) >= 0
        for piece in StockPiece.objects.filter(state__in=["saw", "used"]):
            assert account.left_on_saw(piece) >= 0
            assert piece.state == "saw" or account.left_on_saw(piece) == 0


@pytest.mark.django_db
def test_any_history_balances():
    quick = settings(max_examples=8, stateful_step_count=40, deadline=None, suppress_health_check=list(HealthCheck))
    run_state_machine_as_test(Week, settings=quick)
