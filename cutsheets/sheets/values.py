"""What the sheets print: frozen values that an application fills from its rows. Lengths are millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from cutsheets.codes import StockKind
from cutsheets.drawings.stripe import Pattern
from cutsheets.solids import Box, OpenedPiece, Worked
from cutsheets.units import Unit

OPERATIONS = ("Saw", "Cut", "Coat", "Cured", "Check", "Pack")


@dataclass(frozen=True, slots=True)
class TravellerLine:
    """One line of an order.

    `worked`: what the core worked out: sizes, sticks, blanks, quantities. `what`: the line in the office's words
    ("Cornice, front run"). `pattern`: the grade's stripe. `profile`: code and revision ("TP-14 rev 3"). `coat`: what
    is coated with what, without the thickness ("base and mesh on top, face, drip. Back bare. Cure 48 h.").
    `coat_mm`: its thickness, 0 for none. `saw_from`: where its blanks are planned ("block F-2207, saw sheet 118 page
    1"). `indoors`: whether the part will stand inside a building. `note`: the office's words to the floor. `number`:
    which line of the order it is, as in the code of a sheet for this line alone.
    """

    worked: Worked
    what: str
    pattern: Pattern
    profile: str = ""
    coat: str = ""
    coat_mm: float = 0.0
    saw_from: str = ""
    indoors: bool = False
    note: str = ""
    number: int = 1

    @property
    def pieces(self) -> int:
        """Return how many pieces of foam the wire leaves."""
        return sum(stick.qty for stick in self.worked.sticks) or self.worked.parts

    @property
    def blanks(self) -> int:
        """Return how many blanks the saw cuts."""
        return sum(blank.qty for blank in self.worked.blanks)


@dataclass(frozen=True, slots=True)
class TravellerSheet:
    """An order at one sheet letter.

    `number` and `revision`: order number and sheet letter, as in the code. `customer`, `job`, `shop`: names. `unit`:
    the shop's. `lines`: at least one. `printed`, `printed_by`, `print_number`: when and by whom, and whether it is the
    first, second … print of this letter. `needed`, `ship`: the days promised. `replaces`: the letter of the sheet that
    this one makes void. `operations`: a count and initials each. `each_line`: one traveller a line, with its own
    code and its own count of pages, instead of one for the whole order.
    """

    number: int
    revision: str
    customer: str
    job: str
    shop: str
    unit: Unit
    lines: tuple[TravellerLine, ...]
    printed: datetime
    printed_by: str
    print_number: int = 1
    needed: date | None = None
    ship: date | None = None
    replaces: str = ""
    operations: tuple[str, ...] = OPERATIONS
    each_line: bool = False

    @property
    def name(self) -> str:
        """Return order number and sheet letter ("4182 C")."""
        return f"{self.number} {self.revision}"


@dataclass(frozen=True, slots=True)
class SawBlanks:
    """Like blanks that come out of one opened piece: their order ("4182 C"), marks ("A1–A6"), size and count."""

    order: str
    marks: str
    size: Box
    qty: int


@dataclass(frozen=True, slots=True)
class SawPiece:
    """One block or remnant to be sawn.

    `opened`: the piece with its leaves and its numbered cuts; a remnant leaf's name is its future tag. `pattern`: the
    grade's stripe. `blanks`: what comes out, by order. `about`: lot, mould date, age ("lot 2610-B, moulded 2 Nov").
    `place`: where it lies ("rack 4"). `labels`: other words for leaf names on the drawing, as (name, words).
    """

    opened: OpenedPiece
    pattern: Pattern
    blanks: tuple[SawBlanks, ...]
    about: str = ""
    place: str = ""
    labels: tuple[tuple[str, str], ...] = ()
    kind: StockKind = "block"


@dataclass(frozen=True, slots=True)
class SawSheet:
    """A cutting plan for the saw.

    `plan`: its number, as in the code. `pieces`: what is opened, in sawing order. `station`, `day`: where and when it
    is sawn. The rest as in a traveller.
    """

    plan: int
    shop: str
    unit: Unit
    pieces: tuple[SawPiece, ...]
    printed: datetime
    printed_by: str
    print_number: int = 1
    station: str = ""
    day: date | None = None
