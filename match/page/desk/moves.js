// Moves: each a row of number fields with steppers, and sliders at the equaliser's steps.

const MOST_MOVES = 8;
const FREE_STEPS = 240; // steps of the slider of a continuous dial

const rows = []; // { body, on, number, shape, cells, interval, reason, mark }

// Returns the current moves; while a slider is dragged, with its value.
const shownMoves = () => app.draft ?? app.fields.dialled ?? app.answer?.advised ?? [];
const dialsFor = (shape) => app.answer.dials.find((dial) => dial.shape === shape);
const rounded = (x) => Number(x.toPrecision(6));

// Returns the scale of a dial: the last place, the value at a place, and the place nearest a value.
function scaleOf(dial) {
  if (dial.values?.length) {
    return { top: dial.values.length - 1, at: (i) => dial.values[i], of: (v) => dial.values.reduce((best, x, i) => (Math.abs(x - v) < Math.abs(dial.values[best] - v) ? i : best), 0) };
  }
  if (dial.step) {
    return { top: Math.round((dial.max - dial.min) / dial.step), at: (i) => rounded(Math.min(dial.min + i * dial.step, dial.max)), of: (v) => Math.round((v - dial.min) / dial.step) };
  }
  const far = dial.min > 0 && dial.max > 50; // a dial of frequencies
  const at = (i) => Number((far ? dial.min * (dial.max / dial.min) ** (i / FREE_STEPS) : dial.min + ((dial.max - dial.min) * i) / FREE_STEPS).toPrecision(3));
  return { top: FREE_STEPS, at, of: (v) => Math.round(FREE_STEPS * (far ? Math.log(v / dial.min) / Math.log(dial.max / dial.min) : (v - dial.min) / (dial.max - dial.min))) };
}

// Returns the next setting of a dial above or below a value, which itself may be beyond the dial's ends: a move set by hand
// keeps its gain where another stage allows less. From there a step leads back to the end, and none farther away.
function nextOn(dial, value, direction) {
  const to = clampedStep(dial, value, direction);
  return (to - value) * direction > 0 ? to : value;
}

// Returns the setting a step from a value in direction ±1, at most the dial's ends.
function clampedStep(dial, value, direction) {
  // A continuous dial moves by a semitone, or by a tenth.
  if (!dial.values?.length && !dial.step) {
    const to = dial.max > 50 ? value * 2 ** (direction / 12) : value + direction / 10;
    return Number(Math.min(Math.max(to, dial.min), dial.max).toPrecision(3));
  }
  const scale = scaleOf(dial), near = 1e-6 * Math.max(Math.abs(value), 1);
  let i = Math.min(Math.max(scale.of(value), 0), scale.top);
  if (direction > 0 ? scale.at(i) <= value + near : scale.at(i) >= value - near) i += direction;
  return scale.at(Math.min(Math.max(i, 0), scale.top));
}

// Returns the setting of a dial nearest to a value.
function nearestOn(dial, value) {
  if (!dial.values?.length && !dial.step) return Math.min(Math.max(value, dial.min), dial.max);
  const scale = scaleOf(dial);
  return scale.at(Math.min(Math.max(scale.of(value), 0), scale.top));
}

// Returns a width to start with: an octave for a bell, the middle for a shelf.
function startWidth({ shape, width }) {
  const [low, high] = width.values?.length ? [width.values[0], width.values.at(-1)] : [width.min, width.max];
  return nearestOn(width, shape === "bell" ? 1 : Math.sqrt(Math.max(low, 1e-3) * high));
}

const withMove = (i, fields) => shownMoves().map((move, k) => (k === i ? { ...move, ...fields, hand: true } : { ...move }));

// Changes move i by hand.
const setMove = (i, fields, key = null) => change({ dialled: withMove(i, fields) }, key);

// Shows and plays move i while its slider is dragged.
function tryMove(i, fields) {
  app.draft = withMove(i, fields);
  drawMoves(app.draft);
  previewSound(app.draft);
}

