// Chart: draws the curves of an answer, in the colours and dashes of the exported chart
// (plots/tones.go). Upper panel: mix and reference; lower panel: what to do.

const EDGE = { left: 38, right: 8, top: 30, between: 18, bottom: 18 }; // pixels; at the top the zones' names and a title
const UPPER_SHARE = 0.38;
const ALONE_PX = 520; // below this width only the lower panel is drawn
const CLOSE_DB = 12; // range of the button
const LEAST_DB = 6; // smallest range of the lower panel, up and down
const MARK_PX = 15; // height of the moves' numbers along its top
const PRINT_PX = [700, 400]; // of the chart on paper: A4 between its edges is 688 CSS pixels wide

// The curves in drawing order: id, name, panel, class, and whether they are shown at first.
const CURVES = [
  ["range", "likely range", "lower", "c-range", true],
  ["spread", "other references like these", "lower", "c-spread", true],
  ["reference", "reference", "upper", "c-reference", true],
  ["mix", "mix", "upper", "c-mix", true],
  ["after", "mix with the moves", "upper", "c-after", true],
  ["each", "each move", "lower", "c-each", true],
  ["difference", "difference", "lower", "c-difference", true],
  ["target", "target", "lower", "c-target", true],
  ["all", "all moves", "lower", "c-all", true],
];

const chart = {
  curves: null, // of the answer
  shown: Object.fromEntries(CURVES.map(([id, , , , first]) => [id, first])),
  close: false, zone: null, // zoom
  hot: -1, // the move that is pointed at
  moves: [], // { move, db }
  sum: [], // all moves together, level ignored
  view: null, // scales
  moveMs: 0, // time from a slider to its curve
  printed: false,
};

// Sets the curves and moves, and draws everything.
function showChart(curves, moves) {
  chart.curves = curves;
  setChartMoves(moves);
  fillKey();
  fillZones();
  drawChart();
}

// Computes the moves' curves: each, and all with their mean over what is judged removed.
function setChartMoves(moves) {
  const { freq_hz, rate_hz, judged } = chart.curves;
  chart.moves = moves.map((move) => ({ move, db: moveDB(move, dialsFor(move.shape), freq_hz, rate_hz) }));
  const sum = freq_hz.map((_, b) => chart.moves.reduce((db, move) => db + move.db[b], 0));
  const counted = sum.filter((_, b) => judged[b]);
  const mean = counted.length ? counted.reduce((a, b) => a + b, 0) / counted.length : 0;
  chart.sum = sum.map((db) => db - mean);
}

// Draws other moves at once; the rest stays.
function drawMoves(moves) {
  const began = performance.now();
  setChartMoves(moves);
  if (chart.view) fillMoves();
  readAgain();
  chart.moveMs = performance.now() - began;
}

// Computes the scales: x from frequency, y of each panel from decibels.
function layOut() {
  const box = byId("chart"), [wide, high] = chart.printed ? PRINT_PX : [Math.max(box.clientWidth, 200), Math.max(box.clientHeight, 120)];
  const zone = chart.curves.zones.find(({ name }) => name === chart.zone);
  const hz = chart.curves.freq_hz;
  const [low, top] = zone ? [zone.low_hz / 1.12, zone.high_hz * 1.12] : [hz[0], hz.at(-1)]; // a third of a zone's neighbour is seen
  const right = wide - EDGE.right, alone = wide < ALONE_PX;
  const x = (f) => EDGE.left + ((right - EDGE.left) * Math.log(f / low)) / Math.log(top / low);
  const room = high - EDGE.top - EDGE.bottom - (alone ? 0 : EDGE.between);
  const upperHigh = alone ? 0 : UPPER_SHARE * room;
  const panel = (name, from, tall, min, max) => ({ name, from, to: from + tall, min, max, y: (db) => from + ((max - Math.min(Math.max(db, min), max)) / (max - min)) * tall });
  const seen = (...curves) => curves.flatMap((c) => (c ?? []).filter((db, b) => db !== null && hz[b] >= low && hz[b] <= top));
  const c = chart.curves, panels = [];
  if (!alone) {
    const values = seen(c.mix_db, c.reference_db);
    panels.push(panel("upper", EDGE.top, upperHigh, Math.floor(Math.min(...values, -3) / 3) * 3, Math.ceil(Math.max(...values, 3) / 3) * 3));
  }
  const drawn = seen(c.difference_db, c.target_db, chart.sum, ...chart.moves.map(({ db }) => db)), highest = Math.max(...drawn, 0);
  const most = chart.close ? CLOSE_DB : Math.max(LEAST_DB, Math.ceil(Math.max(highest, -Math.min(...drawn, 0)) / 3) * 3);
  let above = most; // so that no curve runs through the moves' numbers, where a panel is high enough
  while (!chart.close && above < most + 6 && above - highest < (MARK_PX / (room - upperHigh)) * (above + most)) above += 3;
  panels.push(panel("lower", EDGE.top + upperHigh + (alone ? 0 : EDGE.between), room - upperHigh, -most, above));
  chart.view = { wide, high, right, low, top, x, alone, panels, of: (name) => panels.find((p) => p.name === name) };
}

