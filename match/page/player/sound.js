"use strict";
// Sound: the excerpts run in lockstep in one audio context, and gains decide what is heard. Only
// bytesIn uses the page.

// Gains move exponentially: 96 % of the way in three of these, which is 10 ms.
const RAMP_S = 0.003;
// Time after which a gain has settled: ten time constants.
const SETTLED_S = 0.03;
// Time after which an old graph is disconnected; it has faded long before.
const CLOSE_MS = 1000;
// Length of the fades at the ends of the loop.
const SEAM_S = 0.005;

const gainOfDB = (db) => 10 ** (db / 20);
const toFrame = (seconds, rate) => Math.round(seconds * rate) / rate;

// Reports whether every move has coefficients for a sample rate.
function canPlayAt(player, rate) {
  return player.moves.every((move) => move.sound || move.sections[String(rate)]);
}

// Returns the ids of all sounds: of the sources, and of what switches add.
const soundIDs = (player) => [...new Set([...player.sources, ...player.moves].flatMap(({ sound }) => sound ?? []))];

// Returns the level of sections [b0 b1 b2 a0 a1 a2] in series at a frequency, in dB.
function responseDB(sections, hz, rate) {
  const w = (2 * Math.PI * hz) / rate;
  const power = (c0, c1, c2) =>
    (c0 + c1 * Math.cos(w) + c2 * Math.cos(2 * w)) ** 2 + (c1 * Math.sin(w) + c2 * Math.sin(2 * w)) ** 2;
  return sections.reduce((db, c) => db + 10 * Math.log10(power(...c.slice(0, 3)) / power(...c.slice(3))), 0);
}

// Returns the largest difference in dB between all moves at two rates, up to 20 kHz or 0.45 of the
// lower rate.
function mostApartDB(player, rate, other) {
  const top = Math.min(20000, 0.45 * rate, 0.45 * other);
  const at = (rate) => player.moves.flatMap((move) => move.sections[String(rate)] ?? []);
  let most = 0;
  for (let hz = 20; hz <= top; hz *= 1.02) {
    most = Math.max(most, Math.abs(responseDB(at(rate), hz, rate) - responseDB(at(other), hz, other)));
  }
  return most;
}

// Opens a context at the mix's rate, or else at the browser's own; null if the moves have no
// coefficients for that.
function openContext(player) {
  let ctx;
  try {
    ctx = new AudioContext({ sampleRate: player.rate_hz });
  } catch {
    ctx = new AudioContext();
  }
  if (canPlayAt(player, ctx.sampleRate)) return ctx;
  ctx.close();
  return null;
}

// Decodes the sounds; the browser converts them to the context's rate. bytesOf returns the file of
// an id, or a promise of it.
async function loadSounds(ctx, player, bytesOf) {
  const ids = soundIDs(player);
  const sounds = await Promise.all(ids.map(async (id) => ctx.decodeAudioData(await bytesOf(id))));
  return Object.fromEntries(ids.map((id, i) => [id, sounds[i]]));
}

// Returns a sound that is stored in an element of a saved page.
function bytesIn(id) {
  const text = atob(document.getElementById(id).textContent);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i); // from() takes ten times as long
  return bytes.buffer;
}

const UNHEARD = 1e-7; // a gain of −140 dB, left out

