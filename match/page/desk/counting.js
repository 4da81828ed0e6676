// Counting: the parts of a recording that are used, on a strip with a time axis; each can be heard.
// Also the start of the excerpt that is played.

const LEAST_COUNTED_S = 3;

const partsText = (parts) => parts.map(([from, to]) => `${timeText(from)}-${timeText(to)}`).join(", ");

// Reads "0:45-1:30, 2:00-2:20"; returns {parts} in order, null for all, or {wrong}.
function readParts(text, seconds) {
  if (/^\s*(all( of it)?)?\s*$/i.test(text)) return { parts: null };
  const parts = [];
  for (const piece of text.split(/[,;]\s*/)) {
    const [from, to, more] = piece.split(/\s*[-–−]\s*/).map(readTime);
    if (Number.isNaN(from) || !(to > from) || more !== undefined) return { wrong: `“${piece.slice(0, 20)}” is no part: write it as 0:45-1:30.` };
    if (from >= seconds) return { wrong: `The recording ends at ${timeText(seconds)}.` };
    parts.push([from, Math.min(to, seconds)]);
  }
  const joined = joinParts(parts);
  if (joined.reduce((sum, [from, to]) => sum + to - from, 0) < LEAST_COUNTED_S) return { wrong: `Parts of ${LEAST_COUNTED_S} seconds are the least.` };
  return { parts: joined };
}

// Returns parts in order, joined where they touch.
function joinParts(parts) {
  const joined = [];
  for (const [from, to] of [...parts].sort((a, b) => a[0] - b[0])) {
    const last = joined.at(-1);
    if (last && from <= last[1]) last[1] = Math.max(last[1], to);
    else joined.push([from, to]);
  }
  return joined;
}

const counting = ["mix", "ref"].map((side) => {
  const get = (name) => byId(`${side}-${name}`);
  const part = { side, strip: get("strip"), axis: get("axis"), key: get("strip-key"), box: get("part"), times: get("times"), chips: get("chips"), hear: get("hear"), excerpt: get("excerpt"), of: null, seconds: 0 };
  const set = (parts) => change({ [`${side}_part`]: parts });
  part.times.after(addNote(part.times));
  part.times.addEventListener("change", () => {
    const { parts, wrong } = readParts(part.times.value, part.seconds);
    if (wrong) {
      part.times.value = part.times.dataset.settled ?? "";
      return sayAt(part.times, wrong, true);
    }
    sayAt(part.times, "");
    part.times.dataset.settled = part.times.value;
    set(parts);
  });
  part.hear.after(addNote(part.hear));
  part.hear.addEventListener("change", () => {
    const from = /^\s*(loudest)?\s*$/i.test(part.hear.value) ? null : readTime(part.hear.value);
    if (from !== null && !(from >= 0 && from < part.seconds)) {
      part.hear.value = part.hear.dataset.settled ?? "";
      return sayAt(part.hear, `Write a time up to ${timeText(part.seconds)}, as 0:45.`, true);
    }
    part.hear.dataset.settled = part.hear.value;
    hearFrom(side, from);
  });
  // Dragging along the strip adds a part.
  const chosen = () => app.fields[`${side}_part`] ?? [];
  dragAlong(part.strip, () => part.seconds, ({ from, to }) => drawParts(part, [...chosen(), [from, to]]), ({ from, to }) => {
    if (to - from < LEAST_COUNTED_S) return showCounting();
    set(joinParts([...chosen(), [from, to].map((s) => Math.round(10 * s) / 10)]));
  });
  return part;
});

// Plays a recording from a time on; null: from the loudest place.
const hearFrom = (side, from) => change({ [`hear_${side}_s`]: from });

// Draws the level of a recording over time, per second.
function drawLevels(part, file) {
  const sounding = file.levels_lufs.filter((lufs) => lufs !== null);
  const top = Math.max(...sounding) + 2, bottom = top - 30;
  const points = file.levels_lufs.map((lufs, i) => {
    const y = (top - Math.max(lufs ?? bottom, bottom)) / (top - bottom);
    return `${(((i + 0.5) / file.duration_s) * WIDE).toFixed(1)},${(y * HIGH).toFixed(1)}`;
  });
  part.strip.replaceChildren(svgElement("g", {}), svgElement("polyline", { class: "course", points: points.join(" ") }));
  part.key.textContent = `Level of ${file.name} per second. Drag along the strip to add a part.`;
  drawAxis(part.axis, 0, part.seconds);
}

function drawParts(part, parts) {
  part.strip.querySelector("g")?.replaceChildren(...parts.map(([from, to]) => svgElement("rect", { class: "part", x: (from / part.seconds) * WIDE, width: ((to - from) / part.seconds) * WIDE, y: 0, height: HIGH })));
}

// A part with its buttons.
function chipOf(part, parts, i) {
  const [from, to] = parts[i], words = `${timeText(from)} to ${timeText(to)}`;
  const button = (textContent, spoken, done) => {
    const b = make("button", { type: "button", textContent });
    b.setAttribute("aria-label", `${spoken} ${words}`);
    b.addEventListener("click", done);
    return b;
  };
  return make("span", { className: "chip" }, words, " ",
    button("Hear", "Hear", () => hearFrom(part.side, from)),
    button("Remove", "Remove", () => change({ [`${part.side}_part`]: parts.length > 1 ? parts.filter((_, k) => k !== i) : null })));
}

function showCounting() {
  for (const part of counting) {
    const id = part.side === "mix" ? app.mix : app.references.find((ref) => fileOf(ref)?.levels_lufs);
    const file = fileOf(id);
    part.excerpt.hidden = part.box.hidden = !file?.levels_lufs || file.state !== "ready";
    if (part.box.hidden) continue;
    if (part.of !== id) {
      part.of = id;
      part.seconds = Math.floor(10 * file.duration_s) / 10;
      drawLevels(part, file);
    }
    const parts = app.fields[`${part.side}_part`] ?? [], from = app.fields[`hear_${part.side}_s`];
    drawParts(part, parts.length ? parts : [[0, part.seconds]]);
    settle(part.times, partsText(parts));
    settle(part.hear, from === null || from === undefined ? "" : timeText(from));
    part.chips.replaceChildren(...parts.map((_, i) => chipOf(part, parts, i)));
  }
}