// Draws everything again.
function drawChart() {
  if (!chart.curves || byId("found").hidden) return;
  layOut();
  const { wide, high, right, panels } = chart.view;
  const svg = svgElement("svg", { viewBox: `0 0 ${wide} ${high}`, width: wide, height: high, "aria-hidden": "true" });
  svg.append(patternOfLeftOut());
  const clip = svgElement("clipPath", { id: "inside" });
  clip.append(svgElement("rect", { x: EDGE.left, y: 0, width: right - EDGE.left, height: high }));
  svg.append(clip);
  for (const panel of panels) svg.append(gridOf(panel));
  svg.append(zoneNames());
  const inside = svgElement("g", { "clip-path": "url(#inside)" });
  for (const panel of panels) inside.append(leftOutOf(panel));
  for (const [id, , where, style] of CURVES) {
    const group = svgElement("g", { id: `curve-${id}`, class: `curve ${style}` });
    const panel = chart.view.of(where);
    if (panel && chart.shown[id]) fillCurve(group, id, panel);
    inside.append(group);
  }
  svg.append(inside, svgElement("g", { id: "hair" }));
  byId("chart").replaceChildren(svg);
  fillMoves();
  readAgain();
}

function fillCurve(group, id, panel) {
  const c = chart.curves;
  switch (id) {
    case "mix": return group.replaceChildren(lineOf(c.mix_db, panel));
    case "reference": return group.replaceChildren(lineOf(c.reference_db, panel));
    case "difference": return group.replaceChildren(lineOf(c.difference_db, panel));
    case "target": return group.replaceChildren(lineOf(c.target_db, panel));
    case "range": return c.low_db && group.replaceChildren(bandOf(c.low_db, c.high_db, panel));
    case "spread": return c.spread_db && group.replaceChildren(...[1, -1].map((s) => lineOf(c.difference_db.map((db, b) => (db === null || c.spread_db[b] === null ? null : db + s * c.spread_db[b])), panel)));
  }
}

// Draws everything that depends on the moves.
function fillMoves() {
  const { view } = chart, lower = view.of("lower"), upper = view.of("upper");
  const on = (id, panel, ...lines) => byId(`curve-${id}`).replaceChildren(...(panel && chart.shown[id] ? lines : []));
  on("after", upper, ...(upper ? [lineOf(chart.curves.mix_db.map((db, b) => (db === null ? null : db + chart.sum[b])), upper)] : []));
  const marked = []; // places along the top: a number that would cover another is drawn lower
  const any = chart.moves.some(({ move }) => move.on);
  on("all", lower, ...(any ? [lineOf(chart.sum, lower)] : []));
  on("each", lower, ...chart.moves.flatMap(({ move, db }, i) => {
    if (!move.on) return [];
    const line = lineOf(db, lower), hz = move.freq_hz;
    line.classList.toggle("hot", i === chart.hot);
    const row = marked.filter((x) => Math.abs(x - view.x(hz)) < 12).length;
    marked.push(view.x(hz));
    const mark = svgElement("text", { class: i === chart.hot ? "mark hot" : "mark", x: view.x(hz), y: lower.from + 12 * (row + 1) });
    mark.textContent = i + 1;
    return [line, svgElement("line", { class: "tick", x1: view.x(hz), x2: view.x(hz), y1: lower.from, y2: lower.from + 3 }), mark];
  }));
}

