"""bimcheck explain: the numbers behind a panel, or what a rule means."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from bimcheck import store
from bimcheck.explain import picture
from bimcheck.explain.context import Context, find
from bimcheck.explain.text import panel_text, rule_text
from bimcheck.planning import plan_of
from bimcheck.project import load
from bimcheck.result import plan_facts
from bimcheck.write.rule_names import ISSUE_RULES

HELP = "print a panel's calculation: formulas in symbols and numbers, inputs with their origin, picture of the plate (KEY = GlobalId, mark or name); or what a rule means"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("key", metavar="KEY", help="GlobalId, mark or name of a panel, or the name of a rule or check")
    parser.add_argument("--units", choices=("si", "us"), help="units of the text and the picture (default: the run's)")
    parser.add_argument("--anchor", metavar="A1", default="", help="anchor to follow step by step (default: the one with the greatest utilisation)")
    parser.add_argument("--no-picture", action="store_true", help="do not write DIR/explain/PANEL.svg")
    parser.add_argument("-o", "--output", metavar="DIR", type=Path, default=Path("bimcheck-out"), help="folder of the run")


def run(args: argparse.Namespace) -> int:
    result = store.load(args.output) if (args.output / store.FILE).is_file() else None
    known = result.facts["rules"] if result else plan_facts(plan_of(load(None)))["rules"]  # no run: the rules of the defaults
    told = [f"{args.key}: {ISSUE_RULES[args.key]}"] if args.key in ISSUE_RULES else []
    rules = [r for r in known if r["name"] == args.key or args.key in r["adds"]]
    lines = [*told, *(line for r in rules[:1] for line in rule_text(r))]
    print("\n".join(lines or _panel(find(result or store.load(args.output), args.key, args.units, args.anchor), args)))
    return 0


def _panel(context: Context, args: argparse.Namespace) -> Iterator[str]:
    return panel_text(context, "" if args.no_picture else str(picture.write(context, args.output)))
