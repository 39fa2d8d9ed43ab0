"""Names in several languages, understood by the words of data/words.toml."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from importlib import resources

_TABLE = tomllib.loads(resources.files("bimcheck.read").joinpath("data/words.toml").read_text(encoding="utf-8"))
_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d"})


def plain(text: str) -> str:
    """Lower case, without accents, every run of other characters one blank: 'Grès-cérame 20' -> 'gres cerame 20'."""
    split = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    return " ".join(re.findall(r"[^\W_]+", "".join(c for c in split if not unicodedata.combining(c))))


def _pattern(words: Sequence[str]) -> re.Pattern[str]:
    forms = []
    for word in words:
        core = re.escape(plain(word))
        start = r"\w*" if word.startswith("*") else ""
        end = r"\w*" if word.endswith("*") else ""
        forms.append(rf"{start}{core}{end}")
    return re.compile(rf"(?<!\w)(?:{'|'.join(forms)})(?!\w)")


def _patterns(table: Mapping[str, Sequence[str]]) -> dict[str, re.Pattern[str]]:
    return {kind: _pattern(words) for kind, words in table.items()}


MATERIAL = _patterns(_TABLE["material"])
NAME = _patterns(_TABLE["name"])
_GROUND_NAMES = _pattern(_TABLE["ground"]["names"])
_GROUND_WORDS = _pattern(_TABLE["ground"]["words"])
_NOT_GROUND = re.compile(r"(?<!\w)(?:below|under|lower|unter|sous|basement|foundation|keller|upper|above)(?!\w)")


def is_ground(name: str) -> bool:
    """Whether a storey's name says that it is the ground floor."""
    text = plain(name)
    if _NOT_GROUND.search(text):
        return False
    return bool(_GROUND_WORDS.search(text) or _GROUND_NAMES.fullmatch(text) or re.match(r"00 (?!0)", text))
