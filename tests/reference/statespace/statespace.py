"""State-space estimates worked out elsewhere: writes results.csv.

Three problems by statsmodels' filter and smoother. Two by conditioning the whole joint normal distribution at once with 60
digits (mpmath): one whose initial standard deviations are a million times what the looks leave, and one of the three again,
because statsmodels' smoothed covariances of it are themselves right to 1e-7 only, and are left out.

Python 3.11, numpy 2.4.6, scipy 1.17.1, statsmodels 0.15.0, mpmath 1.4.1:
    python statespace.py > results.csv

Rows: problem, what, step, i, j, value. The problem itself is written with its answer: start mean and covariance (a, P), and
per step F, Q, b, H, z, R. Only elements that are not 0 are written for these; their sizes stand in `size`: (step, m, n).
"""

import mpmath as mp
import numpy as np
import statsmodels.api as sm
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

print("# written by statespace.py; the Nile's flow is that of statsmodels.datasets.nile (Cobb 1978; Durbin and Koopman 2012)")
print("problem,what,step,i,j,value")


def out(problem, what, step, array, all_of_it=True):
    array = np.asarray(array, dtype=float)
    if array.size == 0:
        return
    array = array.reshape(array.shape[0], -1) if array.ndim else array.reshape(1, 1)
    for i in range(array.shape[0]):
        for j in range(array.shape[1]):
            if all_of_it or array[i, j] != 0.0:
                print(f"{problem},{what},{step},{i},{j},{float(array[i, j])!r}")


def describe(name, a, P, steps):
    out(name, "a", 0, a)
    out(name, "P", 0, P, False)
    for t, (F, Q, b, H, z, R) in enumerate(steps):
        print(f"{name},size,{t},{H.shape[0]},{H.shape[1]},0")
        for what, array in [("F", F), ("Q", Q), ("b", b), ("H", H), ("z", z), ("R", R)]:
            out(name, what, t, array, False)


def by_statsmodels(name, a, P, steps, covariances=True):
    """Step t leads to state t. statsmodels starts at the first state as predicted, and its way t leads from t to t + 1."""
    describe(name, a, P, steps)
    n, N = len(a), len(steps)
    m = max(max(s[3].shape[0] for s in steps), 1)
    model = KalmanSmoother(k_endog=m, k_states=n, k_posdef=n)
    z = np.full((N, m), np.nan)
    H = np.zeros((m, n, N))
    R = np.zeros((m, m, N))
    F = np.zeros((n, n, N))
    Q = np.zeros((n, n, N))
    b = np.zeros((n, N))
    for t, (Ft, Qt, bt, Ht, zt, Rt) in enumerate(steps):
        k = Ht.shape[0]
        z[t, :k] = zt
        H[:k, :, t] = Ht
        R[:, :, t] = np.eye(m)
        R[:k, :k, t] = Rt
        if t > 0:
            F[:, :, t - 1], Q[:, :, t - 1], b[:, t - 1] = Ft, Qt, bt
    F[:, :, N - 1] = np.eye(n)
    model.bind(z)
    model["design"], model["obs_cov"], model["transition"] = H, R, F
    model["state_cov"], model["state_intercept"], model["selection"] = Q, b, np.eye(n)
    F0, Q0, b0 = steps[0][:3]
    model.initialize_known(F0 @ a + b0, F0 @ P @ F0.T + Q0)
    r = model.smooth()
    print(f"{name},log_likelihood,0,0,0,{float(np.sum(r.llf_obs))!r}")
    for t in range(N):
        k = steps[t][3].shape[0]
        out(name, "predicted", t, r.predicted_state[:, t])
        out(name, "predicted_covariance", t, r.predicted_state_cov[:, :, t])
        out(name, "filtered", t, r.filtered_state[:, t])
        out(name, "filtered_covariance", t, r.filtered_state_cov[:, :, t])
        if k:
            out(name, "innovation", t, r.forecasts_error[:k, t])
            out(name, "innovation_covariance", t, r.forecasts_error_cov[:k, :k, t])
        out(name, "smoothed", t, r.smoothed_state[:, t])
        if covariances:
            out(name, "smoothed_covariance", t, r.smoothed_state_cov[:, :, t])
        if covariances and t + 1 < N:
            # Cov(state t + 1, state t | all).
            out(name, "lag_one", t + 1, r.smoothed_state_autocov[:, :, t])


