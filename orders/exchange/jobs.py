"""Job files into orders and back. A file is taken whole or not at all, and every fault in it is named at once."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from cutsheets.errors import CutsheetError
from cutsheets.files.job import FORMAT, Job, JobFaults, in_unit, read_job
from cutsheets.kinds import KINDS
from cutsheets.kinds import Line as CoreLine
from cutsheets.records import parse
from cutsheets.rules import Rules, write_rules
from cutsheets.units import KG_M3_PER_PCF, Unit, read_density
from orders import entry
from orders.fonts import font_file
from orders.lines import drawn, line_dict, rules_for
from orders.models import Customer, Line, Order, Profile, ProfileRevision
from shop.acts import Act
from shop.models import Grade
from shop.refusals import Refused

COLUMNS = ("mark", "kind", "grade", "qty", "coat", "note", "profile", "allow")  # the rest of a line is its `spec`
NEAR = 0.005  # densities nearer than this share are one figure, rounded


def import_job(text: str, act: Act, *, customer: Customer | None = None) -> Order:
    """Return the draft that a job file describes; a customer of a new name is entered too.

    Raises Refused `job-file`; `details["faults"]` lists code, place and sentence of everything that is wrong.
    """
    grades = {grade.name: grade for grade in Grade.objects.filter(active=True)}
    profiles = {profile.code: profile.current for profile in Profile.objects.filter(active=True)}
    rules = rules_for()
    try:
        top = parse(text)
        job = _read(top, rules, grades, profiles)
        lines = [
            _line(raw, read, rules, grades[read.grade], profiles)
            for raw, read in zip(top["lines"], job.lines, strict=True)
        ]
        head = Order(number=1, customer=customer or _customer(job), job=job.job, due=job.due, unit=job.unit)
        _check_columns(head, lines)
    except CutsheetError as error:
        raise _refusal(error) from error
    with transaction.atomic():
        order = entry.create_order({name: getattr(head, name) for name in ("customer", "job", "due", "unit")}, act)
        for position, line in enumerate(lines, 1):
            line.order, line.position = order, position
        Line.objects.bulk_create(lines)
    return order


def export_job(order: Order, *, sections: bool = False) -> str:
    """Return an order as the text of a job file, with its grades and the shop's rules, for the same sizes anywhere.

    `sections` writes each shape in place of its profile's code, for readers that do not have the shop's profiles.
    """
    unit: Unit = order.unit
    lines = list(order.lines.select_related("grade", "profile__profile"))
    top: dict[str, Any] = {"format": FORMAT, "unit": unit, "customer": order.customer.name, "job": order.job}
    if order.due:
        top["due"] = order.due.isoformat()
    top["grades"] = {line.grade.name: {"density": _density(line.grade, unit)} for line in lines}
    top["shop"] = write_rules(rules_for(), unit)
    top["lines"] = [_drawn_line(line) if sections else line_dict(line) for line in lines]
    return json.dumps(top, indent=1, ensure_ascii=False) + "\n"


def _read(top: object, rules: Rules, grades: dict[str, Grade], profiles: dict[str, ProfileRevision]) -> Job:
    """Return the job as the core reads it; raises JobFaults with everything that the core or the shop refuses."""
    known = {name: float(grade.density) for name, grade in grades.items()}
    sections = {code: drawn(revision) for code, revision in profiles.items()}
    faults: list[CutsheetError] = []
    try:
        job = read_job(top, rules, grades=known, profiles=sections, fonts=font_file)
    except JobFaults as error:
        faults += error.faults
    if isinstance(top, Mapping):
        faults += _grade_faults(top, grades)
    if faults:
        raise JobFaults(sorted(faults, key=_position))
    return job


def _grade_faults(top: Mapping[str, Any], grades: dict[str, Grade]) -> Iterator[CutsheetError]:
    """Yield what the shop says about the file's own grades: it must have them, and they must weigh the same."""
    own, lines = top.get("grades"), top.get("lines")
    if not isinstance(own, Mapping) or not isinstance(lines, list):
        return
    for name, grade in own.items():
        try:
            density = float(read_density(grade["density"], top.get("unit", "in")))
        except (CutsheetError, TypeError, KeyError):
            continue  # the core has said so
        if name in grades and abs(density / float(grades[name].density) - 1) > NEAR:
            shop = _density(grades[name], top.get("unit", "in"))
            yield CutsheetError(
                "grade-density", f"{name} of this shop has a density of {shop:g}, not {grade['density']}; correct it.",
                f"grades[{name}]",
            )  # fmt: skip
    for i, raw in enumerate(lines):
        name = raw.get("grade") if isinstance(raw, Mapping) else None
        if isinstance(name, str) and name in own and name not in grades:
            known = ", ".join(sorted(grades)) or "none yet"
            yield CutsheetError("grade", f"The shop has no grade “{name}”; it has: {known}.", f"lines[{i}].grade")


