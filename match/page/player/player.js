// Player: the controls of the transport, in the elements of the template "player".

const LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const LEVEL_FLOOR_DB = -60;
const STILL_MS = 500;

const keyOf = (source, i) => source.key || String(i + 1);

// Returns a list in a random order.
function shuffled(list) {
  const order = [...list];
  for (let i = order.length - 1; i > 0; i--) {
    const k = Math.floor((crypto.getRandomValues(new Uint32Array(1))[0] / 2 ** 32) * (i + 1));
    [order[i], order[k]] = [order[k], order[i]];
  }
  return order;
}

// Fills a group with labelled inputs of a kind and returns them with their words.
function fillChoices(group, kind, count, changed) {
  const choices = [...Array(count).keys()].map((i) => {
    const label = document.createElement("label"), input = document.createElement("input");
    const key = document.createElement("kbd"), words = document.createElement("span");
    input.type = kind;
    input.name = group.id;
    input.value = i;
    input.autocomplete = "off";
    input.addEventListener("change", () => changed(i));
    key.hidden = true;
    label.append(input, key, words);
    return { label, input, key, words };
  });
  group.querySelector(".choices").replaceChildren(...choices.map(({ label }) => label));
  return choices;
}

// Starts the player. numbers is a Player of player.go; bytesOf returns the file of a sound's id, or a
// promise of it. The returned object takes new numbers by update.
function startPlayer(numbers, bytesOf) {
  const $ = (id) => document.getElementById(id);
  const state = { order: [], blind: false, revealed: false, position: 0, played: new Set(), busy: false }; // played: positions
  const transport = makeTransport(numbers, bytesOf, () => tell());
  let sources = [], switches = [];
  const hidden = () => state.blind && !state.revealed;
  const inOrder = () => [...transport.player.sources.keys()];
  const say = (text) => ($("state").textContent = text);

  // Returns the name of the source at a position, or only its letter.
  function nameAt(position) {
    const name = transport.player.sources[state.order[position]].name;
    if (!state.blind) return name;
    return state.revealed ? `${LETTERS[position]}: ${name}` : LETTERS[position];
  }

  function tell() {
    if (transport.playing) state.played.add(state.position);
    const name = nameAt(state.position), note = transport.note;
    say((transport.playing ? `Playing ${name}.` : `Stopped. ${name[0].toUpperCase()}${name.slice(1)} is chosen.`) + (note && ` ${note}`));
    $("play").textContent = transport.playing ? "Stop" : "Play";
  }

  async function toggle() {
    if (state.busy) return;
    state.busy = true;
    try {
      if (transport.playing) {
        transport.stop();
      } else {
        if (!transport.graph) say("Getting the sound ready …");
        await transport.play();
        follow();
      }
      tell();
    } catch (error) {
      say(error instanceof DOMException ? "This browser cannot play the sound." : error.message);
    }
    state.busy = false;
  }

  function choose(position) {
    if (position < 0 || position >= state.order.length) return;
    state.position = position;
    transport.choose(state.order[position]);
    showSources();
    tell();
  }

  function showSources() {
    sources.forEach(({ label, input, key, words }, i) => {
      words.textContent = nameAt(i);
      key.textContent = keyOf(transport.player.sources[state.order[i]], i);
      key.hidden = state.blind;
      input.checked = i === state.position;
      label.classList.toggle("heard", i === state.position);
    });
  }

  // Starts a blind comparison of all sources or some, or ends it.
  function setBlind(blind, among = inOrder()) {
    Object.assign(state, { blind, revealed: false, order: blind ? shuffled(among) : inOrder(), position: 0, played: new Set() });
    fillSources();
    showBlind();
    choose(0);
  }

  function fillSources() {
    sources = fillChoices($("sources"), "radio", state.order.length, choose);
  }

  function showBlind() {
    $("level-name").textContent = hidden() ? "level of the mix" : "level";
    if (!$("blind")) return;
    $("blind").textContent = state.blind ? "Hear by name again" : "Compare blind";
    $("reveal").hidden = !state.blind;
    $("reveal").textContent = hidden() ? "Show which is which" : "Shuffle again";
    $("moves").disabled = hidden();
    $("blind-note").textContent = hidden() ? "Shuffled. The level shown is the mix's for all; the moves stay as they are." : "";
  }

  // After a button that changes the choices, focuses the chosen one, so that the next space plays.
  const focusChoices = () => sources[state.position].input.focus();

  // Shows position and level while sound runs: in every frame, or twice a second for people who
  // prefer less motion.
  let following = false;
  function follow(again = false) {
    if (following && !again) return;
    showPosition($("strip"), transport.player.seconds, transport.position());
    const db = transport.levelDB(hidden());
    $("level-bar").style.transform = `scaleX(${Math.min(Math.max(1 - db / LEVEL_FLOOR_DB, 0), 1).toFixed(3)})`;
    $("level-db").textContent = db > -100 ? `${signed(db, 1)} dBFS` : "–";
    following = transport.playing;
    if (!following) return;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    still ? setTimeout(follow, STILL_MS, true) : requestAnimationFrame(() => follow(true));
  }

  // Builds the choices and the strip again for the transport's player.
  function show() {
    const { player } = transport;
    state.order = state.blind ? state.order : inOrder();
    fillSources();
    if ($("moves")) showSwitches();
    showSources();
    drawStrip($("strip"), $("strip-key"), player);
    drawAxis($("strip-axis"), player.sources[0].from_s, player.seconds);
    strip.setLength(player.seconds);
    strip.show(transport.part);
    showPosition($("strip"), player.seconds, transport.position());
  }

  // Shows the switches of the moves, on pages without rows of their own for them.
  function showSwitches() {
    const { player } = transport;
    switches = fillChoices($("moves"), "checkbox", player.moves.length, () => {
      transport.setMoves(switches.reduce((bits, { input }, i) => bits | (input.checked << i), 0));
    });
    switches.forEach(({ input, words }, i) => {
      words.textContent = player.moves[i].label;
      input.checked = (transport.on >> i) & 1;
    });
    $("moves").hidden = player.moves.length === 0;
    if (player.legend) $("moves").querySelector("legend").textContent = player.legend;
  }

  $("play").addEventListener("click", toggle);
  bindVolume((db) => transport.setVolume(db));
  $("blind")?.addEventListener("click", () => {
    setBlind(!state.blind);
    focusChoices();
  });
  $("reveal")?.addEventListener("click", () => {
    if (state.revealed) {
      setBlind(true);
    } else {
      state.revealed = true;
      showBlind();
      showSources();
      tell();
    }
    focusChoices();
  });
  drawStrip($("strip"), $("strip-key"), numbers);
  const strip = connectPart(
    { strip: $("strip"), edgeFrom: $("edge-from"), edgeTo: $("edge-to"), from: $("from"), to: $("to"), whole: $("whole") },
    numbers.seconds,
    (part) => {
      transport.repeat(part);
      showPosition($("strip"), transport.player.seconds, transport.position());
    },
    (position) => {
      transport.seek(position);
      showPosition($("strip"), transport.player.seconds, transport.position());
    },
  );
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || !$("keys").checked || $("player").closest("[hidden]")) return;
    const target = event.target;
    if (target.closest("input[type=number], input[type=text], textarea, select, [contenteditable]")) return;
    if (event.key === " ") {
      if (target.closest("button, input[type=checkbox], summary, a")) return; // space operates these
      event.preventDefault();
      toggle();
      return;
    }
    const key = event.key.toUpperCase();
    const byKey = state.order.findIndex((source, i) => keyOf(transport.player.sources[source], i).toUpperCase() === key);
    const byLetter = state.blind && key.length === 1 ? LETTERS.indexOf(key) : -1;
    choose(Math.max(byKey, byLetter));
  });
  show();
  $("player").hidden = false;

  return {
    transport,
    blind: () => state.blind,
    async play() {
      if (!transport.playing) await toggle();
    },
    playedAll: () => state.played.size === state.order.length,
    sourceAt: (position) => state.order[position],
    // Compares two sources blind, in random order; null: ends that.
    blindPair(pair) {
      if (pair || state.blind) setBlind(Boolean(pair), pair ?? undefined);
    },
    // Plays other moves at once, without showing anything.
    preview(next) {
      transport.update(next, state.order[state.position], 2 ** next.moves.length - 1);
    },
    // Takes new numbers: at once if the sounds are the same, else the sound stops and is loaded
    // again. A sound's id must change when the sound does. If the number of moves changed, all are
    // switched on. The chosen source stays chosen.
    update(next) {
      const before = transport.player, old = before.sources[state.order[state.position]];
      const sameMoves = before.moves.length === next.moves.length;
      if (state.blind && next.sources.length !== before.sources.length) Object.assign(state, { blind: false, revealed: false });
      if (!state.blind) state.order = [...Array(next.sources.length).keys()];
      const found = next.sources.findIndex((s) => s.sound === old.sound && s.through_moves === old.through_moves);
      if (!state.blind) state.position = Math.max(found, 0);
      transport.update(next, state.order[state.position], sameMoves ? transport.on : 2 ** next.moves.length - 1);
      show();
      showBlind();
      tell();
    },
  };
}

const savedPage = document.getElementById("data");
const livePlayer = savedPage && startPlayer(JSON.parse(savedPage.textContent).player, bytesIn);
