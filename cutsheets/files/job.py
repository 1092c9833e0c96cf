"""Job files, `blockyard-job-1`: an order as the office writes it down, or as another program hands it over.

The reader is strict and complete: it refuses the whole file when anything in it is wrong, and names every bad line at
once, so that nobody corrects line 40 only to be sent back for line 52.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.kinds import KINDS, Kind, Line
from cutsheets.letters import read_font, shipped_font
from cutsheets.records import items, parse, record, words
from cutsheets.rules import Rules, read_rules, write_rules
from cutsheets.solids import Worked
from cutsheets.units import KG_M3_PER_PCF, Unit, names_unit, read_count, read_density, read_length, say_exact, to_unit

FORMAT = "blockyard-job-1"
HEAD_KEYS = ("mark", "kind", "grade")
OTHER_KEYS = ("qty", "coat", "note", "allow")
THICKEST_COAT = 25.4  # mm: a coat beyond one inch was typed in the other unit

Grades = Mapping[str, float]  # name → density in kg/m³
Profiles = Mapping[str, Mapping[str, Any]]  # code → {"section" or another shape: …, "bare": …, "unit": …}
Fonts = Callable[[str], bytes]  # the file of a font by its name; raises CutsheetError at “font”
SHAPES = {"section": "a section", "half_profile": "a half profile", "outlines": "outlines"}


class JobFaults(CutsheetError):
    """Everything that is wrong in a job file; code, place and sentence are those of the first fault."""

    def __init__(self, faults: list[CutsheetError]) -> None:
        first = faults[0]
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(first.code, first.message + more, first.where)
        self.faults = faults

    def as_dict(self) -> dict[str, Any]:
        """Return the form in which the command line prints the refusal, with every fault."""
        return {**super().as_dict(), "faults": [fault.as_dict() for fault in self.faults]}


@dataclass(frozen=True, slots=True)
class Job:
    """A job read and checked; lengths mm, densities kg/m³. `unit` is that of the file, `worked` what its lines give."""

    unit: Unit
    lines: tuple[Line, ...]
    customer: str = ""
    job: str = ""
    due: date | None = None
    grades: Mapping[str, float] = field(default_factory=dict)
    rules: Rules = field(default_factory=Rules)
    worked: tuple[Worked, ...] = field(default=(), compare=False, repr=False)


def read_job(
    source: str | Mapping[str, Any],
    defaults: Rules | None = None,
    *,
    grades: Grades | None = None,
    profiles: Profiles | None = None,
    fonts: Fonts | None = None,
) -> Job:
    """Return the job that a text or a parsed object holds.

    `defaults`, `grades`, `profiles` and `fonts` are what the shop knows; the file's own grades come first, and without
    `fonts` those that come with the project serve. Raises JobFaults.
    """
    faults: list[CutsheetError] = []
    with _noted(faults):
        top = record(
            parse(source) if isinstance(source, str) else source, "",
            required=("format", "unit", "lines"), optional=("customer", "job", "due", "grades", "shop"),
        )  # fmt: skip
        unit = _head(top)
        raw_lines = items(top["lines"], "lines", least=1)
    if faults:  # without a head nothing below can be read rightly
        raise JobFaults(faults)
    known = dict(grades or {})
    rules = defaults or Rules()
    with _noted(faults):
        known |= _read_grades(top.get("grades", {}), unit)
    with _noted(faults):
        rules = read_rules(top.get("shop", {}), rules, unit, "shop")
    texts, due = {"customer": "", "job": ""}, None
    for name in texts:
        with _noted(faults):
            texts[name] = words(top.get(name, ""), name)
    with _noted(faults):
        due = _read_due(top.get("due"))
    lines: list[Line] = []
    worked: list[Worked] = []
    for i, raw in enumerate(raw_lines):
        with _noted(faults):
            line = line_from_dict(raw, unit, rules, f"lines[{i}]", grades=known, profiles=profiles, fonts=fonts)
            worked.append(_work(line, f"lines[{i}]"))
            lines.append(line)
    faults += _marks_twice(raw_lines)
    if faults:
        raise JobFaults(sorted(faults, key=_position))
    return Job(unit, tuple(lines), **texts, due=due, grades=known, rules=rules, worked=tuple(worked))


def line_from_dict(  # noqa: PLR0913 - three of them are what the shop knows
    raw: object, unit: Unit, rules: Rules, where: str = "", *, grades: Grades, profiles: Profiles | None = None,
    fonts: Fonts | None = None,
) -> Line:  # fmt: skip
    """Return one line from its keys in a job file; raises CutsheetError, its place begun with `where`."""
    try:
        return _read_line(raw, unit, rules, grades=grades, profiles=profiles, fonts=fonts or shipped_font)
    except CutsheetError as error:
        raise (error.at(where) if where else error) from None


def write_job(job: Job) -> dict[str, Any]:
    """Return a job as the object of a job file: read back it is the same job."""
    factor = float(KG_M3_PER_PCF) if job.unit == "in" else 1.0
    written: dict[str, Any] = {"format": FORMAT, "unit": job.unit, "customer": job.customer, "job": job.job}
    if job.due:
        written["due"] = job.due.isoformat()
    written["grades"] = {name: {"density": round(density / factor, 12)} for name, density in job.grades.items()}
    written["shop"] = write_rules(job.rules, job.unit)
    written["lines"] = [_write_line(line, job) for line in job.lines]
    return written


def _read_line(
    raw: object, unit: Unit, rules: Rules, *, grades: Grades, profiles: Profiles | None, fonts: Fonts
) -> Line:
    kind = _kind_of(raw)
    given = record(raw, "", required=HEAD_KEYS, optional=(*OTHER_KEYS, *kind.keys, "profile"))
    grade = words(given["grade"], "grade", least=1, most=40)
    if grade not in grades:
        listed = ", ".join(sorted(grades)) or "none yet"
        raise CutsheetError("grade", f"Grade “{grade}” is not known; known are: {listed}.", "grade")
    coat = float(read_length(given.get("coat", 0), unit, "coat"))
    if coat > THICKEST_COAT:
        raise CutsheetError("range", f"{say_exact(coat, unit)} {unit} is no coat; check its unit.", "coat")
    return Line(
        mark=words(given["mark"], "mark", least=1, most=40),
        kind=kind.name,
        grade=grade,
        density=float(grades[grade]),
        spec=kind.read(_with_font(_with_profile(given, kind, profiles, unit), fonts), unit),
        qty=read_count(given.get("qty", 1), "qty"),
        coat=coat,
        note=words(given.get("note", ""), "note", most=500),
        rules=read_rules(given.get("allow", {}), kind.rules(rules), unit, "allow"),
        unit=unit,
    )


def _work(line: Line, where: str) -> Worked:
    """Return a line worked out; raises CutsheetError, its place begun with `where`, when one that reads well cannot."""
    try:
        return KINDS[line.kind].work(line)
    except CutsheetError as error:
        raise error.at(where) from None


def _write_line(line: Line, job: Job) -> dict[str, Any]:
    kind = KINDS[line.kind]
    shop, own = write_rules(kind.rules(job.rules), job.unit), write_rules(line.rules, job.unit)
    allow = {name: value for name, value in own.items() if shop.get(name) != value}
    written = {"mark": line.mark, "kind": line.kind, "grade": line.grade, "qty": line.qty}
    written |= {"coat": to_unit(line.coat, job.unit), "note": line.note} | kind.write(line.spec, job.unit)
    return written | ({"allow": allow} if allow else {})


def _head(top: Mapping[str, Any]) -> Unit:
    """Return the unit of a file that says it is a job file."""
    if top["format"] != FORMAT:
        raise CutsheetError("format", f"This is no job file; its format must be “{FORMAT}”.", "format")
    if top["unit"] == "in":
        return "in"
    if top["unit"] == "mm":
        return "mm"
    raise CutsheetError("unit", "The unit must be “in” or “mm”.", "unit")


def _read_grades(raw: object, unit: Unit) -> dict[str, float]:
    given = record(raw, "grades", optional=raw if isinstance(raw, Mapping) else ())
    read = {}
    for name, grade in given.items():
        place = f"grades[{name}]"
        words(name, place, least=1, most=40)
        read[name] = float(read_density(record(grade, place, required=("density",))["density"], unit, place))
    return read


def _read_due(raw: object) -> date | None:
    if raw is None:
        return None
    if isinstance(raw, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", raw, re.ASCII):
        with suppress(ValueError):  # the 30th of February
            return date.fromisoformat(raw)
    raise CutsheetError("date", "Write the date as year-month-day: 2027-03-12.", "due")


def _kind_of(raw: object) -> Kind:
    """Return the kind of a line, which decides what other keys it may have."""
    name = raw.get("kind", "") if isinstance(raw, Mapping) else ""
    if isinstance(name, str) and name in KINDS:
        return KINDS[name]
    record(raw, "", required=("kind",), optional=raw if isinstance(raw, Mapping) else ())
    made = ", ".join(sorted(KINDS))
    raise CutsheetError("kind", f"Lines of kind “{str(name)[:40]}” are not made yet; made are: {made}.", "kind")


def _with_profile(given: Mapping[str, Any], kind: Kind, profiles: Profiles | None, unit: Unit) -> Mapping[str, Any]:
    """Return the keys of a line with the shop's profile put in for its code."""
    if "profile" not in given:
        return given
    if not kind.shape:
        raise CutsheetError("profile", f"A line of kind “{kind.name}” has no profile; leave it out.", "profile")
    if kind.shape in given:
        raise CutsheetError("profile", f"Give a profile or {SHAPES[kind.shape]}, not both.", "profile")
    code = words(given["profile"], "profile", least=1, most=40)
    if code not in (profiles or {}):
        listed = ", ".join(sorted(profiles or {})) or f"none here; write {SHAPES[kind.shape]} itself"
        raise CutsheetError("profile", f"Profile “{code}” is not known; known are: {listed}.", "profile")
    profile = dict((profiles or {})[code])
    if kind.shape not in profile:
        raise CutsheetError(
            "profile",
            f"Profile “{code}” holds no {kind.shape.replace('_', ' ')}, and a {kind.name} needs one.",
            "profile",
        )
    own = profile.pop("unit", unit)
    if own != unit:
        profile[kind.shape] = in_unit(profile[kind.shape], own)
    taken = {name: value for name, value in profile.items() if name in kind.keys}
    return taken | {name: value for name, value in given.items() if name != "profile"}


