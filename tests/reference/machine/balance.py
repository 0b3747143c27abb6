"""Where a carriage hangs, solved without any of the project's code.

Seven unknowns by scipy.optimize.fsolve: place (x, y), horizontal force H, and for each chain the vertical force V at the
tangent point and the angle beta there. The chain is Irvine's elastic catenary (Cable Structures, 1981, section 1.4)
in its textbook form. For every case one chain is also integrated as a differential equation (scipy solve_ivp,
dx/ds = (H/T)(1 + kT), dy/ds = (V(s)/T)(1 + kT)), which knows no closed form at all.

Writes balance.csv: machine, lengths paid out, place found, tensions. Run: python3 balance.py > balance.csv
"""
import sys
import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import fsolve

G = 9.80665
BASE = dict(spacing=3300.0, height=520.0, tilt=0.0, offset=0.0, length_left=0.0, length_right=0.0, pitch_left=0.0,
            pitch_right=0.0, stretch=0.35, teeth=12, pitch=8.0, leaves="over", chain=0.18, carriage=13.0, lean=12.0,
            sheet_width=2500.0, sheet_height=1250.0)
CASES = {
    "usual": {},
    "faults": dict(spacing=3303.1, height=517.0, tilt=1.7, offset=-2.5, length_left=3.2, length_right=-2.7,
                   pitch_left=0.9, pitch_right=-0.6, stretch=0.8),
    "light": dict(chain=0.05, stretch=0.0),
    "heavy": dict(chain=0.8, stretch=0.2, carriage=14.0),
    "under": dict(leaves="under", teeth=10, pitch=6.35, chain=0.125, tilt=-2.0),
    "big-sprocket": dict(teeth=21, pitch=12.7, chain=0.7, spacing=3600.0, height=700.0, length_right=12.7),
    "inch": dict(spacing=3657.6, height=457.2, sheet_width=2438.4, sheet_height=1219.2, chain=0.3125, pitch=9.525,
                 teeth=9, carriage=10.0, lean=15.0),
}


def solve(m, paid):
    radius = m["pitch"] / (2 * np.sin(np.pi / m["teeth"]))
    tau = m["tilt"] / 1000
    up = m["sheet_height"] / 2 + m["height"]
    axes = [np.array([m["offset"] - m["spacing"] / 2 * np.cos(tau), up - m["spacing"] / 2 * np.sin(tau)]),
            np.array([m["offset"] + m["spacing"] / 2 * np.cos(tau), up + m["spacing"] / 2 * np.sin(tau)])]
    w = m["chain"] * G * np.cos(np.radians(m["lean"])) / 1000
    weight = m["carriage"] * G * np.cos(np.radians(m["lean"]))
    k = m["stretch"] / 1000 / 100
    total = [paid[0] * (1 + m["pitch_left"] / 1000) + m["length_left"],
             paid[1] * (1 + m["pitch_right"] / 1000) + m["length_right"]]

    def span(side, beta):
        wrapped = radius * beta if m["leaves"] == "over" else radius * (np.pi - beta)
        sign = 1 if m["leaves"] == "over" else -1
        inward = 1 if side == 0 else -1
        tangent = axes[side] + sign * radius * np.array([inward * np.sin(beta), np.cos(beta)])
        return tangent, total[side] - wrapped, inward

    def end(side, h, v, beta):
        tangent, s, inward = span(side, beta)
        ve = v - w * s
        x = h / w * (np.arcsinh(v / h) - np.arcsinh(ve / h)) + k * h * s
        y = (np.hypot(h, v) - np.hypot(h, ve)) / w + k * (v * s - w * s * s / 2)
        return tangent + np.array([inward * x, -y]), ve

    def equations(z):
        x, y, h, vl, vr, bl, br = z
        left, lift_l = end(0, h, vl, bl)
        right, lift_r = end(1, h, vr, br)
        return [left[0] - x, left[1] - y, right[0] - x, right[1] - y, (lift_l + lift_r - weight) * 10,
                (np.arctan2(vl, h) - bl) * 1000, (np.arctan2(vr, h) - br) * 1000]

    # start: two circles about the axes
    d = axes[1] - axes[0]
    a = (total[0] ** 2 - total[1] ** 2 + d @ d) / (2 * np.hypot(*d))
    e = d / np.hypot(*d)
    p = axes[0] + a * e + np.sqrt(total[0] ** 2 - a * a) * np.array([e[1], -e[0]])
    bl = np.arctan2(axes[0][1] - p[1], p[0] - axes[0][0])
    br = np.arctan2(axes[1][1] - p[1], axes[1][0] - p[0])
    h = weight / (np.tan(bl) + np.tan(br))
    z, _, flag, why = fsolve(equations, [*p, h, h * np.tan(bl) + 3, h * np.tan(br) + 3, bl, br], xtol=1e-13,
                             full_output=True)
    assert np.max(np.abs(equations(z))) < 1e-7, (why, equations(z))
    x, y, h, vl, vr, bl, br = z
    tangent, s, inward = span(0, bl)

    def slope(t, _):
        v = vl - w * t
        tension = np.hypot(h, v)
        return [h / tension * (1 + k * tension), v / tension * (1 + k * tension)]

    path = solve_ivp(slope, (0, s), [0, 0], rtol=1e-11, atol=1e-9, method="DOP853").y[:, -1]
    assert np.hypot(tangent[0] + inward * path[0] - x, tangent[1] - path[1] - y) < 1e-5
    return x, y, np.hypot(h, vl), np.hypot(h, vr)


print(f"# balance.py, numpy {np.__version__}, scipy {scipy.__version__}; computed, not read from anywhere. mm, N.")
names = ["spacing", "height", "tilt", "offset", "length_left", "length_right", "pitch_left", "pitch_right", "stretch",
         "teeth", "pitch", "leaves", "chain", "carriage", "lean", "sheet_width", "sheet_height"]
print("case," + ",".join(names) + ",paid_left,paid_right,x,y,tension_left,tension_right")
for case, change in CASES.items():
    m = {**BASE, **change}
    up = m["sheet_height"] / 2 + m["height"]
    for fx in (-0.46, 0.0, 0.3, 0.46):
        for fy in (-0.46, 0.1, 0.46):
            x, y = fx * m["sheet_width"], fy * m["sheet_height"]
            extra = 0 if m["leaves"] == "over" else 40.0
            paid = [round(np.hypot(x + BASE["spacing"] / 2, up - y) + 6 + extra, 3),
                    round(np.hypot(x - BASE["spacing"] / 2, up - y) + 6 + extra, 3)]
            if case in ("big-sprocket", "inch"):
                paid = [round(np.hypot(x + m["spacing"] / 2, up - y) + 10, 3),
                        round(np.hypot(x - m["spacing"] / 2, up - y) + 10, 3)]
            found = solve(m, paid)
            print(",".join([case] + [str(m[n]) for n in names] + [str(float(p)) for p in paid]
                           + [f"{v:.9f}" for v in found]))
