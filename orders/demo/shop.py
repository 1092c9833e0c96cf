"""The bare shop: its rules, people, grades, block sizes, coats, stations and profiles."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from cutsheets.units import KG_M3_PER_PCF, read_length, um_down
from orders.models import Customer, Profile, ProfileRevision
from shop.badges import set_pin
from shop.models import BlockSize, CoatSystem, Grade, Person, ShopRules, Station, WireFeed
from shop.roles import Role

JOBS = Path(__file__).parent / "jobs"
SHOP = "Tern Point Foam Works"
PEOPLE = (
    ("mina", "Mina", "Okafor", Role.OFFICE, "blockyard-mina"),
    ("bo", "Bo", "Lindqvist", Role.FLOOR, "blockyard-bo"),
    ("raf", "Raf", "Almeida", Role.MANAGER, "blockyard-raf"),
    ("ada", "Ada", "Wren", Role.ADMIN, "blockyard-ada"),
)
PINS = {"bo": "4718", "raf": "9035"}  # at a paired device
# name, type of ASTM C578, what a block of this shop weighs (lb/ft³, above the minimum of the type), stripe, ink, FR
GRADES = (
    ("Light 1.0", "I", "1.0", "wave", "#1f5f4a", True),
    ("Mould 1.25", "VIII", "1.25", "dots", "#13201b", False),
    ("Firm 1.5", "II", "1.5", "two", "#6b2a63", True),
    ("Dense 2.0", "IX", "2.0", "zigzag", "#9a2f1f", True),
)
BLOCK_SIZES = (("8 ft, full", (97, 49, 37)), ("8 ft, half", (97, 49, 25)))
# name, thickness, hours of cure, lap of the mesh
COATS = (("Base coat and mesh 1/8", "1/8", 48, "2 1/2"), ("Hard coat 3/16", "3/16", 24, "0"))
STATIONS = (
    ("saw-1", "Saw 1", Station.Kind.SAW, None),
    ("cutter-1", "Cutter 1", Station.Kind.CUTTER, (102, 50, 38)),
    ("cutter-2", "Cutter 2", Station.Kind.CUTTER, (126, 50, 50)),
)
# What the demo has beside them: length between centres and swing of the machine that turns, inches.
FINISHING = (
    ("turning-1", "Turning", Station.Kind.TURNING, (108, 26)),
    ("coat-1", "Coating", Station.Kind.COAT, None),
    ("pack-1", "Packing", Station.Kind.PACK, None),
)
# Inches a minute on any machine (common practice, no source: 1 lb foam close to an inch a second, denser foam slower).
FEEDS = {"Light 1.0": 55, "Mould 1.25": 50, "Firm 1.5": 45, "Dense 2.0": 36}
# Finished sections, inches: x from the wall, y up.
PROFILES = (
    ("TP-14", "Crown cornice, 9 deep × 11 high", [
        [0, 0], [1.5, 0], [2.3, 0.3], [3, 0.95], [3.4, 1.7], [3.5, 2.5], [4, 2.5], [4, 3.25], [7, 3.25], [7, 6.25],
        [7.2, 7.3], [7.7, 8.3], [8.3, 8.9], [9, 9.2], [9, 10.25], [0, 11],
    ]),
    ("TP-22", "Window surround, 2-1/2 × 5", [[0, 0], [1.5, 0], [2, 0.5], [2, 4], [2.5, 4.25], [2.5, 5], [0, 5]]),
    ("TP-31", "Sill with a sloped top", [[0, 0], [3, 0], [3, 0.5], [4.5, 0.5], [4.5, 2.5], [0, 3.25]]),
    ("TP-40", "Band course, 3 × 6", [
        [0, 0], [2, 0], [2.5, 0.5], [2.5, 1.5], [3, 2], [3, 4], [2.5, 4.5], [2.5, 5.5], [2, 6], [0, 6],
    ]),
    ("TP-52", "Water table", [[0, 0], [3.5, 0], [3.5, 3], [3.1, 4.2], [2.4, 5.6], [1.5, 7], [0, 8]]),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shop:
    """The bare shop, by the names that people use for its things."""

    rules: ShopRules
    people: dict[str, Person]
    grades: dict[str, Grade]
    stations: dict[str, Station]
    profiles: dict[str, ProfileRevision]
    customer: Customer


def small_shop(*, passwords: bool = False) -> Shop:
    """Make rules, people, grades, block sizes, stations, coats and profiles, and return them.

    Nobody can sign in or has a PIN unless `passwords` is asked for: hashing them takes a second.
    """
    rules = ShopRules.current()
    rules.name, rules.plan_seconds = SHOP, 2
    rules.save()
    for name, sides in BLOCK_SIZES:
        l_um, w_um, h_um = _um(sides)
        BlockSize.objects.create(name=name, l_um=l_um, w_um=w_um, h_um=h_um)
    people = {row[0]: _person(*row, passwords=passwords) for row in PEOPLE}
    if passwords:
        for name, pin in PINS.items():
            set_pin(people[name], pin)
    for name, thickness, hours, lap in COATS:
        CoatSystem.objects.create(
            name=name, thickness_mm=read_length(thickness, "in"), cure_hours=hours, mesh_lap=read_length(lap, "in")
        )
    grades = {row[0]: _grade(row) for row in GRADES}
    for name, feed in FEEDS.items():
        WireFeed.objects.create(grade=grades[name], feed=read_length(feed, "in"))
    return Shop(
        rules=rules,
        people=people,
        grades=grades,
        stations={row[0]: _station(*row) for row in STATIONS},
        profiles={row[0]: _profile(*row, people["mina"]) for row in PROFILES},
        customer=Customer.objects.create(name="Osgood & Lyle Builders", contact="Dale Osgood"),
    )


def add_finishing(shop: Shop) -> None:
    """Put up the stations that turn, coat and pack; the bare shop does without, so its orders are done when cut."""
    for row in FINISHING:
        shop.stations[row[0]] = _station(*row)


def _um(sides: tuple[float, float, float]) -> tuple[int, ...]:
    """Return inches in whole micrometres, rounded down."""
    return tuple(um_down(read_length(side, "in")) for side in sides)


def _person(name: str, first: str, last: str, role: Role, password: str, *, passwords: bool) -> Person:
    person = Person(username=name, first_name=first, last_name=last, role=role)
    if passwords:
        person.set_password(password)
    else:
        person.set_unusable_password()
    person.save()
    return person


def _grade(row: tuple[str, str, str, str, str, bool]) -> Grade:
    name, c578_type, pcf, pattern, ink, flame_retardant = row
    density = (Decimal(pcf) * KG_M3_PER_PCF).quantize(Decimal("0.000001"))
    return Grade.objects.create(
        name=name, c578_type=c578_type, density=density, pattern=pattern, ink=ink, flame_retardant=flame_retardant,
        order_at=2,
    )  # fmt: skip


def _station(code: str, name: str, kind: str, limits: tuple[int, ...] | None) -> Station:
    names = ("centres", "swing") if kind == Station.Kind.TURNING else ("wire", "travel", "height") if limits else ()
    sizes = {name: read_length(side, "in") for name, side in zip(names, limits or (), strict=True)}
    return Station.objects.create(code=code, name=name, kind=kind, **sizes)


def _profile(code: str, name: str, section: list, by: Person) -> ProfileRevision:
    profile = Profile.objects.create(code=code, name=name)
    return ProfileRevision.objects.create(
        profile=profile,
        number=1,
        unit="in",
        shape={"section": section, "bare": "wall"},
        source={"way": "points"},
        made_by=by,
    )
