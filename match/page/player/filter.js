// Filter: the response of a move, by the same formulas as on the server, so that a slider shows its
// curve while it is dragged.

// Returns the filter for dial settings, as in biquad/fit (stated.go): its frequency at half the gain
// or its centre, and its Q.
function filterOf({ shape, freq_hz, gain_db, width }, { freq_is, width_is }) {
  const corner = freq_is === "corner" ? 10 ** (Math.abs(gain_db) / 40) : 1;
  const hz = freq_hz * (shape === "high-shelf" ? corner : 1 / corner);
  return { shape, hz, gain_db, q: qOf(shape, gain_db, width, width_is) };
}

const MIN_SLOPE = 0.02; // as in stated.go

function qOf(shape, gain, width, is) {
  switch (is) {
    case "q": return width;
    case "oct": return qOfOctaves(width);
    case "oct-3db": return qOfOctaves(width) / peakFactor(gain);
    case "db-per-oct": {
      const one = 40 * Math.log10(2) * Math.tanh((Math.abs(gain) * Math.LN10) / 40);
      return qOfSlope(one > 0 ? Math.min(1, Math.max(width / one, MIN_SLOPE)) : 1, gain);
    }
  }
  return shape === "bell" ? width : qOfSlope(width, gain);
}

// Source: R. Bristow-Johnson, Audio EQ Cookbook, W3C Working Group Note, "S" and "BW".
function qOfSlope(slope, gain) {
  const a = 10 ** (gain / 40);
  return 1 / Math.sqrt((a + 1 / a) * (1 / slope - 1) + 2);
}
const qOfOctaves = (octaves) => 1 / (2 * Math.sinh((Math.LN2 / 2) * octaves));

function peakFactor(gain) {
  const a = 10 ** (Math.max(Math.abs(gain), 4) / 40);
  return Math.sqrt(a ** 4 - 2) / a;
}

// Returns the section [b0 b1 b2 1 a1 a2] of a filter at a sample rate: the cookbook's peakingEQ,
// lowShelf and highShelf.
function sectionOf({ shape, hz, gain_db, q }, rate) {
  const a = 10 ** (gain_db / 40), w = (2 * Math.PI * hz) / rate, c = Math.cos(w), alpha = Math.sin(w) / (2 * q);
  let all;
  if (shape === "bell") {
    all = [1 + alpha * a, -2 * c, 1 - alpha * a, 1 + alpha / a, -2 * c, 1 - alpha / a];
  } else {
    const s = shape === "low-shelf" ? 1 : -1, root = 2 * Math.sqrt(a) * alpha, up = a + 1, down = a - 1;
    all = [
      a * (up - s * down * c + root), s * 2 * a * (down - s * up * c), a * (up - s * down * c - root),
      up + s * down * c + root, -s * 2 * (down + s * up * c), up + s * down * c - root,
    ];
  }
  return all.map((x) => x / all[3]);
}

// Returns a move's response at frequencies in dB; 0 if it is off or cannot be made.
function moveDB(move, dial, frequencies, rate) {
  if (!move.on || move.gain_db === 0 || !dial) return frequencies.map(() => 0);
  const filter = filterOf(move, dial);
  if (!(filter.hz > 0 && filter.hz < rate / 2 && filter.q > 0)) return frequencies.map(() => 0);
  const section = [sectionOf(filter, rate)];
  return frequencies.map((hz) => responseDB(section, Math.min(hz, 0.4999 * rate), rate));
}
