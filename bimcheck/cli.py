"""The command line: one module a command, imported only when it is called (so that --help stays quick)."""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress

from bimcheck import __version__
from bimcheck.core.errors import InputError

# command -> what it does, as `bimcheck --help` prints it; the module is bimcheck.commands.<command>.
COMMANDS = {
    "demo": "run the whole job on the bundled invented sample",
    "run": "check the facade panels of one or more models and write the results",
    "inspect": "list what would be taken as panels and what not, and why",
    "init": "write a complete commented project file",
    "plan": "print the rules in order with clause, columns read and added",
    "explain": "print a panel's numbers, or what a rule means",
    "write": "write further outputs from an earlier run",
    "quantities": "count anchors and panels of an earlier run",
    "compare": "compare two earlier runs",
    "pullout": "evaluate pull-out and flexural test series",
    "strip": "take everything bimcheck added out of an enriched model",
}
_NOTE = ("Preliminary design aid: results need the check of the responsible engineer; local codes decide. "
         "Exit status: 0 all pass, 1 findings, 2 input cannot be used, 3 a defect of bimcheck.")


def main(argv: Sequence[str] | None = None) -> int:
    """Entry point; returns the exit status."""
    gc.set_threshold(100_000, 20, 50)  # a run builds millions of values and hardly a cycle: looking for them costs 5 %
    words = list(sys.argv[1:] if argv is None else argv)
    if words and words[0] in COMMANDS:
        return _call(words[0], words[1:])
    parser = argparse.ArgumentParser("bimcheck", description="Ventilated facades with concealed rear fixings, checked from open IFC models.", epilog=_NOTE)
    parser.add_argument("--version", action="version", version=f"bimcheck {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name, text in COMMANDS.items():
        commands.add_parser(name, help=text, add_help=False)
    parser.parse_args(words)
    return 2


def console() -> None:
    """`bimcheck` on the command line: ends without taking millions of values apart one by one."""
    status = main()
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError):  # nobody reads on
            stream.flush()
    os._exit(status)


def _call(name: str, words: Sequence[str]) -> int:
    try:
        module = importlib.import_module(f"bimcheck.commands.{name}")
        parser = argparse.ArgumentParser(f"bimcheck {name}", description=module.HELP, epilog=_NOTE)
        module.add_arguments(parser)
        return int(module.run(parser.parse_args(words)))
    except InputError as problem:
        print(f"bimcheck {name}: {problem}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print(f"bimcheck {name}: stopped; nothing half-written was left", file=sys.stderr)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as problem:  # the machine refuses: no permission, no room, no such folder
        print(f"bimcheck {name}: {InputError(problem.strerror or str(problem), _path(problem), 'check the path, its permissions and the room on the disk')}", file=sys.stderr)
        return 2
    except Exception:
        traceback.print_exc()
        print(f"bimcheck {name}: this is a defect of bimcheck {__version__}; please report it with the lines above", file=sys.stderr)
        return 3


def _path(problem: OSError) -> str:
    return str(problem.filename2 or problem.filename or "")


if __name__ == "__main__":
    console()
