"""Makes the figures of a font tabular: points the ten digits at the glyphs of its own `tnum` feature.

The window toolkit cannot switch OpenType features on, and a count that changes width moves what stands beside it.
Nothing else in the font changes. Usage: tabular.py FONT.ttf ... (fonttools 4.x), rewrites each file in place;
running it again changes nothing.
"""

import sys

from fontTools.ttLib import TTFont


def tabular_glyphs(font):
    """Glyph names by their tabular twin, from the lookups of the feature `tnum`."""
    table = font["GSUB"].table
    lookups = {
        index
        for record in table.FeatureList.FeatureRecord
        if record.FeatureTag == "tnum"
        for index in record.Feature.LookupListIndex
    }
    twins = {}
    for index in lookups:
        for subtable in table.LookupList.Lookup[index].SubTable:
            twins.update(getattr(subtable, "ExtSubTable", subtable).mapping)
    return twins


def main(paths):
    for path in paths:
        font = TTFont(path, recalcTimestamp=False)
        twins = tabular_glyphs(font)
        for cmap in font["cmap"].tables:
            for digit in range(ord("0"), ord("9") + 1):
                name = cmap.cmap.get(digit)
                if name in twins:
                    cmap.cmap[digit] = twins[name]
        font.save(path)
        widths = {font["hmtx"][font.getBestCmap()[digit]][0] for digit in range(ord("0"), ord("9") + 1)}
        if len(widths) != 1:
            sys.exit(f"{path}: the figures differ in width: {sorted(widths)}")


main(sys.argv[1:])
