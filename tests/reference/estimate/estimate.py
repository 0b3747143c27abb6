"""The estimate of whole cuts, worked out without any of the project's code.

    python3 estimate.py make      writes the problems: for each a cut.toml and a readings.csv under problems/
    python3 estimate.py           solves them, writes results.csv

`make` invents machines and reads them with noise of its own random numbers. Solving reads only the two files of each
problem, as the product does. The model: every hole lands where the carriage hangs (scipy.optimize.fsolve on the
balance of two elastic catenaries in their textbook form: Irvine, Cable Structures, 1981, section 1.4) plus a scatter
of its own. All unknowns (machine, shared scale and zero of every instrument, both scatters of every hole) are
fitted at once by scipy.optimize.least_squares; nothing is eliminated. Derivatives by the machine are
five-point differences of the solved landings. The covariance is the inverse of J'J.
"""
import csv
import sys
import tomllib
from pathlib import Path

import numpy as np
import scipy
from scipy.optimize import fsolve, least_squares

HERE = Path(__file__).parent
G = 9.80665
SLED = ["apart", "above", "mass_above"]
LENGTHS = ["spacing", "height", "offset", "length_left", "length_right", *SLED]
NAMES = ["spacing", "height", "tilt", "offset", "length_left", "length_right", "pitch_left", "pitch_right", "stretch"]
# Step of the differences, mm, mm/m or mm/m per 100 N; the five-point rule leaves its fourth power.
STEP = 0.2
# Directive 2014/32/EU, annex X: the slope b of the permissible error a + b L, mm per m.
CLASS_SLOPE = {"I": 0.1, "II": 0.2, "III": 0.4}


# ------------------------------------------------------------------ the files

def read_problem(folder):
    """Everything in mm."""
    cut = tomllib.loads((folder / "cut.toml").read_text())
    m = cut["machine"]
    mm = 25.4 if m["unit"] == "inch" else 1.0
    grid_mm = 25.4 if cut["unit"] == "inch" else 1.0
    unit_of = lambda name: mm if name in LENGTHS else 1.0
    apart = m["carriage"]["attachment"] == "apart"
    known = NAMES + (SLED if apart else [])
    usual = lambda n: m["settings"].get(n, m["carriage"].get(n, 0.0))
    settings = {n: usual(n) * unit_of(n) for n in known}
    expected = {n: (m["expected"][n].get("value", usual(n)) * unit_of(n), m["expected"][n]["u"] * unit_of(n))
                for n in known}
    instruments = []
    for i in m["instrument"]:
        scale = i.get("scale_u", CLASS_SLOPE[i["class"]] / np.sqrt(3) if "class" in i else 0.0)
        instruments.append(dict(name=i["name"], a=i["random"][0] * mm, b=i["random"][1], scale=scale,
                                zero=i.get("zero_u", 0.0) * mm))
    machine = dict(
        apart=apart, width=m["sheet"]["width"] * mm, sheet=m["sheet"]["height"] * mm, settings=settings, expected=expected,
        sag=m["settings"].get("sag", False), over=m["drive"]["chain_leaves"] == "over",
        radius=m["drive"]["pitch"] * mm / (2 * np.sin(np.pi / m["drive"]["teeth"])),
        chain=m["chain"]["mass"] * G * np.cos(np.radians(m["carriage"]["lean"])) / 1000,
        carriage=m["carriage"]["mass"] * G * np.cos(np.radians(m["carriage"]["lean"])),
        hole=m["scatter"]["hole"] * mm, instruments=instruments)
    p = cut["pattern"]
    middle = np.array(p.get("centre", [0.0, 0.0])) * grid_mm
    step = lambda k, n, size: (k / (n - 1) - 0.5) * size * grid_mm
    at = lambda c, r: middle + [step(c, p["columns"], p["width"]), step(r, p["rows"], p["height"])]
    holes = {f"{chr(65 + c)}{r + 1}": at(c, r) for r in range(p["rows"]) for c in range(p["columns"])}
    if p["key"]:
        holes["KEY"] = at(0.5, 0.5)
    diameter = p["hole_diameter"] * grid_mm
    readings = []
    for row in csv.DictReader((folder / "readings.csv").open()):
        which = [i["name"] for i in instruments].index(row["instrument"] or instruments[0]["name"])
        to_edge = row["from"] in ("left", "right", "top", "bottom")
        rim = (diameter / 2 if to_edge else diameter) * {"": 0, "centre": 0, "inside": 1, "outside": -1}[row["how"]]
        readings.append((row["from"], row["to"], float(row["reading"]) * grid_mm + rim, which))
    return machine, holes, readings


