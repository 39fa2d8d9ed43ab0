"""Names of groups: what issues of a rule share, whatever number their bodies carry in their names."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table

_NUMBER = re.compile(r"[\s:#_/.-]+[A-Za-z0-9$_]*\d[A-Za-z0-9$_]*$")  # a last token that holds a digit


def grouped(issues: Table) -> NDArray[Any]:
    """(n,) name of each issue's group; blank keys fall to the rule itself.

    Modelling programs often write the number of an element into its name.  Where a key holds such names, each of one body
    only, the bodies are taken by the name without the number, so that 300 like brackets are one matter.
    """
    rule, key, name, guid = (issues[k].astype(str).tolist() for k in ("rule", "group", "other_name", "other_guid"))
    plain = [_plain(k, n) for k, n in zip(key, name, strict=True)]
    alike: dict[tuple[str, str], tuple[set[str], set[str]]] = {}
    for r, k, p, n, g in zip(rule, key, plain, name, guid, strict=True):
        if p != k:
            names, bodies = alike.setdefault((r, p), (set(), set()))
            names.add(n)
            bodies.add(g or n)
    numbered = {c for c, (names, bodies) in alike.items() if len(names) == len(bodies) > 1}
    kept = [p if (r, p) in numbered and p != k else k for r, k, p in zip(rule, key, plain, strict=True)]
    return np.array([f"{r}: {k}" if k else r for r, k in zip(rule, kept, strict=True)], dtype=object)


def _plain(key: str, name: str) -> str:
    """The key with the name less its number, where it holds the name, whole or without the digits at its end."""
    short = _NUMBER.sub("", name)
    held = next((n for n in (name, name.rstrip("0123456789 .:-_#")) if n and n in key), "")
    return key.replace(held, short) if held and short else key
