#!/usr/bin/env python3
"""Lens power by a second implementation, for testdata/derived/lens_power.txt.

Written from the printed closed forms of the methods (each solves the whole eye
in one fraction), not from the Go code, which sends light through one common
vergence engine. Both take the same regressions for the lens position, from
memory: this proves the algebra and the coding, not the coefficients.

    lens_power.py            writes the file
    lens_power.py --check    recomputes it and compares, exit 1 when it differs
"""
import math
import os
import random
import sys

FILE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "testdata", "derived", "lens_power.txt")
V, NA = 12.0, 1.336  # vertex distance in mm; index of aqueous and vitreous


def srk_t_height(al, k):
    """Corneal height of Retzlaff, Sanders and Kraff 1990, None where its root fails."""
    r = 337.5 / k
    lcor = al if al <= 24.2 else -3.446 + 1.716 * al - 0.0237 * al * al
    width = -5.41 + 0.58412 * lcor + 0.098 * k
    root = r * r - width * width / 4
    return None if root < 0 else r - math.sqrt(root)


def t2_height(al, k):
    """Corneal height of Sheard, Smith and Cooke 2010."""
    return -10.326 + 0.32630 * al + 0.13533 * k


class ClosedForm:
    """The fraction that SRK/T, T2 and Holladay 1 share: corneal index nc, optical
    length l, lens position d, radius r."""

    def __init__(self, nc, l, d, r):
        self.l, self.d, self.r = l, d, r
        self.x, self.y = NA * r - (nc - 1) * l, NA * r - (nc - 1) * d

    def power(self, ref):
        top = self.x - 0.001 * ref * (V * self.x + self.l * self.r)
        return 1000 * NA * top / ((self.l - self.d) * (self.y - 0.001 * ref * (V * self.y + self.d * self.r)))

    def refraction(self, p):
        gap = self.l - self.d
        top = 1000 * NA * self.x - p * gap * self.y
        return top / (NA * (V * self.x + self.l * self.r) - 0.001 * p * gap * (V * self.y + self.d * self.r))


def srk_family(al, k, a, height):
    h = height(al, k)
    if h is None:
        return None
    d = h + 0.62467 * a - 68.747 - 3.336
    return ClosedForm(1.333, al + 0.65696 - 0.02029 * al, d, 337.5 / k)


def holladay_1(al, k, sf):
    r = 337.5 / k
    rag, ag = max(r, 7.0), min(12.5 * al / 23.45, 13.5)
    d = 0.56 + rag - math.sqrt(rag * rag - ag * ag / 4) + sf
    return ClosedForm(4 / 3, al + 0.20, d, r)


class HofferQ:
    """Hoffer 1993 as corrected; both tangents take degrees."""

    def __init__(self, al, k, pacd):
        a = min(max(al, 18.5), 31.0)
        m, g = (1, 28.0) if a <= 23 else (-1, 23.5)
        c = pacd + 0.3 * (a - 23.5) + math.tan(math.radians(k)) ** 2
        c += 0.1 * m * (23.5 - a) ** 2 * math.tan(math.radians(0.1 * (g - a) ** 2)) - 0.99166
        self.al, self.k, self.c, self.d = al, k, c, c + 0.05

    def power(self, rx):
        r = rx / (1 - 0.012 * rx)
        return 1336 / (self.al - self.c - 0.05) - 1.336 / (1.336 / (self.k + r) - (self.c + 0.05) / 1000)

    def refraction(self, p):
        r = 1.336 / (1.336 / (1336 / (self.al - self.c - 0.05) - p) + (self.c + 0.05) / 1000) - self.k
        return r / (1 + 0.012 * r)


class Haigis:
    """Haigis 2000 and 2004."""

    def __init__(self, al, k, acd, a0, a1, a2):
        self.al, self.dc, self.d = al, 331.5 / (337.5 / k), a0 + a1 * acd + a2 * al

    def power(self, ref):
        z = self.dc + ref / (1 - 0.012 * ref)
        return 1336 / (self.al - self.d) - 1336 / (1336 / z - self.d)

    def refraction(self, p):
        rc = 1336 / (1336 / (1336 / (self.al - self.d) - p) + self.d) - self.dc
        return rc / (1 + 0.012 * rc)


METHODS = {
    "srk-t": lambda e: srk_family(e["al"], e["k"], e["a"], srk_t_height),
    "t2": lambda e: srk_family(e["al"], e["k"], e["a"], t2_height),
    "holladay-1": lambda e: holladay_1(e["al"], e["k"], e["sf"]),
    "hoffer-q": lambda e: HofferQ(e["al"], e["k"], e["pacd"]),
    "haigis": lambda e: Haigis(e["al"], e["k"], e["acd"], e["a0"], e["a1"], e["a2"]),
}
COLUMNS = ("al", "k", "acd", "target", "lens", "a", "sf", "pacd", "a0", "a1", "a2")
HEADER = """source: own-arithmetic
where: scripts/reference/lens_power.py
grade: d
units: al=mm k=D acd=mm target=D lens=D a=1 sf=mm pacd=mm a0=mm a1=1 a2=1 -> d=mm power=D refraction=D
tolerance: half digit
note: computed by ourselves from the closed forms in another language; seeded random eyes, constants of no particular lens
cols: method {} | d power refraction
"""


def eyes():
    """Seeded eyes: the corners of ordinary use, then random ones."""
    chance = random.Random(20261125)
    yield from ((al, k, 3.1, t) for al in (18.5, 20, 22, 23, 24.2, 25.326, 27, 30, 31, 33) for k in (38, 43.5, 48) for t in (0, -2))
    for _ in range(120):
        yield (round(chance.uniform(19, 32), 2), round(chance.uniform(36, 50), 2), round(chance.uniform(2, 4.5), 2), chance.choice((-6, -3, -0.5, 0, 0.5, 2)))


def rows():
    chance = random.Random(5)
    for al, k, acd, target in eyes():
        e = {"al": al, "k": k, "acd": acd, "target": target, "a": round(chance.uniform(117.5, 119.5), 1)}
        e["sf"], e["pacd"] = round(chance.uniform(1.2, 2.0), 4), round(chance.uniform(4.9, 5.7), 4)
        e["a0"], e["a1"], e["a2"] = round(chance.uniform(1.2, 1.9), 4), 0.4, 0.1
        for name, method in METHODS.items():
            m = method(e)
            if m is None:
                continue
            power = m.power(target)
            e["lens"] = round(2 * power) / 2 + 1.0  # not the answer itself: the refraction must move
            cells = " ".join(plain(e[c]) for c in COLUMNS)
            yield f"{name} {cells} | {m.d:.9f} {power:.9f} {m.refraction(e['lens']):.9f}"


def plain(v):
    return f"{v:.4f}".rstrip("0").rstrip(".")


def main():
    text = HEADER.format(" ".join(COLUMNS)) + "\n".join(rows()) + "\n"
    if sys.argv[1:] == ["--check"]:
        with open(FILE, encoding="utf-8") as f:
            same = f.read() == text
        print(f"{'ok  ' if same else 'FAIL'} lens_power.py: {text.count(' | ') - 1} values recomputed")
        return 0 if same else 1
    with open(FILE, "w", encoding="utf-8") as f:
        f.write(text)
    return 0


sys.exit(main())
