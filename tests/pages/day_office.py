"""The office's part of the day: an order typed in, watched while it is typed, released, printed, changed."""

import json
import math
import re
from fractions import Fraction
from types import SimpleNamespace

from selenium.webdriver.common.by import By

from cutsheets.cutlist import as_json, cut_list
from cutsheets.files.job import read_job
from orders.lines import drawn
from orders.models import Order
from tests.cutsheets.paper_reader import codes, document
from tests.cutsheets.paper_reader import words as printed_words
from tests.pages.day_browser import NUMBER, number, sizes

RESOLUTIONS = (203, 300, 600)  # dots an inch: label printers, office printers
SIDE = rf"({NUMBER}) outside ({NUMBER}) at the opening"
COAT = {"1/8": "Base coat and mesh 1/8"}
PROFILES = {
    "TP-14": "TP-14 rev A, Crown cornice, 9 deep × 11 high", "TP-22": "TP-22 rev A, Window surround, 2-1/2 × 5",
}  # fmt: skip
LINES = (
    {"mark": "A", "kind": "moulding", "grade": "Firm 1.5", "coat": "1/8", "profile": "TP-22",
     "frames": [{"width": "3' 2", "height": "5' 0", "qty": 3}]},
    {"mark": "B", "kind": "moulding", "grade": "Firm 1.5", "coat": "1/8", "profile": "TP-14",
     "runs": [{"name": "front", "wall": "14' 2", "left": {"outside": "90"}, "right": {"outside": "90"}, "qty": 1}]},
)  # fmt: skip
JOB = {
    "format": "blockyard-job-1", "unit": "in", "customer": "Osgood & Lyle Builders", "job": "Bramhall Street Theatre",
    "grades": {"Firm 1.5": {"density": 1.5}},
    "shop": {"kerf": "1/16", "skim": "1/4", "end_trim": "1/2", "blank_step": "1/16", "longest_stick": 95,
             "shortest_piece": 24},
    "lines": list(LINES),
}  # fmt: skip
BANDSTAND = JOB | {"job": "Harbor Green bandstand", "lines": [LINES[1] | {"mark": "A"}]}


def cut(job, shop):
    """Return the lines of the cut list of a job file, inches, as the command line would write them."""
    profiles = {code: drawn(revision) for code, revision in shop.profiles.items()}
    read = read_job(job, profiles=profiles)
    return as_json(read, cut_list(read))["lines"]


def take_down(hands, job):
    """Take down the head of an order; the page goes on to its first line."""
    hands.open("/")
    hands.press("New order")
    hands.fill(customer=JOB["customer"], job=job, due="2031-12-04")
    hands.press("Take it down")
    hands.sees("New line", where="#main")
    return Order.objects.get(job=job)


def type_line(hands, line):
    """Type a line of a job file into the open line, and save nothing."""
    hands.fill(grade=line["grade"], coat_system=COAT[line["coat"]], profile=PROFILES[line["profile"]])
    for frame in line.get("frames", ()):
        hands.press("Window and door surrounds")
        hands.fill(frames__0__width=frame["width"], frames__0__height=frame["height"], frames__0__qty=str(frame["qty"]))
    for run in line.get("runs", ()):
        hands.fill(runs__0__name=run["name"], runs__0__wall=run["wall"])


def wait_for_figures(hands, expected):
    """Wait until the figures beside the form are those of this line of the cut list."""
    hands.until(
        lambda: figures_of(hands) == worked(expected), f"the figures {worked(expected)}, not {figures_of(hands)}"
    )


def figures_of(hands):
    """Return the live figures of the page, as they are read."""
    said = hands.words("#figures")
    if "Foam in blanks" not in said:
        return None
    blanks = said.split("Blank, long × wide × high")[1].split("Coat")[0]
    return SimpleNamespace(
        finished=sizes(said.split("Finished, deep × high")[1])[0],
        foam=sizes(said.split("Foam")[1])[0],
        blanks={size: int(qty) for size, qty in zip(sizes(blanks), re.findall(r"(\d+) of them", blanks), strict=True)},
        pieces=int(re.search(r"Pieces (\d+)", said)[1]),
        sticks=[stick for line in re.findall(r"in front, (.*?) wall", said) for stick in sticks_of(line)],
        sides=[tuple(map(number, side)) for side in re.findall(SIDE, said)],
        blank_bf=re.search(r"Foam in blanks ([\d.,]+) bf", said)[1],
        core_bf=re.search(r"core ([\d.,]+) bf", said)[1],
        weight=re.search(r"Weight ([\d.,]+) lb", said)[1],
    )