// Connects a node to a section [b0 b1 b2 a0 a1 a2] and returns the section's output:
//
//   input ─┬──────────── gain at half the rate ─┐
//          ├─ band-pass ─ gain ─────────────────┤
//          └─ low-pass ── gain ──────────────────── output
//
// Both filters have the section's poles, and the gains give its zeros. WebKit takes 50 ms to make an
// IIRFilterNode, for which a dragged slider would wait. Source of the filters: W3C, Web Audio API 1.1,
// BiquadFilterNode, "Filters Characteristics"; the gains are from equal coefficients.
function connectSection(ctx, input, c) {
  const [b0, b1, b2, , a1, a2] = c.map((x) => x / c[3]);
  const w = 2 * Math.atan(Math.sqrt((1 + a1 + a2) / (1 - a1 + a2))), q = (Math.sin(w) * (1 + a2)) / (2 * (1 - a2));
  const frequency = (w * ctx.sampleRate) / (2 * Math.PI);
  const top = (b0 - b1 + b2) / (1 - a1 + a2), bottom = (b0 + b1 + b2) / (1 + a1 + a2);
  const output = ctx.createGain();
  for (const [gain, options] of [
    [top, null],
    [(b0 - b2) / (1 - a2) - top, { type: "bandpass", Q: q }],
    [bottom - top, { type: "lowpass", Q: 20 * Math.log10(q) }], // Q of this type is in dB
  ]) {
    if (Math.abs(gain) < UNHEARD) continue;
    const node = options ? input.connect(new BiquadFilterNode(ctx, { ...options, frequency })) : input;
    node.connect(new GainNode(ctx, { gain })).connect(output);
  }
  return output;
}

// Builds the graph:
//
//   mix ───────────────┬─ gain ─┐
//                      └─ move ─ move ─ … ─ gain ─┤
//   reference ─ gain ───────────────────────────── bus ─ seam ─ gate ─ out
//
// A move is its sections and a path around them; a switch fades between the two while both keep
// running. A switch with a sound of its own adds that sound. The seam fades at the ends of the
// loop, the gate at start and stop. Times are those of the context; the default is now. Source
// chosen is heard, through the moves whose bits are set in on.
function buildGraph(ctx, player, buffers, chosen = 0, on = 2 ** player.moves.length - 1) {
  const rate = ctx.sampleRate;
  const gain = (value) => {
    const node = ctx.createGain();
    node.gain.value = value;
    return node;
  };
  const move = (node, value, when = ctx.currentTime) => node.gain.setTargetAtTime(value, when, RAMP_S);

  const bus = gain(1);
  bus.channelCount = 2; // a single channel is played on both sides
  bus.channelCountMode = "explicit";
  const seam = gain(0), gate = gain(0), out = gain(1);
  bus.connect(seam).connect(gate).connect(out);

  const inputs = {};
  for (const sound of Object.keys(buffers)) inputs[sound] = gain(1);

  const isOn = (i) => (on >> i) & 1;
  const switches = [];
  let moved = null; // output of the moves
  const throughMoves = (input) => {
    let node = input;
    for (const [i, { sections, sound, gain_db = 0 }] of player.moves.entries()) {
      if (sound) {
        const level = gain(gainOfDB(gain_db)), through = gain(isOn(i)), sum = gain(1);
        inputs[sound].connect(level).connect(through).connect(sum);
        node.connect(sum);
        switches.push({ through });
        node = sum;
        continue;
      }
      const around = gain(1 - isOn(i)), through = gain(isOn(i)), sum = gain(1);
      sections[String(rate)].reduce((last, c) => connectSection(ctx, last, c), node).connect(through).connect(sum);
      node.connect(around).connect(sum);
      switches.push({ around, through });
      node = sum;
    }
    return node;
  };

  // The loudness of silence is unknown (null): a gain computed from it could be far too large.
  const levelOf = (i) => {
    const source = player.sources[i], lufs = source.loudness_lufs[source.through_moves ? on : 0];
    return player.level_lufs === null || lufs === null ? 0 : gainOfDB(player.level_lufs - lufs);
  };
  const heard = player.sources.map((source, i) => {
    let node = inputs[source.sound];
    if (source.through_moves) node = moved ??= throughMoves(node);
    const level = gain(i === chosen ? levelOf(i) : 0);
    node.connect(level).connect(bus);
    return level;
  });
  // The first source at its level, whatever is heard: for a meter that reveals nothing.
  const first = gain(levelOf(0));
  inputs[player.sources[0].sound].connect(first);

  let running = [];
  const seconds = Math.min(player.seconds, ...Object.values(buffers).map((b) => b.duration));
  return {
    out, bus, first,
    seconds: Math.floor(seconds * rate) / rate,

    // Plays source i from now on.
    choose(i, when) {
      chosen = i;
      heard.forEach((node, k) => move(node, k === i ? levelOf(k) : 0, when));
    },

    // Switches on the moves whose bits are set, and keeps the loudness.
    setMoves(bits, when) {
      on = bits;
      switches.forEach(({ around, through }, i) => {
        move(through, isOn(i), when);
        if (around) move(around, 1 - isOn(i), when);
      });
      if (player.sources[chosen].through_moves) move(heard[chosen], levelOf(chosen), when);
    },

    // Starts all sounds at an offset in the excerpt, with a loop.
    start(when, offset, from, to) {
      const start = toFrame(when, rate);
      running = [...Object.entries(buffers), [null, seamBuffer(ctx, this.seconds, from, to)]].map(([sound, buffer]) => {
        const node = new AudioBufferSourceNode(ctx, {
          buffer, loop: true, loopStart: toFrame(from, rate), loopEnd: toFrame(to, rate),
        });
        node.connect(sound === null ? seam.gain : inputs[sound]);
        node.start(start, toFrame(offset, rate));
        return node;
      });
      move(gate, 1, start);
    },

    // Fades out and stops.
    stop(when = ctx.currentTime) {
      gate.gain.cancelScheduledValues(when); // of a start still to come
      move(gate, 0, when);
      for (const node of running) node.stop(when + SETTLED_S);
      running = [];
    },

    // Disconnects everything once it has faded.
    close() {
      setTimeout(() => [out, bus, first].forEach((node) => node.disconnect()), CLOSE_MS);
    },
  };
}

