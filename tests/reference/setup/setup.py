"""The first set-up by tape, worked out without any of the project's code.

    python3 setup.py make      invents readings for some machines of ../estimate/problems: readings.csv
    python3 setup.py           adjusts them, writes results.csv

All readings of a machine are adjusted together by scipy.optimize.least_squares: its unknowns, the scale of the tape, the
sheet's width and lean, and where each mark and the bit really went. Where the carriage hangs comes from ../estimate/estimate.py
(fsolve on two elastic catenaries). Derivatives are five-point differences, the covariance is the inverse of J'J. "fresh" takes the
readings of spacing, height, tilt and offset in place of what is usual of them; "known" keeps that as observations.
"""
import csv
import sys
from pathlib import Path

import numpy as np
import scipy
from scipy.optimize import least_squares

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "estimate"))
import estimate as machines  # noqa: E402

PROBLEMS = ["usual", "inch", "under", "heavy", "sag-controller"]
STEP = 0.2
# Standard uncertainties of the ends of a tape, mm: common practice, no source.
END = {"width": 0.5, "spacing": 0.5, "top": 1.0, "mark": 0.5, "bit_across": 0.5, "bit_down": 0.5, "links": 1.0}
MARK, LEAN, WIDTH = 0.7, 1.2, 2.3
FREE = ["spacing", "height", "tilt", "offset"]
SIDE = {"left": -1, "right": 1}


def looks(machine):
    """What is taped, in an order that a person might choose: (look, side, depth or rest in mm)."""
    h = machine["sheet"]
    return ([("width", "", 0.0), ("spacing", "", 0.0), ("top", "left", 0.0), ("top", "right", 0.0)]
            + [("mark", side, round(d * h)) for d in (0.1, 0.5, 0.9) for side in ("left", "right")]
            + [("bit_across", "left", 0.0), ("bit_across", "right", 0.0), ("bit_down", "", 0.0),
               ("links", "left", 210.0), ("links", "right", 190.0)])


def hangs(machine, v):
    middle = np.zeros(2)
    start = machines.start_forces(machine, machines.axes(machine, machine["settings"]), middle)
    return machines.landing(machine, v, machines.paid_out(machine, middle), start)[0]


def shown(machine, look, v, p, at, paid):
    """What a tape without noise shows, mm."""
    kind, side, number = look
    tan, half = np.tan(v["tilt"] / 1000), (machine["width"] + p["width"]) / 2
    sign = -SIDE.get(side, 0)
    if kind == "width":
        length = 2 * half
    elif kind == "spacing":
        length = v["spacing"]
    elif kind == "top":
        length = v["height"] + (SIDE[side] * machine["width"] / 2 - v["offset"]) * tan
    elif kind == "mark":
        y = machine["sheet"] / 2 - number
        off = v["offset"] + (v["height"] + number) * tan - p["lean"] * y / 1000 + p[f"mark {number:g}"]
        length = half + sign * off
    elif kind == "bit_across":
        length = half + sign * (at[0] - p["lean"] * at[1] / 1000 + p["bit x"])
    elif kind == "bit_down":
        length = machine["sheet"] / 2 - at[1] - p["bit y"]
    else:
        # Counted, not taped: links of nominal pitch.
        k = 0 if side == "left" else 1
        return paid[k] + (v[f"length_{side}"] - number) / (1 + v[f"pitch_{side}"] / 1000)
    return length * (1 + p["scale"] / 1000)


def problem(name):
    machine, _, _ = machines.read_problem(HERE.parent / "estimate" / "problems" / name)
    return machine, machines.paid_out(machine, np.zeros(2))


