"""Models and tables that may lie next to the project; tests that need them skip where they are absent."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SHARED = ROOT.parent / "shared"


def shared_folder(*parts: str) -> Path:
    """The folder or file below ../shared; skips the test where it is absent."""
    path = SHARED.joinpath(*parts)
    if not path.exists():
        pytest.skip(f"needs {'/'.join(parts)} next to the project")
    return path


def shared_models(kind: str) -> Path:
    """The folder of models of a kind: "real" or "truth"."""
    return shared_folder("models", kind)
