"""Writes difference curves of real songs, the input of the fit's tests.

Run as: python3 make_curves.py COUNT SONG... > curves.txt

The songs are read with ffmpeg; none is kept. Each power spectrum is scipy's Welch
(Hann, about 0.34 s, left + right), integrated over the 240 bands of a
twenty-fourth of an octave, centres 1000*10^((2k+1)/160) Hz, k = -136..103. A curve
is the difference of two songs' bands in dB, smoothed over a third of an octave
(weights 1, half at both ends, the half-width shrinking to the distance from the
edge or a left-out band), less its mean over 40 Hz - 16 kHz. A band is left out, "-",
where either song lies more than 70 dB under its strongest band, or below 100 Hz more
than 15 dB under its own level at 63-125 Hz.
"""
import os
import random
import subprocess
import sys

import numpy as np
import scipy
from scipy import signal

BANDS = 240
centres = 1000 * 10 ** ((2 * np.arange(-136, 104) + 1) / 160)
edges = 1000 * 10 ** (np.arange(-136, 105) / 80)


def bands(path):
    rate = 44100
    raw = subprocess.run(["ffmpeg", "-v", "error", "-nostdin", "-i", path, "-map", "0:a:0", "-ac", "2",
                          "-ar", str(rate), "-f", "f32le", "-"], capture_output=True, check=True).stdout
    x = np.frombuffer(raw, "<f4").reshape(-1, 2).astype(float)
    freq, psd = signal.welch(x, rate, "hann", nperseg=15000, nfft=32768, detrend=False, axis=0)
    psd = psd.sum(axis=1)
    # The integral of the piecewise-linear density, between the edges.
    total = np.concatenate([[0], np.cumsum((psd[1:] + psd[:-1]) / 2 * np.diff(freq))])

    def upto(f):
        i = np.minimum((f / freq[1]).astype(int), len(freq) - 2)
        x = f - freq[i]
        return total[i] + psd[i] * x + (psd[i + 1] - psd[i]) / freq[1] * x * x / 2

    level = 10 * np.log10(np.maximum(np.diff(upto(edges)), 1e-20))
    near = level[(centres > 63) & (centres < 125)].mean()
    out = level < level.max() - 70
    out |= (centres < 100) & (level < near - 15)
    return level, out


def smooth(db, out):
    half = 4  # bands: a third of an octave is eight
    wall = np.flatnonzero(np.concatenate([[True], out, [True]])) - 1
    result = db.copy()
    for i in np.flatnonzero(~out):
        m = min(half, np.abs(wall - i).min() - 1)
        if m > 0:
            w = np.ones(2 * m + 1)
            w[0] = w[-1] = 0.5
            result[i] = np.dot(w, db[i - m:i + m + 1]) / w.sum()
    return result


count, paths = int(sys.argv[1]), sys.argv[2:]
spectra = [bands(p) for p in paths]
names = [os.path.splitext(os.path.basename(p))[0] for p in paths]
pairs = [(i, j) for i in range(len(paths)) for j in range(i)]
random.Random(1).shuffle(pairs)
print("# Differences of two songs in dB, 240 bands each; how: make_curves.py beside this file.")
print("# scipy %s; songs of Debian's hedgewars-data, wesnoth-1.16-music and frozen-bubble-data." % scipy.__version__)
for i, j in pairs[:count]:
    out = spectra[i][1] | spectra[j][1]
    d = smooth(spectra[i][0] - spectra[j][0], out)
    d -= d[~out & (centres > 40) & (centres < 16000)].mean()
    print("%s - %s:" % (names[i], names[j]), " ".join("-" if o else "%.2f" % x for x, o in zip(d, out)))
