// Practising: a bell is hidden in the plain excerpt, heard, guessed and shown, round after
// round. How large it is follows from the answers.

// Two right in a row make it smaller, one wrong larger, so that it ends where 71 % of the
// answers are right: the transformed up-down method of H. Levitt, J. Acoust. Soc. Am. 49
// (1971), 467–477 (from memory). Steps are halved at the first two turns; the threshold is
// the mean of the levels at the turns after them, an even number of these.
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
  // The threshold with the range of the turns it is the mean of; null until there are four.
  s.threshold = () => {
    let used = s.turns.slice(TRIAL.stepsDB.length - 1);
    if (used.length % 2) used = used.slice(1);
    if (used.length < 4) return null;
    return { dB: used.reduce((a, b) => a + b, 0) / used.length, lowDB: Math.min(...used), highDB: Math.max(...used) };
  };
  return s;
}

// signed writes a gain: "+3 dB", "−2.5 dB".
const signed = (db) => `${db < 0 ? "−" : "+"}${Math.abs(db)} dB`;

// Starts practising on the page. sound.prepare makes the context ready, and stops what else plays; it
// returns {ctx, buffer, out}. random is Math.random but in tests.
function startTrial(practice, sound, random = Math.random) {
  const $ = (id) => document.getElementById(id);
  const stairs = newStaircase();
  const state = { hidden: null, answered: false, changed: false };
  let nodes = null;

  function draw() {
    const zone = practice.zones[Math.floor(random() * practice.zones.length)];
    state.hidden = { zone, sign: random() < 0.5 ? 1 : -1, gainDB: stairs.gainDB };
    state.answered = state.changed = false;
    apply();
    $("trial-next").disabled = true;
    buttons.forEach(({ button }) => button.classList.remove("right", "wrong"));
    say(nodes ? "Hear it, then say where and which way." : "Play to begin.");
  }

  function apply() {
    if (!nodes) return;
    const { zone, sign, gainDB } = state.hidden;
    const at = nodes.ctx.currentTime, ramp = (param, v) => param.setTargetAtTime(v, at, RAMP_S);
    const turned = (sign > 0 ? zone.up_db : zone.down_db)[Math.round(gainDB / practice.step_db) - 1];
    nodes.bell.frequency.value = zone.hz;
    nodes.bell.gain.value = sign * gainDB;
    ramp(nodes.plain.gain, state.changed ? 0 : 1);
    ramp(nodes.moved.gain, state.changed ? gainOfDB(turned) : 0);
    $("trial-hear").textContent = state.changed ? "Hear plain" : "Hear it changed";
  }

  async function play() {
    if (nodes) return stop();
    const { ctx, buffer, out } = await sound.prepare();
    const source = new AudioBufferSourceNode(ctx, { buffer, loop: true });
    const bell = new BiquadFilterNode(ctx, { type: "peaking", Q: practice.q });
    const plain = new GainNode(ctx), moved = new GainNode(ctx, { gain: 0 }), room = new GainNode(ctx, { gain: gainOfDB(-6) });
    source.connect(plain).connect(room);
    source.connect(bell).connect(moved).connect(room);
    room.connect(out);
    source.start();
    nodes = { ctx, source, bell, plain, moved, room };
    $("trial-play").textContent = "Stop";
    apply();
    say(state.answered ? $("trial-state").textContent : "Hear it, then say where and which way.");
  }

  function stop() {
    if (!nodes) return;
    nodes.source.stop();
    nodes.room.disconnect();
    nodes = null;
    $("trial-play").textContent = "Play";
  }

  function hear() {
    state.changed = !state.changed;
    apply();
  }

  const say = (text) => ($("trial-state").textContent = text);

  function answer(zone, sign) {
    if (state.answered) return;
    const h = state.hidden, right = zone === h.zone && sign === h.sign;
    state.answered = true;
    stairs.answer(right);
    for (const b of buttons) {
      if (b.zone === h.zone && b.sign === h.sign) b.button.classList.add("right");
      else if (b.zone === zone && b.sign === sign) b.button.classList.add("wrong");
    }
    const near = zone === h.zone ? " The zone was right, the way was not." : sign === h.sign ? " The way was right, the zone was not." : "";
    say(`${right ? "Right" : "Not this time"}: it was ${h.zone.name} ${signed(h.sign * h.gainDB)}.${right ? "" : near}`);
    const t = stairs.threshold();
    $("trial-score").textContent = `${stairs.right} of ${stairs.rounds} right. ` +
      (t ? `You hear ${t.dB.toFixed(1)} dB (turns between ${t.lowDB} and ${t.highDB} dB).` : "Your threshold shows after some more rounds.");
    $("trial-next").disabled = false;
    $("trial-next").focus();
  }

  const buttons = [];
  practice.zones.forEach((zone) => {
    const row = document.createElement("div");
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", zone.name);
    for (const sign of [1, -1]) {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: `${zone.name} ${sign > 0 ? "up" : "down"}` });
      button.addEventListener("click", () => answer(zone, sign));
      buttons.push({ button, zone, sign });
      row.append(button);
    }
    $("trial-zones").append(row);
  });
  $("trial-play").addEventListener("click", play);
  $("trial-hear").addEventListener("click", hear);
  $("trial-next").addEventListener("click", draw);
  draw();
  $("trial").hidden = practice.zones.length < 2;
  return { state, stairs, stop, playing: () => nodes !== null }; // for tests
}
