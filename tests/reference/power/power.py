"""Chance that a noncentral chi-square exceeds x: SciPy 1.17.1 and, where its tail is under 1e-10, mpmath 1.4.1's sum.

    python power.py > noncentral-chi-square.csv
"""

import mpmath as mp
from scipy.stats import chi2, ncx2

mp.mp.dps = 40


def exact(x, k, l):
    """Poisson mixture of regularised upper incomplete gamma functions, 40 digits."""
    half = mp.mpf(l) / 2
    term = lambda j: mp.e**-half * half**j / mp.factorial(j) * mp.gammainc(mp.mpf(k) / 2 + j, mp.mpf(x) / 2, mp.inf, regularized=True)
    return float(mp.fsum(term(j) for j in range(int(half + 14 * half**0.5 + 60))))


print("# Chance that chi-square of dof degrees of freedom and noncentrality lambda exceeds x; power.py, SciPy 1.17.1, mpmath 1.4.1")
print("x,dof,lambda,scipy,exact")
for k in (1, 2, 6, 12, 24):
    for level in (0.05, 0.01, 0.001):
        x = float(chi2.isf(level, k))
        for l in (0.01, 1.0, 5.0, 17.0, 40.0, 300.0):
            print(f"{x!r},{k},{l},{float(ncx2.sf(x, k, l))!r},{exact(x, k, l)!r}")
for x, k, l in ((200.0, 6, 5.0), (5.0, 6, 120.0), (1000.0, 3, 900.0)):
    print(f"{x},{k},{l},{float(ncx2.sf(x, k, l))!r},{exact(x, k, l)!r}")
