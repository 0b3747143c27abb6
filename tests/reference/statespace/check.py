"""A state-space model with everything tautgrid's months need: drift, a value that is set free, steps without
observation, rows and noise that change. Filtered and smoothed by statsmodels; prints results.csv.

Run with Python 3.11, numpy 2.4.6, statsmodels 0.15.0 (which printed results.csv).
"""
import numpy as np
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

N, M, STEPS = 3, 2, 12


def step(k):
    days = 1.0 + 0.5 * (k % 3) if k else 0.0
    f = np.array([[1.0, days, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    q = np.diag([0.04 * days, 1e-4 * days, 0.0])
    b = np.zeros(N)
    if k == 5:  # the first state begins anew
        f[0] = 0.0
        b[0] = 2.0
        q[0, 0] = 9.0
    if k == 8:  # the third may have moved
        q[2, 2] += 4.0
    h = np.array([[1.0, 0.0, np.cos(0.7 * k)], [0.3, 0.0, 1.0 + 0.1 * k]])
    r = np.array([[0.25, 0.05], [0.05, 0.5 + 0.02 * k]])
    z = np.array([np.sin(0.9 * k) + 0.2 * k, 1.5 + np.cos(1.3 * k)])
    seen = k not in (3, 9)
    return f, q, b, h, r, z, seen


mean0 = np.array([0.5, 0.1, -0.3])
cov0 = np.array([[4.0, 0.2, 0.5], [0.2, 0.09, 0.0], [0.5, 0.0, 2.25]])
s = [step(k) for k in range(STEPS)]
kf = KalmanSmoother(k_endog=M, k_states=N, k_posdef=N)
nxt = s[1:] + [s[-1]]
kf.bind(np.array([x[5] if x[6] else [np.nan, np.nan] for x in s]).T.copy(order="F"))
kf["design"] = np.stack([x[3] for x in s], axis=2)
kf["obs_cov"] = np.stack([x[4] for x in s], axis=2)
kf["transition"] = np.stack([x[0] for x in nxt], axis=2)
kf["state_intercept"] = np.stack([x[2] for x in nxt], axis=1)
kf["selection"] = np.eye(N)
kf["state_cov"] = np.stack([x[1] for x in nxt], axis=2)
kf.initialize_known(s[0][0] @ mean0 + s[0][2], s[0][0] @ cov0 @ s[0][0].T + s[0][1])
out = kf.smooth()
print("# printed by check.py: statsmodels, each step's filtered and smoothed means and covariances; last line: log likelihood")
print("kind,step,m0,m1,m2,c00,c01,c02,c11,c12,c22")
for kind, mean, cov in (
    ("filtered", out.filtered_state, out.filtered_state_cov),
    ("smoothed", out.smoothed_state, out.smoothed_state_cov),
):
    for k in range(STEPS):
        c = cov[:, :, k]
        row = [*mean[:, k], c[0, 0], c[0, 1], c[0, 2], c[1, 1], c[1, 2], c[2, 2]]
        print(f"{kind},{k}," + ",".join(f"{v:.15g}" for v in row))
print(f"likelihood,{STEPS},{out.llf_obs.sum():.15g},0,0,0,0,0,0,0,0")
