// Practising: a shelf or bell is hidden in the plain excerpt, heard, guessed and shown, round after
// round. Its size depends on the answers.

// Two right answers in a row make it smaller, one wrong answer larger, so that it converges where
// 71 % of the answers are right: the transformed up-down method of H. Levitt, J. Acoust. Soc. Am. 49
// (1971), 467–477 (from memory). Steps are halved at the first two turns. The threshold is the mean
// of the levels at an even number of later turns.
const TRIAL = { startDB: 8, leastDB: 0.5, mostDB: 12, stepsDB: [2, 1, 0.5] };

function newStaircase() {
  const s = { gainDB: TRIAL.startDB, rounds: 0, right: 0, row: 0, way: 0, turns: [] };
  s.answer = (right) => {
    s.rounds++;
    s.right += right ? 1 : 0;
    s.row = right ? s.row + 1 : 0;
    const way = !right ? 1 : s.row === 2 ? -1 : 0;
    if (way === 0) return;
    s.row = 0;
    if (s.way && way !== s.way) s.turns.push(s.gainDB);
    s.way = way;
    const step = TRIAL.stepsDB[Math.min(s.turns.length, TRIAL.stepsDB.length - 1)];
    s.gainDB = Math.min(Math.max(s.gainDB + way * step, TRIAL.leastDB), TRIAL.mostDB);
  };
  // Returns the threshold with the range of the turns it averages; null with fewer than four turns.
  s.threshold = () => {
    let used = s.turns.slice(TRIAL.stepsDB.length - 1);
    if (used.length % 2) used = used.slice(1);
    if (used.length < 4) return null;
    return { dB: used.reduce((a, b) => a + b, 0) / used.length, lowDB: Math.min(...used), highDB: Math.max(...used) };
  };
  return s;
}

// Writes a gain: "+3 dB", "−2.5 dB".
const gainText = (db) => `${db < 0 ? "−" : "+"}${Math.abs(db)} dB`;

// Draws a place by its share, as tasks are drawn.
function drawPlace(places, random) {
  let at = random() * places.reduce((sum, { share }) => sum + share, 0);
  return places.findIndex(({ share }) => (at -= share) < 0);
}

// Returns the section of the hidden move at a sample rate.
function hiddenSection({ place, move, sign, gainDB }, practice, rate) {
  const shape = place.shape.replace(" ", "-"), gain_db = sign * gainDB;
  const q = shape === "bell" ? practice.bell_q : qOfSlope(practice.slope, gain_db);
  return sectionOf({ shape, hz: move.hz, gain_db, q }, rate);
}

