"""Where a sled with two pivots hangs, solved without any of the project's code.

Eight unknowns by scipy.optimize.fsolve: the bit's place (x, y), the sled's turn t, the horizontal force H, and for each
chain the vertical force V at the tangent point and the angle beta there. Eight equations: each chain ends at its pivot
(the sled's corners rotated by t about the bit), the lifts carry the weight, the moments of all three forces about the
left pivot vanish (vector products, nothing rearranged), and each chain leaves its sprocket along its own pull. The chain
is Irvine's elastic catenary (Cable Structures, 1981, section 1.4) in its textbook form. That the balance found is one
the sled comes back to is checked apart from this, on straight chains: the height of the centre of mass is a minimum
(numerically, over small turns) when the chains keep their lengths.

Writes apart.csv. Run: python3 apart.py > apart.csv
"""
import numpy as np
import scipy
from scipy.optimize import fsolve

G = 9.80665
BASE = dict(spacing=3300.0, height=520.0, tilt=0.0, offset=0.0, length_left=0.0, length_right=0.0, pitch_left=0.0,
            pitch_right=0.0, stretch=0.35, apart=250.0, above=80.0, mass_above=0.0, teeth=12, pitch=8.0, leaves="over",
            chain=0.18, carriage=13.0, lean=12.0, sheet_width=2500.0, sheet_height=1250.0)
CASES = {
    "usual": {},
    "faults": dict(spacing=3303.1, height=517.0, tilt=1.7, offset=-2.5, length_left=3.2, length_right=-2.7,
                   pitch_left=0.9, pitch_right=-0.6, stretch=0.8, apart=251.3, above=78.2, mass_above=-12.0),
    "light": dict(chain=0.05, stretch=0.0),
    "heavy": dict(chain=0.7, stretch=0.2, carriage=14.0, apart=400.0, above=120.0, mass_above=-40.0),
    "below": dict(above=-35.0, mass_above=-60.0, apart=320.0),
    "top-heavy": dict(above=10.0, mass_above=25.0, apart=300.0),
    "under": dict(leaves="under", teeth=10, pitch=6.35, chain=0.125, tilt=-2.0, apart=180.0, above=60.0),
    "narrow": dict(apart=10.0, above=0.0, mass_above=-5.0),
    "inch": dict(spacing=3657.6, height=457.2, sheet_width=2438.4, sheet_height=1219.2, chain=0.3125, pitch=9.525,
                 teeth=9, carriage=10.0, lean=15.0, apart=279.4, above=50.8, mass_above=-25.4),
}


def rotated(t, v):
    return np.array([v[0] * np.cos(t) - v[1] * np.sin(t), v[0] * np.sin(t) + v[1] * np.cos(t)])


def cross(a, b):
    return a[0] * b[1] - a[1] * b[0]


