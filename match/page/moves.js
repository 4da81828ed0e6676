// Rows: each move as a row of number fields with steppers at the equaliser's steps.

const MOST_MOVES = 8;

const rows = []; // { body, on, shape, freq, gain, width, interval, reason, mark }

// The moves as they are dialled now.
const shownMoves = () => app.fields.dialled ?? app.answer?.advised ?? [];
const dialsFor = (shape) => app.answer.dials.find((dial) => dial.shape === shape);
const rounded = (x) => Number(x.toPrecision(6));

// The setting next to a value on a dial, up or down.
function nextOn(dial, value, direction) {
  if (dial.values?.length) {
    const near = 1e-6 * Math.abs(value);
    const found = direction > 0 ? dial.values.find((v) => v > value + near) : dial.values.findLast((v) => v < value - near);
    return found ?? dial.values.at(direction > 0 ? -1 : 0);
  }
  // A dial without steps is moved by a semitone or so, or a tenth.
  if (!dial.step) {
    const to = dial.max > 50 ? value * 2 ** (direction / 12) : value + direction / 10;
    return Number(Math.min(Math.max(to, dial.min), dial.max).toPrecision(3));
  }
  const steps = (value - dial.min) / dial.step, near = direction > 0 ? Math.floor(steps + 1e-6) : Math.ceil(steps - 1e-6);
  return rounded(Math.min(Math.max(dial.min + (near + direction) * dial.step, dial.min), dial.max));
}

// The value of a dial nearest to another.
function nearestOn(dial, value) {
  if (dial.values?.length) return dial.values.reduce((best, v) => (Math.abs(v - value) < Math.abs(best - value) ? v : best));
  const inside = Math.min(Math.max(value, dial.min), dial.max);
  return dial.step ? rounded(dial.min + Math.round((inside - dial.min) / dial.step) * dial.step) : inside;
}

// A width to start with: a bell of about an octave, a shelf of the middle.
function startWidth({ shape, width }) {
  const [low, high] = width.values?.length ? [width.values[0], width.values.at(-1)] : [width.min, width.max];
  return nearestOn(width, shape === "bell" ? 1 : Math.sqrt(Math.max(low, 1e-3) * high));
}

// Changes move i by hand.
function setMove(i, fields) {
  const moves = shownMoves().map((move) => ({ ...move }));
  Object.assign(moves[i], fields);
  change({ dialled: moves });
}

function numberField(i, name, words, of) {
  const field = make("input", { type: "number", step: "any", autocomplete: "off" });
  field.setAttribute("aria-label", `Move ${i + 1}: ${words}`);
  const box = make("div", { className: "stepped" }, field);
  addSteppers(box, (value, direction) => nextOn(of(dialsFor(shownMoves()[i].shape)), value, direction));
  field.addEventListener("change", () => {
    if (Number.isFinite(field.valueAsNumber)) setMove(i, { [name]: field.valueAsNumber });
    else showRows();
  });
  return { box, field };
}

function addRow(i) {
  const on = make("input", { type: "checkbox", autocomplete: "off" });
  on.setAttribute("aria-label", `Move ${i + 1} is on`);
  on.addEventListener("change", () => setMove(i, { on: on.checked }));
  const shape = make("select", { autocomplete: "off" });
  shape.setAttribute("aria-label", `Move ${i + 1}: shape`);
  shape.addEventListener("change", () => {
    const dial = dialsFor(shape.value), { freq_hz, gain_db } = shownMoves()[i];
    setMove(i, { shape: shape.value, freq_hz: nearestOn(dial.freq_hz, freq_hz), gain_db: nearestOn(dial.gain_db, gain_db), width: startWidth(dial) });
  });
  const freq = numberField(i, "freq_hz", "frequency in hertz", (dial) => dial.freq_hz);
  const gain = numberField(i, "gain_db", "gain in decibels", (dial) => dial.gain_db);
  const width = numberField(i, "width", "width", (dial) => dial.width);
  const unit = make("span", { className: "unit" }), freqUnit = make("span", { className: "unit" });
  const interval = make("td", { className: "number" }), reason = make("span"), mark = make("span", { className: "mark" });
  const away = make("button", { type: "button", className: "drop-move", textContent: "Remove" });
  away.setAttribute("aria-label", `Remove move ${i + 1}`);
  away.addEventListener("click", () => change({ dialled: shownMoves().filter((_, k) => k !== i) }));
  const cell = (name, ...content) => {
    const td = make("td", {}, ...content);
    td.dataset.name = name;
    return td;
  };
  interval.dataset.name = "19 times in 20";
  const body = make("tbody", {},
    make("tr", { className: "set" }, cell("on", make("span", { className: "on" }, make("label", {}, on))), cell("shape", shape), cell("frequency, Hz", freq.box, freqUnit), cell("gain, dB", gain.box), cell("width", width.box, unit), interval),
    make("tr", { className: "reason" }, make("td"), make("td", { colSpan: 5 }, mark, reason, " ", away)));
  byId("rows").append(body);
  return { body, on, shape, freq: freq.field, gain: gain.field, width: width.field, unit, freqUnit, interval, reason, mark };
}

