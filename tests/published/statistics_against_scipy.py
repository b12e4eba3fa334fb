#!/usr/bin/python3
"""Compares the tests for dependence and the fit of a generalised Pareto law with Debian's python3-statsmodels (0.13) and
python3-scipy (1.10), implementations by other hands; limits by profile likelihood with their definition, searched by
scipy's general optimiser for constrained problems. Series: two that statsmodels ships (annual flow of the Nile, 1871 to
1970; sunspots of each year, 1700 to 2008), and drawn ones with a fixed seed.

Environment: SERIES_FIGURES, the program that says ours. Exit codes: 0 all agree, 1 something differs or could not be
compared.
"""
import json
import os
import subprocess
import sys

try:
    import numpy as np
    from scipy import optimize, stats
    from statsmodels.datasets import nile, sunspots
    from statsmodels.sandbox.stats.runs import runstest_1samp
    from statsmodels.stats.diagnostic import acorr_ljungbox
    from statsmodels.tsa.stattools import acf
except ImportError as missing:
    print(f"statistics_against_scipy: {missing}; install python3-scipy and python3-statsmodels")
    sys.exit(1)

SEED = 20240611
HALF_CHI_SQUARE_95 = stats.chi2.ppf(0.95, 1) / 2
problems = []
compared = 0


def same(what, ours, theirs, relative, absolute=1e-12):
    global compared
    compared += 1
    if not abs(ours - theirs) <= relative * abs(theirs) + absolute:
        problems.append(f"{what}: ours {ours!r}, theirs {theirs!r}")


def figures(words, numbers):
    run = subprocess.run(
        [os.environ["SERIES_FIGURES"], *words], input="\n".join(numbers), capture_output=True, text=True, timeout=120
    )
    if run.returncode != 0:
        sys.exit(f"statistics_against_scipy: {words[0]} ends with {run.returncode}: {run.stderr.strip()}")
    return json.loads(run.stdout)


def compare_dependence(name, series):
    """`series` in whole nanoseconds."""
    ours = figures(["dependence"], [str(value) for value in series])
    ranks = stats.rankdata(series)
    lags = len(ours["by_lag"])
    theirs = acf(ranks, nlags=lags, fft=False)[1:]
    for lag in range(lags):
        same(f"{name}: rank correlation at lag {lag + 1}", ours["by_lag"][lag], theirs[lag], 1e-9)
    box = acorr_ljungbox(ranks, lags=[lags])
    same(f"{name}: Ljung and Box's Q", ours["q"], float(box["lb_stat"].iloc[0]), 1e-9)
    same(f"{name}: its p", ours["q_p"], float(box["lb_pvalue"].iloc[0]), 1e-8, 1e-14)
    if np.sum(series == np.median(series)) == 0:
        z, _ = runstest_1samp(series, cutoff="median", correction=False)
        same(f"{name}: z of the runs", ours["runs_z"], z, 1e-9)
    if ours["exceedances"] == 0:
        return
    # a places in a row of n form k groups: k of the n - a + 1 gaps, hypergeometric
    late = np.flatnonzero(series > ours["above"])
    n, a = len(series), len(late)
    same(f"{name}: exceedances", ours["exceedances"], a, 0)
    gaps = np.diff(late)
    groups = 1 + int(np.sum(gaps > 1))
    law = stats.hypergeom(n, n - a + 1, a)
    tail = law.sf(groups - 1) if groups > law.mean() else law.cdf(groups)
    same(f"{name}: groups", ours["groups"], groups, 0)
    same(f"{name}: p of the groups", ours["groups_p"], min(1.0, 2 * tail), 1e-7)
    index = 2 * np.sum(gaps - 1.0) ** 2 / (len(gaps) * np.sum((gaps - 1.0) * (gaps - 2.0)))
    same(f"{name}: extremal index", ours["extremal_index"], min(1.0, index), 1e-12)


def log_likelihood(y, shape, scale):
    return float(np.sum(stats.genpareto.logpdf(y, shape, 0, scale))) if scale > 0 else -np.inf