def solve(m, paid, near):
    radius = m["pitch"] / (2 * np.sin(np.pi / m["teeth"]))
    tau = m["tilt"] / 1000
    up = m["sheet_height"] / 2 + m["height"]
    half = m["spacing"] / 2 * np.array([np.cos(tau), np.sin(tau)])
    middle = np.array([m["offset"], up])
    axes = [middle - half, middle + half]
    w = m["chain"] * G * np.cos(np.radians(m["lean"])) / 1000
    weight = m["carriage"] * G * np.cos(np.radians(m["lean"]))
    k = m["stretch"] / 1000 / 100
    total = [paid[0] * (1 + m["pitch_left"] / 1000) + m["length_left"],
             paid[1] * (1 + m["pitch_right"] / 1000) + m["length_right"]]
    pivots = [np.array([-m["apart"] / 2, m["above"]]), np.array([m["apart"] / 2, m["above"]])]
    centre = np.array([0.0, m["mass_above"]])

    def end(side, h, v, beta):
        over = m["leaves"] == "over"
        s = total[side] - radius * (beta if over else np.pi - beta)
        inward = 1 if side == 0 else -1
        tangent = axes[side] + (1 if over else -1) * radius * np.array([inward * np.sin(beta), np.cos(beta)])
        ve = v - w * s
        x = h / w * (np.arcsinh(v / h) - np.arcsinh(ve / h)) + k * h * s
        y = (np.hypot(h, v) - np.hypot(h, ve)) / w + k * (v * s - w * s * s / 2)
        return tangent + np.array([inward * x, -y]), ve

    def equations(z):
        x, y, t, h, vl, vr, bl, br = z
        bit = np.array([x, y])
        left, lift_l = end(0, h, vl, bl)
        right, lift_r = end(1, h, vr, br)
        arms = [rotated(t, p - pivots[0]) for p in (pivots[1], centre)]
        moment = cross(arms[0], [h, lift_r]) + cross(arms[1], [0.0, -weight])
        return [*(left - bit - rotated(t, pivots[0])), *(right - bit - rotated(t, pivots[1])),
                (lift_l + lift_r - weight) * 10, moment / 10,
                (np.arctan2(vl, h) - bl) * 1000, (np.arctan2(vr, h) - br) * 1000]

    bl, br = [np.arctan2(axes[s][1] - near[1] - m["above"], abs(near[0] + pivots[s][0] - axes[s][0])) for s in (0, 1)]
    h = weight / (np.tan(bl) + np.tan(br))
    for t in np.radians([0, 15, -15, 30, -30]):
        z, _, _, why = fsolve(equations, [*near, t, h, h * np.tan(bl) + 3, h * np.tan(br) + 3, bl, br], xtol=1e-13,
                              full_output=True)
        if np.max(np.abs(equations(z))) < 1e-7 and abs(z[2]) < np.pi / 2:
            break
    assert np.max(np.abs(equations(z))) < 1e-7, (m, why, equations(z))
    x, y, t, h, vl, vr, bl, br = z

    # Is it a minimum? Straight chains of the lengths just found, the sled turned a little either way.
    left, right = [np.array([x, y]) + rotated(t, p) for p in pivots]
    reach = [np.hypot(*(left - axes[0])), np.hypot(*(right - axes[1]))]

    def height_of_mass(turn):
        place = fsolve(lambda b: [np.hypot(*(b + rotated(turn, pivots[0]) - axes[0])) - reach[0],
                                  np.hypot(*(b + rotated(turn, pivots[1]) - axes[1])) - reach[1]], [x, y], xtol=1e-13)
        return place[1] + rotated(turn, centre)[1]

    d = 0.02
    assert height_of_mass(t + d) + height_of_mass(t - d) > 2 * height_of_mass(t), (m, paid)
    return x, y, t, np.hypot(h, vl), np.hypot(h, vr)


print(f"# apart.py, numpy {np.__version__}, scipy {scipy.__version__}; computed, not read from anywhere. mm, N, rad.")
names = list(BASE)
print("case," + ",".join(names) + ",paid_left,paid_right,x,y,turn,tension_left,tension_right")
for case, change in CASES.items():
    m = {**BASE, **change}
    up = m["sheet_height"] / 2 + m["height"]
    for fx in (-0.46, 0.0, 0.3, 0.46):
        for fy in (-0.46, 0.1, 0.46):
            x, y = fx * m["sheet_width"], fy * m["sheet_height"]
            extra = 6 if m["leaves"] == "over" else 46.0
            paid = [round(np.hypot(x - m["apart"] / 2 + m["spacing"] / 2, up - y - m["above"]) + extra, 3),
                    round(np.hypot(x + m["apart"] / 2 - m["spacing"] / 2, up - y - m["above"]) + extra, 3)]
            found = solve(m, paid, (x, y))
            print(",".join([case] + [str(m[n]) for n in names] + [str(float(p)) for p in paid]
                           + [f"{v:.9f}" for v in found]))
