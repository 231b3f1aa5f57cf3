"""Quantiles, intervals, limits: NumPy and SciPy against what stands on standard input."""
import json
import sys

import numpy
from scipy import stats


def same(what, found, wanted, within=1e-9):
    if not numpy.allclose(found, wanted, rtol=within, atol=within):
        sys.exit(f"{what}: {found} is not {wanted}")


samples = json.load(sys.stdin)
for one in samples:
    x = numpy.array(one["values"])
    for member, method in (("type6", "weibull"), ("type7", "linear")):
        same(member, one[member], numpy.percentile(x, [25, 50, 75], method=method))
    for member, p in (("median", 0.5), ("upper", 0.75)):
        low, high, coverage = one[member]
        found = stats.quantile_test(x, p=p).confidence_interval(0.95)
        # SciPy knows equal tails only; below 13 cases the upper quartile has none, and its bound is not a number.
        if numpy.isfinite(found.low) and numpy.isfinite(found.high):
            same(member, [low, high], [found.low, found.high])
        order = numpy.sort(x)
        ranks = [int(numpy.searchsorted(order, value)) + 1 for value in (low, high)]
        same(f"{member} coverage", coverage, stats.binom.cdf(ranks[1] - 1, len(x), p) - stats.binom.cdf(ranks[0] - 1, len(x), p))
        if coverage < 0.95:
            sys.exit(f"{member}: covers only {coverage}")
    counts, areas = numpy.array(one["counts"]), numpy.array(one["areas"])
    mean = counts.sum() / areas.sum()
    z = (counts / areas - mean) / numpy.sqrt(mean / areas)
    spread = numpy.abs(numpy.diff(z)).mean() / 1.128
    reach = 3 * spread * numpy.sqrt(mean / areas)
    same("laney", one["laney"], [mean, spread, mean + reach[0], max(0.0, mean - reach[1])])
    moving = 3 * numpy.abs(numpy.diff(x)).mean() / 1.128
    same("individuals", one["individuals"], [x.mean() - moving, x.mean() + moving])
    freedom, t = one["t"]
    same("t", t, stats.t.ppf(0.975, freedom), 1e-4)
print(f"{len(samples)} samples agree")
