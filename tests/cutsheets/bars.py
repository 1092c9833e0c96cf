"""Bars of foam to cross-cut, for the tests of the search: answers that anybody can see."""

from collections import Counter

from cutsheets.planning.layout import FREE, Job
from cutsheets.planning.prices import Prices
from tests.cutsheets.plan_days import blank, block, instance, remnant

NOTHING_KEPT = {"dims": [1000, 1000, 1000], "volume": 0}
CUT = 15  # cents


def bar_job(*blanks, rack=(), **changes):
    """Bars of 100 for 1000 cents and a rack of (name, length, price); a blank is (length, qty). No kerf."""
    day = instance(
        *(blank(f"B{length}", [length, 10, 10], qty) for length, qty in blanks),
        stock=[block([100, 10, 10], "BAR", price=1000)],
        remnants=[remnant(name, [length, 10, 10], price) for name, length, price in rack],
        **{"min_remnant": NOTHING_KEPT} | changes,
    )  # fmt: skip
    return Job(day, "1.0", Prices.of(day))


def source(job, name):
    return next(each for each in job.sources if each.id == name)


def number(job, length):
    return next(n for n in job.numbers if job.instance["blanks"][n]["size"][0] == length)


def cut_up(job, name, *lengths):
    """A bar opened and cut into blanks of these lengths, the rest free."""
    foam = source(job, name)
    rest = foam.core[0] - sum(lengths)
    layout = FREE if rest else None
    for length in reversed(lengths):
        part = ("blank", number(job, length), "LWH")
        layout = part if layout is None else ("cut", 0, length, part, layout)
    return job.opened(foam, layout)


def gives(pieces):
    """How many blanks of each number some pieces give."""
    return sum((Counter(dict(piece.gives)) for piece in pieces), Counter())
