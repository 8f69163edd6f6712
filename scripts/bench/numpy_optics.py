#!/usr/bin/python3
"""Rays, drawn eyes and blurred pictures with numpy on whole arrays, written
from the reference page: what the Go packages are measured against. The rays
are held against two rows of the table of check values before they are timed.

Prints the least processor time of three rounds of each.
"""
import os
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np

NAVARRO = [(7.72, -0.26, 0.0, 1.376), (6.5, 0.0, 0.55, 1.3374), (10.2, -3.1316, 3.6, 1.42), (-6.0, -1.0, 7.6, 1.336)]


def trace(p, d):
    """p, d: 3 by n arrays; conics of revolution; returns place and direction."""
    n1 = 1.0
    for r, q, z0, n2 in NAVARRO:
        x, y, z = p[0], p[1], p[2] - z0
        a = d[0] ** 2 + d[1] ** 2 + (1 + q) * d[2] ** 2
        b = d[0] * x + d[1] * y + (1 + q) * d[2] * z - r * d[2]
        c = x * x + y * y + (1 + q) * z * z - 2 * r * z
        root = -b + np.where(b < 0, 1, -1) * np.sqrt(b * b - a * c)
        t = c / root
        p = p + t * d
        normal = np.stack([-p[0] / r, -p[1] / r, 1 - (1 + q) * (p[2] - z0) / r])
        normal /= np.sqrt((normal ** 2).sum(0))
        mu = n1 / n2
        cos = (d * normal).sum(0)
        d = mu * d + (np.sqrt(1 - mu * mu * (1 - cos * cos)) - mu * cos) * normal
        n1 = n2
    return p, d


def least(f, rounds=3):
    best = float("inf")
    for _ in range(rounds):
        start = time.process_time()
        f()
        best = min(best, time.process_time() - start)
    return best


def thin(length, cornea, position, p):
    s = 1336 / (1336 / (1336 / (length - position) - p) + position)
    rc = s - cornea
    return rc / (1 + 0.012 * rc)


def draws():
    g = np.random.default_rng(1)
    n = 20000
    length = 23.45 + 0.025 * g.standard_normal(n)
    cornea = (43.5 + 0.2 * g.standard_normal(n)) * 331.5 / 337.5
    move = 0.3 * g.standard_normal(n)
    p = 21.553 + 0.4 * (2 * g.random(n) - 1)
    more = 0.27 * g.standard_normal(n)
    return [thin(length, cornea, 4.8 + 0.1 * i + move, p) + more for i in range(6)]


def blur():
    n, light, pixel = 512, 0.555e-3, 0.375 * np.pi / 180 / 60
    dx = light / (n * pixel)
    x = (np.arange(n) - n // 2) * dx / 1.5
    xx, yy = np.meshgrid(x, x)
    rho2 = xx * xx + yy * yy
    wave = 2 * np.pi / 0.555 * (0.5 * rho2 + 0.1 * (xx * xx - yy * yy))
    pupil = np.where(rho2 <= 1, np.exp(1j * wave), 0)
    spread = np.abs(np.fft.fft2(pupil)) ** 2
    spread /= spread.sum()
    return np.fft.ifft2(np.fft.fft2(PICTURE) * np.fft.fft2(np.fft.fftshift(spread))).real


PICTURE = (np.arange(512 * 512) % 7).astype(float).reshape(512, 512)

if __name__ == "__main__":
    n = 200000
    p = np.zeros((3, n))
    p[1], p[2] = np.linspace(0.5, 3.0, n), -1
    d = np.zeros((3, n))
    d[2] = 1
    end, way = trace(p, d)
    for at in (0, n - 1):  # the marginal rays of the table cross the axis at these places
        cross = end[2, at] - end[1, at] / way[1, at] * way[2, at]
        want = {0: 23.992244, n - 1: 23.508248}[at]
        if abs(cross - want) > 2e-5:
            raise SystemExit(f"ray {at} crosses at {cross}, the table says {want}")
    print(f"numpy ray: {1e9 * least(lambda: trace(p, d)) / n:.0f} ns")
    print(f"numpy draws: {1e3 * least(draws):.2f} ms")
    print(f"numpy blur: {1e3 * least(blur):.1f} ms")
