#!/usr/bin/env python3
"""Remakes the page's fonts: TeX Gyre Pagella and Pagella Math, cut down to what the page sets.

Needs the OpenType files (Debian: fonts-texgyre, fonts-texgyre-math) and `pip install fonttools brotli`.
The MATH table is kept: without it browsers cannot place fractions, roots and indices.

    python3 subset.py [DIRECTORY_WITH_tex-gyre_AND_tex-gyre-math]
"""

import copy
import pathlib
import sys

from fontTools import subset

SOURCE = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else "/usr/share/texmf/fonts/opentype/public")
HERE = pathlib.Path(__file__).resolve().parent

GREEK = "U+0391-03A1,U+03A3-03A9,U+03B1-03C9,U+03D1,U+03D5"
LETTERS = "U+0041-005A,U+0061-007A"
QUOTES = "U+00A0,U+2013-2014,U+2018-2019,U+201C-201D,U+2026"
# What is typed, and what words say about formulas: powers, primes, signs.
TEXT = (
    f"U+0020-007E,{QUOTES},{GREEK},U+00B1-00B3,U+00B7,U+00B9,U+00BD,U+00D7,U+2032-2034,U+2070,U+2074-207B,"
    "U+207D-207F,U+2212,U+221A,U+221E,U+2248,U+22C5"
)
# Emphasized words: no signs that only programs use.
EMPHASIS = f"U+0020-0022,U+0026-003F,{LETTERS},{QUOTES},U+2032,U+2212"
# Italic letters, figures and the signs of formulas. Names of functions are set in the text face, which
# draws the same upright letters.
MATH = (
    "U+0020-0021,U+0028-0029,U+002B-002C,U+002E-003E,U+005B,U+005D,U+007B-007D,U+00A0,U+00B1,U+00B7,U+00D7,"
    "U+03C0,U+2026,U+2032-2034,U+2057,U+2061-2062,U+210E,U+2192,U+2212,U+221A,U+221E,U+2248,U+2260,U+2264-2265,"
    "U+22C5,U+22EF,U+25A1,"
    "U+1D434-1D454,U+1D456-1D467,U+1D6FC-1D71B,U+1D6E4-1D6E5,U+1D6E9,U+1D6EC,U+1D6EF,U+1D6F1,U+1D6F4,U+1D6F7-1D6FA"
)
# Only these have forms drawn to be an index, and only these grow tall.
PRIMES = (0x2032, 0x2033, 0x2034, 0x2057)
TALL = tuple(map(ord, "()[]{}|√"))

JOBS = [
    ("tex-gyre/texgyrepagella-regular.otf", "pagella-regular.woff2", TEXT, ["kern"]),
    ("tex-gyre/texgyrepagella-italic.otf", "pagella-italic.woff2", EMPHASIS, ["kern"]),
    ("tex-gyre-math/texgyrepagella-math.otf", "pagella-math.woff2", MATH, ["ssty"]),
]


def without_unused_forms(font):
    """Drops the index forms of all but the primes and the tall and wide forms of all but a few signs:
    two thirds of the font."""
    names = font.getBestCmap()
    primes, tall = ({names[code] for code in codes} for codes in (PRIMES, TALL))
    table = font["GSUB"].table
    for record in table.FeatureList.FeatureRecord:
        if record.FeatureTag == "ssty":
            for index in record.Feature.LookupListIndex:
                for part in table.LookupList.Lookup[index].SubTable:
                    forms = part.alternates if hasattr(part, "alternates") else part.mapping
                    for name in forms.keys() - primes:
                        del forms[name]
    variants = font["MATH"].table.MathVariants
    kept = [
        (name, construction)
        for name, construction in zip(variants.VertGlyphCoverage.glyphs, variants.VertGlyphConstruction)
        if name in tall
    ]
    variants.VertGlyphCoverage.glyphs = [name for name, _ in kept]
    variants.VertGlyphConstruction = [construction for _, construction in kept]
    variants.VertGlyphCount = len(kept)
    variants.HorizGlyphCoverage, variants.HorizGlyphConstruction, variants.HorizGlyphCount = None, [], 0


def for_every_script(font):
    """The font knows its features for the script "math" only, but not every browser shapes formulas
    as that script: the style sheet could not ask for the primes that are drawn to be an index."""
    scripts = font["GSUB"].table.ScriptList
    if all(record.ScriptTag != "DFLT" for record in scripts.ScriptRecord):
        record = copy.deepcopy(next(record for record in scripts.ScriptRecord if record.ScriptTag == "math"))
        record.ScriptTag = "DFLT"
        scripts.ScriptRecord.insert(0, record)
        scripts.ScriptCount = len(scripts.ScriptRecord)


for source, target, unicodes, features in JOBS:
    options = subset.Options()
    options.flavor = "woff2"
    options.layout_features = features
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    options.notdef_outline = True
    options.hinting = False
    options.desubroutinize = True  # smaller once compressed
    options.drop_tables = [table for table in options.drop_tables if table != "MATH"]
    font = subset.load_font(str(SOURCE / source), options)
    if "MATH" in font:
        without_unused_forms(font)
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=subset.parse_unicodes(unicodes))
    cutter.subset(font)
    if "MATH" in font:
        for_every_script(font)
    subset.save_font(font, str(HERE / target), options)
    print(f"{(HERE / target).stat().st_size:>7} {target}")
