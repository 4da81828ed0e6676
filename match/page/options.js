// Options: the fields that say how recordings are compared and how far to go.

// Puts buttons for one step down and up around a number field, and lets its arrow keys
// do the same. next gives the value a step of direction ±1 away from another.
function addSteppers(box, next) {
  const field = box.querySelector("input");
  const name = field.labels?.[0]?.textContent || field.getAttribute("aria-label");
  const by = (direction) => {
    const value = next(field.valueAsNumber, direction);
    if (!Number.isFinite(value) || value === field.valueAsNumber) return;
    field.value = value;
    field.dispatchEvent(new Event("change"));
  };
  const button = (words, spoken, direction) => {
    const b = make("button", { type: "button", textContent: words });
    b.setAttribute("aria-label", `${name}: ${spoken}`);
    b.addEventListener("click", () => by(direction));
    return b;
  };
  field.before(button("−", "a step down", -1));
  field.after(button("+", "a step up", 1));
  field.addEventListener("keydown", (event) => {
    const direction = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!direction) return;
    event.preventDefault();
    by(direction);
  });
}

// Shows a field's value, and remembers it as settled.
function settle(field, value) {
  field.value = value;
  field.dataset.settled = field.value;
}

for (const box of document.querySelectorAll(".stepped[data-step]")) {
  const { step, min, max } = box.dataset;
  addSteppers(box, (value, direction) => {
    const steps = value / step, near = direction > 0 ? Math.floor(steps + 1e-9) : Math.ceil(steps - 1e-9);
    return Math.min(Math.max((near + direction) * step, min), max);
  });
}

function onNumber(id, take) {
  byId(id).addEventListener("change", () => {
    const value = byId(id).valueAsNumber;
    if (Number.isFinite(value)) take(value);
    else showFields();
  });
}
onNumber("max-moves", (max_moves) => change({ max_moves: Math.round(max_moves) }));
onNumber("toward", (toward_percent) => change({ toward_percent }));
onNumber("range-low", (hz) => change({ range_hz: [hz, app.fields.range_hz[1]] }));
onNumber("range-high", (hz) => change({ range_hz: [app.fields.range_hz[0], hz] }));
byId("loudest").addEventListener("change", () => change({ loudest_s: byId("loudest").valueAsNumber || 0 }));
byId("stage").addEventListener("change", () => change({ stage: byId("stage").value }));
byId("smooth").addEventListener("change", () => change({ smooth_oct: Number(byId("smooth").value) }));

// The text of a file, which some editors save as UTF-16 after a byte order mark.
async function textOf(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const mark = (bytes[0] << 8) | bytes[1];
  return new TextDecoder({ 0xfffe: "utf-16le", 0xfeff: "utf-16be" }[mark] ?? "utf-8").decode(bytes);
}

onChosen("choose-equaliser", async ([file]) => {
  if (!file) return;
  try {
    const equaliser = JSON.parse(await textOf(file));
    change({ equaliser, equaliser_name: String(equaliser?.name || file.name).slice(0, 200), dialled: null });
  } catch {
    tellTrouble({ what: `“${file.name}” is not a description of an equaliser.`, hint: "Choose a .json file as toneplumb match --eq takes it." });
  }
});
byId("usual-equaliser").addEventListener("click", () => change({ equaliser: null, equaliser_name: "", dialled: null }));
byId("undo").addEventListener("click", undo);
byId("redo").addEventListener("click", redo);

// The strips on which a part is chosen.
const parts = ["mix", "ref"].map((side) => {
  const get = (name) => byId(`${side}-${name}`);
  const part = { side, strip: get("strip"), key: get("strip-key"), box: byId(`${side}-part`), of: null, seconds: 0 };
  part.strip.append(svgElement("rect", { class: "part", y: 0, height: HIGH }));
  part.connected = connectPart(
    { strip: part.strip, edgeFrom: get("edge-from"), edgeTo: get("edge-to"), from: get("from"), to: get("to"), whole: get("whole") },
    1,
    ({ from, to }) => change({ [`${side}_part`]: from <= 0 && to >= part.seconds ? null : [[from, to]] }),
    () => {},
  );
  return part;
});

// Draws the level of a recording over time, per second.
function drawLevels(part, file) {
  const heard = file.levels_lufs.filter((lufs) => lufs !== null);
  const top = Math.max(...heard) + 2, bottom = top - 30;
  const points = file.levels_lufs.map((lufs, i) => {
    const y = (top - Math.max(lufs ?? bottom, bottom)) / (top - bottom);
    return `${(((i + 0.5) / file.duration_s) * WIDE).toFixed(1)},${(y * HIGH).toFixed(1)}`;
  });
  part.strip.replaceChildren(svgElement("rect", { class: "part", y: 0, height: HIGH }), svgElement("polyline", { class: "course", points: points.join(" ") }));
  part.key.textContent = `Level of ${file.name} per second over ${clock(file.duration_s)}. Drag along the strip for a part, or move its two edges.`;
}

function showParts() {
  for (const part of parts) {
    const id = part.side === "mix" ? app.mix : app.references.find((ref) => fileOf(ref)?.levels_lufs);
    const file = fileOf(id);
    part.box.hidden = !file?.levels_lufs || file.state !== "ready";
    if (part.box.hidden) continue;
    if (part.of !== id) {
      part.of = id;
      part.seconds = Math.floor(10 * file.duration_s) / 10;
      part.connected.setLength(part.seconds);
      drawLevels(part, file);
    }
    const [from, to] = app.fields[`${part.side}_part`]?.[0] ?? [0, part.seconds];
    part.connected.show({ from, to });
  }
}

// Shows all fields as they stand.
function showFields() {
  const f = app.fields;
  settle(byId("max-moves"), f.max_moves);
  settle(byId("toward"), f.toward_percent);
  settle(byId("range-low"), f.range_hz[0]);
  settle(byId("range-high"), f.range_hz[1]);
  settle(byId("loudest"), f.loudest_s || "");
  byId("stage").value = f.stage ?? "rough";
  byId("smooth").value = f.smooth_oct;
  byId("usual-equaliser").hidden = !f.equaliser;
  byId("equaliser-name").textContent = f.equaliser ? `The moves are for ${f.equaliser_name}.` : "The moves are for a common equaliser: one low shelf, one high shelf, and bells.";
  byId("undo").disabled = app.past.length === 0;
  byId("redo").disabled = app.future.length === 0;
  showParts();
  if (app.answer) showRows();
}
