"""Writes scipy.json: Butterworth cuts and a filtered signal as scipy has them.

Run as: python3 make_scipy.py > scipy.json
"""
import json

import numpy as np
import scipy
from scipy import signal

# Octave-wide steps on both sides of each corner, half the rate left out.
CUTS = [
    (kind, order, corner, rate)
    for kind in ("highpass", "lowpass")
    for order in (1, 2, 3, 4, 6, 8)
    for corner, rate in ((30, 44100), (18000, 48000))
]
# BS.1770-4 K-weighting at 48 kHz: a high shelf and a high-pass.
SOS = [
    [1.53512485958697, -2.69169618940638, 1.19839281085285, 1, -1.69065929318241, 0.73248077421585],
    [1, -2, 1, 1, -1.99004745483398, 0.99007225036621],
]


def response_db(kind, order, corner, rate):
    sos = signal.butter(order, corner, kind, output="sos", fs=rate)
    freq = np.array([f for f in corner * 2.0 ** np.arange(-3, 4) if f < rate / 2])
    _, h = signal.sosfreqz(sos, freq, fs=rate)
    return {"type": kind, "order": order, "corner_hz": corner, "rate_hz": rate,
            "freq_hz": freq.tolist(), "mag_db": (20 * np.log10(np.abs(h))).tolist()}


# A signal without a library's random numbers: x[n] = frac(n·n·golden ratio) − ½.
n = np.arange(2048)
x = np.mod(n * n * 0.6180339887498949, 1.0) - 0.5
y = signal.sosfilt(SOS, x)
print(json.dumps({
    "source": f"scipy {scipy.__version__}: signal.butter with sosfreqz, signal.sosfilt; made by make_scipy.py",
    "butterworth": [response_db(*c) for c in CUTS],
    "sos": SOS, "every": 64, "filtered": y[::64].tolist(),
}, indent=None, separators=(",", ":")).replace('{"type"', '\n{"type"'))
