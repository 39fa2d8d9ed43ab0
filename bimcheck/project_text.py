"""The project file as text: every key with its meaning, unit and source."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from pydantic.fields import FieldInfo

from bimcheck.core.settings import Section, facts, is_hard
from bimcheck.hardware.choose import invented
from bimcheck.hardware.settings import Item
from bimcheck.materials.catalogue import UNKNOWN, generic
from bimcheck.materials.settings import Material
from bimcheck.project import Project

_HEAD = """\
# bimcheck project file.  Lengths in file keys carry their unit.  Delete what you do not change: defaults stand.
# HARD DATA have no sensible default: while they are left out, results that rest on them are not_checked (assumed:...).
# Preliminary design aid: local codes and the engineer of record decide.
"""
_INVENTED = """\
# THIS FILE WAS MADE WITH INVENTED VALUES for trying the tool out: strengths, hardware and site stand for no product and
# no place.  By using it you accept them as data; replace every line marked INVENTED before real work.
"""


def project_text(with_invented: bool) -> str:
    """A complete commented project file; with_invented: hard data filled with the invented values."""
    parts = [_HEAD + (_INVENTED if with_invented else "")]
    for name, info in Project.model_fields.items():
        if isinstance(info.default, Section):
            parts.append("\n".join(_section(name, type(info.default), with_invented)))
    parts += [_rows("materials", Material, {k: v for k, v in generic().items() if k != UNKNOWN}, with_invented),
              _rows("hardware", Item, dict(invented()), with_invented)]
    return "\n".join(parts)


def _section(name: str, model: type[Section], with_invented: bool) -> Iterator[str]:
    yield f"\n[{name}]"
    if model.__doc__:
        yield f"# {model.__doc__.strip().splitlines()[0]}"
    for key, info in model.model_fields.items():
        yield from _key(key, info, with_invented)


def _key(key: str, info: FieldInfo, with_invented: bool) -> Iterator[str]:
    about = facts(info)
    unit = f" [{about['unit']}]" if about.get("unit") else ""
    yield f"# {info.description}{unit} (source: {about.get('source', '')})"
    if is_hard(info):
        line = f"{key} = {_toml(about['assumed'])}"
        yield f"{line}  # INVENTED" if with_invented else f"# {line}  # HARD DATA: state yours"
    elif info.default is None:
        yield f"# {key} ="
    else:
        yield f"{key} = {_toml(info.default)}"


def _rows(section: str, model: type[Section], rows: dict[str, Any], with_invented: bool) -> str:
    lines = [f"\n# [{section}.NAME]: {(model.__doc__ or '').strip().splitlines()[0]}", *_keys_explained(model)]
    for name, row in rows.items():
        text = [f"\n[{section}.{name}]  # INVENTED strengths and sizes", *_values(row)]
        lines += text if with_invented else [f"# {line}" if line else "" for line in "\n".join(text).splitlines()]
    return "\n".join(lines)


def _keys_explained(model: type[Section]) -> Iterator[str]:
    for key, info in model.model_fields.items():
        about = facts(info)
        unit = f" [{about['unit']}]" if about.get("unit") else ""
        yield f"#   {key}{unit}: {info.description} ({about.get('source', '')})"


def _values(row: Section) -> Iterator[str]:
    for key in type(row).model_fields:
        if key in row.model_fields_set:
            value = getattr(row, key)
            if isinstance(value, list) and value and isinstance(value[0], Section):
                yield f"{key} = ["
                yield from (f"  {_inline(v)}," for v in value)
                yield "]"
            else:
                yield f"{key} = {_toml(value)}"


def _inline(row: Section) -> str:
    return "{ " + ", ".join(f"{k} = {_toml(getattr(row, k))}" for k in type(row).model_fields if k in row.model_fields_set) + " }"


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_toml(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {_toml(v)}" for k, v in value.items()) + "}"
    return repr(value)