const CELLS = [
  { name: "freq_hz", words: "frequency in hertz", unit: " Hz" },
  { name: "gain_db", words: "gain in decibels", unit: " dB" },
  { name: "width", words: "width", unit: "" },
];

// Makes a number of a move: a field with steppers, a slider, a unit and a note.
function addCell(i, { name, words, unit }) {
  const dial = () => dialsFor(shownMoves()[i].shape)?.[name]; // undefined just after choosing an equaliser without that shape
  const field = make("input", { type: "text", inputMode: "decimal", autocomplete: "off" });
  field.setAttribute("aria-label", `Move ${i + 1}: ${words}`);
  field.dataset.unit = unit.trim();
  const note = addNote(field), is = make("span", { className: "unit" });
  const slider = make("input", { type: "range", min: 0, step: 1, autocomplete: "off" });
  slider.setAttribute("aria-label", `Move ${i + 1}: ${words}, slider`);
  const stepped = make("div", { className: "stepped" }, field);
  const box = make("div", { className: "cell" }, stepped, slider, is, note);
  box.dataset.name = name;
  const take = (value) => setMove(i, { [name]: value }, `${i}.${name}`);
  addSteppers(stepped, (value, direction) => nextOn(dial(), value, direction), take);
  bindNumber(field, (value) => {
    const nearest = nearestOn(dial(), value);
    if (Math.abs(nearest - value) <= 1e-6 * Math.abs(value)) return { value: nearest };
    const is = `${shownIn(field, nearest)}${unit}`, { min, max, values } = dial();
    // A learnt equaliser may go further than its description lets the moves go.
    if (value < (values?.[0] ?? min) || value > (values?.at(-1) ?? max)) return { value: nearest, words: `${value < nearest ? "At least" : "At most"} ${is}: ${app.fields.equaliser ? "the equaliser's description" : "the common equaliser"} ends there.` };
    return { value: nearest, words: `Nearest this equaliser has: ${is}.` };
  }, take);
  const moved = () => {
    const value = scaleOf(dial()).at(Number(slider.value));
    field.dataset.settled = field.value = shownIn(field, value);
    slider.setAttribute("aria-valuetext", `${field.value}${unit}`);
    return value;
  };
  slider.addEventListener("input", () => tryMove(i, { [name]: moved() }));
  slider.addEventListener("change", () => take(moved()));
  const show = (value) => {
    settle(field, rounded(value));
    field.disabled = slider.disabled = !dial();
    if (!dial()) return;
    const scale = scaleOf(dial());
    slider.max = scale.top;
    slider.value = scale.of(value);
    slider.setAttribute("aria-valuetext", `${shownIn(field, rounded(value))}${unit}`);
  };
  return { box, field, is, show };
}

function addRow(i) {
  const on = make("input", { type: "checkbox", autocomplete: "off" });
  on.setAttribute("aria-label", `Move ${i + 1} is on, in chart and sound`);
  on.addEventListener("change", () => {
    const moves = shownMoves().map((move, k) => (k === i ? { ...move, on: on.checked } : { ...move }));
    drawMoves(moves);
    previewSound(moves);
    change({ dialled: moves });
  });
  const shape = make("select", { autocomplete: "off" });
  shape.setAttribute("aria-label", `Move ${i + 1}: shape`);
  shape.addEventListener("change", () => {
    const dial = dialsFor(shape.value), { freq_hz, gain_db } = shownMoves()[i];
    setMove(i, { shape: shape.value, freq_hz: nearestOn(dial.freq_hz, freq_hz), gain_db: nearestOn(dial.gain_db, gain_db), width: startWidth(dial) });
  });
  const cells = CELLS.map((cell) => addCell(i, cell));
  const interval = make("span", { className: "interval" }), reason = make("span"), mark = make("span", { className: "mark" });
  const away = make("button", { type: "button", className: "drop-move", textContent: "×", title: "Remove" });
  away.setAttribute("aria-label", `Remove move ${i + 1}`);
  away.addEventListener("click", () => change({ dialled: shownMoves().filter((_, k) => k !== i) }));
  const why = make("span", { className: "reason" }, mark, reason);
  const body = make("li", { className: "move" },
    make("label", { className: "on" }, on, make("b", { textContent: i + 1 })), shape, make("div", { className: "cells" }, ...cells.map(({ box }) => box)), interval, why, away);
  why.addEventListener("click", () => body.classList.toggle("all")); // where a telephone shows two lines of it
  for (const [event, at] of [["pointerenter", i], ["pointerleave", -1], ["focusin", i], ["focusout", -1]]) body.addEventListener(event, () => pointAtMove(at));
  byId("rows").append(body);
  return { body, on, shape, cells, interval, reason, mark };
}

