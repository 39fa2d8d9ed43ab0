"""bimcheck plan: the rules in order."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from bimcheck.planning import finders_of, plan_of
from bimcheck.project import load
from bimcheck.result import plan_facts

HELP = "print the rules in order with clause, formula, columns read and added; nothing is run"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("-p", "--project", metavar="PROJECT.toml", type=Path, help="project file")
    parser.add_argument("--json", action="store_true", help="as JSON")


def run(args: argparse.Namespace) -> int:
    settings = load(args.project)
    facts = plan_facts(plan_of(settings))
    finders = sorted(finders_of(settings))
    print(json.dumps({**facts, "finders": finders}, indent=1) if args.json else _text(facts["rules"], finders))
    return 0


def _text(rules: list[dict[str, Any]], finders: list[str]) -> str:
    lines, phase = [], ""
    for r in rules:
        if r["phase"] != phase:
            phase = r["phase"]
            lines.append(f"\n== {phase} ==")
        kind = "check" if r["check"] else "rule"
        lines += [f"{r['name']} ({kind} on {r['table']})  {r['clause']}", f"    {r['formula']}",
                  f"    reads {', '.join(r['reads'])}", f"    adds  {', '.join(r['adds'])}"]
        if r["settings"]:
            lines.append(f"    settings {', '.join(r['settings'])}")
    return "\n".join([*lines, "", f"finders: {', '.join(finders)}"]).lstrip()