def _line(
    raw: Mapping[str, Any], read: CoreLine, rules: Rules, grade: Grade, profiles: dict[str, ProfileRevision]
) -> Line:
    """Return a line as it was typed, not saved yet."""
    spec = {name: _plain(value) for name, value in raw.items() if name not in COLUMNS}
    if allow := _allow(raw, read, rules):
        spec["allow"] = allow
    coat = raw.get("coat", 0)
    return Line(
        mark=read.mark, kind=read.kind, grade=grade, qty=read.qty, note=read.note, spec=spec,
        coat=coat if isinstance(coat, str) else f"{coat:f}" if isinstance(coat, Decimal) else str(coat),
        profile=profiles[raw["profile"].strip()] if "profile" in raw else None,
    )  # fmt: skip


def _allow(raw: Mapping[str, Any], read: CoreLine, rules: Rules) -> dict[str, Any]:
    """Return what a line must allow for itself: what it says, and what the rules of its file have otherwise."""
    typed = raw.get("allow", {})
    shop = write_rules(KINDS[read.kind].rules(rules), read.unit)
    own = {name: value for name, value in write_rules(read.rules, read.unit).items() if name != "block"}
    return {
        # half a skim (wall only) is completed, everything else stays as it was typed
        name: _plain(typed[name]) if name in typed and name != "skim" else value
        for name, value in own.items()
        if name in typed or shop[name] != value
    }


def _customer(job: Job) -> Customer:
    return Customer.objects.filter(name=job.customer).first() or Customer(name=job.customer)


def _check_columns(head: Order, lines: list[Line]) -> None:
    """Raise JobFaults for texts that the columns cannot keep."""
    rows = [("customer", head.customer, ()), ("", head, ("customer", "number", "made_by"))]
    rows += [(f"lines[{i}]", line, ("order", "position", "spec")) for i, line in enumerate(lines)]
    faults = []
    for place, row, without in rows:
        try:
            row.clean_fields(exclude=without)
        except ValidationError as error:
            for field, messages in error.message_dict.items():
                where = place if place == "customer" else ".".join(filter(None, (place, field)))
                faults.append(CutsheetError("field", messages[0], where))
    if faults:
        raise JobFaults(faults)


def _refusal(error: CutsheetError) -> Refused:
    faults = error.faults if isinstance(error, JobFaults) else [error]
    count = "1 thing is" if len(faults) == 1 else f"{len(faults)} things are"
    sentence = f"{count} wrong in this job file, and nothing was taken from it. First: {faults[0]}"
    return Refused("job-file", sentence, faults=[fault.as_dict() for fault in faults])


def _position(fault: CutsheetError) -> list[int]:
    """Return the numbers in a place, so that faults are told in the order of the file."""
    return [int(number) for number in re.findall(r"\[(\d+)\]", fault.where)]


def _plain(value: Any) -> Any:
    """Return a value of a parsed file as a JSON column keeps it."""
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, Mapping):
        return {name: _plain(item) for name, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    return value


def _density(grade: Grade, unit: Unit) -> float:
    """Return a density as a job file writes it: lb/ft³ beside inches, kg/m³ beside millimetres."""
    return round(float(grade.density) / float(KG_M3_PER_PCF), 6) if unit == "in" else float(grade.density)


def _drawn_line(line: Line) -> dict[str, Any]:
    """Return a line with its shape in place of its profile's code."""
    written = line_dict(line)
    if line.profile:
        own, kind = line.profile.unit, KINDS[line.kind]
        del written["profile"]
        shape = {name: value for name, value in line.profile.shape.items() if name in kind.keys}
        if own != line.order.unit:
            shape[kind.shape] = in_unit(shape[kind.shape], own)
        written = shape | written
    return written