// A line through the known values of a curve, with gaps elsewhere.
function lineOf(values, panel) {
  const { x } = chart.view, hz = chart.curves.freq_hz;
  let path = "", pen = false;
  values.forEach((db, b) => {
    if (db === null) return (pen = false);
    path += `${pen ? "L" : "M"}${x(hz[b]).toFixed(1)} ${panel.y(db).toFixed(1)}`;
    pen = true;
  });
  return svgElement("path", { d: path });
}

function bandOf(low, high, panel) {
  const { x } = chart.view, hz = chart.curves.freq_hz;
  const known = hz.map((_, b) => b).filter((b) => low[b] !== null && high[b] !== null);
  const there = known.map((b) => `${x(hz[b]).toFixed(1)} ${panel.y(high[b]).toFixed(1)}`);
  const back = known.toReversed().map((b) => `${x(hz[b]).toFixed(1)} ${panel.y(low[b]).toFixed(1)}`);
  return svgElement("path", { d: known.length ? `M${[...there, ...back].join("L")}Z` : "" });
}

const text = (words, attributes) => {
  const element = svgElement("text", attributes);
  element.textContent = words;
  return element;
};

// Grid, labels and title of a panel.
function gridOf(panel) {
  const { x, right, low, top, alone } = chart.view, group = svgElement("g", { class: "grid" });
  const every = [1, 2, 3, 6, 12].find((db) => ((panel.to - panel.from) * db) / (panel.max - panel.min) >= 22) ?? 12;
  for (let db = Math.ceil(panel.min / every) * every; db <= panel.max; db += every) {
    const y = panel.y(db);
    group.append(svgElement("line", { class: db === 0 && panel.name === "lower" ? "zero" : "", x1: EDGE.left, x2: right, y1: y, y2: y }));
    group.append(text(db > 0 && panel.name === "lower" ? `+${db}` : shownNumber(db), { class: "db", x: EDGE.left - 5, y: y + 4 }));
  }
  const last = panel.name === "lower";
  for (const hz of [20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000]) {
    if (hz < low || hz > top) continue;
    group.append(svgElement("line", { x1: x(hz), x2: x(hz), y1: panel.from, y2: panel.to }));
    if (last && !(alone && [20, 50, 500, 5000, 20000].includes(hz))) group.append(text(hz < 1000 ? hz : `${hz / 1000}k`, { class: "hz", x: x(hz), y: panel.to + 14 }));
  }
  if (!alone) group.append(text(last ? chart.curves.title : "level per band, mean removed; pink noise is flat", { class: "title", x: EDGE.left, y: panel.from - 5 }));
  return group;
}

// The zones' borders, and their names along the top where there is room.
function zoneNames() {
  const { x, right, panels } = chart.view, group = svgElement("g", { class: "zones" });
  for (const { name, low_hz, high_hz } of chart.curves.zones) {
    const from = Math.max(x(low_hz), EDGE.left), to = Math.min(x(high_hz), right);
    if (to <= from) continue;
    if (from > EDGE.left) for (const p of panels) group.append(svgElement("line", { x1: from, x2: from, y1: p.from, y2: p.to }));
    if (to - from > 6.2 * name.length) group.append(text(name, { x: (from + to) / 2, y: 11 }));
  }
  return group;
}

function leftOutOf(panel) {
  const { x } = chart.view, group = svgElement("g", { class: "left-out" });
  for (const { low_hz, high_hz } of chart.curves.left_out) {
    group.append(svgElement("rect", { x: x(low_hz), width: Math.max(x(high_hz) - x(low_hz), 0), y: panel.from, height: panel.to - panel.from }));
  }
  return group;
}

function patternOfLeftOut() {
  const pattern = svgElement("pattern", { id: "hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
  pattern.append(svgElement("line", { x1: 0, x2: 0, y1: 0, y2: 7 }));
  return pattern;
}

new ResizeObserver(() => requestAnimationFrame(() => drawChart())).observe(byId("chart"));
for (const [event, printed] of [["beforeprint", true], ["afterprint", false]]) {
  addEventListener(event, () => {
    chart.printed = printed;
    drawChart();
  });
}
