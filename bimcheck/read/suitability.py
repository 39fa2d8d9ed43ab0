"""What a material's name says about a concealed rear anchor: suited, or out of scope and why.

Panels of glass, metal sheet, honeycomb-backed stone and timber do not take an undercut anchor from the rear; insulation,
membranes and linings are no panels at all.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from fnmatch import fnmatchcase
from typing import NamedTuple

from bimcheck.read.lexicon import MATERIAL, plain

Explicit = Callable[[str, str], bool]

LAYERS = ("insulation", "membrane", "lining")  # kinds that are no panel
_COLOUR = r"(?:gr[ae]y|grau|blue|blau|brown|braun|black|schwarz|red|rot|green|grun|white|weiss|farben|farbig|ton)"
_METALS = r"(?:steel|stahl|zinc|zink|copper|kupfer|bronze|silver|silber|titanium|titan|iron|eisen|metallic|alu|lead|wood|holz|glas)"
_LIKE = r"(?:look|effect|effekt|decor|dekor|optik|finish|imitation|design|coloured|colored|tone)"
_UNLIKE = r"(?:effet|aspect|decor|effetto|aspetto|efecto|imitacion|imitazione|efeito|imitation|couleur|colour|color|colore|farbe|farbton|kleur)"
# Said of a colour, a decor or a reinforcement, not of what the panel is made of.
_ASIDE = re.compile("|".join((
    rf"(?<!\w){_METALS} ?{_COLOUR}(?!\w)", rf"(?<!\w)\w+ {_LIKE}(?!\w)", rf"(?<!\w)\w+(?:optik|dekor|effekt|look)(?!\w)",
    rf"(?<!\w){_UNLIKE} \w+",
    r"glass ?fib(?:re|er)s?(?: reinforced)?", r"fib(?:re|er) ?glass(?: reinforced)", r"glasfaser\w*(?=beton)", r"glasfaser\w*",
    r"fibres? de verre", r"fibra de vidrio|fibra de vidro", r"fibra di vetro", r"glasvezel\w*", r"steel fib(?:re|er)s?", r"stahlfaser\w*",
    r"(?:steel|stahl|alu\w*) (?:rail|rails|profile|profiles|anchor|anchors)")))
# A metal carrier behind a thin face takes no undercut.
_BACKED = re.compile(r"(?<!\w)(?:(?:on|auf|sur|su|sobre|op) (?:alu\w*|steel|stahl\w*|acier|acero|acciaio|staal)"
                     r"|(?:alu\w*|steel) (?:core|backed|backing|carrier|kern|trager))(?! rail| sub| unter| profil)")


class Kind(NamedTuple):
    """name: honeycomb, glass, metal, timber, insulation, membrane, lining, suitable or ''.  word: what gave it away."""

    name: str
    word: str


def kind_of(name: str) -> Kind:
    """What kind of material the name means.

    Honeycomb wins over the stone it carries; insulation over the stone or glass its wool is made of; glass over the
    ceramic printed on it; stone and its like over the metal or timber that names their colour.
    """
    whole = plain(name)
    text = _ASIDE.sub(" ", whole)
    for kind in ("honeycomb", "insulation", "glass"):
        found = MATERIAL[kind].search(text if kind == "glass" else whole)
        if found:
            return Kind(kind, found[0])
    backed = _BACKED.search(text)
    if backed:
        return Kind("metal", backed[0])
    for kind in ("membrane", "lining", "suitable", "metal", "timber"):
        found = MATERIAL[kind].search(text)
        if found:
            return Kind(kind, found[0])
    return Kind("", "")


def is_explicit(globs: Sequence[str]) -> Explicit:
    """Whether one of the project's globs means this very material: the glob matches the name and either holds the
    recognised word in its literal part or does not begin with a wildcard."""
    plain_globs = [(g.casefold(), plain(g.replace("*", " ").replace("?", " "))) for g in globs]

    def explicit(name: str, word: str) -> bool:
        low = name.casefold()
        return any(fnmatchcase(low, glob) and (word in literal or not glob.startswith("*")) for glob, literal in plain_globs)

    return explicit


def out_of_scope(name: str, explicit: Explicit) -> str:
    """Reason why a panel of this material is out of scope; blank where nothing speaks against it."""
    kind = kind_of(name)
    if kind.name in ("", "suitable") or explicit(name, kind.word):
        return ""
    if kind.name in LAYERS:
        return f"not-a-panel:{kind.name} layer ({kind.word})"
    return f"material:{kind.name}"
