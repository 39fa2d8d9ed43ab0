"""What reading hands over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table
from bimcheck.read.facts import ModelFacts


@dataclass(frozen=True)
class ReadResult:
    """elements: a row an element considered, by model and number; obstacles: a row a body; models: a fact sheet a file."""

    elements: Table
    obstacles: Table
    models: Sequence[ModelFacts]
    issues: list[Issue] = field(default_factory=list)

    def closed(self) -> ReadResult:
        """The same without the files: nothing after reading asks them again, and they hold much memory."""
        return replace(self, models=[replace(m, opened=replace(m.opened, file=None, again=None)) for m in self.models])
