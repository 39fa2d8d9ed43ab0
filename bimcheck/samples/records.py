"""Truth records as JSON that a person can read: one key a line, rows of tables and lists of records one a line each."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any


def write_record(path: Path | str, record: dict[str, Any]) -> Path:
    """Write a record; the same record gives the same bytes."""
    path = Path(path)
    lines = ",\n".join(f" {json.dumps(key)}: {_value(value)}" for key, value in record.items())
    path.write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")
    return path


def _value(value: Any) -> str:
    if isinstance(value, list) and value and isinstance(value[0], (list, dict)):
        return "[\n" + ",\n".join(f"  {json.dumps(row)}" for row in value) + "\n ]"
    return json.dumps(value)
