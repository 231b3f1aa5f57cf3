"""The learning curve by SciPy's curve_fit, against what stands on standard input."""
import json
import sys

import numpy
from scipy import stats
from scipy.optimize import curve_fit

told = json.load(sys.stdin)
y = numpy.array(told["series"])
n = numpy.arange(len(y), dtype=float)


def curve(x, a, b, c):
    return a + b * numpy.exp(-c * x)


def close(what, found, wanted, within=1e-5):
    if abs(found - wanted) > within * max(1.0, abs(wanted)):
        sys.exit(f"{what}: {found} is not {wanted}")


p, covariance = curve_fit(curve, n, y, p0=[15.0, 10.0, 0.1], xtol=1e-14, ftol=1e-14)
errors = numpy.sqrt(numpy.diag(covariance))
t = stats.t.ppf(0.975, len(y) - 3)
close("plateau", told["plateau"], p[0])
close("fall", told["fall"], p[1])
close("half", told["half"], numpy.log(2) / p[2])
close("plateau interval", told["plateau_half_width"], t * errors[0], 1e-4)
close("fall interval", told["fall_half_width"], t * errors[1], 1e-4)
slope = numpy.array([1.0, numpy.exp(-p[2] * 39), -p[1] * 39 * numpy.exp(-p[2] * 39)])
reach = t * numpy.sqrt(slope @ covariance @ slope)
value = curve(39, *p)
for found, wanted in zip(told["at_40"], [value - reach, value, value + reach]):
    close("the mean at case 40", found, wanted, 1e-4)
print("the curve agrees")
