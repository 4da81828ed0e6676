// Exercise: ear training with the excerpt and its renders, one at a time, and the sheet.

const FILE_HEAD = "render,shape,freq_hz,gain_db,q\n";

// Returns the sheet as CSV: a row for each move written down, and one for a render without any.
// Cells are quoted, since they may hold a decimal comma.
function sheetText(sheet) {
  let text = FILE_HEAD;
  for (const render of sheet.querySelectorAll("[data-render]")) {
    const rows = [...render.querySelectorAll(".answer")]
      .map((row) => [...row.querySelectorAll("select, input")].map((cell) => cell.value.replace(/["\r\n]/g, " ").trim()))
      .filter((cells) => cells.some((cell) => cell !== ""));
    if (rows.length === 0) rows.push(["", "", "", ""]);
    for (const cells of rows) text += [render.dataset.render, ...cells.map((cell) => (cell === "" ? "" : `"${cell}"`))].join(",") + "\n";
  }
  return text;
}

// Returns a file name that every file system accepts.
const fileNameOf = (name) => (name.replace(/[^\p{L}\p{N} _.-]/gu, "").replace(/^[ .]+|[ .]+$/g, "") || "sheet") + ".csv";

function startExercise({ player, practice, zones }, bytesOf) {
  const $ = (id) => document.getElementById(id);
  const last = player.sources.length - 1;
  const state = { chosen: 0, render: 1, playing: false, busy: false, at: 0, startedAt: 0, changed: false };
  let ctx = null, graph = null, volume = null, buffers = null;
  const volumeDB = () => Number($("volume").value);
  const say = (text) => ($("state").textContent = text);

  // Browsers allow sound only after a click or a key.
  async function prepare() {
    ctx = openContext(player);
    await ctx.resume();
    buffers = await loadSounds(ctx, player, bytesOf);
    graph = buildGraph(ctx, player, buffers);
    volume = ctx.createGain();
    volume.gain.value = gainOfDB(volumeDB());
    graph.out.connect(volume).connect(ctx.destination);
    graph.choose(state.chosen);
  }

  const positionNow = () => (state.playing ? (state.at + Math.max(0, ctx.currentTime - state.startedAt)) % graph.seconds : state.at);

  async function toggle() {
    if (state.busy) return;
    state.busy = true;
    try {
      if (state.playing) {
        state.at = positionNow();
        state.playing = false;
        graph.stop();
      } else {
        others.forEach((other) => other.stop());
        if (!graph) {
          say("Getting the sound ready …");
          await prepare();
        }
        await ctx.resume();
        state.startedAt = ctx.currentTime + AHEAD_S;
        graph.start(state.startedAt, state.at, 0, graph.seconds);
        state.playing = true;
      }
      tell();
    } catch (error) {
      say("The sound cannot be played here.");
    }
    state.busy = false;
  }

  function tell() {
    const name = player.sources[state.chosen].name;
    say(state.playing ? `Playing ${name}.` : `Stopped. ${name[0].toUpperCase()}${name.slice(1)} is chosen.`);
    $("play").textContent = state.playing ? "Stop" : "Play";
    $("swap").textContent = state.chosen === 0 ? `Hear render ${state.render}` : "Hear plain";
  }

  function choose(i) {
    state.chosen = Math.min(Math.max(i, 0), last);
    if (state.chosen > 0) state.render = state.chosen;
    graph?.choose(state.chosen);
    inputs.forEach((input, k) => {
      input.checked = k === state.chosen;
      input.closest("label").classList.toggle("heard", k === state.chosen);
    });
    tell();
  }
  const swap = () => choose(state.chosen === 0 ? state.render : 0);
  // From plain, → goes to the render heard last, at the beginning to the first.
  const step = (by) => choose(state.chosen === 0 ? state.render : Math.min(Math.max(state.render + by, 1), last));

  const inputs = player.sources.map(({ name }, i) => {
    const label = document.createElement("label"), input = document.createElement("input"), words = document.createElement("span");
    Object.assign(input, { type: "radio", name: "source", value: i, autocomplete: "off" });
    words.textContent = name;
    input.addEventListener("change", () => choose(i));
    label.append(input, words);
    $("sources").querySelector(".choices").append(label);
    return input;
  });

  $("play").addEventListener("click", toggle);
  $("swap").addEventListener("click", swap);
  $("previous").addEventListener("click", () => step(-1));
  $("next").addEventListener("click", () => step(1));
  bindVolume((db) => volume && rampVolume(volume, db));

  $("sheet").addEventListener("input", () => (state.changed = true));
  $("save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([sheetText($("sheet"))], { type: "text/csv" }));
    link.download = fileNameOf($("name").value);
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    state.changed = false;
    $("saved").textContent = `Saved as ${link.download}, where this browser puts files.`;
  });
  window.addEventListener("beforeunload", (event) => {
    if (state.changed) event.preventDefault();
  });

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || !$("keys").checked) return;
    const target = event.target;
    if (target.closest("input[type=text], select")) return;
    if (event.key === " " && !event.repeat) {
      if (target.closest("button")) return; // space presses the button
      event.preventDefault();
      toggle();
    }
    if (event.key.toLowerCase() === "p" && !event.repeat) swap();
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (by && !target.closest("input[type=range]")) {
      event.preventDefault();
      step(by);
    }
  });
  // Practising and zones play by themselves: what else plays is stopped.
  const byItself = {
    async prepare() {
      if (state.playing) await toggle();
      others.forEach((other) => other.stop());
      if (!graph) await prepare();
      await ctx.resume();
      return { ctx, buffer: buffers[player.sources[0].sound], out: volume };
    },
  };
  const trial = startTrial(practice, byItself), alone = startAlone(zones, byItself);
  const others = [trial, alone];
  choose(0);
  $("player").hidden = false;
  return { trial, alone, state, position: positionNow, graph: () => graph }; // for tests
}

const liveExercise = startExercise(JSON.parse(document.getElementById("exercise").textContent), bytesIn);