def worked(line):
    """Return the figures of a line of the cut list as a page shows them: lengths to 1/16 in, the rest to a tenth."""
    return SimpleNamespace(
        finished=(sixteenths(line["finished"]["width"]), sixteenths(line["finished"]["height"])),
        foam=(sixteenths(line["foam"]["width"]), sixteenths(line["foam"]["height"])),
        blanks={box(blank): blank["qty"] for blank in line["blanks"]},
        pieces=line["parts"],
        sticks=[sixteenths(stick) for run in line["runs"] for stick in run["pieces"]],
        sides=[(sixteenths(side["foam_long"]), sixteenths(side["foam_short"])) for side in line["frames"]],
        blank_bf=f"{line['blank_bf']:,.1f}", core_bf=f"{line['core_bf']:,.1f}", weight=f"{line['core_mass']:,.1f}",
    )  # fmt: skip


def sixteenths(inches):
    """Return a length to the nearest 1/16 in, half up, as pages show it (ASTM E29 would round half to even)."""
    return Fraction(math.floor(inches * 16 + 0.5), 16)


def box(blank):
    return tuple(sixteenths(blank[side]) for side in ("l", "w", "h"))


def sticks_of(check_line):
    """Return the lengths that a check line adds up: “87 + 2 × 43 1/2 = …”."""
    lengths = []
    for part in check_line.split(" = ")[0].split(" + "):
        *times, length = part.split(" × ")
        lengths += [number(length)] * (int(times[0]) if times else 1)
    return lengths


def check_order_page(hands, order, expected):
    """Check the ledger of a saved order: each line's blanks are those of the cut list."""
    hands.open(f"/orders/{order.number}/")
    assert blanks_of_ledger(hands) == [{box(blank): blank["qty"] for blank in line["blanks"]} for line in expected]


def blanks_of_ledger(hands):
    """Return for each line of the order page its blanks with their counts: “6 @ 70 3/4 × 2 7/8 × 5 1/4”."""
    cells = hands.browser.find_elements(By.CSS_SELECTOR, "td[data-name=Blanks]")
    texts = [hands.words(f"tr:nth-child({place}) > td[data-name=Blanks]") for place in range(1, len(cells) + 1)]
    return [
        dict(zip(sizes(re.sub(r"\d+ @", ";", text)), map(int, re.findall(r"(\d+) @", text)), strict=True))
        for text in texts
    ]


def release(hands, order):
    hands.open(f"/orders/{order.number}/")
    hands.press("Release as sheet A")
    hands.sees("released; sheet A may be printed", f"Print traveller {order.number} A")


def print_traveller(hands, order):
    """Print the traveller and return it: the order's blanks stand on it, and every resolution reads its code."""
    hands.open(f"/orders/{order.number}/")
    assert f"Print traveller {order.number}" in hands.words()
    return hands.fetch(f"/orders/{order.number}/traveller/", "POST")


def decoded(pdf):
    """Return the one text that every code of every page says, whatever printer puts it on paper."""
    texts = all_codes(pdf)
    assert len(texts) == 1, texts
    return texts.pop()


def printed_blanks(pdf):
    """Return what a traveller says above its fold, page by page, its figures without the × between them."""
    return [" ".join(page.replace("×", " ").split()) for page in printed_words(pdf, half="upper")]


def all_codes(pdf):
    """Return what the codes of a print say, by each printer."""
    return {code.text for dots in RESOLUTIONS for page in document(pdf) for code in codes(page, dots)}


def print_saw_sheet(hands, number):
    """Print the saw sheets of a plan from its page."""
    hands.open(f"/plans/{number}/")
    assert "Print saw sheets" in hands.words()
    return hands.fetch(f"/plans/{number}/saw-sheets/", "POST")


def as_printed(blank):
    """Return the count and the size of a blank as the words of a print have them: “6 70 3 4 2 7 8 5 1 4”."""
    sides = [said for side in box(blank) for said in _parts(side)]
    return " ".join(map(str, [blank["qty"], *sides]))


def _parts(side):
    whole, rest = divmod(side, 1)
    return [whole] * bool(whole) + [rest.numerator, rest.denominator] * bool(rest)


def double(hands, order):
    """Change the count of the only run of an order that is printed already."""
    hands.open(f"/orders/{order.number}/lines/{order.lines.get().pk}/")
    hands.fill(runs__0__qty="2")
    hands.press("Save line A")


def read_job_file(hands, job):
    """Read a job file into a new order, pasted as text."""
    hands.open("/orders/import/")
    hands.fill(text=json.dumps(job))
    hands.press("Check it, then write the order")
    hands.sees("The job file is order")
    return Order.objects.get(job=job["job"])


def hold(hands, order, reason):
    hands.open(f"/orders/{order.number}/")
    hands.press("Put on hold")
    hands.fill(reason=reason)
    hands.press(f"Put {order.number} on hold")
    hands.sees("on hold; every scan says why")