def furthest(y, of, best, goal, sign):
    """The largest (sign 1) or smallest of goal(shape, log scale, log share) that the likelihood leaves possible."""
    m = len(y)
    middle = np.array([best[0], np.log(best[1]), np.log(m / of)])
    error = np.array([1 + abs(best[0]), 1.5, 1.0]) / np.sqrt(m)  # about their standard errors
    most_likely = log_likelihood(y, *best)

    def left(z):
        shape = middle[0] + error[0] * z[0]
        scale, share = np.exp(middle[1:] + error[1:] * z[1:])
        likelihood = log_likelihood(y, shape, scale)
        lost = m * np.log(m / of / share) + (of - m) * np.log((1 - m / of) / (1 - share))
        return HALF_CHI_SQUARE_95 - lost - most_likely + likelihood if np.isfinite(likelihood) else -1e3

    def value(z):
        reached = goal(*(middle + error * z))
        return reached if np.isfinite(reached) else sign * -1e3

    found = []
    for start in ((0, 0, 0), (1, -1, 0), (-1, 1, 0), (0.5, 0.5, 0.5), (-0.5, -0.5, -0.5), (1, -0.5, 1), (-1, 0.5, -1)):
        run = optimize.minimize(
            lambda z: -sign * value(z),
            np.array(start, float),
            bounds=[(-6, 6)] * 3,
            constraints={"type": "ineq", "fun": left},
            method="SLSQP",
            options={"ftol": 1e-10, "maxiter": 300},
        )
        if left(run.x) > -1e-6:
            found.append(value(run.x))
    return sign * max(sign * one for one in found) if found else None


def compare_pareto(name, y, of, heights):
    ours = figures(["pareto", str(of), *[repr(h) for h in heights]], [repr(float(value)) for value in y])
    shape, _, scale = stats.genpareto.fit(y, floc=0)
    # theirs stops at a relative 1e-4 or so; what counts is that ours is no lower
    same(f"{name}: shape", ours["shape"], shape, 1e-3, 1e-3)
    same(f"{name}: scale", ours["scale"], scale, 1e-3)
    best = (ours["shape"], ours["scale"])
    same(f"{name}: log likelihood", ours["log_likelihood"], log_likelihood(y, *best), 1e-10)
    if ours["log_likelihood"] < log_likelihood(y, shape, scale) - 1e-7:
        problems.append(f"{name}: scipy's fit is more likely than ours")
    z = stats.genpareto.cdf(np.sort(y), best[0], 0, best[1])
    n = len(z)
    odd = 2 * np.arange(1, n + 1) - 1
    same(f"{name}: A2", ours["anderson_darling"], -n - np.mean(odd * (np.log(z) + np.log1p(-z[::-1]))), 1e-7)
    theirs = stats.cramervonmises(y, lambda x: stats.genpareto.cdf(x, best[0], 0, best[1])).statistic
    same(f"{name}: W2", ours["cramer_von_mises"], theirs, 1e-7)

    def log_share(height):
        return lambda a, b, c: c + float(stats.genpareto.logsf(height, a, 0, np.exp(b)))

    goals = [("shape", lambda a, b, c: a, ours["shape_range"], 0.0, 2e-3)]
    goals.append(("scale", lambda a, b, c: np.exp(b), ours["scale_range"], 2e-3, 0.0))
    for height, share in zip(heights, ours["shares"]):
        central = n / of * stats.genpareto.sf(height, best[0], 0, best[1])
        same(f"{name}: share above {height}", share[0], central, 1e-6)
        limits = [np.log(limit) if limit > 0 else None for limit in share[1:]]
        goals.append((f"log of the share above {height}", log_share(height), limits, 0.0, 5e-3))
    for what, goal, limits, relative, absolute in goals:
        for side, sign in ((0, -1), (1, 1)):
            if limits[side] is None:
                continue  # past an end that is possible: the limit is 0
            theirs = furthest(y, of, best, goal, sign)
            if theirs is None:
                problems.append(f"{name}: scipy finds no limit of the {what}")
            else:
                same(f"{name}: limit {side} of the {what}", limits[side], theirs, relative, absolute)


def main():
    if not os.environ.get("SERIES_FIGURES"):
        print("statistics_against_scipy: SERIES_FIGURES names no program; set it to the path of the binary")
        return 1
    draws = np.random.default_rng(SEED)
    compare_dependence("Nile", np.asarray(nile.load_pandas().data["volume"]).astype(int))
    compare_dependence("sunspots", np.round(np.asarray(sunspots.load_pandas().data["SUNACTIVITY"]) * 10).astype(int))
    noise = draws.exponential(1e6, 4000)
    compare_dependence("independent", noise.astype(int))
    compare_dependence("moving means", (np.convolve(noise, np.ones(5) / 5, "valid")).astype(int))
    compare_dependence("moving maxima", np.maximum(noise[1:], noise[:-1]).astype(int))
    compare_dependence("rounded", (noise // 200_000).astype(int))
    for shape in (-0.25, 0.0, 0.3, 0.7):
        y = stats.genpareto.rvs(shape, 0, 2.0, size=250, random_state=draws)
        compare_pareto(f"shape {shape}", y, 10_000, [1.0, 4.0, 8.0])
    for problem in problems:
        print(problem)
    print(f"statistics_against_scipy: {compared} values compared, {len(problems)} differ")
    return 1 if problems or compared < 200 else 0


if __name__ == "__main__":
    sys.exit(main())
