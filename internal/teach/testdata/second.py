"""Answers questions by a second implementation, written from the printed
formulas and not from the Go code. Reads a list of {topic, given} from standard
input and prints the list of answers."""
import json
import math
import sys


def srk_t(al, k, a, believed=None):
    """Power for emmetropia; closed form of Retzlaff, Sanders and Kraff 1990."""
    r = 337.5 / k
    lcor = al if al <= 24.2 else -3.446 + 1.716 * al - 0.0237 * al * al
    w = -5.41 + 0.58412 * lcor + 0.098 * k
    h = r - math.sqrt(r * r - w * w / 4)
    d = h + 0.62467 * a - 68.747 - 3.336
    lo = al + 0.65696 - 0.02029 * al
    na, nc = 1.336, 1.333
    return r, d, lo, na, nc


def srk_t_power(al, k, a):
    r, d, lo, na, nc = srk_t(al, k, a)
    return 1000 * na * (na * r - (nc - 1) * lo) / ((lo - d) * (na * r - (nc - 1) * d))


def srk_t_refraction(al, k, a, p):
    r, d, lo, na, nc = srk_t(al, k, a)
    v = 12.0
    x, y = na * r - (nc - 1) * lo, na * r - (nc - 1) * d
    top = 1000 * na * x - p * (lo - d) * y
    return top / (na * (v * x + lo * r) - 0.001 * p * (lo - d) * (v * y + d * r))


def srk_2(g):
    al = g["length_mm"]
    a = g["a"] + (3 if al < 20 else 2 if al < 21 else 1 if al < 22 else 0 if al < 24.5 else -0.5)
    return a - 0.9 * g["k_d"] - 2.5 * al


def induced(g):
    def vec(c, m):
        return complex(c * math.cos(math.radians(2 * m)), c * math.sin(math.radians(2 * m)))
    return abs(vec(g["cylinder_after_d"], g["steep_after_deg"]) - vec(g["cylinder_before_d"], g["steep_before_deg"]))


ANSWERS = {
    "snellen": lambda g: -math.log10(6 / g["read_at_m"]),
    "radius-to-k": lambda g: 337.5 / g["radius_mm"],
    "k-to-radius": lambda g: 337.5 / g["k_d"],
    "equivalent": lambda g: g["sphere_d"] + g["cylinder_d"] / 2,
    "transposed": lambda g: g["sphere_d"] + g["cylinder_d"],
    "vertex": lambda g: g["refraction_d"] / (1 - g["vertex_mm"] / 1000 * g["refraction_d"]),
    "velocity": lambda g: g["length_shown_mm"] * g["velocity_true"] / g["velocity_used"],
    "srk-2": srk_2,
    "length-error": lambda g: srk_t_refraction(g["length_mm"], g["k_d"], g["a"], srk_t_power(g["length_mm"] + g["length_error_mm"], g["k_d"], g["a"])),
    "induced": induced,
    "misrotated": lambda g: 2 * g["cylinder_of_lens_d"] * math.sin(math.radians(g["turned_deg"])),
    "head": lambda g: g["bottle_cm"] * 0.735559,
    "bottle": lambda g: (g["bottle_ml"] - g["reserve_ml"]) / g["flow_ml_min"],
    "tip-speed": lambda g: 2 * math.pi * g["frequency_khz"] * 1e3 * g["stroke_um"] / 2 * 1e-6,
    "effective": lambda g: g["pedal_s"] * g["power_percent"] / 100 * g["on_ms"] / (g["on_ms"] + g["off_ms"]),
    "block-volume": lambda g: min(g["limit_mg_per_kg"] * g["weight_kg"], g["ceiling_mg"]) / (10 * g["strength_percent"]),
    "dilution": lambda g: 1e6 / g["one_in"] * g["volume_ml"] / g["into_ml"],
    "battery": lambda g: g["battery_ah"] * g["voltage_v"] * g["efficiency"] * g["depth"] / g["load_w"] * 60,
}

json.dump([ANSWERS[q["topic"]](q["given"]) for q in json.load(sys.stdin)], sys.stdout)
