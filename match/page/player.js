// Player: the controls, and what they do to the sound.

const LETTERS = "ABC";
const START_DB = -20;
const LEVEL_FLOOR_DB = -60;
const VOLUME_RAMP_S = 0.03;

const signed = (db, digits) => (db < 0 ? "−" : "") + Math.abs(db).toFixed(digits);

// An order of 0 … n−1 that nobody can guess.
function shuffled(n) {
  const order = [...Array(n).keys()];
  for (let i = n - 1; i > 0; i--) {
    const k = Math.floor((crypto.getRandomValues(new Uint32Array(1))[0] / 2 ** 32) * (i + 1));
    [order[i], order[k]] = [order[k], order[i]];
  }
  return order;
}

// What is told of the source at a position: its name, or only a letter.
function labelAt(player, state, position) {
  const name = player.sources[state.order[position]].name;
  if (!state.blind) return name;
  return state.revealed ? `${LETTERS[position]}: ${name}` : LETTERS[position];
}

// Fills a group with labelled inputs of a kind and returns these.
function fillChoices(group, kind, labels, isOn) {
  const inputs = labels.map((text, i) => {
    const label = document.createElement("label"), input = document.createElement("input"), words = document.createElement("span");
    input.type = kind;
    input.name = group.id;
    input.value = i;
    input.checked = isOn(i);
    input.autocomplete = "off";
    words.textContent = text;
    label.append(input, words);
    return { label, input };
  });
  group.querySelector(".choices").replaceChildren(...inputs.map(({ label }) => label));
  return inputs.map(({ input }) => input);
}

