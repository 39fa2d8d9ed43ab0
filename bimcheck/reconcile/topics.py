"""Groups as topics: an id that stays with a group from run to run, though its members or its figure change."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table


def topics(issues: Table, before: Mapping[str, Mapping[str, Any]]) -> NDArray[Any]:
    """(n,) UUID, as text, of the topic of each issue's group.

    A group keeps the topic that most of its members had in the last run (before: rows by id); where two groups claim
    one, the larger claim wins.  A new topic follows from the group's name and its first member, so that two projects
    never share one.
    """
    groups: dict[str, list[str]] = {}
    for name, issue in zip(issues["group"].tolist(), issues["issue"].tolist(), strict=True):
        groups.setdefault(str(name), []).append(issue)
    claims = [(-count, name, topic) for name, held in groups.items()
              for topic, count in Counter(str(before[i].get("topic", "")) for i in held if i in before).items() if topic]
    made: dict[str, str] = {}
    taken: set[str] = set()
    for _, name, topic in sorted(claims):
        if name not in made and topic not in taken:
            made[name] = topic
            taken.add(topic)
    for name, held in sorted(groups.items()):
        made.setdefault(name, _new(name, min(held), taken))
    return np.array([made[str(name)] for name in issues["group"].tolist()], dtype=object)


def _new(name: str, first: str, taken: set[str]) -> str:
    text = f"bimcheck/topic/{first}/{name}"
    while (topic := str(uuid.uuid5(uuid.NAMESPACE_OID, text))) in taken:
        text += "/"
    return topic