def make():
    rng = np.random.default_rng(20261126)
    with (HERE / "readings.csv").open("w") as out:
        print("# setup.py make: invented. side of the machine; depth of a mark below the top edge, or from the last link to the "
              "bit; reading; all mm", file=out)
        print("problem,look,side,number,reading", file=out)
        for name in PROBLEMS:
            machine, paid = problem(name)
            v = {n: e[0] + e[1] * rng.normal() for n, e in machine["expected"].items()}
            v["stretch"] = abs(v["stretch"])
            tape = machine["instruments"][0]
            p = {"scale": tape["scale"] * rng.normal(), "lean": LEAN * rng.normal(), "width": WIDTH * rng.normal(),
                 "bit x": machine["hole"] * rng.normal(), "bit y": machine["hole"] * rng.normal()}
            at = hangs(machine, v)
            for look in looks(machine):
                p.setdefault(f"mark {look[2]:g}", MARK * rng.normal())
                length = shown(machine, look, v, p, at, paid)
                taped = look[2] if look[0] == "links" else length
                read = length + rng.normal() * np.hypot(END[look[0]], np.hypot(tape["a"], tape["b"] * taped / 1000))
                print(f"{name},{look[0]},{look[1]},{look[2]:g},{read:.2f}", file=out)


def solve(name, fresh):
    machine, paid = problem(name)
    with (HERE / "readings.csv").open() as text:
        rows = [r for r in csv.DictReader(line for line in text if not line.startswith("#")) if r["problem"] == name]
    taken = [((r["look"], r["side"], float(r["number"])), float(r["reading"])) for r in rows]
    tape = machine["instruments"][0]
    marks = sorted({look[2] for look, _ in taken if look[0] == "mark"})
    prior = {n: e for n, e in machine["expected"].items() if e[1] > 0}
    prior |= {"scale": (0.0, tape["scale"]), "lean": (0.0, LEAN), "width": (0.0, np.inf)}
    prior |= {f"mark {m:g}": (0.0, MARK) for m in marks}
    prior |= {"bit x": (0.0, machine["hole"]), "bit y": (0.0, machine["hole"])}
    if fresh:
        prior |= {n: (prior[n][0], np.inf) for n in FREE}
    names = list(prior)
    start, u = np.array([prior[n] for n in names]).T
    held = {n: e[0] for n, e in machine["expected"].items() if e[1] == 0}
    noise = np.array([np.hypot(END[look[0]], np.hypot(tape["a"], tape["b"] * (look[2] if look[0] == "links" else read) / 1000))
                      for look, read in taken])

    def residuals(x):
        p = held | dict(zip(names, x))
        at = hangs(machine, p)
        read = [(shown(machine, look, p, p, at, paid) - value) for look, value in taken]
        kept = np.isfinite(u)
        return np.concatenate([np.array(read) / noise, (x - start)[kept] / u[kept]])

    def jacobian(x):
        columns = []
        for k in range(len(x)):
            at = lambda steps: residuals(x + steps * STEP * np.eye(len(x))[k])
            columns.append((8 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12 * STEP))
        return np.array(columns).T

    x = least_squares(residuals, start, jacobian, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15).x
    for _ in range(2):
        x = x - np.linalg.lstsq(jacobian(x), residuals(x), rcond=None)[0]
    inverse = np.linalg.inv(np.linalg.qr(jacobian(x), mode="r"))
    covariance = inverse @ inverse.T
    out = [("chi_square", "", "", float(np.sum(residuals(x) ** 2)))]
    shared = [n for n in names if not n.startswith(("mark", "bit"))]
    out += [("estimate", n, "", x[names.index(n)]) for n in shared]
    unknowns = [n for n in shared if n not in ("lean", "width")]
    out += [("covariance", a, b, covariance[names.index(a), names.index(b)])
            for i, a in enumerate(unknowns) for b in unknowns[:i + 1]]
    return out + [("u", n, "", np.sqrt(covariance[names.index(n), names.index(n)])) for n in ("lean", "width")]


def solve_all():
    with (HERE / "results.csv").open("w") as out:
        print(f"# setup.py, python {sys.version.split()[0]}, numpy {np.__version__}, scipy {scipy.__version__}; computed. "
              "mm, mm/m, mm/m per 100 N.", file=out)
        print("problem,prior,what,a,b,value", file=out)
        for name in PROBLEMS:
            for fresh in (True, False):
                for what, a, b, value in solve(name, fresh):
                    print(f"{name},{'fresh' if fresh else 'known'},{what},{a},{b},{value:.15g}", file=out)
            print(name, file=sys.stderr)


if __name__ == "__main__":
    make() if sys.argv[1:] == ["make"] else solve_all()
