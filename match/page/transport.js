// Transport: opens the sound at the first wish to hear it, runs the graph, and knows
// position, part, choice, moves and volume. No function here knows of the page.

const START_DB = -20;
const VOLUME_RAMP_S = 0.03;
// Sound starts so long after it is asked for: longer than a fade, which it follows.
const AHEAD_S = 0.05;

const kilohertz = (hz) => `${hz / 1000} kHz`;

// What there is to know where the browser does not play at the mix's rate; "" where it does.
function rateNote(player, rate) {
  if (rate === player.rate_hz) return "";
  const words = `This browser plays at ${kilohertz(rate)}, not at the mix’s ${kilohertz(player.rate_hz)}: it converts the sound`;
  if (player.moves.length === 0) return `${words}.`;
  const apart = mostApartDB(player, player.rate_hz, rate);
  return `${words}, and the moves run as an equaliser at ${kilohertz(rate)} has them, up to ${apart.toFixed(1)} dB apart near the top.`;
}

// Tells whether two players have the same sounds, whatever they do with them.
function sameSounds(a, b) {
  const soundsOf = (player) => [player.rate_hz, player.seconds, ...new Set(player.sources.map((source) => source.sound))].join("\n");
  return soundsOf(a) === soundsOf(b);
}

// Makes the transport of a player; bytesOf gives the file of a sound's id, or a promise
// of it; stopped is called when the browser stops the sound on its own.
function makeTransport(player, bytesOf, stopped = () => {}) {
  let ctx = null, buffers = null, graph = null, volume = null, taps = null, meters = null, runs = false;
  let at = 0, startedAt = 0; // position in the excerpt, and the context's time of it
  let part = { from: 0, to: player.seconds };
  let chosen = 0, on = 2 ** player.moves.length - 1, volumeDB = START_DB;

  function positionAt(when) {
    if (!runs) return at;
    const run = at + Math.max(0, when - startedAt);
    return run < part.to ? run : part.from + ((run - part.from) % (part.to - part.from));
  }

  function build() {
    graph = buildGraph(ctx, player, buffers, chosen, on);
    graph.out.connect(volume);
    graph.bus.connect(taps.heard);
    graph.first.connect(taps.first);
  }

  // Browsers allow no sound before it is asked for.
  async function prepare() {
    if (!ctx) {
      const opened = openContext(player);
      if (!opened) throw new Error("This browser plays at a sample rate the moves were not made for: the player cannot play here.");
      volume = opened.createGain();
      volume.gain.value = gainOfDB(volumeDB);
      volume.connect(opened.destination);
      taps = { heard: tap(opened), first: tap(opened) };
      meters = { heard: buildMeter(opened, taps.heard), first: buildMeter(opened, taps.first) };
      opened.addEventListener("statechange", () => {
        if (opened !== ctx || !runs || opened.state === "running") return;
        halt();
        stopped();
      });
      ctx = opened;
    }
    await ctx.resume();
    if (!buffers) {
      const of = player;
      const loaded = await loadSounds(ctx, of, bytesOf);
      if (!sameSounds(of, player)) return prepare(); // changed in the meantime
      buffers = loaded;
    }
    if (!graph) build();
  }

  function run(when) {
    part.to = Math.min(part.to, graph.seconds);
    if (!(at >= part.from && at < part.to)) at = part.from;
    startedAt = toFrame(when, ctx.sampleRate);
    graph.start(startedAt, at, part.from, part.to);
    runs = true;
  }

  function halt() {
    at = positionAt(ctx.currentTime);
    runs = false;
    graph.stop();
  }

  return {
    get player() { return player; },
    get playing() { return runs; },
    get part() { return part; },
    get graph() { return graph; },
    get note() { return ctx ? rateNote(player, ctx.sampleRate) : ""; },
    position: () => (ctx ? positionAt(ctx.currentTime) : at),

    async play() {
      await prepare();
      if (!runs) run(ctx.currentTime + AHEAD_S);
    },
    stop() {
      if (runs) halt();
    },
    // Goes on elsewhere in the part: faded out, then in.
    seek(position) {
      const again = runs;
      if (again) halt();
      at = position >= part.from && position < part.to ? position : part.from;
      if (again) run(ctx.currentTime + AHEAD_S);
    },
    // Repeats another part from now on.
    repeat(next) {
      const again = runs;
      if (again) halt();
      part = { ...next };
      if (!(at >= part.from && at < part.to)) at = part.from;
      if (again) run(ctx.currentTime + AHEAD_S);
    },
    choose(source) {
      chosen = source;
      graph?.choose(source);
    },
    get on() { return on; },
    setMoves(bits) {
      on = bits;
      graph?.setMoves(bits);
    },
    get volumeDB() { return volumeDB; },
    setVolume(db) {
      volumeDB = db;
      volume?.gain.setTargetAtTime(gainOfDB(db), ctx.currentTime, VOLUME_RAMP_S);
    },
    // The mean power of what is heard in dBFS, or of the first source in its stead.
    levelDB(ofFirst = false) {
      return runs ? (ofFirst ? meters.first() : meters.heard()) + volumeDB : -Infinity;
    },
    // Takes over other moves, levels or sources, and hears the source named from now on
    // with the moves that are on. Where the sounds stay, a second graph fades in at the
    // same position while the first fades out; where they change, the sound stops.
    // Tells whether it still plays.
    update(next, source, bits) {
      const stay = sameSounds(player, next), otherRate = player.rate_hz !== next.rate_hz;
      const old = graph;
      if (!stay && runs) halt();
      [player, chosen, on] = [next, source, bits];
      if (!stay) {
        part = { from: 0, to: player.seconds };
        at = 0;
        graph = buffers = null;
        old?.close();
        if (ctx && otherRate) {
          const closing = ctx;
          ctx = volume = null;
          setTimeout(() => closing.close(), 1000 * SETTLED_S);
        }
        return false;
      }
      if (!old) return false;
      if (!canPlayAt(player, ctx.sampleRate)) {
        if (runs) halt();
        graph = null;
        old.close();
        ctx.close();
        ctx = volume = buffers = null;
        return false;
      }
      build();
      if (runs) {
        const when = toFrame(ctx.currentTime + AHEAD_S, ctx.sampleRate);
        at = positionAt(when);
        run(when);
        old.stop(when);
      }
      old.close();
      return runs;
    },
  };
}

// A node that stays while graphs come and go.
function tap(ctx) {
  const node = ctx.createGain();
  node.channelCount = 2;
  node.channelCountMode = "explicit";
  return node;
}
