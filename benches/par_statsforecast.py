"""Seconds that statsforecast takes to go over every series of a file with the ways of smoothing that the program tries.

    python3 benches/par_statsforecast.py FILE

FILE has a series a line, its values with commas between. Each series is fitted by each way, with its forecasts of the
past, on one processor; the first pass over some of the series compiles and does not count.
"""

import os
import sys
import time

for name in ("OMP_NUM_THREADS", "NUMBA_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np
from statsforecast.models import TSB, CrostonSBA, SimpleExponentialSmoothing

WAYS = (
    [SimpleExponentialSmoothing(alpha) for alpha in (0.01, 0.02, 0.04, 0.08, 0.15)]
    # Its Croston smooths by 0.1 always; three of them for the three that are tried.
    + [CrostonSBA() for _ in range(3)]
    + [TSB(chance, size) for size, chance in ((0.05, 0.02), (0.1, 0.05), (0.1, 0.1))]
)


def go_over(all_series):
    for series in all_series:
        for way in WAYS:
            way.forecast(y=series, h=14, fitted=True)


def main():
    with open(sys.argv[1]) as file:
        all_series = [np.array(line.split(","), dtype=np.float64) for line in file]
    go_over(all_series[:3])
    times = []
    for _ in range(3):
        begun = time.perf_counter()
        go_over(all_series)
        times.append(time.perf_counter() - begun)
    print(sorted(times)[1])


main()
