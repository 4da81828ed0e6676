// Result: fills the page with an answer, updates the player, and completes the answer with what
// takes longer.

const CONFIRM_MS = 700; // after this time without change the true peak is measured

const BEING_MEASURED = "being measured";

const inDB = (db) => (db === null || db === undefined ? "–" : `${signed(db, 2)} dB`);

function showAnswer(answer) {
  const { words } = answer;
  byId("headline").textContent = answer.headline;
  showRows();
  showChart(answer.curves, shownMoves());
  showJudged(answer.curves);
  byId("chart-words").textContent = answer.curves.in_words;
  byId("trim").textContent = words.trim || "0.0 dB";
  byId("distance-before").textContent = inDB(answer.distance_before_db);
  byId("distance-after").textContent = inDB(answer.distance_after_db);
  byId("distance-advised-box").hidden = answer.advised_distance_db === null;
  byId("distance-advised").textContent = inDB(answer.advised_distance_db);
  showConfirmed(answer.confirmed, answer.sound && answer.rows.length > 0 ? BEING_MEASURED : "–");
  showFindings(words.findings);
  const items = words.warnings.map((textContent) => make("li", { textContent }));
  byId("warnings").replaceChildren(...(items.length ? [make("h3", { textContent: "Watch out" }), make("ul", { className: "warnings" }, ...items)] : []));
  showFacts(words.recordings);
  showExports(answer);
  showSettingsOffer();
  showOffers();
}

// Says at the range's fields where bands are left out inside it.
function showJudged({ freq_hz, judged }) {
  const [low, high] = app.fields.range_hz, half = 2 ** (1 / 48); // of a band
  const from = freq_hz[judged.indexOf(true)] / half, to = freq_hz[judged.lastIndexOf(true)] * half, least = 1.03; // less than a band, as in report.judged
  const say = (field, words) => field.hasAttribute("aria-invalid") || sayAt(field, words);
  say(byId("range-low"), from > low * least ? `judged from ${hertz(from)}` : "");
  say(byId("range-high"), to < high / least ? `judged to ${hertz(to)}` : "");
}

// Shows the sentences under the moves, but for that beside the choice of stage.
function showFindings(findings) {
  byId("findings").replaceChildren(...findings.filter((text) => text !== byId("other-stage").textContent).map((textContent) => make("p", { className: "finding", textContent })));
}

function showConfirmed(confirmed, otherwise) {
  const level = (value, unit) => (value === null ? "none: silence" : `${signed(value, 1)} ${unit}`);
  byId("true-peak-after").textContent = confirmed ? level(confirmed.true_peak_after_dbtp, "dBTP") : otherwise;
  byId("loudness-after").textContent = confirmed ? level(confirmed.loudness_after_lufs, "LUFS") : otherwise;
}

// Requests what takes longer, once nothing changes: what the other choice of stage would do, and the
// true peak through the moves.
async function complete(asked, signal) {
  await new Promise((done) => setTimeout(done, CONFIRM_MS));
  if (signal.aborted) return;
  const { findings, other } = await request("POST", "alternative", asked, signal);
  byId("other-stage").textContent = other;
  showFindings(findings);
  const { answer } = app;
  if (!answer.sound || answer.rows.length === 0 || answer.confirmed) return;
  try {
    showAnswer((app.answer = await request("POST", "confirm", asked, signal))); // peaks may have lowered the trim
  } catch (trouble) {
    if (trouble.name === "AbortError") throw trouble;
    showConfirmed(null, "not known");
  }
}

// Shows the recordings' figures, as on a saved page.
function showFacts(recordings) {
  const figures = { length: "length", format: "format", loudness: "loudness", "loudness range": "range", "true peak": "true_peak", using: "counted", "ends at": "cutoff_at" };
  byId("facts").replaceChildren(...recordings.map((recording) => {
    const list = Object.entries(figures).filter(([, field]) => recording[field]).map(([name, field]) => make("div", {}, make("dt", { textContent: name }), make("dd", { textContent: recording[field] })));
    return make("div", { className: "recording" }, make("h3", { textContent: recording.who }), make("p", { className: "file", textContent: recording.file }), make("dl", { className: "figures" }, ...list));
  }));
}

let heard = null; // the player, once there is something to play

// Gives the player the numbers for the current moves, and loads the sound before it is played.
async function followSound(asked, signal) {
  const { player, notes } = await request("POST", "player", asked, signal);
  clearTimeout(preview.timer);
  preview.of = player;
  takePlayer(player, notes);
}

// Gives the player its numbers; null: there is nothing to play.
function takePlayer(player, notes) {
  byId("sound-notes").replaceChildren(...notes.map((textContent) => make("p", { className: "note", textContent })));
  if (!player) return silence();
  byId("player").hidden = false;
  if (heard) heard.update(player);
  else heard = startPlayer(player, soundAt);
  soloZone();
  showPairs();
  heard.transport.fetchAhead();
}

// Stops the player and puts it away.
function silence() {
  byId("player").hidden = true;
  heard?.transport.stop();
}

// Fetches the file of a sound; a refusal is thrown in the server's words.
async function soundAt(address) {
  const response = await fetch(address).catch(() => null);
  if (!response) throw new Error("The page's server does not answer.");
  if (response.ok) return response.arrayBuffer();
  const { what, hint } = await response.json();
  throw new Error(`${what}: ${hint}.`);
}

// The panel above the player. While it is open, the chart is smaller, and the page can be scrolled
// until all of it is above the panel.
byId("listen-open").addEventListener("click", () => {
  const open = byId("listen").hidden;
  byId("listen").hidden = !open;
  byId("listen-open").setAttribute("aria-expanded", open);
});
new ResizeObserver(() => {
  const { style } = document.documentElement, high = byId("listen").offsetHeight;
  style.setProperty("--panel", `${high}px`);
  style.setProperty("--least", high ? "10rem" : "15rem");
}).observe(byId("listen"));