# ------------------------------------------------------------------ the machine

def axes(machine, v):
    tau, half, up = v["tilt"] / 1000, v["spacing"] / 2, machine["sheet"] / 2 + v["height"]
    across, rise = half * np.cos(tau), half * np.sin(tau)
    return np.array([[v["offset"] - across, up - rise], [v["offset"] + across, up + rise]])


def wrapped(machine, beta):
    return machine["radius"] * (beta if machine["over"] else np.pi - beta)


def chain_end(machine, w, k, axis, inward, h, v, total):
    """End of a chain of unstretched length `total` from 12 o'clock, and its pull upwards there."""
    beta = np.arctan2(v, h)
    s = total - wrapped(machine, beta)
    side = machine["radius"] if machine["over"] else -machine["radius"]
    ve = v - w * s
    if w > 0:
        x = h / w * (np.arcsinh(v / h) - np.arcsinh(ve / h)) + k * h * s
        y = (np.hypot(h, v) - np.hypot(h, ve)) / w + k * (v * s - w * s * s / 2)
    else:
        x, y = s * (h / np.hypot(h, v) + k * h), s * (v / np.hypot(h, v) + k * v)
    return np.array([axis[0] + inward * (side * np.sin(beta) + x), axis[1] + side * np.cos(beta) - y]), ve


def plain_length(machine, axis, inward, at):
    dx, dy = inward * (at[0] - axis[0]), axis[1] - at[1]
    d, r = np.hypot(dx, dy), machine["radius"]
    beta = np.arctan2(dy, dx) + (1 if machine["over"] else -1) * np.arcsin(r / d)
    return np.sqrt(d * d - r * r) + wrapped(machine, beta), beta


def solved(equations, start):
    """A root to rounding: fsolve, then Newton steps, since fsolve leaves up to 1e-7 mm."""
    z, _, _, why = fsolve(equations, start, xtol=1e-12, full_output=True)
    for k in range(10):
        here = np.array(equations(z))
        if k >= 2 and np.max(np.abs(here)) < 1e-10:
            break
        step = 1e-5 * np.maximum(1.0, np.abs(z))
        slope = np.array([(np.array(equations(z + d)) - equations(z - d)) / (2 * d.sum()) for d in np.diag(step)]).T
        z = z - np.linalg.solve(slope, here)
    worst = np.max(np.abs(equations(z)))
    assert worst < 1e-10, (why, worst)
    return z


def start_forces(machine, ax, at):
    betas = [plain_length(machine, ax[s], (1, -1)[s], at)[1] for s in (0, 1)]
    h = machine["carriage"] / sum(np.tan(betas))
    return [h, h * np.tan(betas[0]) + 2, h * np.tan(betas[1]) + 2]


def cross(a, b):
    return a[0] * b[1] - a[1] * b[0]


def rotated(t, x, y):
    return np.array([x * np.cos(t) - y * np.sin(t), x * np.sin(t) + y * np.cos(t)])


def sled_equations(machine, v, h, turn, ends):
    """Both chains put the bit at one place, the lifts carry the sled, no moment is left about its left pivot."""
    (left, up_left), (right, up_right) = ends
    to_bit = [rotated(turn, half, -v["above"]) for half in (v["apart"] / 2, -v["apart"] / 2)]
    bits = [left + to_bit[0], right + to_bit[1]]
    to_mass = rotated(turn, v["apart"] / 2, v["mass_above"] - v["above"])
    moment = cross(rotated(turn, v["apart"], 0), [h, up_right]) + cross(to_mass, [0, -machine["carriage"]])
    return bits, (up_left + up_right - machine["carriage"]) * 10, moment / 100


