// Show: fills the page with an answer, and lets the player follow.

const inDB = (db) => (db === null || db === undefined ? "–" : `${signed(db, 2)} dB`);

// Puts a picture of the server's in the page; its words were escaped there.
function showPicture(svg) {
  const picture = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  byId("chart").replaceChildren(picture);
}

function showAnswer(answer) {
  const { words } = answer;
  showPicture(answer.chart);
  showRows();
  byId("trim").textContent = words.trim || "0.0 dB";
  byId("distance-before").textContent = inDB(answer.distance_before_db);
  byId("distance-after").textContent = inDB(answer.distance_after_db);
  byId("distance-advised-box").hidden = answer.advised_distance_db === null;
  byId("distance-advised").textContent = inDB(answer.advised_distance_db);
  showConfirmed(answer.confirmed);
  byId("confirm").disabled = !answer.sound || answer.rows.length === 0;
  byId("findings").replaceChildren(...words.findings.map((textContent) => make("p", { className: "finding", textContent })));
  const mind = words.warnings.map((textContent) => make("li", { textContent }));
  byId("warnings").replaceChildren(...(mind.length ? [make("h3", { textContent: "Keep in mind" }), make("ul", { className: "warnings" }, ...mind)] : []));
  showFacts(words.recordings);
  showTakes(answer);
  showOffers();
}

function showConfirmed(confirmed) {
  const level = (value, unit) => (value === null ? "none: silence" : `${signed(value, 1)} ${unit}`);
  byId("true-peak-after").textContent = confirmed ? level(confirmed.true_peak_after_dbtp, "dBTP") : "not yet computed";
  byId("loudness-after").textContent = confirmed ? level(confirmed.loudness_after_lufs, "LUFS") : "not yet computed";
}

byId("confirm").addEventListener("click", async () => {
  const ask = theAsk();
  byId("confirm").disabled = true;
  byId("confirm-state").textContent = "Reading the mix through the moves …";
  try {
    const confirmed = await request("POST", "confirm", ask);
    if (JSON.stringify(ask) === JSON.stringify(theAsk())) showConfirmed((app.answer.confirmed = confirmed));
    byId("confirm-state").textContent = "";
  } catch (trouble) {
    byId("confirm-state").textContent = `${trouble.what} ${trouble.hint}`;
  }
  byId("confirm").disabled = false;
});

// The recordings' figures, as a saved page has them.
function showFacts(recordings) {
  const figures = { length: "length", format: "format", loudness: "loudness", "loudness range": "range", "true peak": "true_peak", "of it counts": "counted", "ends at": "cutoff_at" };
  byId("facts").replaceChildren(...recordings.map((recording) => {
    const list = Object.entries(figures).filter(([, field]) => recording[field]).map(([name, field]) => make("div", {}, make("dt", { textContent: name }), make("dd", { textContent: recording[field] })));
    return make("div", { className: "recording" }, make("h3", { textContent: recording.who }), make("p", { className: "file", textContent: recording.file }), make("dl", { className: "figures" }, ...list));
  }));
}

let heard = null; // the player, once there is something to hear

// Gives the player the numbers of the moves as they are.
async function followSound(ask, signal) {
  const { player, notes } = await request("POST", "player", ask, signal);
  byId("sound-notes").replaceChildren(...notes.map((textContent) => make("p", { className: "note", textContent })));
  byId("player").hidden = !player;
  if (!player) heard?.transport.stop();
  else if (heard) heard.update(player);
  else heard = startPlayer(player, soundAt);
}

// The file of a sound; what the server refuses is told in its words.
async function soundAt(address) {
  const response = await fetch(address).catch(() => null);
  if (!response) throw new Error("The page’s server does not answer. Start toneplumb serve again and open the address it prints.");
  if (response.ok) return response.arrayBuffer();
  const { what, hint } = await response.json();
  throw new Error(`${what}: ${hint}.`);
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", refresh);
