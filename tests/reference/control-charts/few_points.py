"""How often charts with limits from few points call when nothing changes: writes few-points.csv.

Normal points of variance 1. The limits are those of the handbook: centre = mean, sigma = mean moving range x sqrt(pi)/2, 3 sigma for
single points, 2.962 sigma sqrt(v_k) for the average of weight 0.2. Up to 7 points sigma is known, and the points are
allowed for as part of their own centre.

self_*: the points judge themselves; chance that any is called on, by a single point, by the average, by either.
next20_*, next100_*: limits of these points kept for new points; chance of a call within 20 and within 100 of them.

Python 3.11, numpy 2.4.6:
    python few_points.py > few-points.csv
"""

import numpy as np

W, L, CHARTS = 0.2, 2.962, 400_000
rng = np.random.default_rng(20261126)


def limits(x, known):
    n = x.shape[1]
    if known:
        return x.mean(1), np.full(len(x), np.sqrt(1 - 1 / n)), np.ones(len(x))
    s = np.abs(np.diff(x, axis=1)).mean(1) * np.sqrt(np.pi) / 2
    return x.mean(1), s, s


def by_themselves(n):
    x = rng.standard_normal((CHARTS, n))
    c, s, average_s = limits(x, n < 8)
    single = (np.abs(x - c[:, None]) > 3 * s[:, None]).any(1)
    z, v, given = c.copy(), 0.0, 0.0
    average = np.zeros(CHARTS, bool)
    for k in range(n):
        z = W * x[:, k] + (1 - W) * z
        v = W * W + (1 - W) ** 2 * v
        given = W + (1 - W) * given
        left = v - (given * given / n if n < 8 else 0.0)
        average |= np.abs(z - c) > L * np.sqrt(left) * average_s
    return single.mean(), average.mean(), (single | average).mean()


def for_new_ones(n):
    x = rng.standard_normal((CHARTS // 4, n))
    c, s, _ = limits(x, False)
    z, v = c.copy(), 0.0
    called = np.zeros((2, len(x)), bool)
    out = []
    for t in range(1, 101):
        new = rng.standard_normal(len(x))
        z = W * new + (1 - W) * z
        v = W * W + (1 - W) ** 2 * v
        called[0] |= np.abs(new - c) > 3 * s
        called[1] |= np.abs(z - c) > L * s * np.sqrt(v)
        if t in (20, 100):
            out.append(called.mean(1))
    return out


print("# written by few_points.py")
print("points,self_single,self_average,self_either,next20_single,next20_average,next100_single,next100_average")
for n in [2, 3, 4, 5, 6, 7, 8, 12, 20, 30, 50]:
    row = [f"{p:.4f}" for p in by_themselves(n)]
    if n >= 8:
        row += [f"{p:.4f}" for pair in for_new_ones(n) for p in pair]
    print(",".join([str(n), *row]) + "," * (7 - len(row)))