// Makes the player for data; bytesOf gives the sound of an id.
function startPlayer(data, bytesOf) {
  const player = data.player;
  const $ = (id) => document.getElementById(id);
  const seconds = player.seconds, all = 2 ** player.moves.length - 1;
  const identity = player.sources.map((_, i) => i);
  const state = {
    order: identity, blind: false, revealed: false,
    position: 0, on: all, volumeDB: START_DB, // volume and choice as last asked for
    playing: false, busy: false, part: { from: 0, to: seconds }, at: 0, startedAt: 0,
  };
  let ctx = null, graph = null, volume = null, meters = null;
  const say = (text) => ($("state").textContent = text);

  const positionNow = () => {
    if (!state.playing) return state.at;
    const { from, to } = state.part;
    const run = state.at + Math.max(0, ctx.currentTime - state.startedAt);
    return run < to ? run : from + ((run - from) % (to - from));
  };

  // Loads the sound at the first wish to hear it: browsers allow no earlier.
  async function prepare() {
    ctx = openContext(player);
    if (!ctx) {
      throw new Error("This browser plays at a sample rate the moves were not made for: the player cannot play here.");
    }
    await ctx.resume();
    graph = buildGraph(ctx, player, await loadSounds(ctx, player, bytesOf));
    volume = ctx.createGain();
    volume.gain.value = gainOfDB(state.volumeDB);
    graph.out.connect(volume).connect(ctx.destination);
    meters = { heard: buildMeter(ctx, graph.bus), first: buildMeter(ctx, graph.first) };
    graph.choose(state.order[state.position]);
    graph.setMoves(state.on);
  }

  function run(from) {
    state.part.to = Math.min(state.part.to, graph.seconds);
    state.at = from >= state.part.from && from < state.part.to ? from : state.part.from;
    state.startedAt = ctx.currentTime + 0.05;
    graph.start(state.startedAt, state.at, state.part.from, state.part.to);
    state.playing = true;
  }

  function halt() {
    state.at = positionNow();
    state.playing = false;
    return graph.stop();
  }

  async function toggle() {
    if (state.busy) return;
    state.busy = true;
    try {
      if (state.playing) {
        halt();
      } else {
        if (!graph) {
          say("Getting the sound ready …");
          await prepare();
        }
        await ctx.resume();
        run(state.at);
        follow();
      }
      tell();
    } catch (error) {
      say(error.message || "The sound cannot be played here.");
    }
    state.busy = false;
  }

  // Goes on elsewhere: faded out, then in; the 50 ms of run outlast the fade.
  function goOnAt(position) {
    if (!state.playing) {
      state.at = position;
      showPosition($("strip"), seconds, position);
      return;
    }
    halt();
    run(position);
  }

  function tell() {
    const where = `${labelAt(player, state, state.position)}`;
    say(state.playing ? `Playing ${where}.` : `Stopped. ${where} is chosen.`);
    $("play").textContent = state.playing ? "Stop" : "Play";
  }

  function choose(position) {
    if (position >= player.sources.length) return;
    state.position = position;
    graph?.choose(state.order[position]);
    showSources();
    tell();
  }

  function showSources() {
    const labels = identity.map((i) => (state.blind ? labelAt(player, state, i) : `${i + 1}: ${labelAt(player, state, i)}`));
    const before = [...$("sources").querySelectorAll(".choices input")];
    if (before.length === 0) {
      const inputs = fillChoices($("sources"), "radio", labels, (i) => i === state.position);
      inputs.forEach((input, i) => input.addEventListener("change", () => choose(i)));
    }
    [...$("sources").querySelectorAll(".choices label")].forEach((label, i) => {
      label.querySelector("span").textContent = labels[i];
      label.querySelector("input").checked = i === state.position;
      label.classList.toggle("heard", i === state.position);
    });
  }

  // After a button that changes the choices the focus goes to these, so that the next
  // space plays.
  const focusChoices = () => $("sources").querySelector("input:checked").focus();

  function setBlind(blind) {
    Object.assign(state, { blind, revealed: false, order: blind ? shuffled(identity.length) : identity });
    $("blind").textContent = blind ? "Hear by name again" : "Compare blind";
    showBlind();
    choose(0);
    focusChoices();
  }

  function showBlind() {
    const hidden = state.blind && !state.revealed;
    $("reveal").hidden = !state.blind;
    $("reveal").textContent = hidden ? "Show which is which" : "Shuffle again";
    $("moves").disabled = hidden;
    $("blind-note").textContent = hidden ? "Shuffled. The level shown is the mix’s for all; the moves stay as they are." : "";
    $("level-name").textContent = hidden ? "level of the mix" : "level";
  }

  function setVolume() {
    state.volumeDB = Number($("volume").value);
    $("volume-db").textContent = `${signed(state.volumeDB, 0)} dB`;
    volume?.gain.setTargetAtTime(gainOfDB(state.volumeDB), ctx.currentTime, VOLUME_RAMP_S);
  }

  // Shows position and level for as long as sound runs: in every picture, or twice a
  // second for those who want less motion.
  function follow() {
    showPosition($("strip"), seconds, positionNow());
    const measured = state.blind && !state.revealed ? meters.first() : meters.heard();
    const db = state.playing ? measured + state.volumeDB : -Infinity;
    const share = Math.min(Math.max(1 - db / LEVEL_FLOOR_DB, 0), 1);
    $("level-bar").style.transform = `scaleX(${share.toFixed(3)})`;
    $("level-db").textContent = db > -100 ? `${signed(db, 1)} dBFS` : "–";
    if (!state.playing) return;
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) setTimeout(follow, 500);
    else requestAnimationFrame(follow);
  }

  $("play").addEventListener("click", toggle);
  $("volume").value = START_DB;
  $("volume").addEventListener("input", setVolume);
  $("blind").addEventListener("click", () => setBlind(!state.blind));
  $("reveal").addEventListener("click", () => {
    if (state.revealed) return setBlind(true);
    state.revealed = true;
    showBlind();
    showSources();
    tell();
    focusChoices();
  });
  showSources();
  if (player.moves.length > 0) {
    $("moves").hidden = false;
    const inputs = fillChoices($("moves"), "checkbox", player.moves.map((move) => move.label), () => true);
    for (const input of inputs) {
      input.addEventListener("change", () => {
        state.on = inputs.reduce((bits, { checked }, i) => bits | (checked << i), 0);
        graph?.setMoves(state.on);
      });
    }
  }
  drawStrip($("strip"), $("strip-key"), player);
  connectPart(
    { strip: $("strip"), edgeFrom: $("edge-from"), edgeTo: $("edge-to"), from: $("from"), to: $("to"), whole: $("whole") },
    seconds,
    (part) => {
      const at = positionNow(), again = state.playing;
      if (again) halt();
      state.part = part;
      state.at = at >= part.from && at < part.to ? at : part.from;
      if (again) run(state.at);
      showPosition($("strip"), seconds, state.at);
    },
    goOnAt,
  );
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    const target = event.target;
    if (target.closest("input[type=number], input[type=text], textarea, select, [contenteditable]")) return;
    if (event.key === " ") {
      if (target.closest("button, input[type=checkbox], summary, a")) return; // theirs
      event.preventDefault();
      toggle();
    }
    const number = "123".indexOf(event.key);
    const letter = state.blind ? LETTERS.indexOf(event.key.toUpperCase()) : -1;
    if (event.key.length === 1 && Math.max(number, letter) >= 0) choose(Math.max(number, letter));
  });
  $("player").hidden = false;
  return { state, position: positionNow, graph: () => graph }; // for tests and a live page
}

// In a saved page data and sound stand in elements.
function bytesIn(id) {
  const text = atob(document.getElementById(id).textContent);
  return Uint8Array.from(text, (c) => c.charCodeAt(0)).buffer;
}

const savedPage = document.getElementById("data");
const livePlayer = savedPage && startPlayer(JSON.parse(savedPage.textContent), bytesIn);