// Shows the moves; the details of those that are on come with the answer.
function showRows() {
  const moves = shownMoves(), { answer } = app, { dialled } = app.fields;
  while (rows.length > moves.length) rows.pop().body.remove();
  while (rows.length < moves.length) rows.push(addRow(rows.length));
  moves.forEach((move, i) => {
    const row = rows[i], dial = dialsFor(move.shape), known = answer.rows.find(({ of }) => of === i);
    row.on.checked = move.on;
    row.shape.replaceChildren(...answer.dials.map(({ shape, count }) => {
      const option = new Option(shape.replace("-", " "), shape);
      option.disabled = shape !== move.shape && moves.filter((other) => other.shape === shape).length >= count;
      return option;
    }));
    row.shape.value = move.shape;
    row.cells.forEach((cell, k) => cell.show(move[CELLS[k].name]));
    const is = dial?.width_is ?? "", says = known?.width ?? "";
    row.cells[0].is.textContent = ["Hz", dial?.freq_is].filter(Boolean).join(" · "); // the columns' heads are not everywhere
    row.cells[1].is.textContent = "dB";
    row.cells[2].is.textContent = [is === "q" ? "Q" : is, is && says.startsWith(is) ? says.split(", ")[1] : says].filter(Boolean).join(" · "); // its value is in the field
    row.interval.textContent = known?.interval ?? "";
    row.reason.textContent = move.on ? known?.reason ?? "" : "";
    row.mark.textContent = move.on ? (dialled && move.hand ? `Set by hand${known?.outside ? ", outside the likely range" : ""}. ` : "") : "Off. ";
    row.body.classList.toggle("off", !move.on);
  });
  byId("rows-head").hidden = moves.length === 0;
  byId("frozen").hidden = !dialled;
  byId("put-aside").hidden = !arePutAside();
  byId("add-move").disabled = moves.length >= MOST_MOVES || !shapeToAdd(moves);
  showSets();
}

// Reports whether the last step took another equaliser and with it put moves aside.
function arePutAside() {
  const before = app.past.length > 0 && JSON.parse(app.past.at(-1)), { dialled, equaliser } = app.fields;
  return Boolean(before && before.dialled?.length && !dialled && JSON.stringify(before.equaliser) !== JSON.stringify(equaliser));
}

const shapeToAdd = (moves) => ["bell", "high-shelf", "low-shelf"].map(dialsFor).find((dial) => dial && moves.filter(({ shape }) => shape === dial.shape).length < dial.count);

byId("add-move").addEventListener("click", () => {
  const moves = shownMoves(), dial = shapeToAdd(moves);
  const at = { bell: 1000, "high-shelf": 8000, "low-shelf": 100 }[dial.shape];
  change({ dialled: [...moves, { shape: dial.shape, freq_hz: nearestOn(dial.freq_hz, at), gain_db: 0, width: startWidth(dial), on: true, hand: true }] });
  rows.at(-1).cells[1].field.focus();
});
byId("as-advised").addEventListener("click", () => change({ dialled: null }));
