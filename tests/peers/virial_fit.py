"""Prints the coefficients of crates/thermo/src/humid_air/virial.rs: the published second virial coefficients of air and
of air with water, times T^2, as polynomials in ln(T/400 K) over 150...1000 K, and how far they are off.

Interpolation at Chebyshev's nodes, in 50 digits. Needs nothing but Python.

    python tests/peers/virial_fit.py [DEGREE]
"""

import math
import sys
from decimal import Decimal, getcontext

getcontext().prec = 50
LOW, HIGH, CENTRE = Decimal(150), Decimal(1000), Decimal(400)
R = Decimal("8.314462618")
# A constant term first; terms n (T/T*)^e.
AIR = ("132.6312", 1 / Decimal("10447.7"), [
       ("0.118160747229", "0"), ("0.713116392079", "-0.33"), ("-1.61824192067", "-1.01"),
       ("-0.101365037912", "-1.6"), ("-0.146629609713", "-3.6"), ("0.0148287891978", "-3.5")])
CROSS = ("100", Decimal("1e-6"), [("66.5687", "-0.237"), ("-238.834", "-1.048"), ("-176.755", "-3.183")])


def published(pair, t):
    """B and T^k times its derivatives to the third."""
    reference, scale, terms = pair
    sums = [Decimal(0)] * 4
    for n, e in terms:
        e = Decimal(e)
        term = Decimal(n) * scale * (t / Decimal(reference)) ** e
        for k, factor in enumerate((1, e, e * (e - 1), e * (e - 1) * (e - 2))):
            sums[k] += term * factor
    return sums


def fit(pair, degree):
    """Coefficients of the powers of y = ln(T/400 K): Newton's divided differences, multiplied out."""
    low, high = (LOW / CENTRE).ln(), (HIGH / CENTRE).ln()
    angles = [math.pi * (2 * i + 1) / (2 * degree + 2) for i in range(degree + 1)]
    y = [(low + high) / 2 + (high - low) / 2 * Decimal(math.cos(a)) for a in angles]
    d = [published(pair, CENTRE * x.exp())[0] * (CENTRE * x.exp()) ** 2 for x in y]
    for k in range(1, degree + 1):
        for i in range(degree, k - 1, -1):
            d[i] = (d[i] - d[i - 1]) / (y[i] - y[i - k])
    c = [d[degree]]
    for i in range(degree - 1, -1, -1):
        c = [a - y[i] * b for a, b in zip([Decimal(0)] + c, c + [Decimal(0)])]
        c[0] += d[i]
    return c


def fitted(c, t):
    y, sums, series = (t / CENTRE).ln(), [], [Decimal(float(x)) for x in c]
    for k in range(4):
        sums.append(sum(x * y**i for i, x in enumerate(series)) / t**2)
        slope = [i * x for i, x in enumerate(series)][1:] + [Decimal(0)]
        series = [d - (2 + k) * x for d, x in zip(slope, series)]
    return sums


def main():
    degree = int(sys.argv[1]) if len(sys.argv) > 1 else 14
    for name, pair in (("AIR", AIR), ("CROSS", CROSS)):
        c = fit(pair, degree)
        worst = [Decimal(0)] * 4
        for i in range(201):
            t = LOW * (HIGH / LOW) ** (Decimal(i) / 200)
            off = [abs(a - b) * 2 * 10**6 / (R * t) for a, b in zip(fitted(c, t), published(pair, t))]
            worst = [max(a, b) for a, b in zip(worst, off)]
        print(f"{name}: p T^k d^kB/dT^k/(R T) at 2 MPa off by at most", *(f"{float(x):.1e}" for x in worst))
        print(",\n".join(repr(float(x)) for x in c))


if __name__ == "__main__":
    main()
