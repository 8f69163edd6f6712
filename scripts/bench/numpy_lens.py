#!/usr/bin/python3
"""The five lens formulas on arrays, with numpy, written from the reference page.

It is the general-purpose implementation the Go package is measured against,
and an independent second method: before it times anything it holds itself
against the grid of check values.

  numpy_lens.py                 print nanoseconds of processor time per eye
  numpy_lens.py --against GO    alternate with the Go benchmark, GO being the
                                test binary (go test -c ./calc/lenspower), and
                                print the ratio of the medians
"""
import argparse
import csv
import os
import re
import statistics
import subprocess
import sys
import time

for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np

N = 1336.0  # 1000 n


def power(kc, length, d, vertex, target):
    rc = target / (1 - 0.001 * vertex * target)
    return N / (length - d) - N / (N / (kc + rc) - d)


def refraction(kc, length, d, vertex, p):
    s = N / (N / (N / (length - d) - p) + d)
    rc = s - kc
    return rc / (1 + 0.001 * vertex * rc)


def srkt(al, k, acd, c):
    r = 337.5 / k
    lcor = np.where(al > 24.2, -3.446 + 1.716 * al - 0.0237 * al * al, al)
    cw = -5.41 + 0.58412 * lcor + 0.098 * k
    height = r - np.sqrt(r * r - cw * cw / 4)
    d = height + 0.62467 * c["A"] - 68.747 - 3.336
    return 333 / r, al + 0.65696 - 0.02029 * al, d


def t2(al, k, acd, c):
    r = 337.5 / k
    d = -10.326 + 0.32630 * al + 0.13533 * k + 0.62467 * c["A"] - 68.747 - 3.336
    return 333 / r, al + 0.65696 - 0.02029 * al, d


def holladay1(al, k, acd, c):
    r = 337.5 / k
    rag = np.maximum(r, 7)
    ag = np.minimum(12.5 * al / 23.45, 13.5)
    d = 0.56 + rag - np.sqrt(rag * rag - ag * ag / 4) + c["SF"]
    return 1000 / 3 / r, al + 0.20, d


def hofferq(al, k, acd, c):
    a = np.clip(al, 18.5, 31)
    long = a > 23
    m = np.where(long, -1.0, 1.0)
    g = np.where(long, 23.5, 28.0)
    depth = (c["pACD"] + 0.3 * (a - 23.5) + np.tan(np.radians(k)) ** 2
             + 0.1 * m * (23.5 - a) ** 2 * np.tan(np.radians(0.1 * (g - a) ** 2)) - 0.99166)
    return k, al, depth + 0.05


def haigis(al, k, acd, c):
    r = 337.5 / k
    return 331.5 / r, al, c["a0"] + c["a1"] * acd + c["a2"] * al


METHODS = {"SRK/T": srkt, "T2": t2, "Holladay 1": holladay1, "Hoffer Q": hofferq, "Haigis": haigis}
CONSTANTS = {"A": 118.4, "SF": 1.4499, "pACD": 5.1987, "a0": 1.5269, "a1": 0.4, "a2": 0.1}


def check(path):
    """Hold every ordinary row of the grid to half of its last digit."""
    rows = worst = 0
    for row in csv.DictReader(open(path, encoding="utf-8")):
        name = row["formula"].removesuffix(" double-K")
        if name not in METHODS or row["kind"] == "srkt-outside-domain":
            continue
        c = {k: float(v) for k, v in (x.split("=") for x in row["constants"].split())}
        al, acd = float(row["AL"]), float(row["ACD"] or "nan")
        k = (float(row["K1"]) + float(row["K2"])) / 2
        after = float(row["K_post"] or k)
        kc, length, d = METHODS[name](al, k, acd, c)
        kc *= after / k
        got = [d, power(kc, length, d, 12, 0.0)]
        want = [float(row["lens_position"]), float(row["emmetropic_power"])]
        if row["kind"] == "power-for-target":
            got.append(power(kc, length, d, 12, float(row["predicted_refraction"])))
            want.append(float(row["lens_power"]))
        else:
            got.append(refraction(kc, length, d, 12, float(row["lens_power"])))
            want.append(float(row["predicted_refraction"]))
        worst = max(worst, max(abs(float(a) - b) for a, b in zip(got, want)))
        rows += 1
    if rows < 500 or worst > 0.0005:
        sys.exit(f"numpy_lens: the grid disagrees: {rows} rows, worst {worst:.6f}")
    print(f"grid: {rows} rows, worst difference {worst:.6f}")


def population(n):
    g = np.random.default_rng(1)
    draw = lambda mean, sd, low, high: np.clip(g.normal(mean, sd, n), low, high)
    return (draw(23.5, 1.3, 20, 32), draw(43.8, 1.6, 38, 49), draw(3.1, 0.4, 2, 4.5),
            np.full(n, 12.0), -0.25 * g.integers(0, 9, n))


def run(eyes):
    """Position, emmetropic power, power for the target, nearest lens, its refraction.

    And which rows have no answer, as the Go columns mark them; unlike there
    their numbers are left as they come.
    """
    al, k, acd, vertex, target = eyes
    out = []
    with np.errstate(invalid="ignore"):
        read = (al >= 15) & (al <= 38) & (k >= 25) & (k <= 65) & (vertex >= 8) & (vertex <= 16)
        for method in METHODS.values():
            kc, length, d = method(al, k, acd, CONSTANTS)
            p = power(kc, length, d, vertex, target)
            lens = np.floor(p / 0.5 + 0.5) * 0.5
            ref = refraction(kc, length, d, vertex, lens)
            refused = ~(read & (d > 0) & (d < length) & np.isfinite(p) & np.isfinite(ref))
            out.append((d, power(kc, length, d, vertex, 0.0), p, lens, ref, refused))
    return out


def measure(eyes):
    start = time.process_time()
    run(eyes)
    return (time.process_time() - start) * 1e9 / len(eyes[0])


def measure_go(binary):
    text = subprocess.run([binary, "-test.run", "^$", "-test.bench", "^BenchmarkBulk$/^all$", "-test.benchtime", "10x", "-test.cpu", "1"],
                          capture_output=True, text=True, check=True, env=dict(os.environ, GOMAXPROCS="1")).stdout
    return float(re.search(r"([\d.]+) ns/eye", text).group(1))


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--against", metavar="GO")
    ask.add_argument("--eyes", type=int, default=1_000_000)
    ask.add_argument("--rounds", type=int, default=7)
    ask.add_argument("--grid", default=os.path.join(os.path.dirname(__file__), "../../calc/lenspower/testdata/derived/lens_power_grid.csv"))
    a = ask.parse_args()
    check(a.grid)
    eyes = population(a.eyes)
    run(eyes)  # warm
    ours, theirs = [], []
    for _ in range(a.rounds):
        theirs.append(min(measure(eyes) for _ in range(2)))
        if a.against:
            ours.append(measure_go(a.against))
    n = statistics.median(theirs)
    print(f"numpy {np.__version__}: {n:.1f} ns per eye (median of {a.rounds}, range {min(theirs):.1f} to {max(theirs):.1f})")
    if ours:
        g = statistics.median(ours)
        print(f"go: {g:.1f} ns per eye (median of {a.rounds}, range {min(ours):.1f} to {max(ours):.1f})")
        print(f"ratio {n / g:.2f}")


if __name__ == "__main__":
    main()