def _with_font(given: Mapping[str, Any], fonts: Fonts) -> Mapping[str, Any]:
    """Return the keys of a line with the font read in place of its name."""
    if "font" not in given:
        return given
    name = words(given["font"], "font", least=1, most=80)
    return {**given, "font": read_font(fonts(name), name)}


def in_unit(value: Any, unit: str) -> Any:
    """Return a shape whose lengths say their own unit."""
    if isinstance(value, Mapping):
        return {name: one if name in ("name", "qty") else in_unit(one, unit) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [in_unit(one, unit) for one in value]
    if isinstance(value, float):
        value = f"{value:.9f}"  # never 1e-05, which no reader of lengths knows
    return value if names_unit(value) else f"{value} {unit}"


def _marks_twice(raw_lines: list[Any]) -> Iterator[CutsheetError]:
    seen: dict[str, int] = {}
    for i, raw in enumerate(raw_lines):
        mark = raw.get("mark") if isinstance(raw, Mapping) else None
        if isinstance(mark, str) and seen.setdefault(mark.strip(), i) != i:
            yield CutsheetError(
                "mark-twice", f"Mark “{mark}” is on line {seen[mark.strip()] + 1} already; choose another.",
                f"lines[{i}].mark",
            )  # fmt: skip


@contextmanager
def _noted(faults: list[CutsheetError]) -> Iterator[None]:
    """Note a refusal and go on."""
    try:
        yield
    except CutsheetError as error:
        faults.append(error)


def _position(fault: CutsheetError) -> int:
    """Return the index of the line that a fault is about, -1 for the head."""
    found = re.match(r"lines\[(\d+)\]", fault.where)
    return int(found[1]) if found else -1
