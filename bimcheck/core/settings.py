"""Sections of the project file: pydantic models whose fields say what they mean, in which unit, and on whose word."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

PRACTICE = "common practice, no source"


class Section(BaseModel):
    """A section; unknown keys are errors, values cannot be changed after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_default=True)


def setting(default: Any, text: str, *, unit: str = "", source: str = PRACTICE, **limits: Any) -> Any:
    """A soft setting: its default stands, with its source, and is printed as an assumption where it matters."""
    return Field(default, description=text, json_schema_extra={"unit": unit, "source": source}, **limits)


def hard(assumed: Any, text: str, *, unit: str = "", source: str = "project data", **limits: Any) -> Any:
    """Hard datum: no sensible default.  Left out, `assumed` (invented) is used and every result that rests on it is
    not_checked with the reason assumed:<section>.<key>."""
    return Field(None, description=text, json_schema_extra={"unit": unit, "source": source, "assumed": assumed}, **limits)


def facts(info: FieldInfo) -> dict[str, Any]:
    """unit, source and, for hard data, assumed."""
    extra = info.json_schema_extra
    return dict(extra) if isinstance(extra, dict) else {}


def is_hard(info: FieldInfo) -> bool:
    return "assumed" in facts(info)