const sameMove = (a, b) => a.shape === b.shape && ["freq_hz", "gain_db", "width"].every((field) => Math.abs(a[field] - b[field]) <= 1e-4 * Math.abs(b[field]));

// Shows the moves; what is known of those that are on comes with the answer.
function showRows() {
  const moves = shownMoves(), { answer } = app, advised = answer.advised ?? [];
  while (rows.length > moves.length) rows.pop().body.remove();
  while (rows.length < moves.length) rows.push(addRow(rows.length));
  const byHand = moves.map((move) => !move.on || !advised.some((own) => sameMove(move, own)));
  const changed = byHand.filter(Boolean).length + advised.filter((own) => !moves.some((move) => sameMove(move, own))).length;
  const apart = app.fields.dialled && answer.advised_distance_db !== null && !answer.waiting;
  moves.forEach((move, i) => {
    const row = rows[i], dial = dialsFor(move.shape), known = answer.rows.find(({ of }) => of === i);
    row.on.checked = move.on;
    row.shape.replaceChildren(...answer.dials.map(({ shape, count }) => {
      const option = new Option(shape, shape);
      option.disabled = shape !== move.shape && moves.filter((other) => other.shape === shape).length >= count;
      return option;
    }));
    row.shape.value = move.shape;
    settle(row.freq, rounded(move.freq_hz));
    settle(row.gain, rounded(move.gain_db));
    settle(row.width, rounded(move.width));
    const is = dial?.width_is ?? "", says = known?.width ?? "";
    row.unit.textContent = [says.startsWith(is) ? "" : is === "q" ? "Q" : is, says].filter(Boolean).join(" · ");
    row.freqUnit.textContent = dial?.freq_is ?? "";
    row.interval.textContent = known?.interval || "–";
    row.reason.textContent = move.on ? known?.reason ?? "" : "";
    row.mark.textContent = !byHand[i] || !app.fields.dialled ? "" : (move.on ? "set by hand" : "off by hand") + (apart && changed <= 2 ? `: the distance is ${inDB(answer.distance_after_db)}, as advised ${inDB(answer.advised_distance_db)}. ` : ". ");
    row.body.classList.toggle("off", !move.on);
    row.body.classList.toggle("by-hand", byHand[i]);
  });
  byId("rows-frame").hidden = moves.length === 0;
  byId("moves-none").hidden = moves.length > 0;
  byId("moves-none").textContent = app.fields.dialled ? "No moves are set." : answer.words.why_no_moves;
  byId("as-advised").hidden = !app.fields.dialled;
  byId("add-move").disabled = moves.length >= MOST_MOVES || !shapeToAdd(moves);
}

const shapeToAdd = (moves) => ["bell", "high-shelf", "low-shelf"].map(dialsFor).find((dial) => dial && moves.filter(({ shape }) => shape === dial.shape).length < dial.count);

byId("add-move").addEventListener("click", () => {
  const moves = shownMoves(), dial = shapeToAdd(moves);
  const at = { bell: 1000, "high-shelf": 8000, "low-shelf": 100 }[dial.shape];
  change({ dialled: [...moves, { shape: dial.shape, freq_hz: nearestOn(dial.freq_hz, at), gain_db: 0, width: startWidth(dial), on: true }] });
  rows.at(-1).gain.focus();
});
byId("as-advised").addEventListener("click", () => change({ dialled: null }));
