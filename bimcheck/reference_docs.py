"""Pages of docs/ that are made from the code: python -m bimcheck.reference_docs [FOLDER]."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from bimcheck.planning import plan_of
from bimcheck.project import load
from bimcheck.result import plan_facts
from bimcheck.write.ifc_properties import SETS, Check, properties
from bimcheck.write.rule_names import ISSUE_RULES

_MADE = "<!-- made from the code by `python -m bimcheck.reference_docs`; do not edit -->\n"


def pages() -> dict[str, str]:
    """File name -> text."""
    plan = plan_of(load(None))
    facts = plan_facts(plan)
    checks = [Check(r.adds[0].name, r.name, r.clause) for r in plan.checks()]
    wanted = properties([c for c in plan.columns.values() if c.table == "panels"], checks)
    units = {c.name: c.unit for c in plan.columns.values()}
    return {
        "rules.md": _rules(facts["rules"]),
        "columns.md": _columns(facts["columns"]),
        "properties.md": _MADE + "\n# Properties in the enriched model\n\nValues stand in the model's own units; unit inside bimcheck in brackets.\n\n"
        + "\n".join(f"- `{k}`: {v}" for k, v in SETS.items()) + "\n\n"
        + _table(("set", "property", "measure", "unit inside", "meaning"), [(p.set, p.name, p.measure, units.get(p.column, ""), p.text) for p in wanted]),
    }


def _rules(rules: Sequence[dict[str, Any]]) -> str:
    rows = [(r["name"], "check" if r["check"] else "rule", r["table"], r["phase"], r["clause"], f"`{r['formula']}`", ", ".join(r["reads"]), ", ".join(r["adds"])) for r in rules]
    issue_rows = list(ISSUE_RULES.items())
    return (_MADE + "\n# Rules in the order of a run\n\nWith the wind standard EN 1991-1-4; `bimcheck plan -p PROJECT.toml` prints another project's.\n\n"
            + _table(("rule", "kind", "table", "phase", "clause", "formula", "reads", "adds"), rows)
            + "\n# Rules of issues\n\n" + _table(("rule", "meaning"), issue_rows))


def _columns(columns: Sequence[dict[str, Any]]) -> str:
    rows = [(c["table"], c["name"], c["unit"], c["phase"], c["file"], c["file_unit"], c["text"]) for c in columns]
    return _MADE + "\n# Columns\n\n" + _table(("table", "column", "unit inside", "phase", "in files", "unit in files", "meaning"), sorted(rows, key=lambda r: (r[0], r[1])))


def _table(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    lines = ["| " + " | ".join(header) + " |", "|" + "---|" * len(header)]
    lines += ["| " + " | ".join(str(v).replace("|", "\\|").replace("\n", " ") for v in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def main(folder: Path) -> None:
    for name, text in pages().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "docs"))
