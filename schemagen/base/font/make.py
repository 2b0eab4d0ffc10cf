"""Makes the two font files and advances.json beside this script. For developers; needs fonttools and the two sources.

    python make.py DejaVuSansCondensed.ttf DejaVuSansCondensed-Bold.ttf

Layout features are left out, so that the width of a text is the plain sum of its advances in every renderer. The
licence (LICENCE.txt) allows changed copies under a name of their own; ours is "Plan".
"""

import json
import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

HERE = Path(__file__).resolve().parent
FAMILY = "Plan"
LETTERS = [*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x300, 0x30D), 0x218, 0x219, 0x21A, 0x21B]
GREEK = [c for c in range(0x391, 0x3CA) if c != 0x3A2]
SIGNS = (
    "–—‘’‚“”„†•…‰′″‹›⁄€№™Ω℃"
    "⅓⅔⅛⅜⅝⅞←↑→↓↔↕⇄⇒∂∅∆∑−√∞∫≈≠≤≥⌀"
    "■□▲△▶▷▼▽◀◆◇○●◯☐☑☒⚠✓✔✗✘⁰⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉"
)


def subset(source: Path, style: str) -> TTFont:
    options = Options(layout_features=[], hinting=False, name_IDs=[0, 13, 14], notdef_outline=True)
    font = TTFont(source, recalcTimestamp=False)
    options.drop_tables += ["FFTM", "GDEF", "GPOS", "GSUB", "MATH"]
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=[*LETTERS, *GREEK, *map(ord, SIGNS)])
    subsetter.subset(font)
    full = f"{FAMILY} {style}"
    names = {1: FAMILY, 2: style, 3: full, 4: full, 6: full.replace(" ", "-"), 16: FAMILY, 17: style}
    for name_id, text in names.items():
        font["name"].setName(text, name_id, 3, 1, 0x409)
    font["head"].macStyle = int(style == "Bold")
    return font


def advances(font: TTFont) -> dict[str, int]:
    """Advance of every character in units per em, keyed by hexadecimal code point."""
    return {f"{code:x}": font["hmtx"][glyph][0] for code, glyph in sorted(font.getBestCmap().items())}


def main(regular: str, bold: str) -> None:
    table = {}
    for source, style in ((regular, "Regular"), (bold, "Bold")):
        font = subset(Path(source), style)
        font.save(HERE / f"plan-{style.lower()}.ttf")
        table[style.lower()] = advances(font)
        table["em"] = font["head"].unitsPerEm
    (HERE / "advances.json").write_text(json.dumps(table, sort_keys=True, indent=0), encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
