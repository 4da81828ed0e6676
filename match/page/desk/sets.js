// Sets: up to three sets of moves to switch between by ear, each with its distance: the advised one,
// and two that were kept.

const MOST_KEPT = 2;

let keptSets = []; // { name, moves, distance }

function forgetSets() {
  keptSets = [];
}

const sameMove = (a, b) => a.shape === b.shape && a.on === b.on && ["freq_hz", "gain_db", "width"].every((field) => Math.abs(a[field] - b[field]) <= 1e-4 * Math.max(Math.abs(b[field]), 1e-3));
const sameMoves = (a, b) => a.length === b.length && a.every((move, i) => sameMove(move, b[i]));

// Shows and plays a set at once, then requests its result.
function chooseSet(moves, dialled) {
  drawMoves(moves);
  previewSound(moves);
  change({ dialled });
}

function showSets() {
  const { answer, fields } = app, shown = shownMoves();
  if (!answer.advised) return;
  const advisedDB = fields.dialled ? answer.advised_distance_db : answer.distance_after_db;
  const button = (words, db, pressed, chosen) => {
    const b = make("button", { type: "button", className: "set", textContent: `${words}${db === null || db === undefined ? "" : ` · ${db.toFixed(1)} dB`}` });
    b.setAttribute("aria-pressed", pressed);
    b.addEventListener("click", chosen);
    return b;
  };
  const all = [button("advised", advisedDB, !fields.dialled, () => chooseSet(answer.advised, null))];
  keptSets.forEach((set, i) => {
    const away = make("button", { type: "button", className: "drop-set", textContent: "×", title: "Let go of this set" });
    away.setAttribute("aria-label", `Let go of ${set.name}`);
    away.addEventListener("click", () => {
      keptSets.splice(i, 1);
      showSets();
    });
    all.push(make("span", { className: "kept-set" }, button(set.name, set.distance, Boolean(fields.dialled) && sameMoves(set.moves, shown), () => chooseSet(set.moves, structuredClone(set.moves))), away));
  });
  const known = keptSets.some(({ moves }) => sameMoves(moves, shown));
  if (fields.dialled && !known) all.push(button("yours", answer.waiting ? null : answer.distance_after_db, true, () => {}));
  const focused = document.activeElement?.closest("#sets") && [...byId("sets").querySelectorAll("button")].indexOf(document.activeElement);
  byId("sets").replaceChildren(...all);
  if (focused >= 0) byId("sets").querySelectorAll("button")[focused]?.focus();
  byId("keep-set").disabled = known || keptSets.length >= MOST_KEPT || shown.length === 0;
}

byId("keep-set").addEventListener("click", () => {
  const moves = structuredClone(shownMoves()), on = moves.filter((move) => move.on).length;
  const hand = Boolean(app.fields.dialled);
  const base = `${hand ? "yours" : "found"}, ${on} ${on === 1 ? "move" : "moves"}`;
  const name = keptSets.some((set) => set.name === base) ? `${base} (2)` : base;
  keptSets.push({ name, moves, distance: app.answer.distance_after_db });
  showSets();
});
