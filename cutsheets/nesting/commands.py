"""Nesting and checking nests for the command line: files in, files out, remarks on standard error."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from cutsheets.files.nest import FORMAT, instance_as_dict, nest_as_dict, read_nest, read_nest_instance
from cutsheets.files.texts import read_text, write_text
from cutsheets.nesting import NestResult, nest
from cutsheets.nesting.check import check_nest
from cutsheets.nesting.cuts import nest_cuts
from cutsheets.nesting.faces import NestInstance
from cutsheets.planning.commands import check_seconds, say_left_out
from cutsheets.planning.commands import run_check as run_plan_check
from cutsheets.records import parse


def run_nest(path: str, out: str | None, *, seconds: float, seed: int, in_counters: bool) -> int:
    """Nest an instance file: write the nest, say how good it is; return 0, or 3 where parts are left out.

    Raises CutsheetError for a bad file or a bad number of seconds; then nothing is written.
    """
    check_seconds(seconds)
    instance = read_nest_instance(read_text(path))
    result = nest(instance, seconds=seconds, seed=seed, in_counters=in_counters, tell=_say)
    write_text(json.dumps(result_as_dict(instance, result)) + "\n", out)
    _say(result)
    say_left_out([f"{each.qty} × {each.item} ({each.why})" for each in result.left_out])
    return 3 if result.left_out else 0


def result_as_dict(instance: NestInstance, result: NestResult) -> dict[str, Any]:
    """Return a nest with its instance, its lead-in cuts and its cut order, as its file has them."""
    answer = {**instance_as_dict(instance), **nest_as_dict(result.nest)}
    cuts = nest_cuts(instance, result.nest)
    answer["order"] = [{"placement": cut.placement, "ring": cut.ring} for cut in cuts]
    answer["entries"] = [
        {"placement": cut.placement, "ring": cut.ring, "from": cut.lead[0], "to": cut.lead[1]}
        for cut in cuts
        if cut.lead is not None
    ]
    if result.left_out:
        answer["left_out"] = [asdict(each) for each in result.left_out]
    return answer


def run_check(instance_path: str, answer_path: str) -> int:
    """Check a plan or a nest, as the instance is: print the verdict as JSON; return 0 for a good one, 1 for a bad."""
    text = read_text(instance_path)
    raw = parse(text)
    if not isinstance(raw, Mapping) or (raw.get("format") != FORMAT and "items" not in raw):
        return run_plan_check(instance_path, answer_path)
    verdict = check_nest(read_nest_instance(text), read_nest(read_text(answer_path)))
    answer = {
        "valid": verdict.ok,
        "faults": [asdict(fault) for fault in verdict.faults],
        "stats": {
            "faces": [{**asdict(face), "yield": face.share} for face in verdict.faces],
            "cost": verdict.cost,
            "yield": verdict.share,
            "clearance": verdict.clearance,
        },
    }
    write_text(json.dumps(answer, indent=1, ensure_ascii=False) + "\n", None)
    return 0 if verdict.ok else 1


def _say(result: NestResult) -> None:
    verdict, plain = result.verdict, result.plain_verdict
    if verdict.faces:
        print(
            f"{len(verdict.faces)} faces for {verdict.cost:g} (boxes in columns: {plain.cost:g}); "
            f"yield {verdict.share:.1%} (boxes {plain.share:.1%}); "
            f"last face used up to {verdict.faces[-1].x_used:.3f}",
            file=sys.stderr,
        )