// Returns a gain curve as long as the excerpt that is 0 at both ends of the loop.
function seamBuffer(ctx, seconds, from, to) {
  const rate = ctx.sampleRate;
  const buffer = ctx.createBuffer(1, Math.round(seconds * rate), rate);
  const x = buffer.getChannelData(0).fill(1);
  const n = Math.round(SEAM_S * rate);
  const first = Math.round(from * rate), end = Math.min(Math.round(to * rate), x.length);
  for (let i = 0; i < n; i++) {
    const rise = 0.5 - 0.5 * Math.cos((Math.PI * i) / n);
    x[first + i] *= rise;
    x[end - 1 - i] *= rise;
  }
  return buffer;
}

// Makes a band that can be heard alone: two Butterworth filters at each end, 24 dB per octave, 6 dB
// down at the borders. It only attenuates, so nothing gets louder.
function makeBand(ctx) {
  const input = ctx.createGain(), output = ctx.createGain(), past = ctx.createGain(), through = ctx.createGain();
  const filters = ["highpass", "highpass", "lowpass", "lowpass"].map((type) => new BiquadFilterNode(ctx, { type, Q: 20 * Math.log10(Math.SQRT1_2) })); // Q of these is in dB
  input.connect(past).connect(output);
  filters.reduce((node, filter) => node.connect(filter), input).connect(through).connect(output);
  through.gain.value = 0;
  const ease = (param, value) => param.setTargetAtTime(value, ctx.currentTime, RAMP_S);
  return {
    input, output,
    solo(zone) {
      if (zone) filters.forEach((filter, i) => (filter.frequency.value = Math.min(i < 2 ? zone.low : zone.high, ctx.sampleRate / 2)));
      ease(through.gain, zone ? 1 : 0);
      ease(past.gain, zone ? 0 : 1);
    },
  };
}

// Returns a meter of a node's power, both channels, over the last third of a second or so.
function buildMeter(ctx, node) {
  const split = ctx.createChannelSplitter(2);
  node.connect(split);
  const sides = [0, 1].map((channel) => {
    const side = new AnalyserNode(ctx, { fftSize: 16384 });
    split.connect(side, channel);
    return side;
  });
  const x = new Float32Array(16384);
  return () => {
    let sum = 0;
    for (const side of sides) {
      side.getFloatTimeDomainData(x);
      for (const v of x) sum += v * v;
    }
    return 10 * Math.log10(sum / (2 * x.length));
  };
}