// Starts practising on the page. sound.prepare readies the context, stops what else plays, and
// returns {ctx, buffer, out}. random is Math.random except in tests.
function startTrial(practice, sound, random = Math.random) {
  const $ = (id) => document.getElementById(id);
  const stairs = newStaircase();
  const state = { hidden: null, answered: false, changed: false, shape: "bell" };
  let nodes = null, through = null; // path through the hidden move
  const shapes = [...new Set(practice.places.map(({ shape }) => shape))];
  const ready = () => say("Hear it, then say which shape, where, and which way.");

  function draw() {
    const number = drawPlace(practice.places, random), place = practice.places[number];
    const move = place.moves[Math.floor(random() * place.moves.length)];
    state.hidden = { number: number + 1, place, move, sign: random() < 0.5 ? 1 : -1, gainDB: stairs.gainDB };
    state.answered = state.changed = false;
    hide();
    $("trial-next").disabled = true;
    buttons.forEach(({ button }) => button.classList.remove("right", "wrong"));
    if (nodes) ready();
    else say("Play to begin.");
  }

  // Replaces the previous hidden move, which fades out.
  function hide() {
    if (!nodes) return;
    const { ctx, source, room } = nodes, old = through;
    through = { input: new GainNode(ctx), gain: new GainNode(ctx, { gain: 0 }) };
    source.connect(through.input);
    connectSection(ctx, through.input, hiddenSection(state.hidden, practice, ctx.sampleRate)).connect(through.gain).connect(room);
    if (old) {
      old.gain.gain.setTargetAtTime(0, ctx.currentTime, RAMP_S);
      setTimeout(() => (source.disconnect(old.input), old.gain.disconnect()), 1000 * SETTLED_S);
    }
    apply();
  }

  function apply() {
    $("trial-hear").textContent = state.changed ? "Hear plain" : "Hear it changed";
    if (!nodes) return;
    const { move, sign, gainDB } = state.hidden;
    const ramp = (param, v) => param.setTargetAtTime(v, nodes.ctx.currentTime, RAMP_S);
    const turned = (sign > 0 ? move.up_db : move.down_db)[Math.round(gainDB / practice.step_db) - 1];
    ramp(nodes.plain.gain, state.changed ? 0 : 1);
    ramp(through.gain.gain, state.changed ? gainOfDB(turned) : 0);
  }

  async function play() {
    if (nodes) return stop();
    const { ctx, buffer, out } = await sound.prepare();
    const source = new AudioBufferSourceNode(ctx, { buffer, loop: true });
    const plain = new GainNode(ctx), room = new GainNode(ctx, { gain: gainOfDB(-6) });
    source.connect(plain).connect(room).connect(out);
    source.start();
    nodes = { ctx, source, plain, room };
    $("trial-play").textContent = "Stop";
    hide();
    if (!state.answered) ready();
  }

  function stop() {
    if (!nodes) return;
    nodes.source.stop();
    nodes.room.disconnect();
    nodes = through = null;
    $("trial-play").textContent = "Play";
  }

  function hear() {
    state.changed = !state.changed;
    apply();
  }

  const say = (text) => ($("trial-state").textContent = text);

  function answer(number, sign) {
    if (state.answered) return;
    const { number: hidden, place, move, sign: way, gainDB } = state.hidden, answered = practice.places[number - 1];
    const exact = number === hidden && sign === way, right = exact || move.same.includes(number * sign * way);
    state.answered = true;
    stairs.answer(right);
    state.shape = place.shape;
    show();
    for (const b of buttons) {
      if (b.number === hidden && b.sign === way) b.button.classList.add("right");
      else if (b.number === number && b.sign === sign && !right) b.button.classList.add("wrong");
    }
    const truth = `a ${place.shape} at ${move.hz < 1000 ? `${move.hz} Hz` : `${move.hz / 1000} kHz`} in the ${place.zone}, ${gainText(way * gainDB)}`;
    say(`${right ? "Right" : "Not this time"}: it was ${truth}.${exact ? "" : right ? " Your answer sounds much the same, equally loud." : nearWords(answered, place, sign === way)}`);
    const t = stairs.threshold();
    $("trial-score").textContent = `${stairs.right} of ${stairs.rounds} right. ` +
      (t ? `You hear ${t.dB.toFixed(1)} dB (turns between ${t.lowDB} and ${t.highDB} dB).` : "Your threshold shows after some more rounds.");
    $("trial-next").disabled = false;
    $("trial-next").focus();
  }

  // Shows the places of the chosen shape.
  function show() {
    for (const { input, shape } of choices) input.checked = shape === state.shape;
    for (const { row, shape } of rows) row.hidden = shape !== state.shape;
  }

  const choices = shapes.map((shape) => {
    const label = document.createElement("label"), input = document.createElement("input");
    Object.assign(input, { type: "radio", name: "trial-shape", value: shape, autocomplete: "off" });
    input.addEventListener("change", () => ((state.shape = shape), show()));
    label.append(input, ` ${shape}`);
    $("trial-shapes").append(label);
    return { input, shape };
  });
  const buttons = [];
  const rows = practice.places.map(({ shape, zone }, i) => {
    const row = document.createElement("div");
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", `${shape}, ${zone}`);
    for (const sign of [1, -1]) {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: `${zone} ${sign > 0 ? "up" : "down"}` });
      button.addEventListener("click", () => answer(i + 1, sign));
      buttons.push({ button, number: i + 1, sign });
      row.append(button);
    }
    $("trial-zones").append(row);
    return { row, shape };
  });
  $("trial-play").addEventListener("click", play);
  $("trial-hear").addEventListener("click", hear);
  $("trial-next").addEventListener("click", draw);
  if (practice.places.length < 2) return { stop, playing: () => false }; // nothing to tell apart
  if (!shapes.includes(state.shape)) state.shape = shapes[0];
  show();
  draw();
  $("trial").hidden = false;
  return { state, stairs, stop, playing: () => nodes !== null, buttons }; // for tests
}

// Says which parts of a wrong answer were right.
function nearWords(answered, place, sameWay) {
  const parts = { "the shape": answered.shape === place.shape, "the zone": answered.zone === place.zone, "the way": sameWay };
  const of = (right) => Object.keys(parts).filter((part) => parts[part] === right).join(" and ");
  return of(true) === "" ? "" : ` Right of it: ${of(true)}; not ${of(false)}.`;
}