def paid_out_sled(machine, at):
    """As paid_out, for a sled on two pivots: it is reckoned with in balance, the chains as they are believed to be."""
    v = machine["settings"]
    ax, w, k = axes(machine, v), machine["chain"] if machine["sag"] else 0.0, v["stretch"] / 1e5

    def equations(z):
        ends = [chain_end(machine, w, k, ax[s], (1, -1)[s], z[0], z[1 + s], z[3 + s]) for s in (0, 1)]
        bits, lift, moment = sled_equations(machine, v, z[0], z[5], ends)
        return [*(bits[0] - at), *(bits[1] - at), lift, moment]

    level = [at + [(-1, 1)[s] * v["apart"] / 2, v["above"]] for s in (0, 1)]
    plain = [plain_length(machine, ax[s], (1, -1)[s], level[s])[0] for s in (0, 1)]
    return solved(equations, [*start_forces(machine, ax, at), *plain, 0.0])[3:5]


def landing_sled(machine, v, total, start):
    ax, w, k = axes(machine, v), machine["chain"], v["stretch"] / 1e5

    def state(z):
        ends = [chain_end(machine, w, k, ax[s], (1, -1)[s], z[0], z[1 + s], total[s]) for s in (0, 1)]
        return sled_equations(machine, v, z[0], z[3], ends)

    def equations(z):
        bits, lift, moment = state(z)
        return [*(bits[0] - bits[1]), lift, moment]

    z = solved(equations, list(start) if len(start) == 4 else [*start, 0.0])
    bits = state(z)[0]
    return (bits[0] + bits[1]) / 2, z


def paid_out(machine, at):
    """By the controller, with its settings."""
    v = machine["settings"]
    ax = axes(machine, v)
    if machine["apart"]:
        total = paid_out_sled(machine, at)
    elif machine["sag"] or v["stretch"]:
        w, k = machine["chain"] if machine["sag"] else 0.0, v["stretch"] / 1e5

        def equations(z):
            ends = [chain_end(machine, w, k, ax[s], (1, -1)[s], z[0], z[1 + s], z[3 + s]) for s in (0, 1)]
            lift = ends[0][1] + ends[1][1] - machine["carriage"]
            return [*(ends[0][0] - at), *(ends[1][0] - at), lift * 10]

        plain = [plain_length(machine, ax[s], (1, -1)[s], at)[0] for s in (0, 1)]
        total = solved(equations, [*start_forces(machine, ax, at), *plain])[3:]
    else:
        total = [plain_length(machine, ax[s], (1, -1)[s], at)[0] for s in (0, 1)]
    return [(total[0] - v["length_left"]) / (1 + v["pitch_left"] / 1000),
            (total[1] - v["length_right"]) / (1 + v["pitch_right"] / 1000)]


def landing(machine, v, paid, start):
    """Where the carriage hangs; `start` is (H, V left, V right), and is moved along."""
    ax, w, k = axes(machine, v), machine["chain"], v["stretch"] / 1e5
    total = [paid[0] * (1 + v["pitch_left"] / 1000) + v["length_left"],
             paid[1] * (1 + v["pitch_right"] / 1000) + v["length_right"]]
    if machine["apart"]:
        return landing_sled(machine, v, total, start)

    def both(z):
        return [chain_end(machine, w, k, ax[s], (1, -1)[s], z[0], z[1 + s], total[s]) for s in (0, 1)]

    def equations(z):
        (left, up_left), (right, up_right) = both(z)
        return [*(left - right), (up_left + up_right - machine["carriage"]) * 10]

    z = solved(equations, start)
    (left, _), (right, _) = both(z)
    return (left + right) / 2, z


# ------------------------------------------------------------------ the estimate

