// Reading: values under the pointer and by the arrow keys, curves on and off, and the zoom.

const NEAR_DB = 0.3; // a move with less effect at a frequency is not pointed at

const reading = { band: -1, byKeys: false };

// Returns the band nearest to a frequency, of rising frequencies.
function nearestBand(all, hz) {
  const band = all.findIndex((f) => f >= hz);
  if (band < 0) return all.length - 1;
  return band > 0 && hz / all[band - 1] < all[band] / hz ? band - 1 : band;
}

// Returns the band that a key goes to, undefined for other keys. Bands are 24 an octave.
function bandByKey(event, band, last) {
  if (event.ctrlKey || event.altKey || event.metaKey) return undefined;
  const by = event.shiftKey ? 8 : 1;
  const next = { ArrowRight: band + by, ArrowLeft: band - by, ArrowUp: band + 8, ArrowDown: band - 8, PageUp: band + 24, PageDown: band - 24, Home: 0, End: last }[event.key];
  if (next === undefined) return undefined;
  event.preventDefault();
  return Math.min(Math.max(next, 0), last);
}

// Shows the values at a band; −1: none.
function readAt(band) {
  reading.band = band;
  const { view, curves: c } = chart, hair = byId("hair"), box = byId("chart");
  if (band < 0 || !view) {
    hair?.replaceChildren();
    byId("readout").textContent = "Point at the chart, or use the arrow keys in it, to read values.";
    return;
  }
  const hz = c.freq_hz[band], x = view.x(hz);
  hair.replaceChildren(...view.panels.map((p) => svgElement("line", { x1: x, x2: x, y1: p.from, y2: p.to })));
  const words = wordsAt(band);
  byId("readout").textContent = words;
  box.setAttribute("aria-valuenow", band);
  box.setAttribute("aria-valuetext", words);
}
const readAgain = () => readAt(reading.band);

const hertz = (hz) => (hz < 1000 ? `${hz < 100 ? hz.toFixed(1) : hz.toFixed(0)} Hz` : `${(hz / 1000).toFixed(2)} kHz`);
const plus = (db) => (db === null ? "–" : (db > 0.04 ? "+" : "") + signed(Math.abs(db) < 0.05 ? 0 : db, 1));

function wordsAt(band) {
  const c = chart.curves, hz = c.freq_hz[band], at = (curve) => curve?.[band] ?? null;
  const out = c.left_out.find(({ low_hz, high_hz }) => hz >= low_hz && hz < high_hz);
  const words = [hertz(hz)];
  if (at(c.mix_db) === null) return `${words[0]} · left out: ${out?.why ?? "not compared"}`;
  words.push(`${c.mix} ${plus(at(c.mix_db))}`, `${c.reference} ${plus(at(c.reference_db))}`, `${c.difference} ${plus(at(c.difference_db))}${at(c.low_db) === null ? "" : ` (likely ${plus(at(c.low_db))} to ${plus(at(c.high_db))})`}`);
  words.push(`target ${plus(at(c.target_db))}`, `moves ${plus(chart.sum[band])}`, `mix with the moves ${plus(at(c.mix_db) + chart.sum[band])} dB`);
  if (out) words.push(`not judged: ${out.why}`);
  return words.join(" · ");
}

// Returns the move with the largest effect at a band, −1 for none.
function moveAt(band) {
  let found = -1, most = NEAR_DB;
  chart.moves.forEach(({ move, db }, i) => {
    if (move.on && Math.abs(db[band]) > most) [found, most] = [i, Math.abs(db[band])];
  });
  return found;
}

// Marks a move in the chart and in its row.
function pointAtMove(i) {
  if (i === chart.hot) return;
  chart.hot = i;
  rows.forEach(({ body }, k) => body.classList.toggle("hot", k === i));
  if (chart.view) fillMoves();
}

{
  const box = byId("chart");
  const bandUnder = (event) => {
    const { view } = chart, at = event.clientX - box.getBoundingClientRect().left;
    const hz = view.low * (view.top / view.low) ** ((at - EDGE.left) / (view.right - EDGE.left));
    return nearestBand(chart.curves.freq_hz, hz);
  };
  const follow = (event) => {
    if (!chart.view) return;
    const band = bandUnder(event);
    readAt(band);
    pointAtMove(moveAt(band));
  };
  box.addEventListener("pointermove", follow);
  box.addEventListener("pointerdown", follow);
  box.addEventListener("pointerleave", () => {
    if (document.activeElement !== box) readAt(-1);
    pointAtMove(-1);
  });
  box.addEventListener("blur", () => {
    readAt(-1);
    pointAtMove(-1);
  });
  box.addEventListener("focus", () => chart.curves && reading.band < 0 && readAt(chart.curves.freq_hz.findIndex((hz) => hz >= 1000)));
  box.addEventListener("keydown", (event) => {
    const next = chart.view && bandByKey(event, reading.band, chart.curves.freq_hz.length - 1);
    if (next === undefined || next === null) return;
    readAt(next);
    pointAtMove(moveAt(reading.band));
  });
}

// Fills the key: a button for each curve, with its line.
function fillKey() {
  const c = chart.curves, names = { mix: c.mix, difference: c.difference, reference: c.reference, target: c.target };
  const there = CURVES.filter(([id]) => !(id === "range" && !c.low_db) && !(id === "spread" && !c.spread_db));
  const order = ["mix", "reference", "after", "difference", "range", "spread", "target", "all", "each"];
  const buttons = order.flatMap((id) => there.filter((curve) => curve[0] === id)).map(([id, name, , style]) => {
    const known = byId(`key-${id}`);
    const button = known ?? make("button", { type: "button", id: `key-${id}` });
    button.setAttribute("aria-pressed", chart.shown[id]);
    const sample = svgElement("svg", { class: `sample ${style}`, width: 26, height: 10, "aria-hidden": "true" });
    sample.append(svgElement("path", { d: id === "range" ? "M0 1H26V9H0Z" : "M0 5H26" }));
    button.replaceChildren(sample, names[id] ?? name);
    if (!known) {
      button.addEventListener("click", () => {
        chart.shown[id] = !chart.shown[id];
        fillKey();
        drawChart();
      });
    }
    return button;
  });
  if (byId("key").children.length !== buttons.length || buttons.some((b, i) => b !== byId("key").children[i])) byId("key").replaceChildren(...buttons);
}

function fillZones() {
  const select = byId("zoom-zone");
  if (select.options.length > 1) return;
  select.append(...chart.curves.zones.map(({ name }) => new Option(name, name)));
}

byId("zoom-db").addEventListener("click", () => {
  chart.close = !chart.close;
  byId("zoom-db").setAttribute("aria-pressed", chart.close);
  drawChart();
});
byId("zoom-zone").addEventListener("change", () => {
  chart.zone = byId("zoom-zone").value || null;
  byId("solo-label").hidden = !chart.zone;
  if (!chart.zone) byId("solo").checked = false;
  soloZone();
  drawChart();
});
byId("solo").addEventListener("change", soloZone);

// Plays only the zone that is shown, or everything again.
function soloZone() {
  const zone = view.name === "match" && byId("solo").checked && chart.curves.zones.find(({ name }) => name === chart.zone);
  heard?.transport.solo(zone ? { low: zone.low_hz, high: zone.high_hz } : null);
}
