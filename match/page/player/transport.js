// Transport: opens the sound when it is first played, runs the graph, and holds position, loop,
// choice, moves and volume. No function here uses the page.

// If a context's time does not advance for this long, there is no output.
const NO_OUTPUT_MS = 4000;
const NO_OUTPUT = "No sound comes out: this browser has no output device it can use. Connect or choose one, and press Play again.";

const kilohertz = (hz) => `${hz / 1000} kHz`;

// Returns a note if the browser does not play at the mix's rate, else "".
function rateNote(player, rate) {
  if (rate === player.rate_hz) return "";
  const words = `This browser plays at ${kilohertz(rate)}, not at the mix's ${kilohertz(player.rate_hz)}: it converts the sound`;
  if (player.moves.every((move) => move.sound)) return `${words}.`;
  const apart = mostApartDB(player, player.rate_hz, rate);
  return `${words}, and the moves run as an equaliser at ${kilohertz(rate)} has them, up to ${apart.toFixed(1)} dB apart near the top.`;
}

// Reports whether two players have the same sounds.
function sameSounds(a, b) {
  const soundsOf = (player) => [player.rate_hz, player.seconds, ...soundIDs(player)].join("\n");
  return soundsOf(a) === soundsOf(b);
}

// Makes the transport of a player. bytesOf returns the file of a sound's id, or a promise of it.
// stopped is called when the browser stops the sound by itself.
function makeTransport(player, bytesOf, stopped = () => {}) {
  let ctx = null, buffers = null, graph = null, volume = null, taps = null, meters = null, band = null, runs = false;
  let ahead = null; // sounds fetched before they are played: { of, sounds }
  let zone = null, problem = "";
  let at = 0, startedAt = 0; // position in the excerpt at the context's time startedAt
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

  function open() {
    const opened = openContext(player);
    if (!opened) throw new Error("This browser plays at a sample rate the moves were not made for: the player cannot play here.");
    volume = opened.createGain();
    volume.gain.value = gainOfDB(volumeDB);
    band = makeBand(opened);
    band.solo(zone);
    volume.connect(band.input);
    band.output.connect(opened.destination);
    taps = { heard: tap(opened), first: tap(opened) };
    meters = { heard: buildMeter(opened, taps.heard), first: buildMeter(opened, taps.first) };
    opened.addEventListener("statechange", () => {
      if (opened !== ctx || !runs || opened.state === "running") return;
      halt();
      stopped();
    });
    ctx = opened;
  }

  // Browsers allow sound only after a click or a key.
  async function prepare() {
    if (!ctx) open();
    await within(ctx.resume(), NO_OUTPUT_MS, NO_OUTPUT);
    if (!buffers) {
      const of = player;
      const fetched = ahead && sameSounds(ahead.of, of) && of.rate_hz === ctx.sampleRate ? await ahead.sounds : null;
      const loaded = fetched ?? (await loadSounds(ctx, of, bytesOf));
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

  // Reports a problem if the context's time does not advance.
  function watch() {
    const began = ctx.currentTime, watched = ctx;
    setTimeout(() => {
      if (!runs || ctx !== watched || ctx.currentTime > began) return;
      halt();
      problem = NO_OUTPUT;
      stopped();
    }, NO_OUTPUT_MS);
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
    get rate() { return ctx?.sampleRate; },
    get note() { return problem || (ctx ? rateNote(player, ctx.sampleRate) : ""); },
    position: () => (ctx ? positionAt(ctx.currentTime) : at),

    async play() {
      problem = "";
      await prepare();
      if (runs) return;
      run(ctx.currentTime + AHEAD_S);
      watch();
    },
    // Fetches and decodes the sounds before they are played, and opens the context, which takes half a
    // second, if the browser allows it.
    fetchAhead() {
      if (!ctx && navigator.userActivation?.hasBeenActive && canPlayAt(player, player.rate_hz)) {
        open();
        ctx.suspend();
      }
      if (buffers || (ahead && sameSounds(ahead.of, player))) return;
      try {
        const decoder = new OfflineAudioContext(1, 1, player.rate_hz);
        ahead = { of: player, sounds: loadSounds(decoder, player, bytesOf).catch(() => null) };
      } catch {
        ahead = null; // not every browser decodes at every rate: then the sounds are loaded when played
      }
    },
    // Plays only a zone { low, high } in hertz, or everything (null).
    solo(next) {
      zone = next;
      band?.solo(zone);
    },
    stop() {
      if (runs) halt();
    },
    // Continues elsewhere in the loop: fades out, then in.
    seek(position) {
      const again = runs;
      if (again) halt();
      at = position >= part.from && position < part.to ? position : part.from;
      if (again) run(ctx.currentTime + AHEAD_S);
    },
    // Sets another loop.
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
      if (volume) rampVolume(volume, db);
    },
    // Returns the mean power of what is heard in dBFS, or of the first source.
    levelDB(ofFirst = false) {
      return runs ? (ofFirst ? meters.first() : meters.heard()) + volumeDB : -Infinity;
    },
    // Takes new moves, levels or sources, and plays the given source from now on with the moves that
    // are on. If the sounds stay, a second graph fades in at the same position while the first fades
    // out; if they change, the sound stops. Reports whether it still plays.
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

// Returns a promise that fails with words if it takes too long.
function within(promise, ms, words) {
  let timer;
  const late = new Promise((_, fail) => (timer = setTimeout(() => fail(new Error(words)), ms)));
  return Promise.race([promise, late]).finally(() => clearTimeout(timer));
}

// Returns a node that stays while graphs come and go.
function tap(ctx) {
  const node = ctx.createGain();
  node.channelCount = 2;
  node.channelCountMode = "explicit";
  return node;
}