def solve_problem(folder):
    machine, holes, readings = read_problem(folder)
    ids = list(holes)
    paid = [paid_out(machine, holes[i]) for i in ids]
    forces = [start_forces(machine, axes(machine, machine["settings"]), holes[i]) for i in ids]
    unknowns = list(machine["expected"])
    names = [n for n in unknowns if machine["expected"][n][1] > 0]
    priors = [machine["expected"][n] for n in names]
    for k, i in enumerate(machine["instruments"]):
        if any(r[3] == k for r in readings):
            for kind in ("scale", "zero"):
                if i[kind] > 0:
                    names.append(f"{kind} {i['name']}")
                    priors.append((0.0, i[kind]))
    prior, prior_u = np.array(priors).T
    p, n = len(names), len(ids)
    u = np.array([np.hypot(machine["instruments"][k]["a"], machine["instruments"][k]["b"] * d / 1000)
                  for _, _, d, k in readings])

    def values(phi):
        v = {m: machine["expected"][m][0] for m in unknowns}
        return v | {m: x for m, x in zip(names, phi) if m in unknowns}

    def landings(phi):
        out = np.empty((n, 2))
        for i in range(n):
            out[i], forces[i] = landing(machine, values(phi), paid[i], forces[i])
        return out

    def shared(phi, kind, k):
        name = f"{kind} {machine['instruments'][k]['name']}"
        return (phi[names.index(name)], names.index(name)) if name in names else (0.0, None)

    def edge(name):
        return {"left": (0, 1, machine["width"] / 2), "right": (0, -1, machine["width"] / 2),
                "bottom": (1, 1, machine["sheet"] / 2), "top": (1, -1, machine["sheet"] / 2)}[name]

    def rows(x, by_place=None):
        """Whitened residuals; with the derivatives of the landings by phi also the Jacobian."""
        phi, e = x[:p], x[p:].reshape(n, 2)
        at = landings(phi) + e
        r = np.concatenate([np.zeros(len(readings)), x[p:] / machine["hole"], (phi - prior) / prior_u])
        jac = None
        if by_place is not None:
            jac = np.zeros((len(r), len(x)))
            jac[len(readings):len(readings) + 2 * n, p:] = np.eye(2 * n) / machine["hole"]
            jac[len(readings) + 2 * n:, :p] = np.diag(1 / prior_u)
        for row, (a, b, d, k) in enumerate(readings):
            (s, s_at), (z, z_at) = shared(phi, "scale", k), shared(phi, "zero", k)
            if a in holes:
                i, j = ids.index(a), ids.index(b)
                between = at[i] - at[j]
                length = np.hypot(*between)
                ends = [(i, between / length), (j, -between / length)]
            else:
                axis, sign, half = edge(a)
                i = ids.index(b)
                length = sign * at[i][axis] + half
                direction = np.zeros(2)
                direction[axis] = sign
                ends = [(i, direction)]
            r[row] = (length * (1 + s / 1000) + z - d) / u[row]
            if jac is not None:
                for i, direction in ends:
                    by = direction * (1 + s / 1000) / u[row]
                    jac[row, p + 2 * i:p + 2 * i + 2] += by
                    jac[row, :p] += by @ by_place[i]
                if s_at is not None:
                    jac[row, s_at] = length / 1000 / u[row]
                if z_at is not None:
                    jac[row, z_at] = 1 / u[row]
        return r, jac

    def landings_by_phi(phi):
        by_phi = np.zeros((n, 2, p))
        for k in range(p):
            if names[k] in unknowns:
                at = lambda steps: landings(phi + steps * STEP * np.eye(p)[k])
                by_phi[:, :, k] = (8 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12 * STEP)
        return by_phi

    def jacobian(x):
        return rows(x, landings_by_phi(x[:p]))[1]

    found = least_squares(lambda x: rows(x)[0], np.concatenate([prior, np.zeros(2 * n)]), jacobian, method="lm",
                          xtol=1e-15, ftol=1e-15, gtol=1e-15)
    # Two Gauss-Newton steps more, since least_squares stops on what its sum of squares can show.
    x = found.x
    for _ in range(2):
        jac = jacobian(x)
        x = x - np.linalg.lstsq(jac, rows(x)[0], rcond=None)[0]
    jac = jacobian(x)
    inverse = np.linalg.inv(np.linalg.qr(jac, mode="r"))
    covariance = inverse @ inverse.T
    at = landings(x[:p]) + x[p:].reshape(n, 2)
    by_place = np.hstack([landings_by_phi(x[:p]).reshape(2 * n, p), np.eye(2 * n)])
    place_covariance = by_place @ covariance @ by_place.T
    chi_square = float(np.sum(rows(x)[0] ** 2))
    out = [("chi_square", "", "", chi_square)]
    out += [("estimate", names[i], "", x[i]) for i in range(p)]
    out += [("covariance", names[i], names[j], covariance[i, j]) for i in range(p) for j in range(i + 1)]
    for i, hole in enumerate(ids):
        block = place_covariance[2 * i:2 * i + 2, 2 * i:2 * i + 2]
        out += [("place", hole, "x", at[i][0]), ("place", hole, "y", at[i][1])]
        out += [("place_covariance", hole, "xx", block[0, 0]), ("place_covariance", hole, "xy", block[0, 1]),
                ("place_covariance", hole, "yy", block[1, 1])]
    return out, found.nfev, chi_square, len(readings)


