"""Planning and checking for the command line: files in, files out, remarks on standard error."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import asdict

from cutsheets.errors import CutsheetError
from cutsheets.files.stock import read_instance, read_plan
from cutsheets.files.texts import read_text, write_text
from cutsheets.planning import plan
from cutsheets.planning.check import check

LONGEST_SEARCH = 3600  # seconds
MOST_SAID = 20  # lines of what is left out


def run_plan(path: str, out: str | None, *, seconds: float, seed: int) -> int:
    """Plan an instance file: write the plan, say how good it is; return 0, or 3 where blanks are left out.

    Raises CutsheetError for a bad file or a bad number of seconds; then nothing is written.
    """
    check_seconds(seconds)
    result = plan(read_instance(read_text(path)), seconds=seconds, seed=seed)
    left = [asdict(each) for each in result.left_out]
    answer = {**result.plan, "left_out": left} if left else result.plan
    write_text(json.dumps(answer) + "\n", out)
    stats, bound, plain = result.stats, result.bound, result.plain_stats
    print(
        f"{stats.new_blocks} new blocks (at least {bound.blocks}), {stats.remnants_used} remnants used, "
        f"{stats.cuts} cuts; yield {stats.yield_net:.1%} (plain shelves {plain.yield_net:.1%}); "
        f"score {result.score:.0f} (at least {bound.score:.0f}, plain shelves {result.plain_score:.0f})",
        file=sys.stderr,
    )
    say_left_out([f"{each.qty} × {each.blank} ({each.why})" for each in result.left_out])
    return 3 if left else 0


def check_seconds(seconds: float) -> None:
    """Refuse a search without a time or with one beyond reason."""
    if not 0 <= seconds <= LONGEST_SEARCH:
        raise CutsheetError("seconds", f"Search for 0 to {LONGEST_SEARCH} seconds.", "--seconds")


def say_left_out(lines: Sequence[str]) -> None:
    """Say what has no place in an answer, the first of it in full."""
    for line in lines[:MOST_SAID]:
        print(f"left out: {line}", file=sys.stderr)
    if len(lines) > MOST_SAID:
        print(f"and {len(lines) - MOST_SAID} more", file=sys.stderr)


def run_check(instance_path: str, plan_path: str) -> int:
    """Check a plan file: print the verdict as JSON; return 0 for a good plan, 1 for a bad one."""
    verdict = check(read_instance(read_text(instance_path)), read_plan(read_text(plan_path)))
    stats = verdict.stats
    answer = {
        "valid": verdict.ok,
        "faults": [asdict(fault) for fault in verdict.faults],
        "stats": {**asdict(stats), "yield_gross": stats.yield_gross, "yield_net": stats.yield_net},
    }
    write_text(json.dumps(answer, indent=1, ensure_ascii=False) + "\n", None)
    return 0 if verdict.ok else 1