def by_conditioning(name, a, P, steps):
    """The joint distribution of all states and looks, conditioned on the looks, in 60 digits."""
    describe(name, a, P, steps)
    mp.mp.dps = 60
    M = lambda x: mp.matrix(np.atleast_2d(np.asarray(x, dtype=float)).tolist())
    col = lambda x: mp.matrix([mp.mpf(float(v)) for v in x])
    n, N = len(a), len(steps)
    # All states as A xi + c, xi independent blocks: start, w_0, w_1 ...
    cov_xi = mp.zeros(n * (N + 1))
    cov_xi[0:n, 0:n] = M(P)
    A, c = mp.zeros(n * N, n * (N + 1)), mp.zeros(n * N, 1)
    row, mean = mp.zeros(n, n * (N + 1)), col(a)
    row[0:n, 0:n] = mp.eye(n)
    for t, (F, Q, b, *_) in enumerate(steps):
        cov_xi[n * (t + 1):n * (t + 2), n * (t + 1):n * (t + 2)] = M(Q)
        row = M(F) * row
        for i in range(n):
            row[i, n * (t + 1) + i] += 1
        mean = M(F) * mean + col(b)
        A[n * t:n * (t + 1), :] = row
        c[n * t:n * (t + 1), 0] = mean
    S = A * cov_xi * A.T

    def conditioned(last):
        """Means and covariance of all states from the looks of steps 0 to last."""
        H = [(t, M(s[3]), col(s[4]), M(s[5])) for t, s in enumerate(steps[:last + 1]) if s[3].shape[0]]
        m = sum(h.rows for _, h, _, _ in H)
        big, z, R = mp.zeros(m, n * N), mp.zeros(m, 1), mp.zeros(m)
        at = 0
        for t, h, v, r in H:
            k = h.rows
            big[at:at + k, n * t:n * (t + 1)] = h
            z[at:at + k, 0] = v
            R[at:at + k, at:at + k] = r
            at += k
        SH = S * big.T
        V = big * SH + R
        gain = SH * mp.inverse(V)
        return c + gain * (z - big * c), S - gain * SH.T, V, z - big * c

    number = lambda m: np.array(m.tolist(), dtype=float)
    for t in range(N):
        x, C, V, v = conditioned(t)
        part = slice(n * t, n * (t + 1))
        out(name, "filtered", t, number(x[part, 0]))
        out(name, "filtered_covariance", t, number(C[part, part]))
    log_likelihood = -(v.rows * mp.log(2 * mp.pi) + mp.log(mp.det(V)) + (v.T * mp.inverse(V) * v)[0, 0]) / 2
    print(f"{name},log_likelihood,0,0,0,{float(log_likelihood)!r}")
    for t in range(N):
        part = slice(n * t, n * (t + 1))
        out(name, "smoothed", t, number(x[part, 0]))
        out(name, "smoothed_covariance", t, number(C[part, part]))
        if t:
            out(name, "lag_one", t, number(C[part, slice(n * (t - 1), n * t)]))


def nile():
    flow = sm.datasets.nile.load_pandas().data["volume"].to_numpy()
    one = np.eye(1)
    # Durbin and Koopman 2012, section 2.2: variances 15099 and 1469.1, start N(0, 1e7).
    steps = [(one, one * (1469.1 if t else 0.0), np.zeros(1), one, flow[t:t + 1], one * 15099.0) for t in range(100)]
    by_statsmodels("nile", np.zeros(1), one * 1e7, steps)


def trend(rng):
    """A level and its slope, looked at irregularly, sometimes not at all."""
    level, slope, steps = 2.0, 0.01, []
    for t in range(30):
        days = float(rng.integers(5, 60)) if t else 0.0
        F = np.array([[1.0, days], [0.0, 1.0]])
        q = 1e-6
        Q = q * np.array([[days**3 / 3, days**2 / 2], [days**2 / 2, days]])
        slope += rng.normal() * np.sqrt(q * days)
        level += days * slope
        seen = 0 if t in (4, 5, 17) else 1
        H = np.array([[1.0, 0.0]])[:seen]
        z = np.array([level + 0.3 * rng.normal()])[:seen]
        steps.append((F, Q, np.zeros(2), H, z, 0.09 * np.eye(seen)))
    by_statsmodels("trend", np.array([0.0, 0.0]), np.diag([100.0, 1.0]), steps, covariances=False)
    by_conditioning("exact", np.array([0.0, 0.0]), np.diag([100.0, 1.0]), steps)


def reset(rng):
    """Four states, one of them constant and one replaced twice; rows that change, with noise that is correlated."""
    n, steps = 4, []
    a = np.array([0.0, 1.0, -1.0, 0.5])
    P = np.diag([4.0, 1.0, 9.0, 0.25])
    P[0, 2] = P[2, 0] = 3.0
    x = rng.multivariate_normal(a, P)
    for t in range(25):
        F, Q, b = np.eye(n), np.diag([0.02, 0.0, 0.1, 0.01]), np.zeros(n)
        F[0, 3] = 0.5
        if t in (9, 16):
            F[2, :] = 0.0
            Q[2, 2] = 25.0
            b[2] = 1.5
        if t == 12:
            b[0] = -3.0
        x = F @ x + b + np.sqrt(np.diag(Q)) * rng.normal(size=n)
        m = int(rng.integers(0, 6))
        H = rng.normal(size=(m, n))
        L = np.tril(rng.normal(size=(m, m))) * 0.3 + 0.5 * np.eye(m)
        R = L @ L.T
        steps.append((F, Q, b, H, H @ x + L @ rng.normal(size=m), R))
    by_statsmodels("reset", a, P, steps)


def huge(rng):
    """Nothing known at the start: standard deviations of a million, looks of one."""
    n, steps = 3, []
    x = np.array([3.0, -2.0, 0.1])
    for t in range(8):
        F = np.eye(n)
        F[0, 2] = 1.0 if t else 0.0
        Q = np.diag([0.01, 0.04, 0.0]) if t else np.zeros((n, n))
        x = F @ x + np.sqrt(np.diag(Q)) * rng.normal(size=n)
        H = np.round(rng.normal(size=(1 + t % 2, n)), 2)
        steps.append((F, Q, np.zeros(n), H, H @ x + rng.normal(size=H.shape[0]), np.eye(H.shape[0])))
    by_conditioning("huge", np.zeros(n), 1e12 * np.eye(n), steps)


nile()
rng = np.random.default_rng(20)
trend(rng)
reset(rng)
huge(rng)