# ------------------------------------------------------------------ invented problems

BASE = """format = 1
date = "2026-11-25"
unit = "{unit}"
[pattern]
columns = {columns}
rows = {rows}
width = {grid[0]}
height = {grid[1]}
hole_diameter = {diameter}
key = true
[machine]
format = 1
name = "{name}"
unit = "{unit}"
[machine.sheet]
width = {sheet[0]}
height = {sheet[1]}
[machine.settings]
spacing = {spacing}
height = {height}
tilt = 0.0
offset = 0.0
length_left = 0.0
length_right = 0.0
pitch_left = 0.0
pitch_right = 0.0
stretch = {set_stretch}
sag = {sag}
[machine.expected]
spacing = {{ u = {u[0]} }}
height = {{ u = {u[1]} }}
tilt = {{ u = 1.0 }}
offset = {{ u = {u[1]} }}
length_left = {{ u = {u[1]} }}
length_right = {{ u = {u[1]} }}
pitch_left = {{ u = 1.0 }}
pitch_right = {{ u = 1.0 }}
stretch = {{ value = 0.35, u = {u_stretch} }}
{expected_sled}[machine.drive]
teeth = {teeth}
pitch = {pitch}
chain_leaves = "{leaves}"
[machine.chain]
mass = {chain}
[machine.carriage]
mass = {carriage}
lean = {lean}
attachment = "{attachment}"
{sled}[machine.controller]
can_set = ["spacing", "height", "length_left", "length_right", "pitch_left", "pitch_right"]
[machine.scatter]
hole = {hole}
[machine.tolerance]
position = {tolerance}
{instruments}"""
TAPE = '[[machine.instrument]]\nname = "tape"\nkind = "tape"\nclass = "{}"\nrandom = [{}, {}]\n'
HOOK = 'zero_u = {}\n'
CALIPER = '[[machine.instrument]]\nname = "caliper"\nkind = "caliper"\nrandom = [0.05, 0.0]\nzero_u = 0.03\n'
USUAL = dict(unit="mm", columns=7, rows=5, grid=(2300.0, 1050.0), diameter=6.0, sheet=(2500.0, 1250.0), spacing=3300.0,
             height=520.0, set_stretch=0.0, sag="false", u=(2.0, 3.0), u_stretch=0.35, teeth=12, pitch=8.0,
             leaves="over", chain=0.18, carriage=13.0, lean=12.0, hole=0.25, tolerance=0.8,
             instruments=TAPE.format("II", 0.3, 0.1), edges=False, caliper=False, count=28, attachment="converging",
             sled="", expected_sled="")
SLED_IS = "apart = 260.0\nabove = 90.0\nmass_above = -15.0\n"
EXPECTED_SLED = "apart = { u = 0.5 }\nabove = { u = 1.0 }\nmass_above = { u = 10.0 }\n"
CASES = {
    "usual": {},
    "inch": dict(unit="inch", grid=(88.0, 40.0), diameter=0.25, sheet=(96.0, 48.0), spacing=130.0, height=20.0,
                 u=(0.08, 0.12), pitch=0.25, chain=0.125, hole=0.01, tolerance=0.032,
                 instruments=TAPE.format("II", 0.012, 0.1)),
    "under": dict(leaves="under", teeth=10, pitch=6.35, chain=0.125, lean=15.0),
    "heavy": dict(chain=0.7, teeth=15, pitch=12.7, spacing=3600.0, height=700.0, carriage=15.0),
    "two-instruments": dict(instruments=TAPE.format("III", 0.4, 0.15) + HOOK.format(0.5) + CALIPER, caliper=True,
                            columns=9, rows=5, grid=(880.0, 400.0), count=30),
    "edges": dict(edges=True, instruments=TAPE.format("I", 0.3, 0.05) + HOOK.format(0.3), count=24),
    "sag-controller": dict(sag="true", set_stretch=0.2, u_stretch=0.2, chain=0.4, edges=True),
    "apart": dict(attachment="apart", sled=SLED_IS, expected_sled=EXPECTED_SLED, chain=0.3, edges=True, count=30),
}


