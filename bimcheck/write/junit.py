"""JUnit XML for a pipeline: a suite a rule, a case an issue; standing errors and warnings are failures."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any
from xml.etree import ElementTree as ET

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, production 2 (Char)


def junit_text(rows: Iterable[Mapping[str, Any]], fail_on: str = "error", passed: Iterable[str] = ()) -> str:
    """Records of issues as JUnit XML.

    fail_on: "error" or "warning", from which severity a standing issue is a failure; resolved issues pass, others are
    skipped.  passed: rules that found nothing, each a case that passes.
    """
    suites: dict[str, list[Mapping[str, Any]]] = {rule: [] for rule in passed}
    for row in rows:
        suites.setdefault(str(row["rule"]), []).append(row)
    root = ET.Element("testsuites", name="bimcheck")
    for rule, members in sorted(suites.items()):
        _suite(root, rule, members, ("error", "warning") if fail_on == "warning" else ("error",))
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _suite(root: ET.Element, rule: str, rows: list[Mapping[str, Any]], grave: tuple[str, ...]) -> None:
    kinds = [_kind(r, grave) for r in rows]
    suite = ET.SubElement(root, "testsuite", name=rule, tests=str(max(len(rows), 1)), failures=str(kinds.count("failure")),
                          skipped=str(kinds.count("skipped")), errors="0")
    if not rows:
        ET.SubElement(suite, "testcase", classname=rule, name="nothing found")
    for row, kind in zip(rows, kinds, strict=True):
        name = " ".join(str(row[k]) for k in ("issue", "mark", "guid") if row[k])
        case = ET.SubElement(suite, "testcase", classname=rule, name=clean(name))
        if kind:
            said = ET.SubElement(case, kind, message=clean(str(row["text"])))
            if kind == "failure":
                said.set("type", str(row["severity"]))
            said.text = clean(f"state {row['state']}; measured {row['measured']}, required {row['required']} {row['unit']}")


def _kind(row: Mapping[str, Any], grave: tuple[str, ...]) -> str:
    if row["state"] == "resolved":
        return ""
    return "failure" if row["state"] in ("new", "open") and row["severity"] in grave else "skipped"


def clean(text: str) -> str:
    """Without what XML 1.0 forbids."""
    return _FORBIDDEN.sub("?", text)
