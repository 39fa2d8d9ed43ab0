"""The author's own property sets: one a panel in towers, shared ones in the mid-rise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bimcheck.samples.building import PER_RELATION
from bimcheck.samples.step import Step, chunks, listed

NAME = "Invented_PanelSchedule"


def own_set(step: Step, mark: str, element: str) -> None:
    """A set that belongs to one element and holds its mark."""
    value = step.add(f"IFCPROPERTYSINGLEVALUE('PanelMark',$,IFCIDENTIFIER('{mark}'),$)")
    held = step.add(f"IFCPROPERTYSET({step.root(f'set {mark}')},'{NAME}',$,({value}))")
    step.add(f"IFCRELDEFINESBYPROPERTIES({step.root(f'has set {mark}')},$,$,({element}),{held})")


def shared_set(step: Step, key: str, labels: Mapping[str, str], elements: Sequence[str]) -> None:
    """One set of labels that many elements share."""
    values = [step.add(f"IFCPROPERTYSINGLEVALUE('{name}',$,IFCLABEL('{text}'),$)") for name, text in labels.items()]
    held = step.add(f"IFCPROPERTYSET({step.root(f'set {key}')},'{NAME}',$,{listed(values)})")
    for k, part in enumerate(chunks(elements, PER_RELATION)):
        step.add(f"IFCRELDEFINESBYPROPERTIES({step.root(f'has set {key} {k}')},$,$,{listed(part)},{held})")
