"""One spelling for what people type: blanks, dashes, quotes, and the trade's other words for the columns of a list."""

import re
import unicodedata
from functools import lru_cache

_INVISIBLE = str.maketrans(dict.fromkeys("\u00ad\u200b\u2060\ufeff"))
_STRAIGHT = str.maketrans(
    {c: "-" for c in "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"}
    | {c: "'" for c in "\u2018\u2019\u2032"}
    | {c: '"' for c in "\u201c\u201d\u2033"}
)
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1b\x7f\x80-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
_UNIT_IN_KEY = re.compile(r"([^()\[\]]+)[(\[]([^()\[\]]+)[)\]]")
_NUMBER = re.compile(r"[+-]?[0-9][0-9 .,/]*")
_ARROW = re.compile(r"\s*(?:-*>|=>|→|➔|⟶)\s*")

SYNONYMS: dict[str, dict[str, str]] = {
    table: {word: name for name, words in names.items() for word in words.casefold().split()}
    for table, names in {
        "": {
            "label": "beschriftung libellé etiqueta",
            "note": "notes remark remarks comment comments bemerkung bemerkungen remarque nota",
            "place": "location ort lieu lugar luogo plaats",
            "size": "sizes größe groesse nennweite taille tamaño misura maat dn",
            "length": "länge laenge longueur longitud lunghezza lengte",
            "medium": "fluid-in-pipe",
        },
        "parts": {
            "tag": "tags id ref reference part-no part-number bauteil kennzeichen repère repere etichetta",
            "kind": "kinds part-kind kind-of-part bauart bauteilart genre",
        },
        "connections": {
            "from": "start source-end von de desde da van",
            "to": "end target nach à vers hasta hacia verso naar",
            "run": "route path strang parcours recorrido percorso",
        },
        "states": {"name": "state zustand état estado stato"},
        "accept": {"check": "name finding prüfung contrôle"},
        "fluids": {"fluid": "name medium"},
        "sheet": {"key": "field feld champ campo", "value": "text wert valeur valor valore"},
        "symbols": {"folder": "symbols path ordner dossier carpeta cartella"},
    }.items()
}
"""Other words for keys: "" holds in parts and connections, a table's name in that table."""

TABLES: dict[str, str] = {
    word: name
    for name, words in {
        "sheet": "sheet sheets drawing title-block blatt zeichnung feuille hoja foglio",
        "parts": "parts part parts-list teile teileliste bauteile pièces piezas componenti onderdelen",
        "connections": "connections connection connections-list pipes verbindungen leitungen rohre connexions "
        "conexiones collegamenti verbindingen",
        "states": "states state zustände états estados stati",
        "accept": "accept accepted akzeptiert accepté aceptado accettato",
        "fluids": "fluids fluid medien fluides fluidos fluidi",
        "symbols": "symbols symbole symboles símbolos simboli",
    }.items()
    for word in words.casefold().split()
}
"""Words for the tables of a list, as keys, sheets or files may be named, and the list's own word for each."""


def clean_text(text: str) -> str:
    """A value: invisible characters gone, every run of blanks and line breaks one space, ends trimmed."""
    if text.isascii():
        return " ".join(text.split())
    return " ".join(text.translate(_INVISIBLE).split())


def clean_word(text: str) -> str:
    """A tag, kind, key or stop: as clean_text, and compatibility forms, dashes and curly quotes in their plain form."""
    if text.isascii():
        return " ".join(text.split())
    text = unicodedata.normalize("NFKC", text.translate(_INVISIBLE)).translate(_INVISIBLE).translate(_STRAIGHT)
    return " ".join(unicodedata.normalize("NFKC", text).split())


def hyphened(text: str) -> str:
    """A kind or key: as clean_word, small letters, blanks and underlines as hyphens."""
    return clean_word(clean_word(text).casefold()).replace(" ", "-").replace("_", "-")


@lru_cache(maxsize=4096)
def key_and_unit(text: str, table: str) -> tuple[str, str]:
    """The list's own word for a key, and the unit in brackets after it: "Size (mm)" is ("size", "mm")."""
    bare, unit = text, ""
    if m := _UNIT_IN_KEY.fullmatch(clean_word(text)):
        bare, unit = m[1], m[2].strip()
    key = hyphened(bare).strip("-")
    common = SYNONYMS[""] if table in ("parts", "connections") else {}
    return SYNONYMS.get(table, {}).get(key) or common.get(key, key), unit


def with_unit(text: str, unit: str) -> str:
    """A bare number gets the unit of its column."""
    return f"{text} {unit}" if unit and _NUMBER.fullmatch(text) else text


def stops_of(text: str) -> list[str]:
    """The stops of "A.flow > T1 > B.in"; several kinds of arrow are understood."""
    text = clean_word(text)
    return [stop.strip() for stop in _ARROW.split(text)] if _ARROW.search(text) else [text]


def unprintable(text: str) -> str:
    """The first character that can be neither printed nor stored, or ""."""
    m = _UNPRINTABLE.search(text)
    return m[0] if m else ""