def make():
    rng = np.random.default_rng(20261125)
    for name, change in CASES.items():
        case = {**USUAL, **change, "name": name}
        folder = HERE / "problems" / name
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "cut.toml").write_text(BASE.format(**case))
        (folder / "readings.csv").write_text("from,to,reading,how,instrument,note\n")
        machine, holes, _ = read_problem(folder)
        mm = 25.4 if case["unit"] == "inch" else 1.0
        truth = {n: value + u * rng.normal() for n, (value, u) in machine["expected"].items()}
        truth["stretch"] = abs(truth["stretch"])
        at = {}
        for i, target in holes.items():
            start = start_forces(machine, axes(machine, truth), target)
            at[i] = landing(machine, truth, paid_out(machine, target), start)[0] + machine["hole"] * rng.normal(size=2)
        errors = [(i["scale"] * rng.normal(), i["zero"] * rng.normal()) for i in machine["instruments"]]
        ids = list(holes)
        pairs = [(ids[a], ids[b]) for a in range(len(ids)) for b in range(a + 1, len(ids))]
        long = [q for q in pairs if np.hypot(*(holes[q[0]] - holes[q[1]])) > 350]
        wanted = [(*long[k], "", 0) for k in rng.choice(len(long), case["count"], replace=False)]
        if case["caliper"]:
            short = [q for q in pairs if np.hypot(*(holes[q[0]] - holes[q[1]])) < 130]
            hows = ["", "inside", "outside"]
            wanted += [(*short[k], hows[t % 3], 1) for t, k in enumerate(rng.choice(len(short), 12, replace=False))]
        if case["edges"]:
            last = chr(64 + case["columns"])
            wanted += [(e, i, how, 0) for e, i, how in [
                ("left", "A1", ""), ("left", f"A{case['rows']}", "inside"), ("right", f"{last}1", ""),
                ("top", f"A{case['rows']}", ""), ("top", f"{last}{case['rows']}", "outside"), ("bottom", "D1", "")]]
        lines = ["from,to,reading,how,instrument,note"]
        for a, b, how, k in wanted:
            if a in holes:
                length = np.hypot(*(at[a] - at[b]))
            else:
                axis, sign = {"left": (0, 1), "right": (0, -1), "bottom": (1, 1), "top": (1, -1)}[a]
                length = sign * at[b][axis] + (machine["width"], machine["sheet"])[axis] / 2
            i = machine["instruments"][k]
            read = length * (1 + errors[k][0] / 1000) + errors[k][1] + rng.normal() * np.hypot(i["a"], i["b"] * length / 1000)
            rim = case["diameter"] * mm * (1 if a in holes else 0.5)
            read += {"": 0.0, "inside": -rim, "outside": rim}[how]
            lines.append(f"{a},{b},{read / mm:.{2 if mm == 1.0 else 3}f},{how},{i['name']},")
        (folder / "readings.csv").write_text("\n".join(lines) + "\n")


def solve_all():
    with (HERE / "results.csv").open("w") as out:
        print(f"# estimate.py, python {sys.version.split()[0]}, numpy {np.__version__}, scipy {scipy.__version__}; "
              "computed. mm, mm/m, mm/m per 100 N.", file=out)
        print("problem,what,a,b,value", file=out)
        for name in CASES:
            results, calls, chi_square, readings = solve_problem(HERE / "problems" / name)
            for what, a, b, value in results:
                print(f"{name},{what},{a},{b},{value:.15g}", file=out)
            print(f"{name}: {readings} readings, chi-square {chi_square:.3f}, {calls} calls", file=sys.stderr)


if __name__ == "__main__":
    make() if sys.argv[1:] == ["make"] else solve_all()
