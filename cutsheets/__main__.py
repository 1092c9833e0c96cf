"""The command line: `python -m cutsheets cutlist | plan | nest | check FILE …`.

Exit 0: done. Exit 1: a plan that `check` finds wrong. Exit 2: the input is refused; standard error ends with one JSON
line and nothing is written. Exit 3: no full answer exists. Exit 130: broken off, nothing is written. No traceback ever
reaches a user.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from typing import NoReturn

from cutsheets.errors import CutsheetError
from cutsheets.files.texts import try_to_write

BROKEN_OFF = 130  # as shells have it: 128 and the number of the signal


class _Parser(argparse.ArgumentParser):
    """A parser that refuses as everything else here does."""

    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        raise CutsheetError("usage", f"{message}; see --help.")


def _add_out(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", metavar="F", help="write here instead of standard output")


def _add_search(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--seconds", type=float, default=10.0, help="how long to search (default: 10)")
    parser.add_argument("--seed", type=int, default=0)


def _cutlist(parser: argparse.ArgumentParser) -> Callable[[argparse.Namespace], int]:
    from cutsheets import cutlist

    parser.add_argument("job", metavar="JOB.json")
    _add_out(parser)
    return lambda given: cutlist.run(given.job, given.out)


def _plan(parser: argparse.ArgumentParser) -> Callable[[argparse.Namespace], int]:
    from cutsheets.planning.commands import run_plan

    parser.add_argument("instance", metavar="INSTANCE.json")
    _add_search(parser)
    _add_out(parser)
    return lambda given: run_plan(given.instance, given.out, seconds=given.seconds, seed=given.seed)


def _nest(parser: argparse.ArgumentParser) -> Callable[[argparse.Namespace], int]:
    from cutsheets.nesting.commands import run_nest

    parser.add_argument("instance", metavar="INSTANCE.json")
    _add_search(parser)
    parser.add_argument("--no-counters", action="store_true", help="lay no part in the counter of another one")
    _add_out(parser)
    return lambda given: run_nest(
        given.instance, given.out, seconds=given.seconds, seed=given.seed, in_counters=not given.no_counters
    )


def _check(parser: argparse.ArgumentParser) -> Callable[[argparse.Namespace], int]:
    from cutsheets.nesting.commands import run_check

    parser.add_argument("instance", metavar="INSTANCE.json")
    parser.add_argument("plan", metavar="PLAN.json")
    return lambda given: run_check(given.instance, given.plan)


# name → (what it does, a function that adds its arguments to a parser and returns what runs it)
COMMANDS = {
    "cutlist": ("job file → cut list: foam sizes, sticks, blanks, quantities", _cutlist),
    "plan": ("blanks and stock → cutting plan, edge-to-edge cuts in three dimensions", _plan),
    "nest": ("outlines and faces → nest: sections and letters cut out of one face by the wire", _nest),
    "check": ("whether a plan or a nest can be cut and gives every blank or part", _check),
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one subcommand and return its exit code."""
    parser = _Parser(prog="python -m cutsheets", description="Cut lists, cutting plans and their checks.")
    commands = parser.add_subparsers(dest="command", required=True)
    runs = {}
    for name, (summary, add) in COMMANDS.items():
        runs[name] = add(commands.add_parser(name, help=summary, description=summary))
    try:
        given = parser.parse_args(arguments)
        if getattr(given, "out", None) is not None:
            try_to_write(given.out)  # before hours of work, not after
        return runs[given.command](given)
    except CutsheetError as error:
        for fault in getattr(error, "faults", [error]):
            print(fault, file=sys.stderr)
        print(json.dumps(error.as_dict(), ensure_ascii=False), file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Broken off: nothing is written.", file=sys.stderr)
        return BROKEN_OFF


if __name__ == "__main__":
    sys.exit(main())
