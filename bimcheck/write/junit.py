"""JUnit XML for a pipeline: a suite a rule, a case an issue; what stands and is grave is a failure.

There is no schema of record; elements and attributes are those that the readers in use agree on.  Times are 0: a
result says what was found, not when.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any
from xml.etree import ElementTree as ET

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, production 2 (Char)
UNCHECKED = "not-checked"


def junit_text(rows: Iterable[Mapping[str, Any]], fail_on: str = "error", passed: Iterable[str] = (), unchecked: Mapping[str, int] | None = None) -> str:
    """Records of issues as JUnit XML.

    fail_on: "error" or "warning", from which severity a standing issue is a failure; resolved issues pass, others are
    skipped.  passed: rules that took part, each a case that passes where it found nothing.  unchecked: number of panels
    by reason, cases of a suite of their own; a panel that is not checked has not passed, so that they fail.
    """
    suites: dict[str, list[Mapping[str, Any]]] = {rule: [] for rule in passed}
    for row in rows:
        suites.setdefault(str(row["rule"]), []).append(row)
    root = ET.Element("testsuites", name="bimcheck")
    for rule, members in sorted(suites.items()):
        _suite(root, rule, members, ("error", "warning") if fail_on == "warning" else ("error",))
    if unchecked:
        _unchecked(root, unchecked)
    for count in ("tests", "failures", "errors", "skipped"):
        root.set(count, str(sum(int(s.get(count, "0")) for s in root)))
    root.set("time", "0")
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _new_suite(root: ET.Element, name: str, tests: int, failures: int, skipped: int) -> ET.Element:
    return ET.SubElement(root, "testsuite", name=name, tests=str(tests), failures=str(failures), errors="0", skipped=str(skipped), time="0")


def _suite(root: ET.Element, rule: str, rows: list[Mapping[str, Any]], grave: tuple[str, ...]) -> None:
    kinds = [_kind(r, grave) for r in rows]
    suite = _new_suite(root, rule, max(len(rows), 1), kinds.count("failure"), kinds.count("skipped"))
    if not rows:
        _case(suite, rule, "nothing found")
    for row, kind in zip(rows, kinds, strict=True):
        case = _case(suite, rule, " ".join(str(row[k]) for k in ("issue", "mark", "guid") if row[k]))
        if kind:
            _said(case, kind, str(row["severity"]), str(row["text"]), _details(row))


def _unchecked(root: ET.Element, reasons: Mapping[str, int]) -> None:
    suite = _new_suite(root, UNCHECKED, len(reasons), len(reasons), 0)
    for reason, panels in reasons.items():
        _said(_case(suite, UNCHECKED, reason), "failure", "not_checked", f"{panels} panel{'s' if panels != 1 else ''} not checked: {reason}", "")


def _case(suite: ET.Element, rule: str, name: str) -> ET.Element:
    return ET.SubElement(suite, "testcase", classname=f"bimcheck.{rule}", name=clean(name), time="0")


def _said(case: ET.Element, kind: str, severity: str, message: str, details: str) -> None:
    said = ET.SubElement(case, kind, message=clean(message))
    if kind == "failure":
        said.set("type", severity)
    said.text = clean(details) or None


def _details(row: Mapping[str, Any]) -> str:
    figures = [f"{k} {row[k]:g} {row['unit']}".strip() for k in ("measured", "required") if isinstance(row[k], float)]
    where = [str(row[k]) for k in ("model", "storey", "facade", "grid") if row.get(k)]
    return "; ".join([f"state {row['state']}", *figures, *where, *([f"way out: {row['way_out']}"] if row.get("way_out") else [])])


def _kind(row: Mapping[str, Any], grave: tuple[str, ...]) -> str:
    if row["state"] == "resolved":
        return ""
    return "failure" if row["state"] in ("new", "open") and row["severity"] in grave else "skipped"


def clean(text: str) -> str:
    """Without what XML 1.0 forbids."""
    return _FORBIDDEN.sub("?", text)
