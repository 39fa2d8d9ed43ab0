"""Words by which names tell what a thing is, in the languages exporters write; case and accents ignored.

A trailing or leading * lets the word be part of a longer one (Glasscheibe, Alublech).
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache

GLASS = ("glass", "glas", "*glas", "glasscheibe*", "glaspane*", "verglasung*", "glazing", "vetro*", "verre*", "vitrage*", "vidrio*", "vidro*",
         "cristal", "cristales", "acristalad*", "vetrata*", "vitree*", "envidracad*", "szklo", "szklan*", "sklo", "lasi", "klaas", "uveg", "steklo", "стекло", "staklo", "玻璃", "ガラス",
         "esg", "vsg", "tvg", "esg-h", "isolierglas*", "beglazing")
METAL = ("metal*", "metall*", "alu*", "steel*", "stahl*", "*stahl", "*stahlblech", "acier*", "acciaio*", "acero*", "aco", "staal", "*staal",
         "stal", "ocel", "inox*", "edelstahl*", "rvs", "zinc*", "zink*", "zinco", "copper*", "kupfer*", "cuivre*", "rame", "cobre",
         "brass", "messing", "laiton", "ottone", "bronze", "titan*", "blech*", "*blech", "tole*", "lamiera*", "chapa*", "sheet metal", "weathering steel",
         "iron", "eisen", "acm", "acp", "сталь", "алюмин*", "鋼", "钢", "铝")
HONEYCOMB = ("honeycomb*", "wabe*", "*wabe", "*waben*", "nid d'abeille*", "nid-d'abeille*", "nida", "nido d'ape", "nido de abeja", "panal",
             "honingraat*", "alveolar*", "nidabeille*", "plaster miodu", "сотов*", "蜂窝", "ハニカム", "bienenwabe*")
TIMBER = ("timber*", "wood*", "*wood", "holz*", "*holz", "bois", "legno*", "madera*", "madeira*", "hout", "*hout", "drewn*", "drewno", "drevo", "trae",
          "larch", "larche", "laerche*", "meleze", "larice", "cedar*", "zeder*", "oak", "eiche*", "chene", "rovere", "spruce", "fichte*", "pine",
          "kiefer*", "birch*", "plywood*", "sperrholz*", "contreplaque", "osb", "mdf", "дерев*", "木", "clt", "douglas*")
PANEL = ("porcelain*", "porzellan*", "porcelana", "gres", "gres*", "feinsteinzeug*", "steinzeug*", "stoneware", "ceramic*", "keram*", "ceram*",
         "terracotta", "terrakotta*", "terre cuite", "baguette*", "stone", "*stone", "naturstein*", "stein", "*stein", "*steinplatte*", "pierre*", "pietra*", "piedra*", "pedra*",
         "granit*", "limestone*", "kalkstein*", "calcaire*", "calcare*", "caliza*", "travertin*", "slate*", "schiefer*", "ardoise*", "ardesia", "pizarra",
         "marble*", "marmor*", "marbre*", "marmo", "marmol", "sandstein*", "gres des vosges", "basalt*", "gneiss*", "gneis*", "quartz*", "quarz*", "onyx",
         "wood cement*", "wood-cement*", "holzzement*", "cement bonded*", "cement-bonded*", "zementgebunden*", "bois-ciment*", "bois ciment*",
         "madera cemento*", "madera-cemento*", "legno cemento*", "legno-cemento*", "legnocemento*",
         "fibre cement*", "fiber cement*", "fibre-cement*", "faserzement*", "fibrociment*", "fibrocement*", "fibro-ciment*",
         "laminate", "hpl", "compact", "schichtstoff*", "stratifie*", "laminato hpl", "concrete*", "beton*", "*beton", "hormigon*", "calcestruzzo*", "grc",
         "gfrc", "uhpc", "cement board*", "zementplatte*", "agglom*", "sintered*", "gesintert*", "tile*", "fliese*", "carrelage*", "piastrell*",
         "камен*", "гранит*", "керам*", "石", "陶瓷", "muschelkalk*", "jura*", "dolomit*", "tuff*", "porphyr*", "clinker*", "klinker*")
INSULATION = ("insulat*", "isol", "isolation*", "isolant*", "isolamento*", "aislam*", "aislante*", "damm*", "daemm*", "*dammung", "mineral wool*", "mineralwolle*",
              "*wolle", "stone wool", "rock wool", "glass wool", "glasswool", "laine*", "lana de*", "lana di*", "wool", "eps", "xps", "pir", "pur",
              "polystyr*", "polyurethan*", "foam*", "schaum*", "fiberglass batt*", "holzfaser*", "izolac*", "cellulose", "batt", "batts")
MEMBRANE = ("membran*", "unterspannbahn*", "fassadenbahn*", "folie*", "*folie", "foil", "vapor*", "vapour*", "dampf*", "wrb", "breather", "dpm", "dpc", "bitumen*", "bitume", "tpo", "epdm",
            "felt", "vlies*", "pare-pluie", "pare-vapeur", "underlay", "waterproof*", "abdichtung*")
LINING = ("gypsum*", "sheathing*", "gyps*", "gips*", "plasterboard*", "drywall*", "cartongesso*", "yeso*", "gesso", "platre*", "plaster", "plastering",
          "render", "rendering", "putz", "*putz", "enduit*", "stucco", "mortar*", "mortel*", "mortier*", "malta", "mortero*", "scratch coat*", "bond coat*", "screed*",
          "estrich*", "sealant*", "dichtstoff*", "silicone", "silikon*", "joint", "backer rod*", "adhesive*", "kleber*", "paint", "air", "luft", "cavity",
          "luftschicht*", "cast-in-place*", "cast in place*", "in-situ*", "insitu", "in situ", "ortbeton*", "masonry*", "brick*", "ziegel*", "mauerwerk*", "ladrillo*", "mattone",
          "brique*", "backsteinmauer*", "kalksandstein*")
# By name, object type or type name: parts of a facade that are no panels.
PART = {
    "stud": ("stud", "studs", "*stander", "standerwerk*", "ossature"),
    "mullion": ("mullion*", "transom*", "montant*", "pfosten*", "riegel*", "*profil", "profil", "profile*", "purlin*", "montante*"),
    "rail": ("rail", "rails", "girt*", "schiene*", "*schiene", "tragprofil*", "batten*", "latte*", "lath", "lathing", "furring*", "channel", "starter strip*", "strip"),
    "bracket": ("bracket*", "konsole*", "*konsole", "console*", "cleat*", "angle", "winkel*", "equerre*", "staffa*", "support", "supports", "hanger*", "clip", "clips", "klammer*", "shim*"),
    "fastener": ("anchor*", "anker*", "bolt*", "screw*", "schraube*", "vis", "rivet*", "niet*", "fastener*", "fixing*", "fixation*", "dubel*", "nail*", "weld*", "washer*", "nut"),
    "frame": ("frame*", "rahmen*", "*rahmen", "cadre", "telaio", "marco", "window*", "fenster*", "fenetre*", "finestra*", "ventana*", "door*", "tur", "porte", "porta", "puerta",
              "sill*", "fensterbank*"),
    "flashing": ("flashing*", "counterflashing*", "counter-flashing*", "coping*", "attikaabdeckung*", "verwahrung*", "abdeckblech*", "gutter*", "drip*", "closer*"),
    "membrane": ("membrane*", "vapour barrier*", "vapor barrier*", "underlay*", "wrb"),
    "insulation": ("insulation*", "dammung*", "daemmung*", "warmedammung*", "isolation", "isolant"),
    "lining": ("gypsum*", "gipskarton*", "plaster", "mortar*", "render", "sealant*", "scratch coat*", "bond coat*", "backer rod*", "grout*"),
    "service": ("lamp*", "light", "lights", "leuchte*", "luminaire*", "sensor*", "camera*", "sign", "signage", "pipe*", "rohr*", "duct*", "cable*", "lightning*", "socket*", "grille*", "louvre*", "louver*", "downpipe*"),
    "structure": ("column*", "stutze*", "beam*", "trager*", "slab", "decke", "floor*", "ceiling*", "roof*", "wall", "walls", "wand", "mur", "muro", "parete", "pared", "foundation*", "stair*", "deck"),
    "marker": ("origin", "geo-reference", "grid", "axis", "marker", "level"),
    "furniture": ("furniture*", "table", "chair*", "desk", "bed", "planter*", "tree*", "person", "people", "car"),
}
FACADE = ("facade*", "fassade*", "*fassade", "*fassadenplatte", "facciata*", "fachada*", "cladding*", "bekleidung*", "verkleidung*", "bardage*", "rivestimento*",
          "revestimiento*", "rainscreen*", "panel*", "paneel*", "panneau*", "pannello*", "plaque*", "platte*", "*platte*", "lastra*", "losa*", "tile*", "fliese*", "veneer*", "gevelplaat*", "gevel*")

# Words of colour or look behind another word take that word's meaning away: "steel grey granite", "timber look".
_LOOK = re.compile(r"\b[\w-]+[ -](?:gr[ae]y|grau|gris|grigio|blue|blau|bleu|green|grun|brown|braun|white|weiss|black|schwarz|effect|look|optik|dekor|decor|"
                   r"colou?r(?:ed)?|farben|finish|faced finish)\b")
_DIGITS = str.maketrans("123456789", "0" * 9)
_NUMBER = re.compile(r"\d+")
# Fibres and bars inside another material are not what it is.
_INSIDE = re.compile(r"\b(?:glass|steel)[ -]?fib\w+|\bfib\w+ de (?:verre|vidrio|vidro)|\bfibra di vetro|\bfib(?:er|re)[ -]?glass\w*|"
                     r"\b(?:steel|glass)[ -](?:mesh|reinforc\w+)|\b\w*glasfaser")


# What a thin layer is bonded to stands behind one of these, alone or as one of those; a granite on steel rails is a granite.
_CARRIED = re.compile(r"\b(?:on|onto|auf|sur|su|sobre|op|bonded to|laminated to|backed with) (?:an? |thin )?")
SHEET = ("sheet*", "plate*", "backing*", "carrier*", "composite*", "core*", "panel*", "board*", "blech*", "*platte*", "*trager*", "verbund*", "tole*",
         "plaque*", "lamiera*", "chapa*", "pane*", "unit*", "spandrel*", "tile*", "scheibe*")
_HOLDS = re.compile(r"profil|schiene|rahmen|anker|konsol|winkel|konstruktion|structure|frame")
_PHRASE = re.compile(r"[,;/+(|]| (?:with|mit|and|und|avec|et|con|com|y|e|met|en|on|auf|sur|su|sobre|op|under|behind) ")
_BREAK = re.compile(r"[^\w]+")


def plain(text: str) -> str:
    """Lower case, without accents."""
    if text.isascii():
        return text.lower()
    split = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("ł", "l").replace("Ł", "L"))
    return "".join(c for c in split if not unicodedata.combining(c)).casefold()


def words_of(*texts: str | None) -> str:
    """Several names as one plain text; numbers, which tell nothing, all read 0."""
    text = plain(" / ".join(t for t in texts if t))
    if not text.isascii():
        return _NUMBER.sub("0", text)
    text = text.translate(_DIGITS)
    while "00" in text:
        text = text.replace("00", "0")
    return text


def without_looks(text: str) -> str:
    """Without words that only describe: colours, looks, fibres inside."""
    return _LOOK.sub(" ", _INSIDE.sub(" ", text))


def carried_by(text: str, words: tuple[str, ...]) -> bool:
    """Whether a plain text says that its first material is bonded to a sheet of one of these."""
    return any(_sheet_of(text[m.end() :], words) for m in _CARRIED.finditer(text))


def _sheet_of(text: str, words: tuple[str, ...]) -> bool:
    hit = pattern(words).match(text)
    return hit is not None and not _HOLDS.search(text) and _only_sheets(text[hit.end() :])


def last(text: str, words: tuple[str, ...]) -> bool:
    """Whether the first phrase of a plain text ends in one of these: of a compound ("frit glass") the last word is the thing."""
    phrase = _PHRASE.split(text, maxsplit=1)[0]
    hits = list(pattern(words).finditer(phrase))
    return bool(hits) and _only_sheets(" " + phrase[hits[-1].end() :])


def _only_sheets(text: str) -> bool:
    """Nothing follows (the rest of a word apart) but what a sheet is called, and sizes."""
    return all(has(word, SHEET) or word[0].isdigit() or word == "mm" for word in _BREAK.split(text)[1:] if word)


@cache
def pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join(_one(plain(w)) for w in sorted(words, key=lambda w: (-len(w), w))))


def _one(word: str) -> str:
    body = re.escape(word.strip("*"))
    ideographs = bool(re.search(r"[\u3040-\u9fff]", word))
    before = "" if word.startswith("*") or ideographs else r"(?<![0-9])" if word[0].isdigit() else r"(?<![^\W\d_])"
    after = "" if word.endswith("*") or ideographs else r"(?![0-9])" if word[-1].isdigit() else r"(?![^\W\d_])"
    return f"{before}{body}{after}"


@lru_cache(maxsize=1 << 16)
def first(text: str, words: tuple[str, ...]) -> int:
    """Where a word of the list first stands in a plain text; -1 where none does."""
    hit = pattern(words).search(text)
    return hit.start() if hit else -1


def has(text: str, words: tuple[str, ...]) -> bool:
    return first(text, words) >= 0
