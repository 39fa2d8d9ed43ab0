"""Further outputs of issues, by name: edges (CSV), jsonl, junit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from bimcheck.write.edge_list import write_edges_csv
from bimcheck.write.issue_rows import issue_records, write_issues_jsonl, write_text
from bimcheck.write.junit import junit_text
from bimcheck.write.workbook_issues_rows import CLASH, EDGES, JOINTS


def edges(result: Any, folder: Path) -> list[Path]:
    """edges.csv: the governing edge distance of every panel, worst first."""
    return [write_edges_csv(Path(folder) / "edges.csv", result.tables)]


def jsonl(result: Any, folder: Path) -> list[Path]:
    """issues.jsonl: one JSON object an issue."""
    return [write_issues_jsonl(Path(folder) / "issues.jsonl", result.tables["issues"])]


def junit(result: Any, folder: Path) -> list[Path]:
    """junit.xml: a suite a rule that took part, and what was not checked, for a pipeline."""
    facts = result.facts
    took_part = [r["name"] for r in facts.get("rules", []) if r["check"]] + [*CLASH, *JOINTS, *EDGES]
    text = junit_text(issue_records(result.tables["issues"]), str(facts.get("fail_on", "error")), took_part, facts.get("not_checked", {}))
    return [write_text(Path(folder) / "junit.xml", text)]
