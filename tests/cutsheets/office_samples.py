"""An offer and a day's foam, worked by hand, for the tests of office paper: invented shop, invented theatre."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from cutsheets.sheets.confirmation import Confirmation
from cutsheets.sheets.dayreport import DayReport, GradeDay, OrderDay
from cutsheets.sheets.offer import Offer, OfferLine, Price
from cutsheets.sheets.quote import Quote

BOARD_FOOT = 12 * 12 * 25_400**3  # cubic micrometres in 144 in³
PRINTED = datetime(2026, 11, 28, 14, 12, tzinfo=UTC)

CORNICE = OfferLine(
    "A", "Cornice, front run", ("42′ 0″ wall, 2 corners", "TP-14 rev 3, finished 9 × 11-1/4 in, Firm 1.5"),
    (
        Price("foam, 36.40 ft³ at 2.60", Decimal("94.64")),
        Price("wire, 0.57 h at 36.00", Decimal("20.52")),
        Price("coat, 102.30 ft²", None),
    ),
)  # fmt: skip
BAND = OfferLine("B", "Band", ("8 pieces 40-1/2 long",), (Price("foam, 4.00 ft³ at 2.60", Decimal("10.40")),))
OFFER = Offer(
    4182, "Bramhall Street Theatre", "Front, north side", "Tern Point Foam Works", (CORNICE, BAND), PRINTED, "Mina O.",
    their_order="BST-77", needed=date(2026, 12, 18),
)  # fmt: skip
QUOTE = Quote(OFFER, 7, date(2026, 12, 28))
CONFIRMATION = Confirmation(OFFER, "C", replaces="B")

HOSTILE = replace(
    OFFER, customer="Şükriye Çağlayan-Łukasiewicz & Núñez " * 5, job="W" * 180, their_order="Νίκος Παπαδόπουλος 12/345",
    lines=tuple(
        replace(CORNICE, mark=f"M{number}", what="Ґанок із карнизом " * 6, details=("i" * 300, "— " * 200))
        for number in range(12)
    ),
    printed_by="Bartholomäus Wolkenstein-Trostburg der Jüngere", shop="Ostfriesische Schaumstoffwerke am Deich " * 2,
    indoors=True,
)  # fmt: skip

FIRM = GradeDay(
    "Firm 1.5", "two", opening=40 * BOARD_FOOT, received=900 * BOARD_FOOT, issued=800 * BOARD_FOOT,
    good=500 * BOARD_FOOT, miscut=12 * BOARD_FOOT, back=200 * BOARD_FOOT, waste=103 * BOARD_FOOT,
    closing=25 * BOARD_FOOT,
)  # fmt: skip
SOFT = GradeDay("Soft 1.0", "zigzag", issued=300 * BOARD_FOOT, good=280 * BOARD_FOOT, waste=20 * BOARD_FOOT)
DAY = DayReport(
    date(2026, 11, 28), "open, as of 14:12", "Tern Point Foam Works", (FIRM, SOFT),
    (
        OrderDay("4182", "Bramhall Street Theatre, front", "Firm 1.5", 500 * BOARD_FOOT, 12 * BOARD_FOOT),
        OrderDay("4190", "Harbour kiosk", "Soft 1.0", 280 * BOARD_FOOT, 0),
    ),
    ("4182 A: 12.0 bf miscut, wire broke.",), PRINTED, "Raf D.",
)  # fmt: skip
